package document_test

import (
	"fmt"
	"strings"
	"testing"
	"time"
	"github.com/goccy/go-yaml/lexer"
)

func TestLex(t *testing.T) {
	for _, s := range []string{strings.Repeat("[", 1<<20), strings.Repeat("- ", 1<<19), strings.Repeat("{a: ", 1<<18), strings.Repeat("--- a\n", 170000), strings.Repeat("a: ", 1<<18),strings.Repeat("'", 1<<20-1),strings.Repeat("&a ", 1<<18),strings.Repeat("? ", 1<<19),strings.Repeat("a:\n ", 1<<18),strings.Repeat("|\n ", 1<<18),strings.Repeat("\" ", 1<<18),strings.Repeat("- |\n  x\n", 1<<17)} {
		st := time.Now()
		toks := lexer.Tokenize(s)
		fmt.Printf("%q %d %v\n", s[:4], len(toks), time.Since(st))
	}
	for _, tk := range lexer.Tokenize("--- !t\na: [b, {c: d}]\n'q':\n  - - e\n  - f: 'x'\n...\n? x\n: y\n%a\n") {
		fmt.Println(tk.Type, tk.Value, tk.Position)
	}
	for _, tk := range lexer.Tokenize("a: 1\r\nb: 2\r\n# c\r\nc: |\r\n  x\r\nd: 4\r\n") {
		fmt.Println(tk.Type, tk.Value, tk.Position)
	}
}
