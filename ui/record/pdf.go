package record

import (
	"fmt"
	"slices"
	"strings"

	"codeberg.org/go-pdf/fpdf"
)

// PDF draws the record: one sheet, and behind it the trail.
func (r *Record) PDF() ([]byte, error) {
	at, err := r.time()
	if err != nil {
		return nil, err
	}
	const wide, high = 210.0, 297.0
	p, err := newPaper(fpdf.SizeType{Wd: wide, Ht: high}, "Build record of job "+r.Job, at)
	if err != nil {
		return nil, err
	}
	const pages = "{pages}"
	p.AliasNbPages(pages)
	p.SetHeaderFunc(func() {
		if r.Training != "" {
			p.stamp(wide, high)
		}
		p.frame(r, pages)
	})
	p.page()
	if err := p.front(r); err != nil {
		return nil, err
	}
	p.trail(r)
	return p.bytes()
}

// frame is what stands on every page above and below.
func (p *paper) frame(r *Record, pages string) {
	p.SetFont("go", "", plainSize)
	title := "Build record · job " + r.Job
	if r.Training != "" {
		title += " · TRAINING"
	}
	p.Text(margin, 15, p.glyphs.show(p.short(title, 60)))
	serial := p.short("serial "+r.Serial, 62)
	p.Text(margin+across/2-p.GetStringWidth(serial)/2, 15, serial)
	page := fmt.Sprintf("page %d of %s", p.PageNo(), pages)
	p.Text(margin+across-p.GetStringWidth("page 00 of 00"), 15, page)
	p.SetLineWidth(0.2)
	p.Line(margin, 17, margin+across, 17)
	p.Line(margin, 279, margin+across, 279)
	p.Text(margin, 284, p.short("Limits from "+r.Manual+", not from this tool.", across))
	p.SetFont("mono", "", plainSize)
	p.Text(margin, 289, "last hash "+r.Hash)
}

// short cuts a text that its line has no room for, and shows that it did: the
// whole of it is elsewhere on the record.
func (p *paper) short(s string, width float64) string {
	p.SetFont("go", "", plainSize)
	s = p.glyphs.show(s)
	if p.GetStringWidth(s) <= width {
		return s
	}
	return string([]rune(s)[:p.fits(s, width-p.GetStringWidth("…"))]) + "…"
}

// front is the one sheet.
func (p *paper) front(r *Record) error {
	const code = 36.0
	page, y := p.PageNo(), p.y
	if err := p.code(r.QR, margin+across-code+3, y-5, code); err != nil {
		return err
	}
	left := across - code
	p.y += 4
	p.at(margin, p.y, "B", 18, p.short("Job "+r.Job, left))
	p.y += 2.5
	p.title(r.Drive, left)
	p.words(margin, left, "", "serial "+r.Serial)
	p.y += 1
	if p.PageNo() == page {
		p.y = max(p.y, y+code-6)
	}
	if r.Training != "" {
		p.banner("TRAINING: " + r.Training + ". This job cannot be released.")
	}
	p.fields(r.headFields())
	p.parts(r)
	p.verdicts(r)
	p.packs(r)
	p.rings(r)
	p.standing(r)
	p.closing(r)
	return nil
}

func (p *paper) title(s string, width float64) {
	p.SetFont("go", "B", headSize)
	for _, l := range p.fold(s, width) {
		p.need(5.5)
		p.SetFont("go", "B", headSize)
		p.y += 5.5
		p.Text(margin, p.y-1, l)
	}
}

// banner is a sentence in a frame.
func (p *paper) banner(s string) {
	p.SetFont("go", "B", headSize)
	lines := p.fold(s, across-6)
	high := float64(len(lines))*5.5 + 3
	p.need(high + 2)
	p.SetLineWidth(0.7)
	p.Rect(margin, p.y, across, high, "D")
	for i, l := range lines {
		p.SetFont("go", "B", headSize)
		p.Text(margin+3, p.y+5.6+float64(i)*5.5, l)
	}
	p.y += high + 1.5
}

// fields are names with values, two abreast where both are short.
func (p *paper) fields(fields [][2]string) {
	const name, half = 32.0, across / 2
	var short, long [][2]string
	for _, f := range fields {
		p.SetFont("go", "", plainSize)
		switch {
		case f[1] == "":
		case p.GetStringWidth(p.glyphs.show(f[1])) <= half-name-2:
			short = append(short, f)
		default:
			long = append(long, f)
		}
	}
	if len(short)%2 == 1 {
		short = append(short, [2]string{})
	}
	for i := 0; i < len(short); i += 2 {
		a, b := short[i], short[i+1]
		p.row([]float64{name, half - name, name, half - name}, []string{"", "B", "", "B"}, a[0], a[1], b[0], b[1])
	}
	for _, f := range long {
		p.row([]float64{name, across - name}, []string{"", "B"}, f[0], f[1])
	}
}

