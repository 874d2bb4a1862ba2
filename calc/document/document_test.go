package document_test

import (
	"errors"
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"shimwright/calc/document"
)

// parse reads a text that must be YAML we take.
func parse(t *testing.T, text string) (document.Node, *document.Document) {
	t.Helper()
	n, d, err := document.Parse("f.yaml", []byte(text))
	if err != nil {
		t.Fatalf("%q: %v", text, err)
	}
	return n, d
}

// wantFault holds an error to one fault at a place, "line:column: fragment".
func wantFault(t *testing.T, err error, want string) {
	t.Helper()
	if err == nil {
		t.Errorf("no fault, want %q", want)
		return
	}
	place, fragment, ok := strings.Cut(want, ": ")
	if !ok {
		t.Fatalf("%q is no line:column: fragment", want)
	}
	for _, line := range strings.Split(err.Error(), "\n") {
		if strings.HasPrefix(line, "f.yaml:"+place+": ") && strings.Contains(line, fragment) {
			return
		}
	}
	t.Errorf("faults:\n%v\nwant one at %s with %q", err, place, fragment)
}

func TestRefusedBeforeItIsRead(t *testing.T) {
	for _, c := range []struct{ name, text, want string }{
		{"nothing", "", "1:1: the file is empty"},
		{"blank lines", "\n\n  \n", "1:1: the file is empty"},
		{"comments only", "# one\n# two\n", "1:1: the file is empty"},
		{"a document of nothing", "---\n...\n", "1:1: the file is empty"},
		{"null alone", "null\n", "1:1: the file is empty"},
		{"too long", "a: " + strings.Repeat("x", document.MaxSize), "1:1: the file has 1048579 bytes: at most 1048576 are read"},
		{"alias", "a: 1\nb: *a\n", "2:4: aliases and anchors"},
		{"alias as key", "*a : 1\n", "1:1: aliases and anchors"},
		{"anchor", "a: &x 1\n", "1:4: aliases and anchors"},
		{"anchor on a key", "&x a: 1\n", "1:1: aliases and anchors"},
		{"anchor in a list", "a: [1, &x 2]\n", "1:8: aliases and anchors"},
		{"tag", "a: !!str 1\n", "1:4: tags (!) are not read"},
		{"tag of our own", "!sheet\na: 1\n", "1:1: tags (!) are not read"},
		{"merge key", "a:\n  <<: {b: 1}\n", "2:3: merge keys (<<) are not read"},
		{"merge key in a flow map", "a: {<<: {b: 1}}\n", "1:5: merge keys (<<) are not read"},
		{"key after a question mark", "? a\n: 1\n", "1:1: keys after a question mark"},
		{"directive", "%YAML 1.2\n---\na: 1\n", "1:1: directives (%) are not read"},
		{"second document", "---\na: 1\n---\nb: 2\n", "3:1: a second document begins here"},
		{"second document of nothing", "a: 1\n---\n", "2:1: a second document begins here"},
		{"many documents", "# c\n" + strings.Repeat("--- a\n", 5), "3:1: a second document begins here"},
		{"document after an end", "a: 1\n...\nb: 2\n", "3:1: a second document begins here"},
		{"doubled key", "a: 1\nb: 2\na: 3\n", `3:1: "a"`},
		{"doubled key in a flow map", "x: {a: 1, a: 2}\n", `1:11: "a"`},
		{"doubled key in quotes", "'a': 1\na: 2\n", `2:1: "a"`},
		{"tab as indent", "a:\n\tb: 1\n", "2:1: a tab stands here"},
		{"open list", "a: [1, 2\n", "1:4: ']' not found"},
		{"open map", "a: {b: 1\n", "1:4: end token '}'"},
		{"open quote", "a: 'x\n", "1:4: end character"},
		{"two colons", "a: b: c\n", "1:4: not allowed"},
		{"list as key", "[1, 2]: a\n", "1:7: invalid key"},
		{"not UTF-8", "a: 1\nb: x\xffy\n", "2:5: this is not UTF-8"},
		{"deep flow list", "a: " + strings.Repeat("[", 60) + strings.Repeat("]", 60), "1:44: this nests deeper than 40"},
		{"deep flow map", strings.Repeat("{a: ", 60) + "1" + strings.Repeat("}", 60), "1:161: this nests deeper than 40"},
		{"deep dashes", strings.Repeat("- ", 60) + "a", "1:81: this nests deeper than 40"},
		{"deep indents", deepMap(60), "42:42: this nests deeper than 40"},
		{"wide map", wideMap(1200), "1001:1: this map has more than 1000 keys"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, _, err := document.Parse("f.yaml", []byte(c.text))
			wantFault(t, err, c.want)
		})
	}
}

func deepMap(levels int) string {
	var b strings.Builder
	for i := range levels {
		b.WriteString(strings.Repeat(" ", i) + "a:\n")
	}
	return b.String()
}

func wideMap(keys int) string {
	var b strings.Builder
	for i := range keys {
		fmt.Fprintf(&b, "k%d: 1\n", i)
	}
	return b.String()
}

