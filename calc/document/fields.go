package document

import (
	"slices"
	"strings"

	"github.com/goccy/go-yaml/ast"
)

// maxKeys bounds how many keys one map may have.
const maxKeys = 1000

// A Field is one key of a map with its value.
type Field struct {
	Key   string
	At    Pos // of the key
	Value Node
}

// Fields is a map being read: every key must be asked for before Done.
type Fields struct {
	node   Node
	fields []Field
	asked  []string
}

// Fields reads the node as a map. Doubled keys are refused.
func (n Node) Fields() *Fields {
	f := &Fields{node: n}
	if !n.Given() {
		return f
	}
	m, ok := n.n.(ast.MapNode)
	if !ok {
		n.Fail("a map of keys is wanted here, as in {key: value}")
		return &Fields{}
	}
	for it := m.MapRange(); it.Next(); {
		if len(f.fields) == maxKeys {
			n.Fail("this map has more than %d keys", maxKeys)
			break
		}
		key := Node{n.doc, it.Key()}
		name := key.Name()
		if slices.ContainsFunc(f.fields, func(g Field) bool { return g.Key == name }) {
			key.Fail("the key %q stands here a second time", name)
			continue
		}
		f.fields = append(f.fields, Field{name, key.Pos(), Node{n.doc, it.Value()}})
	}
	return f
}

// Get is the value of a key that may be left out.
func (f *Fields) Get(key string) Node {
	f.asked = append(f.asked, key)
	for _, g := range f.fields {
		if g.Key == key {
			if _, null := g.Value.n.(*ast.NullNode); null {
				f.node.doc.Fail(g.At, "nothing is written at %q: write its value or take the key away", key)
				return Node{}
			}
			return g.Value
		}
	}
	return Node{}
}

// Need is the value of a key that must be there; the reason says why, or what
// to write.
func (f *Fields) Need(key, write string) Node {
	v := f.Get(key)
	if !v.Given() && f.node.Given() && !f.has(key) {
		f.node.Fail("the key %q is missing: write %s", key, write)
	}
	return v
}

func (f *Fields) has(key string) bool {
	return slices.ContainsFunc(f.fields, func(g Field) bool { return g.Key == key })
}

// Has tells whether a key is there, without asking for it.
func (f *Fields) Has(key string) bool { return f.has(key) }

// All are the fields of a map whose keys are names that the author chose.
func (f *Fields) All() []Field {
	for _, g := range f.fields {
		f.asked = append(f.asked, g.Key)
	}
	return f.fields
}

// First is the first key, which in some maps says what the map is.
func (f *Fields) First() (Field, bool) {
	if len(f.fields) == 0 {
		return Field{}, false
	}
	return f.fields[0], true
}

// Done refuses the keys that were not asked for.
func (f *Fields) Done() {
	for _, g := range f.fields {
		if !slices.Contains(f.asked, g.Key) {
			known := slices.Clone(f.asked)
			slices.Sort(known)
			f.node.doc.Fail(g.At, "the key %q is not known here: the keys are %s", g.Key, strings.Join(slices.Compact(known), ", "))
		}
	}
}

// Node is the map itself.
func (f *Fields) Node() Node { return f.node }
