package term

import (
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/gdamore/tcell/v2"

	"shimwright/ui/draw"
)

func TestEnds(t *testing.T) {
	for _, c := range []struct {
		left, right string
		width       int
		want        string
	}{
		{"left", "right", 14, "left     right"}, {"a long left end", "right", 14, "a long…  right"},
		{"left", "a right end that is long", 10, "a right e…"}, {"", "", 4, ""}, {"日本語", "x", 8, "日本…  x"},
	} {
		if got := Ends(Say(draw.Plain, c.left), Say(draw.Strong, c.right), c.width); got.Text() != c.want || got.Cells() > c.width {
			t.Errorf("%q and %q in %d: %q, %d cells", c.left, c.right, c.width, got.Text(), got.Cells())
		}
	}
}

func TestBesideAndFill(t *testing.T) {
	left := []draw.Row{Say(draw.Plain, "one"), Say(draw.Plain, "two and more")}
	out := Beside(left, []draw.Row{nil, nil, Say(draw.Plain, "right")}, 5, "|")
	var text []string
	for _, r := range Fill(out, 8, 4) {
		text = append(text, r.Text())
	}
	if got := strings.Join(text, "/"); got != "one  |/two …|/     |r…/" {
		t.Errorf("%q", got)
	}
}

// Every tone is told from every other by weight, dimness or turning round, but
// for good, which its word and shape tell.
func TestStylesWithoutColour(t *testing.T) {
	seen := map[tcell.Style]draw.Tone{}
	for tone := draw.Plain; tone <= draw.Stop; tone++ {
		s := Style(tone, true)
		if fg, bg, _ := s.Decompose(); fg != tcell.ColorDefault || bg != tcell.ColorDefault {
			t.Errorf("tone %d has a colour", tone)
		}
		if tone == draw.Plain || tone == draw.Faint || tone == draw.Strong || tone == draw.Stop {
			if old, had := seen[s]; had {
				t.Errorf("tones %d and %d look alike", old, tone)
			}
			seen[s] = tone
		}
	}
}

// Any text keeps to its cells and holds nothing that a terminal would act on.
func FuzzRows(f *testing.F) {
	for _, s := range []string{"plain", "[red]", "\x1b[2J", "日本語", "e\u0301\u0301\u0301\u0301\u0301\u0301", "\u200f\u202e", "\xff\xfe", "👩\u200d🔧", strings.Repeat("W", 300)} {
		f.Add(s, 7)
	}
	f.Fuzz(func(t *testing.T, s string, width int) {
		width = min(max(width, 0), 200)
		r := draw.Row{Text(draw.Plain, s), Text(draw.Stop, s)}
		if n := Cut(r, width).Cells(); n > width {
			t.Errorf("cut to %d it takes %d", width, n)
		}
		if n := Pad(r, width).Cells(); n != width {
			t.Errorf("padded to %d it takes %d", width, n)
		}
		if n := Ends(r, r, width).Cells(); n > width {
			t.Errorf("in a row of %d the ends take %d", width, n)
		}
		for _, l := range Lines(draw.Plain, s, max(width, 2), 3) {
			if n := l.Cells(); n > max(width, 2) {
				t.Errorf("a line of %d takes %d: %q", width, n, l.Text())
			}
			if !utf8.ValidString(l.Text()) || strings.ContainsFunc(l.Text(), func(c rune) bool { return c < ' ' || c >= 0x7F && c < 0xA0 }) {
				t.Errorf("%q", l.Text())
			}
		}
	})
}