// What YAML allows and our files may use.
func TestTaken(t *testing.T) {
	for _, c := range []struct{ name, text, a string }{
		{"plain", "a: x\n", "x"},
		{"no last line end", "a: x", "x"},
		{"one document's marks", "---\na: x\n...\n", "x"},
		{"byte order mark", "\ufeffa: x\n", "x"},
		{"CR LF", "# c\r\na: x\r\nb: y\r\n", "x"},
		{"comments", "# c\na: x # c\n# c\n", "x"},
		{"lines", "a: |\n  one\n  two\n", "one\ntwo"},
		{"folded lines", "a: >\n  one\n  two\n", "one two"},
		{"quoted star and bang", "a: '*x & !y'\n", "*x & !y"},
		{"star inside a text", "a: 2 * 3 & more!\n", "2 * 3 & more!"},
		{"dashes at the margin", "b: 1\n---x: 2\n---y: 2\n---z: 2\na: x\n", "x"},
		{"quoted merge key", "a: '<<'\n", "<<"},
		{"trade signs", "a: ±0,02 µm, 90°\n", "±0,02 µm, 90°"},
	} {
		t.Run(c.name, func(t *testing.T) {
			n, d := parse(t, c.text)
			if got := n.Fields().Get("a").Text(); got != c.a {
				t.Errorf("a is %q, want %q", got, c.a)
			}
			if err := d.Err(); err != nil {
				t.Error(err)
			}
		})
	}
}

// A file that lists 1000 keys in each of many maps is wide and is read.
func TestWideIsRead(t *testing.T) {
	var b strings.Builder
	for i := range 20 {
		fmt.Fprintf(&b, "m%d:\n", i)
		for j := range 1000 {
			fmt.Fprintf(&b, "  k%d: 1\n", j)
		}
	}
	n, d := parse(t, b.String())
	for _, f := range n.Fields().All() {
		if got := len(f.Value.Fields().All()); got != 1000 {
			t.Errorf("%s has %d keys", f.Key, got)
		}
	}
	if err := d.Err(); err != nil {
		t.Error(err)
	}
}

// Every key and every value is where the text has it, whatever line ends,
// comments, blank lines, indents and lines of text stand before it.
func TestPositions(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 7))
	for range 300 {
		var w layout
		w.write(rng, 0, 4)
		for _, eol := range []string{"\n", "\r\n"} {
			text := strings.ReplaceAll(w.text.String(), "\n", eol)
			n, d := parse(t, text)
			got := map[string]document.Pos{}
			positions(n, got)
			if err := d.Err(); err != nil {
				t.Fatal(err)
			}
			if len(got) != len(w.at) {
				t.Fatalf("%d positions read of %d in\n%s", len(got), len(w.at), text)
			}
			for name, want := range w.at {
				if got[name] != want {
					t.Fatalf("%s is at %v, read at %v (line end %q) in\n%s", name, want, got[name], eol, text)
				}
			}
		}
	}
}

// layout writes a random document and notes where its names stand.
type layout struct {
	text strings.Builder
	at   map[string]document.Pos
	n    int
}

func (w *layout) name() string {
	w.n++
	return []string{"k", "µ", "né", "x y"}[w.n%4] + fmt.Sprint(w.n)
}

// put notes a name where the text ends now, and writes it.
func (w *layout) put(name string) {
	if w.at == nil {
		w.at = map[string]document.Pos{}
	}
	s := w.text.String()
	line := strings.Count(s, "\n") + 1
	column := len([]rune(s[strings.LastIndex(s, "\n")+1:])) + 1
	w.at[name] = document.Pos{Line: line, Column: column}
	w.text.WriteString(name)
}

func (w *layout) write(rng *rand.Rand, indent, depth int) {
	pad := strings.Repeat(" ", indent)
	for range 1 + rng.IntN(4) {
		w.text.WriteString([]string{"", "\n", pad + "# note\n", "# note\n\n"}[rng.IntN(4)])
		w.text.WriteString(pad)
		w.put(w.name())
		kind := rng.IntN(4)
		switch {
		case kind == 0 && depth > 0:
			w.text.WriteString(":\n")
			w.write(rng, indent+2, depth-1)
		case kind == 1:
			w.text.WriteString(": {")
			w.put(w.name())
			w.text.WriteString(": ")
			w.put(w.name())
			w.text.WriteString("}\n")
		case kind == 2:
			w.text.WriteString(":\n" + pad + "  - ")
			w.put(w.name())
			w.text.WriteString("\n" + pad + "  - ")
			w.put(w.name())
			w.text.WriteString("\n")
		default:
			w.text.WriteString(": ")
			w.put(w.name())
			w.text.WriteString([]string{"\n", "   # note\n", "\n\n"}[rng.IntN(3)])
		}
	}
}

func positions(n document.Node, into map[string]document.Pos) {
	switch {
	case n.IsText():
		into[n.Text()] = n.Pos()
	case n.IsList():
		for _, item := range n.List(100) {
			positions(item, into)
		}
	default:
		for _, f := range n.Fields().All() {
			into[f.Key] = f.At
			positions(f.Value, into)
		}
	}
}

// Faults come in the order of the file, each of its own type, and a flood of
// them is counted, not listed.
func TestFaults(t *testing.T) {
	n, d := parse(t, "a: 1\nb: 2\n")
	f := n.Fields()
	f.Get("b").Fail("second")
	f.Get("a").Fail("first")
	err := d.Err()
	if got := err.Error(); got != "f.yaml:1:4: first\nf.yaml:2:4: second" {
		t.Errorf("faults read %q", got)
	}
	var fault *document.Fault
	if !errors.As(err, &fault) || fault.File != "f.yaml" || fault.Line != 1 || fault.Column != 4 {
		t.Errorf("the first fault is %+v", fault)
	}
	for range 100 {
		d.Fail(document.Pos{Line: 1, Column: 1}, "again")
	}
	lines := strings.Split(d.Err().Error(), "\n")
	if len(lines) != 21 || !slices.Contains(lines, "f.yaml: and 82 more faults") {
		t.Errorf("a flood reads as %d lines: %s", len(lines), lines[len(lines)-1])
	}
}
