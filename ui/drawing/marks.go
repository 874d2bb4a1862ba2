package drawing

import (
	"bytes"
	"strings"

	"codeberg.org/go-pdf/fpdf"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"

	"shimwright/calc/quantity"
)

// A page in mm: A4 across, with its margin.
const (
	pageWide = 297.0
	pageHigh = 210.0
	margin   = 12.0
)

// Sizes of writing, in points; 10 is the least for what must be read, 8 for what
// stands beside it.
const (
	sizeTitle = 14.0
	sizeHead  = 11.0
	sizeText  = 9.5
	sizeSmall = 8.0
)

// pt is a point in mm.
const pt = 25.4 / 72

// A dash is how a line is broken.
type dash uint8

const (
	whole dash = iota
	dashed
	dotted
)

// A mark is one thing on a page: a line, a filled shape or words.
type mark struct {
	points [][2]float64 // of a line, or the corners of a shape
	width  float64      // of a line, in mm
	dash   dash
	grey   float64 // 0 is black, 1 white
	fill   bool

	words  string
	size   float64 // in points
	bold   bool
	turned float64 // degrees, upward from the left
	anchor anchor
}

// An anchor is which end of words stands at their point.
type anchor uint8

const (
	start anchor = iota
	middle
	end
)

// A page is marks in the order they are drawn.
type page struct{ marks []mark }

func (p *page) line(x1, y1, x2, y2, width float64, d dash, grey float64) {
	p.marks = append(p.marks, mark{points: [][2]float64{{x1, y1}, {x2, y2}}, width: width, dash: d, grey: grey})
}

func (p *page) shape(grey float64, points ...[2]float64) {
	p.marks = append(p.marks, mark{points: points, fill: true, grey: grey})
}

func (p *page) bar(x1, y1, x2, y2, grey float64) {
	p.shape(grey, [2]float64{x1, y1}, [2]float64{x2, y1}, [2]float64{x2, y2}, [2]float64{x1, y2})
}

// head is an arrow's head of a length at a point; along is its direction.
func (p *page) head(x, y, alongX, alongY, long float64) {
	const half = 0.8
	bx, by := x-alongX*long, y-alongY*long
	p.shape(0, [2]float64{x, y}, [2]float64{bx - alongY*half, by + alongX*half}, [2]float64{bx + alongY*half, by - alongX*half})
}

func (p *page) words(x, y float64, s string, size float64, bold bool, a anchor) {
	p.marks = append(p.marks, mark{points: [][2]float64{{x, y}}, words: s, size: size, bold: bold, anchor: a})
}

func (p *page) turned(x, y float64, s string, size, degrees float64) {
	p.marks = append(p.marks, mark{points: [][2]float64{{x, y}}, words: s, size: size, turned: degrees})
}

// A ruler measures words.
type ruler struct{ pdf *fpdf.Fpdf }

func newRuler() ruler { return ruler{newPDF()} }

// newPDF is an empty document with the typeface in it.
func newPDF() *fpdf.Fpdf {
	p := fpdf.New("L", "mm", "A4", "")
	p.AddUTF8FontFromBytes("go", "", bytes.Clone(goregular.TTF))
	p.AddUTF8FontFromBytes("go", "B", bytes.Clone(gobold.TTF))
	p.SetAutoPageBreak(false, 0)
	p.SetMargins(0, 0, 0)
	return p
}

// wide is how wide words are, in mm.
func (r ruler) wide(s string, size float64, bold bool) float64 {
	r.pdf.SetFont("go", style(bold), size)
	return r.pdf.GetStringWidth(s)
}

func style(bold bool) string {
	if bold {
		return "B"
	}
	return ""
}

// wrap breaks words into lines of at most so many mm; a word that is too long for
// a line is broken.
func (r ruler) wrap(s string, size, most float64) []string {
	var out []string
	at := ""
	for _, w := range glued(strings.Fields(s)) {
		for _, part := range r.pieces(w, size, most) {
			switch {
			case at == "":
				at = part
			case r.wide(at+" "+part, size, false) <= most:
				at += " " + part
			default:
				out = append(out, at)
				at = part
			}
		}
	}
	return append(out, at)
}

// glued keeps a figure and its unit on one line.
func glued(list []string) []string {
	var out []string
	for _, w := range list {
		n := len(out)
		_, err := quantity.ParseUnit(strings.TrimRight(w, ".,:;"))
		if n > 0 && err == nil && strings.ContainsAny(out[n-1][len(out[n-1])-1:], "0123456789") {
			out[n-1] += " " + w
			continue
		}
		out = append(out, w)
	}
	return out
}

func (r ruler) pieces(w string, size, most float64) []string {
	var out []string
	at := ""
	for _, c := range w {
		if at != "" && r.wide(at+string(c), size, false) > most {
			out = append(out, at)
			at = ""
		}
		at += string(c)
	}
	return append(out, at)
}
