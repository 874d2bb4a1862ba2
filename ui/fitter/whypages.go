package fitter

import (
	"bytes"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"shimwright/calc/overhaul"
	"shimwright/calc/sheet"
	"shimwright/ingest/job"
	"shimwright/ui/draw"
)

// whyPage explains a step down to the bytes that its gauges sent, or the whole
// job where all is done.
func whyPage(v *view) *page {
	r := v.shown()
	if r == nil {
		return &page{title: "the whole job", key: "w", lines: jobLines}
	}
	name := r.Step.Name
	return &page{title: "why: " + name, key: "w", lines: func(v *view, width, _ int) []line {
		r := v.snap.Results.Of(name)
		text := []string{}
		if r.Step.Say != "" {
			text = append(text, r.Step.Say)
		}
		text = append(text, sumText(v, r, width)...)
		for _, l := range whyWords(v, r) {
			text = append(text, "", l)
		}
		text = append(append(text, restsOn(v, r)...), cautionText(v, r)...)
		return plainLines(append(text, "", "Limits from "+v.snap.Job.Sheet.Manual+", not from this tool."), width)
	}}
}

// sumPage is the arithmetic alone.
func sumPage(v *view) *page {
	r := v.shown()
	if r == nil {
		return whyPage(v)
	}
	name := r.Step.Name
	return &page{title: "sum: " + name, key: "s", lines: func(v *view, width, _ int) []line {
		r := v.snap.Results.Of(name)
		text := sumText(v, r, width)
		if len(text) == 0 {
			text = []string{"", noFigure(r)}
		}
		return plainLines(text[1:], width)
	}}
}

func jobLines(v *view, width, _ int) []line {
	var b bytes.Buffer
	_ = draw.Results(&b, drawPageOf(v, width), v.snap.Results, draw.Full) // a buffer takes all
	return plainLines(pageText(&b), width)
}

// drawPageOf is the page that sums are drawn on, in the unit of the screen.
func drawPageOf(v *view, width int) draw.Page {
	p := draw.PageFor(v.snap.Job.Sheet)
	p.Width = min(width, 120)
	p.Unit, p.Places = v.lengthUnit()
	return p
}

func pageText(b *bytes.Buffer) []string {
	return strings.Split(strings.TrimRight(b.String(), "\n"), "\n")
}

// sumText is a step's figures as signed sums, those of a ring under their angle,
// each after an empty line.
func sumText(v *view, r *overhaul.Result, width int) []string {
	var out []string
	p := drawPageOf(v, width)
	for _, f := range figuresOf(r) {
		var b bytes.Buffer
		_ = draw.Sum(&b, p, f)
		out = append(out, "")
		if spot := spotOf(r, f); spot != "" {
			out = append(out, "at "+spot+":")
		}
		out = append(out, pageText(&b)...)
	}
	return out
}

// spotOf is the spot of a ring that a figure is of; "" for no such.
func spotOf(r *overhaul.Result, f *overhaul.Figure) string {
	if r.Check == nil || len(r.Check.Points) < 2 {
		return ""
	}
	for _, p := range r.Check.Points {
		if p.Figure == f {
			return p.Spot
		}
	}
	return ""
}

// figuresOf are a step's figures, each once.
func figuresOf(r *overhaul.Result) []*overhaul.Figure {
	all := []*overhaul.Figure{r.Figure}
	if p := r.Pack; p != nil {
		all = append(all, p.Worked, p.Other, p.Fitted)
	}
	if c := r.Check; c != nil {
		all = append(all, c.Figure)
		for _, p := range c.Points {
			all = append(all, p.Figure)
		}
	}
	if r.Closure != nil {
		all = append(all, r.Closure.Found, r.Closure.Predicted)
	}
	var out []*overhaul.Figure
	seen := map[*overhaul.Figure]bool{nil: true}
	for _, f := range all {
		if !seen[f] {
			seen[f] = true
			out = append(out, f)
		}
	}
	return out
}

// noFigure says why a step has no figure.
func noFigure(r *overhaul.Result) string {
	switch {
	case r.Wants != "":
		return "There is no figure here yet: " + strings.TrimSuffix(r.Wants, ".") + "."
	case r.Text != "":
		return "What stands here was written down: " + strings.TrimSuffix(r.Text, ".") + "."
	case r.Step.Kind == sheet.KindConfirm:
		return "There is no figure here: it was confirmed as done."
	}
	return "There is no figure here."
}

