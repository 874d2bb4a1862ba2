package record

import (
	"bytes"
	"errors"
	"fmt"
	"strings"
	"time"

	"codeberg.org/go-pdf/fpdf"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/gomono"
	"golang.org/x/image/font/gofont/goregular"
	"rsc.io/qr"
)

// Sizes of the paper, in mm, and of print, in points. Nothing is printed smaller
// than 10 pt: it is read after oil.
const (
	margin    = 20.0
	top       = 23.0
	bottom    = 276.5
	across    = 170.0
	plainSize = 10.0
	headSize  = 12.0
	lineHigh  = 4.6
	monoHigh  = 4.2
	mostKept  = 12 // lines of a row that are kept on one page
)

// paper is a PDF being drawn, from the top down.
type paper struct {
	*fpdf.Fpdf
	glyphs *glyphs
	y      float64
}

// newPaper is a document whose every byte follows from what is drawn and from
// its time.
func newPaper(size fpdf.SizeType, title string, at time.Time) (*paper, error) {
	g, err := newGlyphs()
	if err != nil {
		return nil, err
	}
	p := &paper{Fpdf: fpdf.NewCustom(&fpdf.InitType{OrientationStr: "P", UnitStr: "mm", Size: size}), glyphs: g}
	// The library writes into the bytes it is given, so each document has its own.
	p.AddUTF8FontFromBytes("go", "", bytes.Clone(goregular.TTF))
	p.AddUTF8FontFromBytes("go", "B", bytes.Clone(gobold.TTF))
	p.AddUTF8FontFromBytes("mono", "", bytes.Clone(gomono.TTF))
	p.SetCreationDate(at)
	p.SetModificationDate(at)
	p.SetCatalogSort(true)
	p.SetProducer("shimwright", true)
	p.SetTitle(g.show(title), true)
	p.SetAutoPageBreak(false, 0)
	p.SetMargins(0, 0, 0)
	p.SetCellMargin(0)
	return p, nil
}

// bytes ends the document.
func (p *paper) bytes() ([]byte, error) {
	var b bytes.Buffer
	if err := p.Output(&b); err != nil {
		return nil, fmt.Errorf("the PDF cannot be made: %w", err)
	}
	return b.Bytes(), nil
}

// need begins a new page where less than so much is left.
func (p *paper) need(high float64) {
	if p.y+high > bottom {
		p.page()
	}
}

func (p *paper) page() {
	p.AddPage()
	p.y = top
}

// at prints one line at a place.
func (p *paper) at(x, y float64, style string, size float64, s string) {
	p.SetFont("go", style, size)
	p.Text(x, y, p.glyphs.show(s))
}

// fold breaks a text into lines of a width, in the font that is set.
func (p *paper) fold(s string, width float64) []string {
	s = p.glyphs.show(s)
	var out []string
	at := ""
	for _, word := range strings.Fields(s) {
		joined := word
		if at != "" {
			joined = at + " " + word
		}
		if p.GetStringWidth(joined) <= width {
			at = joined
			continue
		}
		if at != "" {
			out = append(out, at)
		}
		at = word
		for p.GetStringWidth(at) > width {
			n := p.fits(at, width)
			out = append(out, string([]rune(at)[:n]))
			at = string([]rune(at)[n:])
		}
	}
	if at != "" || len(out) == 0 {
		out = append(out, at)
	}
	return out
}

// fits is how many characters of a word a width takes, one at least.
func (p *paper) fits(word string, width float64) int {
	runes := []rune(word)
	n := 1
	for n < len(runes) && p.GetStringWidth(string(runes[:n+1])) <= width {
		n++
	}
	return n
}

// heading begins a section and keeps so much of it on the page with it.
func (p *paper) heading(s string, keep float64) {
	p.need(8 + keep)
	if p.y == top {
		p.y -= 4
	}
	p.y += 7.2
	p.at(margin, p.y, "B", headSize, s)
	p.y += 1.4
	p.SetLineWidth(0.3)
	p.Line(margin, p.y, margin+across, p.y)
	p.y += 0.9
}

// words prints a paragraph.
func (p *paper) words(x, width float64, style, s string) {
	p.SetFont("go", style, plainSize)
	for _, l := range p.fold(s, width) {
		p.need(lineHigh)
		p.SetFont("go", style, plainSize)
		p.y += lineHigh
		p.Text(x, p.y-1.1, l)
	}
}

// row prints cells side by side, each folded within its width. styles are of the
// cells, as far as given.
func (p *paper) row(widths []float64, styles []string, cells ...string) {
	parts := make([][]string, len(cells))
	deep := 1
	style := func(i int) string {
		if i < len(styles) {
			return styles[i]
		}
		return ""
	}
	for i, c := range cells {
		p.SetFont("go", style(i), plainSize)
		parts[i] = p.fold(c, widths[i]-2)
		deep = max(deep, len(parts[i]))
	}
	if deep <= mostKept {
		p.need(float64(deep) * lineHigh)
	}
	for n := range deep {
		p.need(lineHigh)
		p.y += lineHigh
		x := margin
		for i := range cells {
			if n < len(parts[i]) {
				p.SetFont("go", style(i), plainSize)
				p.Text(x, p.y-1.1, parts[i][n])
			}
			x += widths[i]
		}
	}
}

// code draws a QR code with its quiet zone, black on white, its corner at x, y.
func (p *paper) code(text string, x, y, size float64) error {
	c, err := qr.Encode(text, qr.M)
	if err != nil {
		return fmt.Errorf("the QR code cannot be made: %w", err)
	}
	const quiet = 4 // modules, that readers need
	cell := size / float64(c.Size+2*quiet)
	p.SetFillColor(255, 255, 255)
	p.Rect(x, y, size, size, "F")
	p.SetFillColor(0, 0, 0)
	for r := range c.Size {
		for col := 0; col < c.Size; col++ {
			run := 0
			for c.Black(col+run, r) {
				run++
			}
			if run > 0 {
				p.Rect(x+float64(quiet+col)*cell, y+float64(quiet+r)*cell, float64(run)*cell, cell, "F")
				col += run
			}
		}
	}
	return nil
}

// across writes TRAINING over a whole page, so pale that print over it reads.
func (p *paper) stamp(wide, high float64) {
	size := wide / 210 * 108
	p.SetFont("go", "B", size)
	p.SetTextColor(230, 230, 230)
	half := p.GetStringWidth("TRAINING") / 2
	p.TransformBegin()
	p.TransformRotate(52, wide/2, high/2)
	p.Text(wide/2-half, high/2+size*0.12, "TRAINING")
	p.TransformEnd()
	p.SetTextColor(0, 0, 0)
}

// errTime is a record whose last time cannot be read, which From never makes.
var errTime = errors.New("the record's last time cannot be read")

func (r *Record) time() (time.Time, error) {
	t, err := time.Parse("2006-01-02 15:04:05", r.LastFact)
	if err != nil {
		return t, fmt.Errorf("%w: %q", errTime, r.LastFact)
	}
	return t, nil
}
