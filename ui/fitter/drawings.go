package fitter

import (
	"fmt"
	"strings"

	"shimwright/calc/overhaul"
	"shimwright/calc/quantity"
	"shimwright/calc/ring"
	"shimwright/calc/stock"
	"shimwright/ui/draw"
)

// drawPage is the drawing of a step: its ring with the plan, its pack leaf by
// leaf, its setup, or where its length runs; nil where it has nothing to draw.
func drawPage(v *view) *page {
	r := v.shown()
	if r == nil {
		return nil
	}
	name := r.Step.Name
	make := func(title string, lines func(v *view, r *overhaul.Result, width, height int) []line) *page {
		return &page{title: title + ": " + name, key: "v", lines: func(v *view, width, height int) []line {
			return lines(v, v.snap.Results.Of(name), width, height)
		}}
	}
	_, isRing := draw.RingOf(r)
	switch {
	case isRing:
		return make("the ring", ringLines)
	case r.Pack != nil:
		return make("the pack", packPageLines)
	case r.Step.Check != nil && len(r.Step.Check.Flanks) > 0:
		return make("the marking", markingLines)
	case len(draw.LoopOf(v.snap.Job.Sheet, r.Step)) > 0:
		return make("where it is", setupPageLines)
	}
	return nil
}

func (v *view) look(width, height int) draw.Look {
	return draw.Look{Width: width, Height: height, ASCII: v.ascii}
}

// ring is a check's ring in the units of the screen; false where it has none.
func (v *view) ring(r *overhaul.Result) (draw.Ring, bool) {
	d, ok := draw.RingOf(r)
	if ok {
		d.Unit, d.Places = v.bandUnit(r)
	}
	return d, ok
}

// The ring's own room beside its words, on the narrow screen.
const (
	ringWide = 44
	ringHigh = 15
)

// ringLines are the ring with its figures beside it, and below them what to do.
func ringLines(v *view, r *overhaul.Result, width, height int) []line {
	d, ok := v.ring(r)
	if !ok {
		return []line{say("There is no ring here.")}
	}
	below := ringBelow(v, r, width)
	wide, high := ringWide, ringHigh
	if width >= listFrom {
		wide = width / 2
		high = max(ringHigh, min(height-len(below)-1, wide/2))
	}
	rows := drawn(d.Rows(v.look(wide, high)))
	out := sideBySide(rows, ringSide(v, r, width-wide-1), wide+1, width)
	return append(append(out, nil), below...)
}

// ringSide are the figures of a ring.
func ringSide(v *view, r *overhaul.Result, width int) []line {
	c := r.Check
	out := []line{}
	for _, p := range c.Points {
		if len(c.Points) <= 12 {
			l := pointLine(v, r, p)
			if p.Stale && l.cells() > width { // its figure stands at the ring
				p.Pressed = nil
				l = pointLine(v, r, p)
			}
			out = append(out, l)
		}
	}
	u, places := v.bandUnit(r)
	show := func(x quantity.Exact) string { return x.ShowUnit(u, places) }
	if g := c.Ring; g != nil {
		spread := line{{"spread ", plain}, {g.Spread.Show(u, places), strong}}
		if r.Step.Check.Spread.Exact().Sign() > 0 {
			spread = append(spread, span{" of " + show(r.Step.Check.Spread.Exact()) + " ", plain}, verdictSpan(g.SpreadVerdict))
		}
		out = append(out, nil, line{{"mean   ", plain}, {show(g.Mean.Value()), strong}}, spread)
		out = append(out, turnLines(g.Fit, func(x quantity.Exact) string { return x.Show(u, places) })...)
		if c.Band != nil {
			out = append(out, windowLine(g.Window, show))
		}
	} else if r.Left > 0 {
		out = append(out, nil, say(fmt.Sprintf("%d more presses, then it is judged", r.Left)))
	}
	for i := range out {
		out[i] = out[i].cut(width)
	}
	return out
}

// turnLines are the parts of a ring that come once and twice in a turn.
func turnLines(f ring.Fit, show func(quantity.Exact) string) []line {
	part := func(name string, h ring.Harmonic) line {
		text := name + " ±" + show(exactOf(h.Amplitude))
		if h.Low.Known {
			text += fmt.Sprintf(" low at %.0f deg", h.Low.Degrees)
		}
		return say(text)
	}
	var out []line
	if f.Once.Sight == ring.Whole {
		out = append(out, part("once a turn ", f.Once))
	}
	if f.Twice.Sight != ring.Unseen {
		out = append(out, part("twice a turn", f.Twice))
	}
	if f.Twice.Sight == ring.Half {
		out = append(out, say("  of which these points see half"))
	}
	return out
}

// windowLine is how far the mean may shift.
func windowLine(w ring.Window, show func(quantity.Exact) string) line {
	if w.Empty() {
		return line{{"shift window ", plain}, {"[X] EMPTY: no shim will do", stop}}
	}
	sign := func(x quantity.Exact) string {
		if x.Sign() > 0 {
			return "+" + show(x)
		}
		return show(x)
	}
	from, _, _ := strings.Cut(sign(w.From), " ")
	return line{{"shift window ", plain}, {from + " .. " + sign(w.To), strong}}
}

