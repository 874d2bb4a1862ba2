package record

import (
	"fmt"
	"io"
	"strings"

	"codeberg.org/go-pdf/fpdf"
	"rsc.io/qr"
)

// The label's size, in mm; it grows downward with its packs.
const (
	labelWide  = 100.0
	labelLeast = 54.0
	labelEdge  = 4.0
	labelCode  = 34.0
)

// labelLines are the packs of a label, by place.
func (r *Record) labelLines() []string {
	var out []string
	for _, k := range r.Packs {
		if k.Total == "" || k.Before {
			continue
		}
		place := k.Place
		if place != "" {
			place = ", " + place
		}
		out = append(out, k.Step+": "+k.Total+place)
	}
	if len(out) == 0 {
		out = []string{"no pack is fitted"}
	}
	return out
}

func (r *Record) labelHead() []string {
	out := []string{"serial " + r.Serial, fmt.Sprintf("build state %d · %s", r.Build, r.State)}
	if r.Training != "" {
		out = append(out, "TRAINING: cannot be released")
	}
	return out
}

// LabelText writes the bench label as plain text, its QR code in block characters
// that are black where they are printed on white.
func (r *Record) LabelText(w io.Writer) error {
	t := &text{}
	t.words("", "JOB "+r.Job)
	for _, l := range append(r.labelHead(), r.labelLines()...) {
		t.words("", l)
	}
	c, err := qr.Encode(r.QR, qr.M)
	if err != nil {
		return fmt.Errorf("the QR code cannot be made: %w", err)
	}
	const quiet = 4
	for y := -quiet; y < c.Size+quiet; y += 2 {
		var b strings.Builder
		for x := -quiet; x < c.Size+quiet; x++ {
			b.WriteString(map[[2]bool]string{{true, true}: "█", {false, true}: "▄", {true, false}: "▀", {false, false}: " "}[[2]bool{c.Black(x, y), c.Black(x, y+1)}])
		}
		t.lines = append(t.lines, line{text: strings.TrimRight(b.String(), " ")})
	}
	var b strings.Builder
	for _, l := range t.lines {
		b.WriteString(l.text + "\n")
	}
	_, err = io.WriteString(w, b.String())
	return err
}

// LabelPDF draws the bench label.
func (r *Record) LabelPDF() ([]byte, error) {
	at, err := r.time()
	if err != nil {
		return nil, err
	}
	measure, err := newPaper(fpdf.SizeType{Wd: labelWide, Ht: labelLeast}, "", at)
	if err != nil {
		return nil, err
	}
	high := max(labelLeast, measure.label1(r))
	p, err := newPaper(fpdf.SizeType{Wd: labelWide, Ht: high}, "Label of job "+r.Job, at)
	if err != nil {
		return nil, err
	}
	p.AddPage()
	if r.Training != "" {
		p.stamp(labelWide, high)
	}
	if err := p.code(r.QR, labelWide-labelCode-1, 1, labelCode); err != nil {
		return nil, err
	}
	p.label1(r)
	return p.bytes()
}

// label1 prints the words of a label and tells how high it must be.
func (p *paper) label1(r *Record) float64 {
	if p.PageCount() == 0 {
		p.AddPage()
	}
	beside := labelWide - labelCode - labelEdge - 2
	y := labelEdge + 6.0
	p.SetFont("go", "B", 20)
	for _, l := range p.fold("Job "+r.Job, beside) {
		p.SetFont("go", "B", 20)
		p.Text(labelEdge, y, l)
		y += 7.5
	}
	put := func(style, s string) {
		width := beside
		if y > labelCode+4 {
			width = labelWide - 2*labelEdge
		}
		p.SetFont("go", style, plainSize)
		for _, l := range p.fold(s, width) {
			p.Text(labelEdge, y, l)
			y += lineHigh
		}
	}
	for _, l := range r.labelHead() {
		put("B", l)
	}
	if y < labelCode+5 {
		y = labelCode + 5
	}
	for _, l := range r.labelLines() {
		put("", l)
	}
	return y + labelEdge - 2
}
