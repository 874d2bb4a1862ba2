package document_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"shimwright/calc/document"
)

func TestProbe(t *testing.T) {
	for _, s := range []string{
		"", "\n", "# only\n", "---\n", "---\na: 1\n---\nb: 2\n", "---\na: 1\n...\n", "a: 1\n---\n", "a: 1\n--- # x\n",
		"a: 00123\nb: 0x1F\nc: 1.10\nd: +8\ne: 0.100\nf: 1_000\ng: .5\nh: 1e3\ni: .inf\nj: .nan\nk: yes\nl: true\nm: 0o17\nn: 0b11\no: 12:30\np: 2001-01-01\nq: ~\n",
		"a: &x 1\nb: *x\n", "a: !!str 1\n", "a:\n  <<: {b: 1}\n", "a: {<<: {b: 1}}\n", "a:\tb\n", "a:\n\tb: 1\n", "a: 1\na: 2\n", "a:\nb: null\n", "a: ''\n", "a: |\n  two\n  lines\n",
		"? a\n: b\n", "1: a\n", "[1,2]: a\n", "{a: 1}: b\n", "? {a: 1}\n: b\n", "- a\n- b\n", "just text", "a: 'x\x01y'\n", "a: \"x\\u0001y\"\n", "a: \"x\\ty\"\n", "a: \xff\n", "\ufeffa: 1\n", "a: 1\r\nb: 2\r\n", "a: [1, 2\n", "a: {b: 1\n", "a: b: c\n", "%YAML 1.2\n---\na: 1\n", "a: >\n  fold\n  me\n", "a: \"é\"\nbbbb: {é: 1, q: 2}\n", "a: [,]\n", "a: -\n", "null: 1\n", "~: 1\n", "true: 1\n", "'a': 1\na: 2\n", "a: \"b\" c\n", "a: 1 # note\n", "*x : 1\n", "&x a: 1\n", "!t a: 1\n","? &k a\n: 1\n", "a: - b\n", "a:\n- b\n-\n", "a: @b\n", "a: `b\n", "a: 'it''s'\n", "a: ''''\n",
	} {
		func() {
			defer func() {
				if r := recover(); r != nil {
					fmt.Printf("PANIC %q: %v\n", s, r)
				}
			}()
			n, d, err := document.Parse("f", []byte(s))
			if err != nil {
				fmt.Printf("%q -> ERR %v\n", s, err)
				return
			}
			out := ""
			for _, f := range n.Fields().All() {
				out += fmt.Sprintf(" %s@%d:%d=", f.Key, f.At.Line, f.At.Column)
				out += fmt.Sprintf("%q@%d:%d", f.Value.Text(), f.Value.Pos().Line, f.Value.Pos().Column)
			}
			fmt.Printf("%q ->%s | %v\n", s, out, d.Err())
		}()
	}
	big := map[string]string{
		"wide map":   func() string { var b strings.Builder; for i := 0; b.Len() < 1<<20-20; i++ { fmt.Fprintf(&b, "k%d: 1\n", i) }; return b.String() }(),
		"wide list":  strings.Repeat("- 1\n", (1<<20)/4),
		"flow list":  "[" + strings.Repeat("1,", (1<<20)/2-2) + "]",
		"flow map":   func() string { var b strings.Builder; b.WriteString("{"); for i := 0; b.Len() < 1<<20-20; i++ { fmt.Fprintf(&b, "k%d: 1,", i) }; b.WriteString("}"); return b.String() }(),
		"deep flow":  strings.Repeat("[", 1<<20),
		"deep flow closed":  strings.Repeat("[", 1<<18)+strings.Repeat("]", 1<<18),
		"deep map":   func() string { var b strings.Builder; for i := 0; b.Len() < 1<<20-4000; i++ { b.WriteString(strings.Repeat(" ", i) + "a:\n") }; return b.String() }(),
		"deep dash":  strings.Repeat("- ", 1<<19),
		"long text":  "a: " + strings.Repeat("x", 1<<20-4),
		"long quoted":  "a: '" + strings.Repeat("x", 1<<20-8)+"'",
		"long dq esc":  "a: \"" + strings.Repeat("\\n", 1<<19-8)+"\"",
		"comments":   strings.Repeat("# c\n", 1<<18),
		"comments key":   strings.Repeat("# c\n", 1<<17) + "a: 1\n" + strings.Repeat("# c\n", 1<<16),
		"blank":      strings.Repeat("\n", 1<<20),
		"spaces":      strings.Repeat(" ", 1<<20),
		"literal":    "a: |\n" + strings.Repeat("  x\n", 1<<18-10),
		"folded":    "a: >\n" + strings.Repeat("  x\n", 1<<18-10),
		"plain multi":    "a:\n" + strings.Repeat("  x\n", 1<<18-10),
		"docs": strings.Repeat("---\n", 1<<18),
		"docs a": strings.Repeat("--- a\n", 150000),
		"colons": strings.Repeat("a: ", 1<<18),
		"braces": strings.Repeat("{a: ", 1<<18),
		"questions": strings.Repeat("? ", 1<<19),
		"anchors": strings.Repeat("&a ", 1<<18),
		"tags": strings.Repeat("!a ", 1<<18),
		"quotes": strings.Repeat("'", 1<<20-1),
		"commas": strings.Repeat(",", 1<<20),
		"crlf": strings.Repeat("- a\r\n", 200000),
		"nul": strings.Repeat("\x00", 1<<20),
	}
	for k, s := range big {
		for _, size := range []int{1<<14, 1<<15, 1<<16, 1<<17} {
		x := s
		if len(x) > size && !strings.HasPrefix(k, "zz") { x = s[:size] }
		start := time.Now()
		func() {
			defer func() {
				if r := recover(); r != nil {
					fmt.Printf("PANIC %s: %v\n", k, r)
				}
			}()
			_, _, err := document.Parse("f", []byte(x))
			m := "ok"
			if err != nil { m = err.Error(); if len(m) > 80 { m = m[:80] } }
			fmt.Printf("%-18s %7d %8v %s\n", k, len(x), time.Since(start).Round(time.Millisecond), m)
		}()
		if time.Since(start) > 3*time.Second { break }
		}
	}
}
