package remedy

import (
	"fmt"
	"strings"

	"shimwright/calc/quantity"
	"shimwright/calc/ring"
	"shimwright/calc/stock"
)

// A Plan is one choice of packs that passes.
type Plan struct {
	Gear       string
	Move       quantity.Exact // mm, AWAY or OUT above nought
	MeanChange quantity.Exact // mm: k × Move; nought where no factor is in play
	Changes    []Change
	// Setting is the change of the shaft's setting; Before and After are its
	// figure where that is known.
	Setting       quantity.Exact
	Before, After *quantity.Exact
	Points        []Predicted     // the ring as it should be found
	Low           *Predicted      // the fitted low; nil where the points do not show it
	Mean          *quantity.Exact // of the points
	Leaves        int             // put in or taken out, in both packs
	Words         string
}

// A Predicted is one point before and after.
type Predicted struct {
	Angle         quantity.Exact // degrees
	Before, After quantity.Exact // mm
	Verdict       ring.Verdict
}

// A Change is what is done to one pack.
type Change struct {
	Pack, Place   string
	Before, After quantity.Exact // mm
	Exact         quantity.Exact // mm: the figure that would keep the setting exactly, for this move
	Take, Put     []stock.Leaf   // counted; one by one where several
	FromOther     []stock.Leaf   // those of Put that the tray lacks: out of the other pack, flat, unmarked and measured again
	Anew          bool           // nothing of it stays
	Stack         *stock.Pack    // all leaves afterwards, in stacking order; nil where some are not known
	Words         string
}

// By is the change in mm, thicker above nought.
func (c Change) By() quantity.Exact { return c.After.Sub(c.Before) }

func (in Reshim) plan(j *job, c *choice) Plan {
	p := j.plan(in.Gear, c, in.Setting, in.Show)
	p.MeanChange = c.y
	for _, pt := range in.Ring.Points {
		p.Points = append(p.Points, in.predict(pt.Angle, pt.Mean.Value(), c.y))
	}
	if in.lowSeen() {
		low := in.predict(quantity.Exact{}, in.Ring.Fit.Low.Value, c.y)
		p.Low = &low
	}
	mean := in.Ring.Mean.Value().Add(c.y)
	p.Mean = &mean
	p.Words += " After it: about " + pointWords(p.Points, in.Show) + ", all good."
	return p
}

func (in Reshim) predict(angle, before, y quantity.Exact) Predicted {
	after := before.Add(y)
	return Predicted{Angle: angle, Before: before, After: after, Verdict: in.Band.Judge(after, in.U, in.Rule)}
}

func pointWords(points []Predicted, show Display) string {
	var out []string
	for i, p := range points {
		if i == 8 {
			out = append(out, "…")
			break
		}
		out = append(out, show.figure(p.After))
	}
	return strings.Join(out, ", ")
}

// plan is a choice in full, without the ring.
func (j *job) plan(gear string, c *choice, set Setting, show Display) Plan {
	p := Plan{Gear: gear, Setting: c.f, Leaves: c.cost}
	for i, t := range []total{c.a, c.b} {
		if i == len(j.packs) {
			break
		}
		p.Move = p.Move.Add(t.size.Sub(j.packs[i].Figure).Times(j.packs[i].Row.Gear))
	}
	ideal := j.ideal(j.task.fAim, p.Move)
	for i, t := range []total{c.a, c.b} {
		if i == len(j.packs) {
			break
		}
		ch := j.change(i, t, c.done, show)
		ch.Exact = j.packs[i].Figure.Add(ideal[i])
		p.Changes = append(p.Changes, ch)
	}
	if set.Figure != nil {
		before, after := *set.Figure, set.Figure.Add(c.f)
		p.Before, p.After = &before, &after
	}
	p.Words = p.words(show)
	return p
}

