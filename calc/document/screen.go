package document

import (
	"bytes"
	"unicode/utf8"

	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/lexer"
	"github.com/goccy/go-yaml/token"
)

// maxDepth bounds how deep a document may nest.
const maxDepth = 40

// tokens cuts a file up and refuses, before the parser sees it, what this
// project's files never use, and what nests so deep on one line that the
// parser would take hours.
func (d *Document) tokens(data []byte) token.Tokens {
	data = bytes.TrimPrefix(data, []byte("\ufeff"))
	// The lexer counts a comment's line end twice where it is CR LF.
	data = bytes.ReplaceAll(data, []byte("\r\n"), []byte("\n"))
	if at, ok := notUTF8(data); ok {
		d.Fail(at, "this is not UTF-8: save the file as UTF-8 text")
		return nil
	}
	if at, ok := manyDocuments(data); ok {
		d.Fail(at, "a second document begins here: write one document a file")
		return nil
	}
	tokens := lexer.Tokenize(string(data))
	s := screen{doc: d}
	for _, t := range tokens {
		if s.refuse(t); s.stop {
			return nil
		}
	}
	return tokens
}

// notUTF8 finds the first byte that is no UTF-8.
func notUTF8(data []byte) (Pos, bool) {
	if utf8.Valid(data) {
		return Pos{}, false
	}
	at := Pos{1, 1}
	for len(data) > 0 {
		r, size := utf8.DecodeRune(data)
		if r == utf8.RuneError && size == 1 {
			return at, true
		}
		at.Column++
		if r == '\n' {
			at = Pos{at.Line + 1, 1}
		}
		data = data[size:]
	}
	return at, true
}

// manyDocuments finds the second of three or more --- lines, on each of which
// the lexer looks back over the whole file.
func manyDocuments(data []byte) (Pos, bool) {
	var second Pos
	count, line := 0, 0
	for text := range bytes.Lines(data) {
		line++
		rest, ok := bytes.CutPrefix(text, []byte("---"))
		if !ok || len(bytes.TrimLeft(rest, " \t\n")) == len(rest) && len(rest) > 0 {
			continue
		}
		if count++; count == 2 {
			second = Pos{line, 1}
		}
	}
	return second, count > 2
}

// open is a block map by the column of its keys.
type open struct{ column, keys int }

// screen is what was seen so far of a file's tokens.
type screen struct {
	doc     *Document
	content bool // of a document, before a --- line
	flow    int  // how many [ and { are open
	line    int
	entries int    // dashes on this line
	maps    []open // block maps that the line stands in, outermost first
	stop    bool   // the rest need not be looked at
}

func (s *screen) refuse(t *token.Token) {
	if t.Position == nil {
		return
	}
	at := Pos{t.Position.Line, t.Position.Column}
	if at.Line != s.line {
		s.line, s.entries = at.Line, 0
	}
	switch t.Type {
	case token.DocumentHeaderType:
		if s.content {
			s.doc.Fail(at, "a second document begins here: write one document a file")
			s.stop = true
		}
		return
	case token.DirectiveType:
		s.doc.Fail(at, "directives (%%) are not read: take this line out")
		s.stop = true
		return
	case token.CommentType, token.DocumentEndType:
		return
	case token.AliasType, token.AnchorType:
		s.doc.Fail(at, "aliases and anchors (* and &) are not read: write the value out")
	case token.TagType:
		s.doc.Fail(at, "tags (!) are not read: write the plain value")
	case token.MergeKeyType:
		s.doc.Fail(at, "merge keys (<<) are not read: write the values out")
	case token.MappingKeyType:
		s.doc.Fail(at, "keys after a question mark are not read: write key: value")
	case token.SequenceStartType, token.MappingStartType:
		s.flow++
	case token.SequenceEndType, token.MappingEndType:
		s.flow = max(0, s.flow-1)
	case token.SequenceEntryType:
		s.entries++
		s.close(at.Column)
	case token.MappingValueType:
		s.key(t.Prev)
	}
	s.content = true
	if s.flow > maxDepth || s.entries > maxDepth {
		s.doc.Fail(at, "this nests deeper than %d", maxDepth)
		s.stop = true
	}
}

// close leaves the block maps that stand farther in than a column.
func (s *screen) close(column int) {
	for len(s.maps) > 0 && s.maps[len(s.maps)-1].column > column {
		s.maps = s.maps[:len(s.maps)-1]
	}
}

// key counts a key of a block map: the parser's search for doubled keys takes
// the square of their number.
func (s *screen) key(t *token.Token) {
	if s.flow > 0 || t == nil || t.Position == nil {
		return
	}
	column := t.Position.Column
	s.close(column)
	if n := len(s.maps); n == 0 || s.maps[n-1].column < column {
		s.maps = append(s.maps, open{column: column})
	}
	m := &s.maps[len(s.maps)-1]
	if m.keys++; m.keys > maxKeys {
		s.doc.Fail(Pos{t.Position.Line, column}, "this map has more than %d keys", maxKeys)
		s.stop = true
	}
}

// depth refuses a document that nests too deep by its indents.
func (d *Document) depth(n ast.Node, depth int) {
	if depth > maxDepth {
		d.Fail(position(n), "this nests deeper than %d", maxDepth)
		return
	}
	switch v := n.(type) {
	case *ast.SequenceNode:
		for _, c := range v.Values {
			d.depth(c, depth+1)
		}
	case ast.MapNode:
		for it := v.MapRange(); it.Next(); {
			d.depth(it.Value(), depth+1)
		}
	}
}
