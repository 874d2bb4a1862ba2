package benchfile

import (
	"strings"

	"shimwright/calc/document"
	"shimwright/devices"
)

// source is the lines of the file, to see how a text was quoted.
type source []string

func newSource(text []byte) source {
	return strings.Split(strings.TrimPrefix(strings.ReplaceAll(string(text), "\r\n", "\n"), "\ufeff"), "\n")
}

// ownEscape tells whether the text at a place is in double quotes and has a
// backslash, which YAML has taken for its own by then.
func (s source) ownEscape(at document.Pos) bool {
	if at.Line < 1 || at.Line > len(s) {
		return false
	}
	line := []rune(s[at.Line-1])
	if at.Column < 1 || at.Column > len(line) || line[at.Column-1] != '"' {
		return false
	}
	text, _, _ := strings.Cut(string(line[at.Column:]), `"`)
	return strings.Contains(text, `\`)
}

// bytes is a text with escapes as the bytes it stands for; empty where it has a
// fault.
func (r *reader) bytes(n document.Node) string {
	if !r.unquoted(n, n.Pos()) {
		return ""
	}
	return unescaped(n, n.Pos(), n.Text())
}

// unquoted refuses escapes that YAML has read.
func (r *reader) unquoted(n document.Node, at document.Pos) bool {
	own := r.source.ownEscape(at)
	if own {
		n.FailAt(at, `this is in double quotes, where YAML takes the backslash for its own: write it in single quotes, as in 'R\r'`)
	}
	return !own
}

func unescaped(n document.Node, at document.Pos, text string) string {
	out, err := devices.Unescape(text)
	if err != nil {
		n.FailAt(at, "%s", err)
	}
	return out
}