// ringBelow is what a ring asks for.
func ringBelow(v *view, r *overhaul.Result, width int) []line {
	c := r.Check
	var out []line
	if c.Words != "" {
		out = append(out, hanging(v.statusSpan(r), judgedWords(v, r), width, 3)...)
	}
	out = append(out, planLines(v, c, width, 0)...)
	planned := c.Reshim != nil && len(c.Reshim.Plans) > 0
	for _, s := range checkWords(r) {
		said := s == capital(c.Words)+"." || planned && s == capital(c.Advice)+"."
		if said || s == capital(c.Window)+"." {
			continue // it stands above, with its shape or its arrows
		}
		out = append(out, lines(plain, capital(s)+".", width, 4)...)
	}
	if c.Ring != nil {
		for _, n := range c.Ring.Fit.Notes {
			out = append(out, lines(plain, n, width, 4)...)
		}
	}
	return out
}

// packPageLines are a pack's make-ups against what is wanted, the stock, its
// loop, and what one more would do.
func packPageLines(v *view, r *overhaul.Result, width, height int) []line {
	p := draw.PacksOf(r.Pack, v.tray(r), drawPageOf(v, width))
	out := drawn(p.Draw(v.look(width, height)))
	if len(out) == 0 {
		out = []line{say("Nothing is known of this pack yet: " + r.Wants + ".")}
	}
	if r.Pack.NoTray {
		out = append(out, lines(warn, "The stock that the sheet names is not on this bench: no make-up.", width, 2)...)
	}
	if m := r.Pack.Makeup; m != nil && len(m.Packs) == 0 {
		out = append([]line{toned(stop, "[X] NO PACK of this stock will do")}, out...)
		if m.Order != nil {
			out = append(out, say("A leaf of "+v.length(m.Order.Size)+" would make it: "+m.Order.Pack.String()+". Or have a pack ground."))
		}
	}
	for _, s := range whyWords(v, r) {
		out = append(out, lines(plain, s, width, 4)...)
	}
	out = append(out, nil)
	return append(out, drawn(draw.Faces(v.snap.Job.Sheet, draw.LoopOf(v.snap.Job.Sheet, r.Step), v.look(width, height)))...)
}

// tray is the stock that was offered for a pack.
func (v *view) tray(r *overhaul.Result) []stock.Leaf {
	var out []stock.Leaf
	for _, l := range v.snap.Job.Entries().Trays[r.Step.Pack.Stock] {
		out = append(out, stock.Leaf{Size: l.Size.Exact(), Label: l.Size.String(), Count: l.Count})
	}
	return out
}

// setupPageLines are a step's setup and where its length runs.
func setupPageLines(v *view, r *overhaul.Result, width, height int) []line {
	var out []line
	if r.Step.Measure != nil {
		out = append(setupLines(v, r, width), nil)
	}
	out = append(out, drawn(draw.Faces(v.snap.Job.Sheet, draw.LoopOf(v.snap.Job.Sheet, r.Step), v.look(width, height)))...)
	if w := facesWords(v, r); w != "" {
		out = append(out, nil, say(capital(w)+"."))
	}
	return out
}

// setupLines draw how the step is measured, with the pieces that stand there.
func setupLines(v *view, r *overhaul.Result, width int) []line {
	if r.Step.Measure == nil {
		return nil
	}
	in, _ := v.pieces(r)
	named := func(standard string) string {
		var of []string
		for _, id := range in {
			if p, ok := v.snap.Job.Piece(id); ok && p.Standard == standard {
				of = append(of, id+" "+v.inUnit(p.Size))
			}
		}
		return strings.Join(of, ", ")
	}
	return drawn(draw.Setup(v.snap.Job.Sheet, r.Step, named, v.look(width, 0)))
}

// facesWords say between which faces the step's length runs; "" where it gives
// none.
func facesWords(v *view, r *overhaul.Result) string {
	names := draw.LoopOf(v.snap.Job.Sheet, r.Step)
	if len(names) == 0 {
		return ""
	}
	l, ok := v.snap.Job.Sheet.Net.Length(names[0])
	if !ok {
		return ""
	}
	return "from " + l.From + " to " + l.To
}

// markingLines are the maps of both flanks with what was seen, and what that
// asks for.
func markingLines(v *view, r *overhaul.Result, width, height int) []line {
	var out []line
	for _, f := range v.flanks(r) {
		out = append(out, drawn(f.Rows(v.look(width, height)))...)
	}
	for _, s := range whyWords(v, r) {
		out = append(out, lines(plain, s, width, 4)...)
	}
	return out
}

// flanks are a marking's flanks with what was seen on them.
func (v *view) flanks(r *overhaul.Result) []draw.Flank {
	seen := map[string]string{}
	for _, e := range v.snap.Job.Entries().List {
		if e.Step == r.Step.Name && e.Seen != nil {
			seen = e.Seen
		}
	}
	var out []draw.Flank
	c := r.Step.Check
	for _, name := range c.Flanks {
		out = append(out, draw.Flank{Name: name, Marks: c.Marks, Good: c.Good, Seen: seen[name]})
	}
	return out
}
