package record

import (
	"fmt"
	"io"
	"slices"
	"strings"
)

// A line is one line of the record as text.
type line struct {
	text string
	head bool // the name of a section
}

// text is a record being written as lines.
type text struct{ lines []line }

func (t *text) put(s string) {
	for _, l := range broken(strings.TrimRight(clean(s), " "), columns) {
		t.lines = append(t.lines, line{text: l})
	}
}

func (t *text) blank() {
	if n := len(t.lines); n > 0 && t.lines[n-1].text != "" {
		t.lines = append(t.lines, line{})
	}
}

func (t *text) head(s string) {
	t.blank()
	t.lines = append(t.lines, line{text: clean(s), head: true})
}

// words puts a paragraph behind a first prefix, further lines under it.
func (t *text) words(prefix, s string) {
	in := strings.Repeat(" ", wide(prefix))
	for i, l := range folded(clean(s), columns-wide(prefix)) {
		if i > 0 {
			prefix = in
		}
		t.put(prefix + l)
	}
}

// field puts a name with what belongs to it.
func (t *text) field(name, value string) {
	if value == "" {
		return
	}
	t.words(pad("  "+name, 20), value)
}

func pad(s string, to int) string { return s + strings.Repeat(" ", max(1, to-wide(s))) }

// row puts cells into columns of given widths, each folded within its own. The
// last cell takes what is left.
func (t *text) row(widths []int, cells ...string) {
	deep := 1
	parts := make([][]string, len(cells))
	at := 2
	for i, c := range cells {
		w := columns - at
		if i < len(widths) {
			w = widths[i]
		}
		parts[i] = folded(clean(c), max(w-1, 4))
		deep = max(deep, len(parts[i]))
		at += w
	}
	for n := range deep {
		l := "  "
		for i := range cells {
			c := ""
			if n < len(parts[i]) {
				c = parts[i][n]
			}
			if i < len(widths) {
				c += strings.Repeat(" ", max(0, widths[i]-wide(c)))
			}
			l += c
		}
		t.put(l)
	}
}