func (p *paper) parts(r *Record) {
	parts := r.partsOf("record")
	if len(parts) == 0 {
		return
	}
	p.heading("Parts: pair numbers and condition", lineHigh)
	for _, x := range parts {
		p.row([]float64{60, across - 60}, []string{"", "B"}, x.Step, x.Words)
	}
}

func (p *paper) verdicts(r *Record) {
	if len(r.Verdicts) == 0 {
		return
	}
	p.heading("Verdicts", 2*lineHigh)
	w := []float64{44, 31, 41, 25, 29}
	p.row(w, nil, "of", "figure", "limits", "U", "verdict")
	for _, v := range r.Verdicts {
		limits := v.Limits
		if limits == "" {
			limits = "-"
		}
		p.row(w, []string{"", "", "", "", "B"}, v.Step, dash(v.Value), limits, dash(v.Uncertainty), v.Verdict)
		if v.Limits == "" && v.Words != "" {
			p.words(margin+6, across-6, "", v.Words)
		}
		if v.Concession != "" {
			p.words(margin+6, across-6, "B", v.Concession)
		}
	}
	p.words(margin, across, "", r.ruleText())
}

func (p *paper) packs(r *Record) {
	if len(r.Packs) == 0 {
		return
	}
	p.heading("Packs", 3*lineHigh)
	w := []float64{66, 23, 23, 23, 35}
	p.row(w, nil, "pack and place", "wanted", "as fitted", "apart", "leaves, mm")
	for _, k := range r.Packs {
		name := k.Step
		if place := k.place(); place != "" {
			name += ", " + place
		}
		p.row(w, []string{"", "", "B"}, name, dash(k.Wanted), dash(k.Total), dash(k.Error), strings.ReplaceAll(k.leaves(), " mm", ""))
	}
}

func (p *paper) standing(r *Record) {
	if len(r.Standing) == 0 && len(r.Markings) == 0 {
		return
	}
	p.heading("Where things stand, and the contact marking", lineHigh)
	for _, f := range r.Standing {
		p.row([]float64{60, 50, 60}, []string{"", "B"}, f.Step, f.Value, f.Words)
	}
	for _, m := range r.Markings {
		p.row([]float64{60, 110}, []string{"", "B"}, m.Step+", "+m.Flank+" flank", m.Seen)
	}
}

// closing is what the sheet ends with: what is open, who signed, cautions.
func (p *paper) closing(r *Record) {
	p.heading("What is open", lineHigh)
	if len(r.Open) == 0 {
		p.words(margin, across, "", "Nothing: every step is done, no press waits.")
	}
	for _, o := range r.Open {
		p.words(margin, across, "", o)
	}
	p.heading("Signatures", 2*lineHigh)
	if len(r.Signatures) == 0 {
		p.words(margin, across, "", "None.")
	}
	for _, s := range r.Signatures {
		p.words(margin, across, "B", s.As+": "+s.By+", "+s.At+s.void())
		p.words(margin+6, across-6, "", fmt.Sprintf("%s. Under all facts before fact %d, whose hash begins %.16s.", s.Meaning, s.Seq, s.Under))
	}
	p.heading("Cautions", 2*lineHigh)
	for _, c := range r.cautions() {
		p.words(margin, across, "", c)
	}
	p.words(margin, across, "", fmt.Sprintf("The last hash, of fact %d, stands at the foot of each page and in the QR code with the job number: kept elsewhere, it shows later that nothing was written anew.", r.Seq))
}

// trail prints the rest as the plain text has it. Lines without a blank one between
// them are kept on one page, where they are no more than a third of it.
func (p *paper) trail(r *Record) {
	const gap, most = 1.2, 20
	t := &text{}
	r.trail(t)
	p.page()
	for i, l := range t.lines {
		switch {
		case l.head:
			p.heading(l.text, 3*monoHigh)
			continue
		case l.text == "":
			if p.y > top && i+1 < len(t.lines) && !t.lines[i+1].head {
				p.y += gap
			}
			continue
		case i > 0 && t.lines[i-1].text == "":
			if n := block(t.lines[i:]); n <= most {
				p.need(float64(n) * monoHigh)
			}
		}
		p.need(monoHigh)
		p.y += monoHigh
		p.SetFont("mono", "", plainSize)
		p.Text(margin, p.y-1.1, p.glyphs.show(l.text))
	}
	if say := p.glyphs.said(); say != "" {
		p.y += 3
		p.words(margin, across, "B", say)
	}
}

// block is how many lines there are before the next blank one or heading.
func block(lines []line) int {
	n := slices.IndexFunc(lines, func(l line) bool { return l.head || l.text == "" })
	if n < 0 {
		return len(lines)
	}
	return n
}
