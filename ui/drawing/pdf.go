package drawing

import (
	"fmt"
	"io"
	"time"

	"shimwright/calc/sheet"
)

// PDF writes the drawing of a sheet as PDF, a page after another.
func PDF(w io.Writer, s *sheet.Sheet) error {
	p := newPDF()
	// no time of making: the same sheet gives the same bytes
	never := time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)
	p.SetCreationDate(never)
	p.SetModificationDate(never)
	p.SetCatalogSort(true)
	p.SetTitle(fmt.Sprintf("Sheet %s, issue %d", s.ID, s.Issue), true)
	for _, pg := range pagesOf(s) {
		p.AddPage()
		for _, m := range pg.marks {
			m.onPDF(p)
		}
	}
	return p.Output(w)
}

// pdfPage is what of a PDF document a mark needs.
type pdfPage interface {
	SetFont(family, style string, size float64)
	GetStringWidth(string) float64
	SetTextColor(r, g, b int)
	SetDrawColor(r, g, b int)
	SetFillColor(r, g, b int)
	SetLineWidth(float64)
	SetDashPattern([]float64, float64)
	Line(x1, y1, x2, y2 float64)
	MoveTo(x, y float64)
	LineTo(x, y float64)
	ClosePath()
	DrawPath(string)
	Text(x, y float64, s string)
	TransformBegin()
	TransformRotate(angle, x, y float64)
	TransformEnd()
}

func (m mark) onPDF(p pdfPage) {
	c := int(m.grey * 255)
	at := m.points[0]
	switch {
	case m.words != "":
		s := known(m.words)
		p.SetFont("go", style(m.bold), m.size)
		p.SetTextColor(c, c, c)
		x := at[0]
		if m.anchor != start {
			x -= p.GetStringWidth(s) * float64(m.anchor) / 2
		}
		if m.turned == 0 {
			p.Text(x, at[1], s)
			return
		}
		p.TransformBegin()
		p.TransformRotate(m.turned, at[0], at[1])
		p.Text(x, at[1], s)
		p.TransformEnd()
	case m.fill:
		p.SetFillColor(c, c, c)
		p.MoveTo(at[0], at[1])
		for _, q := range m.points[1:] {
			p.LineTo(q[0], q[1])
		}
		p.ClosePath()
		p.DrawPath("F")
	default:
		p.SetDrawColor(c, c, c)
		p.SetLineWidth(m.width)
		p.SetDashPattern(m.dash.pattern(), 0)
		p.Line(at[0], at[1], m.points[1][0], m.points[1][1])
	}
}

// pattern is a dash's strokes and gaps, in mm.
func (d dash) pattern() []float64 {
	switch d {
	case dashed:
		return []float64{2.4, 1.4}
	case dotted:
		return []float64{0.6, 1.1}
	}
	return []float64{}
}
