package record

import (
	"fmt"
	"slices"
	"strings"

	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/gomono"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/text/unicode/norm"
)

// lacking stands for a character that the fonts do not have.
const lacking = '□'

// glyphs knows what all three fonts of the PDF can show, and keeps what they
// could not.
type glyphs struct {
	fonts   []*sfnt.Font
	buffer  sfnt.Buffer
	known   map[rune]bool
	missing map[rune]bool
}

func newGlyphs() (*glyphs, error) {
	g := &glyphs{known: map[rune]bool{}, missing: map[rune]bool{}}
	for _, ttf := range [][]byte{goregular.TTF, gobold.TTF, gomono.TTF} {
		f, err := sfnt.Parse(ttf)
		if err != nil {
			return nil, fmt.Errorf("a font that the program carries cannot be read: %w", err)
		}
		g.fonts = append(g.fonts, f)
	}
	return g, nil
}

// has tells whether every font shows a character.
func (g *glyphs) has(r rune) bool {
	if ok, seen := g.known[r]; seen {
		return ok
	}
	ok := r <= 0xFFFF
	for _, f := range g.fonts {
		i, err := f.GlyphIndex(&g.buffer, r)
		ok = ok && err == nil && i != 0
	}
	g.known[r] = ok
	return ok
}

// show is a text as the PDF prints it.
func (g *glyphs) show(s string) string {
	s = norm.NFC.String(clean(s)) // a letter with its accent, where there is one such
	var b strings.Builder
	for _, r := range s {
		if !g.has(r) {
			g.missing[r] = true
			r = lacking
		}
		b.WriteRune(r)
	}
	return b.String()
}

// said lists what could not be shown; "" where all could.
func (g *glyphs) said() string {
	if len(g.missing) == 0 {
		return ""
	}
	var all []rune
	for r := range g.missing {
		all = append(all, r)
	}
	slices.Sort(all)
	const most = 40
	say := string(lacking) + " stands for characters that the fonts of this print lack; the text and JSON records have them:"
	for i, r := range all {
		if i == most {
			return say + fmt.Sprintf(" and %d more.", len(all)-most)
		}
		say += fmt.Sprintf(" U+%04X", r)
	}
	return say + "."
}
