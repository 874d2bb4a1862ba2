package document_test

import (
	"fmt"
	"strings"
	"testing"

	"shimwright/calc/document"
)

func TestUnknownKeyNamesTheKnown(t *testing.T) {
	n, d := parse(t, "gap: 1\ngape: 2\n")
	f := n.Fields()
	f.Get("gap")
	f.Get("state")
	f.Get("aim")
	f.Done()
	wantFault(t, d.Err(), `2:1: the key "gape" is not known here: the keys are aim, gap, state`)
}

func TestMissingKey(t *testing.T) {
	n, d := parse(t, "a:\n  b: 1\n")
	inner := n.Fields().Get("a").Fields()
	if inner.Need("c", "the third letter").Given() {
		t.Error("c is given")
	}
	wantFault(t, d.Err(), `2:3: the key "c" is missing: write the third letter`)
}

// A missing map gives one fault, not one for each key that it would have had.
func TestMissingMapGivesOneFault(t *testing.T) {
	n, d := parse(t, "x: 1\n")
	f := n.Fields()
	f.Get("x")
	inner := f.Need("a", "a map").Fields()
	inner.Need("b", "b").Figure(1)
	inner.Need("c", "c").Names(3)
	inner.Done()
	f.Done()
	if got := d.Err(); got == nil || strings.Contains(got.Error(), "\n") {
		t.Errorf("faults: %v", got)
	}
}

func TestNullIsRefusedWhereverItStands(t *testing.T) {
	for _, c := range []struct{ text, want string }{
		{"a:\n", `1:1: nothing is written at "a"`},
		{"a: ~\n", `1:1: nothing is written at "a"`},
		{"a: null\n", `1:1: nothing is written at "a"`},
		{"a: {}\nb: 1\n", ""},
	} {
		n, d := parse(t, c.text)
		n.Fields().Get("a").Fields().Done()
		if c.want == "" {
			if err := d.Err(); err != nil {
				t.Errorf("%q: %v", c.text, err)
			}
			continue
		}
		wantFault(t, d.Err(), c.want)
	}
	n, d := parse(t, "a: [1, ~]\n")
	n.Fields().Get("a").Names(5)
	wantFault(t, d.Err(), "1:8: nothing is written here: want a text")
	n, d = parse(t, "~: 1\n")
	n.Fields()
	wantFault(t, d.Err(), "1:1: nothing is written here")
}

func TestKeys(t *testing.T) {
	for _, c := range []struct{ name, text, want string }{
		{"alike but for a blank", "'a ': 1\na: 2\n", `2:1: the key "a" stands here a second time`},
		{"empty", "'': 1\n", "1:1: an empty text stands here"},
		{"two lines", "\"a\\nb\": 1\n", "1:1: a name is one line"},
		{"long", strings.Repeat("x", 61) + ": 1\n", "1:1: a name is one line of at most 60 characters"},
		{"control character", "\"a\\u0007\": 1\n", "1:1: this text holds control characters"},
		{"turned round", "\"a\\u202eb\": 1\n", "1:1: this text holds control characters"},
		{"list in place of a map", "- a\n", "1:1: a map of keys is wanted here"},
		{"text in place of a map", "a\n", "1:1: a map of keys is wanted here"},
		{"wide flow map", "{" + strings.ReplaceAll(wideMap(1200), "\n", ", ") + "}", "1:1: this map has more than 1000 keys"},
	} {
		t.Run(c.name, func(t *testing.T) {
			n, d := parse(t, c.text)
			n.Fields().All()
			wantFault(t, d.Err(), c.want)
		})
	}
}

// Keys that look like numbers or truths are names, as written.
func TestKeysAsWritten(t *testing.T) {
	n, d := parse(t, "0 deg: 1\n007: 1\ntrue: 1\n1.50: 1\n0x1F: 1\n")
	got := ""
	for _, f := range n.Fields().All() {
		got += f.Key + "|"
	}
	if got != "0 deg|007|true|1.50|0x1F|" || d.Err() != nil {
		t.Errorf("keys %s, faults %v", got, d.Err())
	}
}

func TestFirstAndHas(t *testing.T) {
	n, _ := parse(t, "mark: x\nsay: y\n")
	f := n.Fields()
	first, ok := f.First()
	if !ok || first.Key != "mark" || !f.Has("say") || f.Has("x") || f.Node().Pos() != (document.Pos{Line: 1, Column: 1}) {
		t.Errorf("first %v %v", first, ok)
	}
	if _, ok := (document.Node{}).Fields().First(); ok {
		t.Error("a map that is not there has a first key")
	}
}

func TestLists(t *testing.T) {
	for _, c := range []struct {
		text, want string
		names      string
	}{
		{"a: [x, 007]\n", "", "x|007|"},
		{"a: []\n", "", ""},
		{"a:\n  - x\n  - y\n", "", "x|y|"},
		{"a: x\n", "1:4: a list is wanted here", ""},
		{"a: {x: 1}\n", "1:4: a list is wanted here", ""},
		{"a: [1, 2, 3, 4]\n", "1:4: this list has 4 items: at most 3 are read", ""},
		{"a: [[x]]\n", "1:5: a list or a map stands here: want a text", "|"},
	} {
		n, d := parse(t, c.text)
		got := ""
		for _, s := range n.Fields().Get("a").Names(3) {
			got += s + "|"
		}
		if got != c.names {
			t.Errorf("%q reads as %q", c.text, got)
		}
		if c.want != "" {
			wantFault(t, d.Err(), c.want)
		} else if d.Err() != nil {
			t.Error(d.Err())
		}
	}
}

// A wide file is read in no more than its share of time; a timing is looked at
// by eye.
func BenchmarkParse(b *testing.B) {
	for _, c := range []struct {
		name string
		one  string
	}{
		{"list", "- 1\n"}, {"entries", "- {step: a b c, digits: +8}\n"}, {"text", "x"}, {"open lists", "["}, {"dashes", "- "},
		{"documents", "--- a\n"}, {"comments", "# c\n"}, {"anchors", "&a "},
	} {
		text := []byte(strings.Repeat(c.one, document.MaxSize/len(c.one)))
		b.Run(c.name, func(b *testing.B) {
			b.SetBytes(int64(len(text)))
			for b.Loop() {
				_, _, _ = document.Parse("f.yaml", text)
			}
		})
	}
	var keys strings.Builder
	for i := 0; keys.Len() < document.MaxSize-20; i++ {
		fmt.Fprintf(&keys, "k%d: 1\n", i)
	}
	b.Run("keys", func(b *testing.B) {
		b.SetBytes(int64(keys.Len()))
		for b.Loop() {
			_, _, _ = document.Parse("f.yaml", []byte(keys.String()))
		}
	})
}
