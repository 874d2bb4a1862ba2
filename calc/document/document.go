package document

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/goccy/go-yaml"
	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/parser"
)

// MaxSize is the largest file read, in bytes.
const MaxSize = 1 << 20

// maxFaults bounds how many faults one reading gathers.
const maxFaults = 20

// A Pos is a place in a file; lines and columns count from 1.
type Pos struct{ Line, Column int }

// A Fault is one thing wrong in a file.
type Fault struct {
	File string
	Pos
	Message string
}

// Error is the fault as file:line:column: and what to write instead.
func (f *Fault) Error() string {
	return fmt.Sprintf("%s:%d:%d: %s", f.File, f.Line, f.Column, f.Message)
}

// A Document is a file being read; it gathers the faults found.
type Document struct {
	file   string
	faults []*Fault
	more   int
}

// Parse reads the one YAML document of a file and gives its top node. The
// error is of the YAML itself; faults of meaning come from Err.
func Parse(file string, data []byte) (Node, *Document, error) {
	d := &Document{file: file}
	if len(data) > MaxSize {
		d.Fail(Pos{1, 1}, "the file has %d bytes: at most %d are read", len(data), MaxSize)
		return Node{}, d, d.Err()
	}
	tokens := d.tokens(data)
	if d.Err() != nil {
		return Node{}, d, d.Err()
	}
	f, err := parser.Parse(tokens, 0)
	if err != nil {
		d.syntax(err)
		return Node{}, d, d.Err()
	}
	var bodies []ast.Node
	for _, doc := range f.Docs {
		if doc.Body != nil && doc.Body.Type() != ast.CommentType && doc.Body.Type() != ast.NullType {
			bodies = append(bodies, doc.Body)
		}
	}
	switch {
	case len(bodies) == 0:
		d.Fail(Pos{1, 1}, "the file is empty")
	case len(bodies) > 1:
		d.Fail(position(bodies[1]), "a second document begins here: write one document a file")
	default:
		d.depth(bodies[0], 0)
	}
	if len(d.faults) > 0 {
		return Node{}, d, d.Err()
	}
	return Node{d, bodies[0]}, d, nil
}

// syntax turns an error of the YAML library into a fault.
func (d *Document) syntax(err error) {
	var ye yaml.Error
	if errors.As(err, &ye) && ye.GetToken() != nil && ye.GetToken().Position != nil {
		p := ye.GetToken().Position
		message := ye.GetMessage()
		if strings.Contains(message, "'\t'") {
			message = "a tab stands here: YAML wants blanks"
		}
		d.Fail(Pos{p.Line, p.Column}, "%s", message)
		return
	}
	d.Fail(Pos{1, 1}, "this is not YAML: %s", firstLine(err.Error()))
}

func firstLine(s string) string { line, _, _ := strings.Cut(s, "\n"); return line }

func position(n ast.Node) Pos {
	if n == nil {
		return Pos{1, 1}
	}
	if m, ok := n.(*ast.MappingNode); ok && len(m.Values) > 0 && !m.IsFlowStyle {
		return position(m.Values[0].Key)
	}
	if m, ok := n.(*ast.MappingValueNode); ok {
		return position(m.Key)
	}
	t := n.GetToken()
	if t == nil || t.Position == nil {
		return Pos{1, 1}
	}
	return Pos{t.Position.Line, t.Position.Column}
}

// Fail lays a fault at a place.
func (d *Document) Fail(at Pos, format string, args ...any) {
	if len(d.faults) >= maxFaults {
		d.more++
		return
	}
	d.faults = append(d.faults, &Fault{d.file, at, fmt.Sprintf(format, args...)})
}

// Err is nil, or all faults found so far in the order of the file, each a
// *Fault.
func (d *Document) Err() error {
	if len(d.faults) == 0 {
		return nil
	}
	sorted := slices.Clone(d.faults)
	slices.SortStableFunc(sorted, func(a, b *Fault) int {
		if a.Line != b.Line {
			return a.Line - b.Line
		}
		return a.Column - b.Column
	})
	var errs []error
	for _, f := range sorted {
		errs = append(errs, f)
	}
	if d.more > 0 {
		errs = append(errs, fmt.Errorf("%s: and %d more faults", d.file, d.more))
	}
	return errors.Join(errs...)
}