// Text writes the record as plain text, 80 columns wide.
func (r *Record) Text(w io.Writer) error {
	t := &text{}
	r.sheet(t)
	r.trail(t)
	var b strings.Builder
	for _, l := range t.lines {
		b.WriteString(l.text)
		b.WriteByte('\n')
		if l.head {
			b.WriteString(strings.Repeat("-", min(columns, max(wide(l.text), 1))))
			b.WriteByte('\n')
		}
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// sheet is what the one sheet says.
func (r *Record) sheet(t *text) {
	t.head("Build record of job " + r.Job)
	t.words("", r.Drive+", serial "+r.Serial)
	if r.Training != "" {
		t.blank()
		t.words("", "TRAINING · TRAINING · TRAINING: "+r.Training+". This job cannot be released.")
	}
	t.blank()
	for _, f := range r.headFields() {
		t.field(f[0], f[1])
	}
	t.parts("Parts: pair numbers and condition", r.partsOf("record"))
	r.verdictsText(t)
	r.packsText(t)
	r.ringsText(t)
	if len(r.Standing) > 0 {
		t.head("Where things stand, with the packs fitted or as worked")
		for _, f := range r.Standing {
			t.row([]int{30, 24}, f.Step, f.Value, f.Words)
		}
	}
	r.openText(t)
	r.signaturesText(t)
	t.head("Cautions")
	for _, c := range r.cautions() {
		t.words("  ", c)
	}
	t.head("Last hash")
	t.words("  ", fmt.Sprintf("Fact %d, %s", r.Seq, r.Hash))
	t.words("  ", "QR code: "+r.QR)
}

// headFields are the names and values at the head.
func (r *Record) headFields() [][2]string {
	return [][2]string{
		{"bench", r.Bench},
		{"sheet", fmt.Sprintf("%s, issue %d", r.Sheet, r.Issue)},
		{"sheet's SHA-256", r.Digest},
		{"limits from", r.Manual + ", not from this tool"},
		{"opened", r.Opened},
		{"last fact", r.LastFact},
		{"state", r.State},
		{"build state", fmt.Sprint(r.Build)},
		{"temperatures", r.Warmth},
		{"judged by program", strings.Join(r.Programs, ", ")},
		{"times", "UTC"},
	}
}

// cautions are the sheet's, with what holds for every print.
func (r *Record) cautions() []string {
	out := append([]string{}, r.Cautions...)
	return append(out, "Limits, order and parts are the drive maker's: from "+r.Manual+", not from this tool, which adds up readings.",
		"This record releases nothing by itself: where a trade is licensed or certified, the authorised person's release is needed beside it.")
}

// partsOf are the parts of the kinds wanted.
func (r *Record) partsOf(kinds ...string) []Part {
	var out []Part
	for _, p := range r.Parts {
		if slices.Contains(kinds, p.Kind) {
			out = append(out, p)
		}
	}
	return out
}

func (t *text) parts(name string, parts []Part) {
	if len(parts) == 0 {
		return
	}
	t.head(name)
	for _, p := range parts {
		t.row([]int{28, 30}, p.Step, p.Words, strings.TrimSpace(p.At+" "+p.By))
	}
}

func (r *Record) verdictsText(t *text) {
	if len(r.Verdicts) == 0 {
		return
	}
	t.head("Verdicts")
	w := []int{23, 15, 18, 11}
	t.row(w, "of", "figure", "limits", "U", "verdict")
	for _, v := range r.Verdicts {
		t.row(w, v.Step, v.Value, v.Limits, v.Uncertainty, v.Verdict)
		if v.Limits == "" && v.Words != "" {
			t.words("      ", v.Words)
		}
		if v.Concession != "" {
			t.words("      ", v.Concession)
		}
	}
	t.words("  ", r.ruleText())
}

func (r *Record) packsText(t *text) {
	if len(r.Packs) == 0 {
		return
	}
	t.head("Packs")
	w := []int{22, 11, 11, 12}
	t.row(w, "pack", "wanted", "as fitted", "apart", "leaves")
	for _, p := range r.Packs {
		t.row(w, p.Step, dash(p.Wanted), dash(p.Total), dash(p.Error), p.leaves())
		t.words("      ", strings.TrimSpace(p.place()+" "+p.built()))
		if p.Words != "" {
			t.words("      ", p.Words)
		}
	}
}

// leaves are a pack's leaves in words.
func (p Pack) leaves() string {
	switch {
	case len(p.Leaves) > 0:
		return strings.Join(p.Leaves, " + ")
	case p.Total != "":
		return "not said"
	case p.Offered != "":
		return "from the tray: " + p.Offered
	}
	return "-"
}

// place is where a pack sits, or that it sits there no more.
func (p Pack) place() string {
	if p.Before {
		return strings.TrimPrefix(p.Place+", of the build before", ", ")
	}
	return p.Place
}

func (p Pack) built() string {
	if p.Build == 0 {
		return "(not fitted)"
	}
	return fmt.Sprintf("(fitting it made build state %d)", p.Build)
}

func dash(s string) string {
	if s == "" {
		return "-"
	}
	return s
}

func (r *Record) ringsText(t *text) {
	for _, g := range r.Rings {
		t.head(g.Step + ", round the gear")
		for _, p := range g.Points {
			say := p.Verdict
			if p.Stale {
				say = "stale"
			}
			t.row([]int{14, 14, 22}, p.Spot, p.Value+" "+g.Unit, say, "")
		}
		t.strips(g)
		t.field("band", strings.TrimPrefix(g.Low+" .. "+g.High, " .. "))
		t.field("mean", g.Mean)
		t.field("spread", g.Spread)
		t.field("lowest of the fit", g.FitLow)
		t.words("  ", g.Words)
	}
	if len(r.Markings) > 0 {
		t.head("Contact marking")
		for _, m := range r.Markings {
			t.row([]int{28, 14}, m.Step, m.Flank, m.Seen)
		}
	}
}

// strips draws a ring unrolled: a row for each eighth of a turn and each point,
// the band between brackets, * a point, · the fitted curve.
func (t *text) strips(g Ring) {
	const room = 48
	d := g.drawing
	lo, hi := d.span()
	if hi <= lo {
		return
	}
	at := func(v float64) int { return min(max(int((v-lo)/(hi-lo)*(room-1)+0.5), 0), room-1) }
	for _, a := range d.rows() {
		l := []rune(strings.Repeat(" ", room))
		if d.banded {
			l[at(d.low)], l[at(d.high)] = '[', ']'
		}
		if len(d.curve) > 0 {
			l[at(d.curve[int(a)%360])] = '·'
		}
		for i, angle := range d.angles {
			if angle == a {
				l[at(d.values[i])] = '*'
			}
		}
		t.put(fmt.Sprintf("  %5.0f deg  |%s|", a, string(l)))
	}
	t.words("  ", "[ ] the band, * a point pressed, · the smooth curve through the points")
}

func (r *Record) openText(t *text) {
	t.head("What is open")
	if len(r.Open) == 0 {
		t.put("  nothing: every step is done, no press waits")
	}
	for _, o := range r.Open {
		t.words("  ", o)
	}
}

func (r *Record) signaturesText(t *text) {
	t.head("Signatures")
	if len(r.Signatures) == 0 {
		t.put("  none")
	}
	for _, s := range r.Signatures {
		t.words("  ", s.As+": "+s.By+", "+s.At+s.void())
		t.words("      ", s.Meaning+".")
		t.words("      ", fmt.Sprintf("Under all facts before fact %d, hash %s", s.Seq, s.Under))
	}
}

func (s Signed) void() string {
	if s.Void {
		return ". VOID: the job changed after it"
	}
	return ""
}
