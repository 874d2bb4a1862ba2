package document_test

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"shimwright/calc/document"
	"shimwright/calc/quantity"
)

// FuzzParse: any bytes give a document that can be read every way, or faults
// that lie in the file; never a panic.
func FuzzParse(f *testing.F) {
	for _, s := range []string{
		"", "a: 1\n", "a: {b: [1, 2 mm, 'x']}\n", "- a\n- {b: c}\n", "a: |\n  x\n  y\nb: >\n  z\n", "a: *b\n", "a: &b 1\n",
		"<<: {a: 1}\n", "a: !!str 1\n", "? a\n: b\n", "---\na: 1\n---\nb: 2\n", "%YAML 1.2\n", "a:\n\tb: 1\n", "\ufeffa: 1\r\n",
		"a: \"\\u202e\\x00\"\n", "[[[[[[[[", "- - - - a", "{a: {b: {c: ", "a: 0.05 mm .. 0.10 mm\n", "'", "\"\\", "a: 'it''s'\n", "a: 1 # c\n#",
		"a: -\n", "a:\n- b\n-\n", "0x1F: .nan\n", "\xff\xfe", "a: 1\rb: 2\r", "&", "*", "!", "|", ">", "|2\n  x", "a: |+\n\n\n",
	} {
		f.Add([]byte(s))
	}
	sheets, err := filepath.Glob("../sheet/testdata/*/*.yaml")
	if err != nil {
		f.Fatal(err)
	}
	for _, path := range sheets {
		text, err := os.ReadFile(path)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		n, d, err := document.Parse("f.yaml", text)
		if (err == nil) != n.Given() {
			t.Fatalf("given %v with error %v", n.Given(), err)
		}
		readAll(n, 0)
		holdFaults(t, err, text)
		holdFaults(t, d.Err(), text)
	})
}

// readAll reads a node in every way there is.
func readAll(n document.Node, depth int) {
	if depth > 60 {
		panic("the document nests deeper than it may")
	}
	n.Text()
	n.Name()
	n.YesNo()
	n.Whole(0, 9)
	n.Ratio()
	n.Figure(quantity.Length)
	n.Number()
	n.Unit(quantity.Torque)
	n.Band(quantity.Force)
	n.OneOf("a", "b")
	for _, item := range n.List(1000) {
		readAll(item, depth+1)
	}
	f := n.Fields()
	f.First()
	f.Need("never asked for", "x")
	for _, field := range f.All() {
		readAll(field.Value, depth+1)
	}
	f.Done()
}

// holdFaults holds faults to their type, their number and their place.
func holdFaults(t *testing.T, err error, text []byte) {
	t.Helper()
	if err == nil {
		return
	}
	var fault *document.Fault
	if !errors.As(err, &fault) {
		t.Fatalf("%v is no fault with a place", err)
	}
	joined, ok := err.(interface{ Unwrap() []error })
	if !ok {
		t.Fatalf("%T does not join faults", err)
	}
	all := joined.Unwrap()
	if len(all) > 21 {
		t.Fatalf("%d faults are listed", len(all))
	}
	lines := strings.Count(string(text), "\n") + strings.Count(string(text), "\r") + 1
	for _, e := range all {
		if errors.As(e, &fault) && (fault.Line < 1 || fault.Line > lines || fault.Column < 1 || fault.Message == "") {
			t.Fatalf("fault %q lies outside a file of %d lines", e, lines)
		}
	}
}
