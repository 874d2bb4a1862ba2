package term

import (
	"testing"

	"github.com/gdamore/tcell/v2"
	"github.com/lucasb-eyer/go-colorful"

	"shimwright/ui/draw"
)

// sight is how linear red, green and blue are seen: nine coefficients, row by row.
type sight [9]float64

func (s sight) of(c colorful.Color) colorful.Color {
	r, g, b := c.LinearRgb()
	return colorful.LinearRgb(s[0]*r+s[1]*g+s[2]*b, s[3]*r+s[4]*g+s[5]*b, s[6]*r+s[7]*g+s[8]*b).Clamped()
}

// dichromat is the sight of an eye that lacks one kind of cone: what that cone
// would have told is worked from the other two. The step from linear red, green
// and blue to cones, and the two replacements used below, are those of F. Viénot,
// H. Brettel, J. D. Mollon, "Digital video colourmaps for checking the legibility
// of displays by dichromats", Color Research and Application 24 (1999), 243-252.
// The coefficients are from memory.
func dichromat(cone int, from [3]float64) sight {
	toCones := [3][3]float64{{17.8824, 43.5161, 4.11935}, {3.45565, 27.1554, 3.86714}, {0.0299566, 0.184309, 1.46709}}
	back := inverse(toCones)
	seen := [3][3]float64{{1, 0, 0}, {0, 1, 0}, {0, 0, 1}}
	seen[cone] = from
	all := times(back, times(seen, toCones))
	return sight{all[0][0], all[0][1], all[0][2], all[1][0], all[1][1], all[1][2], all[2][0], all[2][1], all[2][2]}
}

func times(a, b [3][3]float64) (out [3][3]float64) {
	for i := range 3 {
		for j := range 3 {
			for k := range 3 {
				out[i][j] += a[i][k] * b[k][j]
			}
		}
	}
	return out
}

func inverse(m [3][3]float64) (out [3][3]float64) {
	minor := func(i, j int) float64 {
		a, b, c, d := (i+1)%3, (i+2)%3, (j+1)%3, (j+2)%3
		return m[a][c]*m[b][d] - m[a][d]*m[b][c]
	}
	det := m[0][0]*minor(0, 0) + m[0][1]*minor(0, 1) + m[0][2]*minor(0, 2)
	for i := range 3 {
		for j := range 3 {
			out[j][i] = minor(i, j) / det
		}
	}
	return out
}

// sights are full colour vision and the two common deficiencies.
func sights() map[string]sight {
	return map[string]sight{
		"all three kinds of cone":   {1, 0, 0, 0, 1, 0, 0, 0, 1},
		"without long-wave cones":   dichromat(0, [3]float64{0, 2.02344, -2.52581}),
		"without middle-wave cones": dichromat(1, [3]float64{0.494207, 0, 1.24827}),
	}
}

func foreground(t *testing.T, tone draw.Tone) colorful.Color {
	t.Helper()
	fg, _, _ := Style(tone, false).Decompose()
	r, g, b := fg.RGB()
	if r < 0 {
		t.Fatalf("tone %v has no colour of its own", tone)
	}
	return colorful.Color{R: float64(r) / 255, G: float64(g) / 255, B: float64(b) / 255}
}

// A white that stays white is what the published replacements were made for.
func TestDichromatsSeeWhiteAsWhite(t *testing.T) {
	white := colorful.Color{R: 1, G: 1, B: 1}
	for name, s := range sights() {
		if d := s.of(white).DistanceCIEDE2000(white) * 100; d > 1 {
			t.Errorf("%s: white is seen %.2f away from white", name, d)
		}
	}
}

// The tones that have a colour are told apart from each other and from plain text
// by every one of these eyes: a difference of 20 by CIEDE2000 (CIE 142-2001), where
// 1 is about the least that is seen.
func TestTonesAreToldApart(t *testing.T) {
	plain := colorful.Color{R: 0.75, G: 0.75, B: 0.75} // the usual terminal's text
	tones := map[string]colorful.Color{"plain": plain, "good": foreground(t, draw.Good), "warn": foreground(t, draw.Warn)}
	for name, s := range sights() {
		for a, ca := range tones {
			for b, cb := range tones {
				if d := s.of(ca).DistanceCIEDE2000(s.of(cb)) * 100; a < b && d < 20 {
					t.Errorf("%s: %s and %s are %.1f apart", name, a, b, d)
				}
			}
		}
	}
}

// Coloured text on black has at least the contrast 3:1 that WCAG 2.1 (W3C
// Recommendation, 1.4.3 and its definition of contrast ratio) asks of bold or
// large text; the formula and the figure are from memory.
func TestTonesStandOutFromBlack(t *testing.T) {
	for name, tone := range map[string]draw.Tone{"good": draw.Good, "warn": draw.Warn} {
		r, g, b := foreground(t, tone).LinearRgb()
		if ratio := (0.2126*r + 0.7152*g + 0.0722*b + 0.05) / 0.05; ratio < 3 {
			t.Errorf("%s has contrast %.2f to black", name, ratio)
		}
	}
}

// Without colour no tone has one, and those that matter keep their weight.
func TestWithoutColour(t *testing.T) {
	for _, tone := range []draw.Tone{draw.Plain, draw.Faint, draw.Strong, draw.Good, draw.Warn, draw.Stop} {
		if c, _, _ := Style(tone, true).Decompose(); c != tcell.ColorDefault {
			t.Errorf("tone %v has the colour %v where none is wanted", tone, c)
		}
	}
	if Style(draw.Stop, true) == Style(draw.Plain, true) || Style(draw.Warn, true) == Style(draw.Plain, true) {
		t.Error("a warning looks like plain text without colour")
	}
}