func (j *job) change(i int, t total, m *made, show Display) Change {
	s, w := &j.task.sides[i], m.ways[i]
	ch := Change{Pack: s.pack.Name, Place: s.pack.Place, Before: s.pack.Figure, After: t.size, Anew: w.keep.anew}
	var stays []stock.Leaf
	for n, k := range s.kinds {
		ch.Take = appendLeaf(ch.Take, k.leaf, w.keep.taken[n])
		ch.Put = appendLeaf(ch.Put, k.leaf, m.put[i][n])
		stays = appendLeaf(stays, k.leaf, k.own-w.keep.taken[n]+m.put[i][n])
		left := k.free
		if i == 1 && j.task.shared {
			left -= min(m.put[0][n], left)
		}
		ch.FromOther = appendLeaf(ch.FromOther, k.leaf, m.put[i][n]-left)
	}
	known := len(s.pack.Leaves) > 0 || w.keep.left == 0
	if known && len(stays) > 0 {
		ch.Stack = stacked(stays, s.pack.Rules)
	}
	ch.Words = ch.words(show)
	return ch
}

func appendLeaf(to []stock.Leaf, l stock.Leaf, n int) []stock.Leaf {
	if n <= 0 {
		return to
	}
	l.Count = n
	return append(to, l)
}

// stacked is leaves in stacking order: a tray of just these has one pack of all
// of them. Nil where package stock does not take them: the plan stands without.
func stacked(leaves []stock.Leaf, rules stock.Rules) *stock.Pack {
	tray, err := stock.NewTray(leaves...)
	if err != nil {
		return nil
	}
	n := countOf(leaves)
	a, err := tray.MakeUp(stock.Request{Want: sumOf(leaves), Rules: stock.Rules{AtLeast: n, AtMost: n, ThinnestOutside: rules.ThinnestOutside}})
	if err != nil || len(a.Packs) == 0 {
		return nil
	}
	return &a.Packs[0]
}

// words is the plan in one sentence: which way, what at each place, the setting.
func (p Plan) words(show Display) string {
	var parts []string
	for _, c := range p.Changes {
		switch by := c.By(); by.Sign() {
		case +1:
			parts = append(parts, "add "+show.figure(by)+" "+c.Place)
		case -1:
			parts = append(parts, "take "+show.figure(by.Neg())+" from "+c.Place)
		}
	}
	s := show.goes(p.Gear, p.Move)
	if len(parts) > 0 {
		s += ": " + strings.Join(parts, ", ")
	}
	return s + "; " + p.settingWords(show) + "."
}

func (p Plan) settingWords(show Display) string {
	switch {
	case p.Setting.IsZero():
		return "setting unchanged"
	case p.Before != nil && p.After != nil:
		return "setting from " + settingFigure(*p.Before, show) + " to " + settingFigure(*p.After, show)
	case p.Setting.Sign() > 0:
		return "setting looser by " + show.figure(p.Setting)
	}
	return "setting tighter by " + show.figure(p.Setting.Neg())
}

func settingFigure(x quantity.Exact, show Display) string {
	if x.Sign() < 0 {
		return show.figure(x.Neg()) + " preload"
	}
	return show.figure(x) + " float"
}

func (c Change) words(show Display) string {
	if len(c.Take)+len(c.Put) == 0 && !c.Anew {
		return c.Pack + ": leave it at " + show.figure(c.Before) + "."
	}
	s := fmt.Sprintf("%s: %s to %s", c.Pack, show.figure(c.Before), show.figure(c.After))
	if c.Anew {
		s += ", made anew"
	}
	if len(c.Take) > 0 {
		s += ", take out " + leafWords(c.Take)
	}
	if len(c.Put) > 0 {
		s += ", put in " + leafWords(c.Put)
	}
	s += "."
	if len(c.FromOther) > 0 {
		s += " Out of the other pack: " + leafWords(c.FromOther) + ", only if flat and unmarked, measured again."
	}
	return s
}

func leafWords(leaves []stock.Leaf) string {
	var out []string
	for _, l := range leaves {
		if l.Count > 1 {
			out = append(out, fmt.Sprintf("%d × %s", l.Count, l.Label))
		} else {
			out = append(out, l.Label)
		}
	}
	return strings.Join(out, " + ")
}
