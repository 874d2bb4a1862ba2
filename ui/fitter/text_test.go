package fitter

import (
	"strings"
	"testing"
	"unicode/utf8"
)

func TestVisible(t *testing.T) {
	for in, want := range map[string]string{
		"plain":           "plain",
		"[red]no tag[-]":  "[red]no tag[-]",
		"\x1b[31mred":     `\x1b[31mred`,
		"tab\there":       `tab\x09here`,
		"turn\u202eround": `turn\u202eround`,
		"e\u0301":         "e\u0301",
		"\u0301e":         `\u0301e`,
		"日本":              "日本",
		"a\u200db":        `a\u200db`,
		"\U0001F1E9":      `\U0001f1e9`,
		"bad\xffbyte":     `bad\xffbyte`,
		"\ufffd":          "\ufffd",
		"µm ±0.02 °":      "µm ±0.02 °",
		"nul\x00":         `nul\x00`,
	} {
		if got := visible(in); got != want {
			t.Errorf("visible(%q) = %q, want %q", in, got, want)
		}
	}
}

func TestCut(t *testing.T) {
	for _, c := range []struct {
		in   string
		most int
		want string
	}{
		{"short", 5, "short"}, {"longer", 5, "long…"}, {"日本語", 5, "日本…"}, {"日本語", 4, "日…"}, {"日本語", 6, "日本語"},
		{"e\u0301e\u0301e\u0301", 2, "e\u0301…"}, {"x", 0, ""}, {"xy", 1, "…"}, {"", 3, ""},
	} {
		if got := cut(c.in, c.most); got != c.want {
			t.Errorf("cut(%q, %d) = %q, want %q", c.in, c.most, got, c.want)
		}
	}
}

func TestLineCutAndPad(t *testing.T) {
	l := line{{"日本", strong}, {"語x", plain}}
	for n := range 9 {
		got := l.pad(n)
		if got.cells() != n {
			t.Errorf("padded to %d it takes %d cells: %q", n, got.cells(), got.text())
		}
	}
	if got := ends(say(strings.Repeat("left", 30)), say("right"), 40).cells(); got != 40 {
		t.Errorf("a row of 40 takes %d", got)
	}
}

func TestWrap(t *testing.T) {
	got := wrap("one two three four five", 9, 2)
	if want := []string{"one two", "three fo…"}; strings.Join(got, "|") != strings.Join(want, "|") {
		t.Errorf("%q", got)
	}
	if got := wrap(strings.Repeat("W", 25), 10, 5); strings.Join(got, "|") != "WWWWWWWWWW|WWWWWWWWWW|WWWWW" {
		t.Errorf("%q", got)
	}
}

// Any text keeps to its cells, is valid, and holds nothing that a terminal
// would act on.
func FuzzText(f *testing.F) {
	for _, s := range []string{"plain", "[red]", "\x1b[2J", "日本語", "e\u0301\u0301\u0301\u0301\u0301\u0301", "\u200f\u202e", "\xff\xfe", "👩\u200d🔧", "กำ"} {
		f.Add(s, 7)
	}
	f.Fuzz(func(t *testing.T, s string, most int) {
		most = min(max(most, 0), 200)
		got := cut(s, most)
		if n := cells(got); n > most {
			t.Errorf("cut(%q, %d) takes %d cells: %q", s, most, n, got)
		}
		if !utf8.ValidString(got) || strings.ContainsFunc(got, func(r rune) bool { return r < ' ' || r >= 0x7F && r < 0xA0 }) {
			t.Errorf("cut(%q) = %q", s, got)
		}
		if twice := visible(visible(s)); twice != visible(s) {
			t.Errorf("visible twice: %q, once %q", twice, visible(s))
		}
		for _, l := range wrap(s, max(most, 1), 3) {
			if n := cells(l); most > 1 && n > most {
				t.Errorf("wrap(%q, %d) has a line of %d cells: %q", s, most, n, l)
			}
		}
		if l := (line{{s, plain}, {s, strong}}).pad(most); l.cells() != most {
			t.Errorf("padded to %d: %d cells", most, l.cells())
		}
	})
}

func TestEveryBlockFigureHasFiveRows(t *testing.T) {
	for _, r := range "0123456789.-+ADEHIKLNOPST " {
		rows := strings.Split(block(r), "/")
		if len(rows) != blockRows {
			t.Errorf("%q has %d rows", r, len(rows))
			continue
		}
		for _, row := range rows {
			if len(row) != len(rows[0]) {
				t.Errorf("%q: row %q is not as wide as the first", r, row)
			}
		}
	}
	if _, ok := blocks("12x", "", 99, 1, false); ok {
		t.Error("x has no block figure")
	}
	if _, ok := blocks("123456789012", "mm", blockWide, 1, false); ok {
		t.Error("it does not fit")
	}
}

func TestLengthsTyped(t *testing.T) {
	unit := mm("1").Unit()
	for in, want := range map[string]string{
		"1.352": "1.352 mm", "1.352 mm": "1.352 mm", "1.352mm": "1.352 mm", "1.35 1.36": "1.35 mm|1.36 mm",
		"1.00 mm + 0.30 mm + 0.05 mm": "1.00 mm|0.30 mm|0.05 mm", "0.05 in": "0.05 in", "": "", "1,35": "1,35 mm",
	} {
		if got := strings.Join(lengthsTyped(in, unit), "|"); got != want {
			t.Errorf("%q: %q, want %q", in, got, want)
		}
	}
	if got := leavesTyped("1.00 mm + 2 × 0.30 mm"); got != "1.00 mm + 0.30 mm + 0.30 mm" {
		t.Errorf("%q", got)
	}
}

func TestCommas(t *testing.T) {
	for in, want := range map[string]string{
		"33.38 mm": "33,38 mm", "limits 0.150 .. 0.250 mm": "limits 0,150 .. 0,250 mm", "+1.20, -0.5": "+1,20, -0,5",
		"S-31.2 is 75.004 mm": "S-31.2 is 75,004 mm", `sent "+33.38mm\r"`: `sent "+33.38mm\r"`, "version 1.2.3": "version 1.2.3",
		"at 14:02:11": "at 14:02:11", "1.30.": "1,30.", "±0.007": "±0,007", "v1.2": "v1.2", "0.20": "0,20", "": "",
	} {
		if got := withCommas(in); got != want {
			t.Errorf("%q: %q, want %q", in, got, want)
		}
	}
	for in, want := range map[string]string{"33,38": "33.38", "1,352 1,35 mm": "1.352 1.35 mm", "a,b": "a,b", ",5": ",5"} {
		if got := withPoints(in); got != want {
			t.Errorf("%q: %q, want %q", in, got, want)
		}
	}
}

func FuzzCommas(f *testing.F) {
	f.Add("33.38 mm")
	f.Add("\"1.2\" -0.5")
	f.Fuzz(func(t *testing.T, s string) {
		if got := withCommas(s); len(got) != len(s) || strings.ReplaceAll(got, ",", ".") != strings.ReplaceAll(s, ",", ".") {
			t.Errorf("%q became %q", s, got)
		}
	})
}