// whyWords are what is said of a step beside its sums: what is wrong, what one
// more shim would do, what to do, what temperature does.
func whyWords(v *view, r *overhaul.Result) []string {
	var out []string
	add := func(s string) {
		if s = strings.TrimSpace(s); s != "" && !slices.Contains(out, s) {
			out = append(out, s)
		}
	}
	if len(figuresOf(r)) == 0 {
		add(noFigure(r))
	}
	if r.Check == nil || r.Check.Ring == nil || r.Problem != r.Check.Words {
		add(r.Problem)
	}
	if p := r.Pack; p != nil {
		if p.OneMore != "" && r.Status != overhaul.Stopped {
			add("Thicker, " + r.Step.Pack.Place + ": " + p.OneMore + ".")
		}
		for _, s := range []string{p.Squeeze, p.Effect, p.ErrorDoes} {
			if s != "" {
				add(capital(s) + ".")
			}
		}
		if p.KeepWaits != "" {
			add("Asked about another setting: " + p.KeepWaits + ".")
		}
		if p.Keep != nil {
			add("Asked about another setting: " + p.Keep.Words)
		}
	}
	if r.Check != nil && r.Check.Ring != nil {
		add("Backlash " + ringWords(v, r) + ".")
	}
	for _, s := range checkWords(r) {
		add(s)
	}
	if r.Expansion != nil {
		add(capital(r.Expansion.Words) + ".")
	}
	for _, n := range r.Notes {
		add(n)
	}
	if r.Budget != nil && r.Budget.Guard.Sign() > 0 && r.Figure != nil {
		u, places := v.unitOf(r.Figure)
		add("How sure it is: " + r.Budget.Guard.ShowUnit(u, places) + " either way.")
	}
	return out
}

// checkWords are all that a check says, each once.
func checkWords(r *overhaul.Result) []string {
	c := r.Check
	if c == nil {
		return nil
	}
	var out []string
	for _, s := range []string{c.Words, c.Window, c.Advice} {
		if s != "" && s != r.Problem && (c.Ring == nil || s != c.Words) {
			out = append(out, capital(s)+".")
		}
	}
	if c.Expected != nil {
		out = append(out, c.Expected.Words)
	}
	if c.Follow != nil {
		out = append(out, c.Follow.Words)
	}
	if c.Compared != nil {
		out = append(out, c.Compared.Words)
	}
	if c.Learned != nil {
		out = append(out, c.Learned.Words)
	}
	for _, l := range c.LookFor {
		out = append(out, "Look for: "+l)
	}
	return append(out, c.Asks...)
}

// cautionText are the cautions that hold for a step.
func cautionText(v *view, r *overhaul.Result) []string {
	out := []string{""}
	for _, c := range cautions(v, r) {
		out = append(out, "Caution: "+c)
	}
	return out
}

// restsOn lists what the step's figures rest on, leaf by leaf, down to what the
// gauges sent.
func restsOn(v *view, r *overhaul.Result) []string {
	var refs []int64
	var pieces []string
	for _, f := range figuresOf(r) {
		for _, l := range f.Leaves() {
			leaf := l.Figure.Leaf
			if seq, err := strconv.ParseInt(leaf.Ref, 10, 64); err == nil && !slices.Contains(refs, seq) {
				refs = append(refs, seq)
			}
			if id, ok := strings.CutPrefix(leaf.Source, "piece "); ok && !slices.Contains(pieces, id) {
				pieces = append(pieces, id)
			}
		}
	}
	for _, p := range pressesOf(r) {
		if seq, err := strconv.ParseInt(p.Entry.Ref, 10, 64); err == nil && !slices.Contains(refs, seq) {
			refs = append(refs, seq)
		}
	}
	slices.Sort(refs)
	var out []string
	for _, id := range pieces {
		if p, ok := v.snap.Job.Piece(id); ok {
			out = append(out, fmt.Sprintf("piece %s, a %s: %s as certified", id, p.Standard, p.Size))
		}
	}
	for _, seq := range refs {
		if p, ok := v.snap.Job.Press(seq); ok {
			out = append(out, rawText(p)...)
		}
	}
	if len(out) > 0 {
		out = append([]string{"", "What it rests on:"}, out...)
	}
	return out
}

// pressesOf are the presses that a step holds, those of a ring by its points.
func pressesOf(r *overhaul.Result) []overhaul.Press {
	out := slices.Clone(r.Presses)
	if r.Check != nil {
		for _, p := range r.Check.Points {
			out = append(out, p.Pressed...)
		}
	}
	return out
}

// rawText is one press with the bytes that its gauge sent.
func rawText(p job.Press) []string {
	f := p.Fact
	sent := "typed by hand"
	if !f.Keyed() {
		sent = "sent " + f.Bytes()
	}
	if f.Reason != "" {
		sent += ", because " + f.Reason
	}
	unit := ""
	if !f.UnitStated && !f.Keyed() {
		unit = ", its unit set in the bench file"
	}
	head := fmt.Sprintf("press %d, %s: %s from %s, %s%s", p.Seq, clock(p), pressFigure(p), f.Gauge, sent, unit)
	if len(f.Pieces) > 0 {
		head += ", over " + strings.Join(f.Pieces, " and ")
	}
	return []string{head}
}
