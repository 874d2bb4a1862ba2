package checktest

import (
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"maps"
	"slices"
	"strings"
	"testing"
)

// A Bad is one call of an entry point with input that cannot be meant.
type Bad struct {
	Call  string // the function, or Type.Method
	Field string // what the error must name
	Err   func() error
}

// mostWords is how long an error may be: a figure that cannot be meant may be
// too long to print.
const mostWords = 2000

// Refused makes each call and fails the test where it panics, gives no error,
// or one that does not name the field. Harmless are the entry points that take
// nothing that could be wrong, or whose answer to it is no error: they are
// called too and must not panic. Between them they must be every exported
// function and method of the package in dir.
func Refused(t *testing.T, dir string, bad []Bad, harmless map[string]func()) {
	t.Helper()
	covered := map[string]bool{}
	for _, b := range bad {
		covered[b.Call] = true
		var err error
		if words := fell(func() { err = b.Err() }); words != "" {
			t.Errorf("%s, %s: panics: %s", b.Call, b.Field, words)
			continue
		}
		switch {
		case err == nil:
			t.Errorf("%s: bad %s was not refused", b.Call, b.Field)
		case len(err.Error()) > mostWords:
			t.Errorf("%s, %s: the error has %d bytes", b.Call, b.Field, len(err.Error()))
		case !strings.Contains(err.Error(), b.Field):
			t.Errorf("%s: the error does not name %q: %v", b.Call, b.Field, err)
		case len(err.Error()) < len(b.Field)+8:
			t.Errorf("%s: the error does not say what is wanted: %v", b.Call, err)
		}
	}
	for call, do := range harmless {
		covered[call] = true
		if words := fell(do); words != "" {
			t.Errorf("%s panics: %s", call, words)
		}
	}
	points := entryPoints(t, dir)
	for _, name := range points {
		if !covered[name] {
			t.Errorf("no bad input was tried on %s", name)
		}
	}
	for _, name := range slices.Sorted(maps.Keys(covered)) {
		if !slices.Contains(points, name) {
			t.Errorf("%s is no exported function or method", name)
		}
	}
}

// fell is what a call panics with; "" where it does not.
func fell(do func()) (words string) {
	defer func() {
		if r := recover(); r != nil {
			words = fmt.Sprint(r)
		}
	}()
	do()
	return ""
}

// entryPoints are the exported functions, and the exported methods of exported
// types, of the package in a folder.
func entryPoints(t *testing.T, dir string) []string {
	t.Helper()
	set := token.NewFileSet()
	//nolint:staticcheck // one package's own files, without types: all that is needed here
	packages, err := parser.ParseDir(set, dir, func(f fs.FileInfo) bool { return !strings.HasSuffix(f.Name(), "_test.go") }, parser.SkipObjectResolution)
	if err != nil {
		t.Fatal(err)
	}
	var out []string
	for _, p := range packages {
		for _, f := range p.Files {
			for _, d := range f.Decls {
				if name := entryPoint(d); name != "" {
					out = append(out, name)
				}
			}
		}
	}
	if len(out) == 0 {
		t.Fatalf("%s has no exported function", dir)
	}
	return out
}

func entryPoint(d ast.Decl) string {
	f, ok := d.(*ast.FuncDecl)
	if !ok || !f.Name.IsExported() {
		return ""
	}
	if f.Recv == nil {
		return f.Name.Name
	}
	of := f.Recv.List[0].Type
	if star, ok := of.(*ast.StarExpr); ok {
		of = star.X
	}
	if id, ok := of.(*ast.Ident); ok && id.IsExported() {
		return id.Name + "." + f.Name.Name
	}
	return ""
}
