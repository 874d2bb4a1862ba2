package remedy

import (
	"fmt"

	"shimwright/calc/quantity"
	"shimwright/calc/ring"
	"shimwright/calc/stock"
)

// A job is a task with the packs it speaks of.
type job struct {
	task  *task
	packs []Pack
	rows  pairOfRows
	needs [2]span // the figures, in mm, that would do, before the stock is asked
}

// A wish is ranges for the setting's change and for y.
type wish struct {
	float, y, move span
	fAim, yAim     quantity.Exact
}

func (in Reshim) task(w ring.Window) (*job, error) {
	by, err := inverse("factor", in.Factor.K)
	if err != nil {
		return nil, err
	}
	low, high := in.Setting.change()
	j, err := newJob(in.Packs, in.Factor.K, wish{
		float: span{low, high}, y: span{w.From, w.To}, yAim: w.Middle(),
		move: span{w.From.Mul(by), w.To.Mul(by)},
	})
	if err != nil {
		return nil, err
	}
	j.task.grain, j.task.passes, j.task.answers = grainOf(in.U), in.goodAt, in.Answers
	if in.Answers == 0 {
		j.task.answers = defaultAnswers
	}
	return j, nil
}

// newJob readies the sides for a wish.
func newJob(packs []Pack, k quantity.Exact, w wish) (*job, error) {
	j := &job{packs: packs}
	if len(packs) == 1 {
		per, err := packs[0].Row.Gear.Inverse()
		if err != nil {
			return nil, problem("packs", "%s alone does not move the gear", packs[0].Name)
		}
		x, y := w.move.low.Times(per), w.move.high.Times(per)
		j.needs[0] = span{x, x}.with(y)
		w.float = span{}
	} else {
		var err error
		if j.rows, err = rowsOf(packs[0].Row, packs[1].Row); err != nil {
			return nil, err
		}
		j.needs[0], j.needs[1] = j.rows.spans(w.float, w.move)
	}
	j.task = &task{fAim: w.fAim, fLow: w.float.low, fHigh: w.float.high, yAim: w.yAim, yLow: w.y.low, yHigh: w.y.high}
	if len(packs) == 2 {
		f, err := j.rows.keeping(span{w.float.low.Sub(w.fAim), w.float.high.Sub(w.fAim)}, packs)
		if err != nil {
			return nil, err
		}
		j.task.fLow, j.task.fHigh = f.low.Add(w.fAim), f.high.Add(w.fAim)
		j.task.shared = packs[0].TrayName == packs[1].TrayName && packs[0].TrayName != ""
	}
	j.task.sides[1] = none()
	for i, p := range packs {
		var other []stock.Leaf
		if j.task.shared {
			other = packs[1-i].Leaves
		}
		j.needs[i] = span{p.Figure.Add(j.needs[i].low), p.Figure.Add(j.needs[i].high)}
		s, err := newSide(p, other, k.Times(p.Row.Gear), j.needs[i].low, j.needs[i].high)
		if err != nil {
			return nil, err
		}
		j.task.sides[i] = s
	}
	return j, nil
}

// ideal is the change of each pack for a change of the setting and a move.
func (j *job) ideal(float, move quantity.Exact) [2]quantity.Exact {
	if len(j.packs) == 1 {
		per, err := j.packs[0].Row.Gear.Inverse()
		if err != nil {
			return [2]quantity.Exact{}
		}
		return [2]quantity.Exact{move.Times(per)}
	}
	a, b := j.rows.changes(float, move)
	return [2]quantity.Exact{a, b}
}

// explain says why the stock has no plan.
func (j *job) explain(out *Advice, gear string, move quantity.Exact, show Display) {
	ideal := j.ideal(j.task.fAim, move)
	wanted := show.goes(gear, move)
	atLimit := 0
	var lines []string
	for i, p := range j.packs {
		want := p.Figure.Add(ideal[i])
		end := j.task.sides[i].beyond(j.needs[i], show)
		if end != "" {
			atLimit++
			lines = append(lines, fmt.Sprintf("%s: %s wanted, %s.", p.Name, show.figure(want), end))
			continue
		}
		if len(j.task.sides[i].totals()) == 0 {
			lines = append(lines, fmt.Sprintf("%s: %s wanted; %s.", p.Name, show.figure(want), nearest(p, want, show)))
		}
	}
	if atLimit == len(j.packs) {
		out.Cause = StockLimit
		out.Words = "The " + wanted + " is wanted, and every pack is at the end of what stock and sheet allow: make no further move. Doubt these, in this order."
		out.LookFor = append(lines, Doubts()...)
		return
	}
	out.Cause = StockShort
	out.Words = "No pack: it is wanted that the " + wanted + ", and the stock has no leaves for it that keep the setting."
	if len(lines) == 0 {
		for i, p := range j.packs {
			want := p.Figure.Add(ideal[i])
			lines = append(lines, fmt.Sprintf("%s: %s wanted; %s.", p.Name, show.figure(want), nearest(p, want, show)))
		}
	}
	if out.CutShort {
		out.Words += " (The stock has more choices than were tried.)"
	}
	out.LookFor = lines
}

// nearest says what the tray, with the pack's own leaves back in it, comes
// nearest with, and which one leaf to order.
func nearest(p Pack, want quantity.Exact, show Display) string {
	const none = "measure the pack and the tray again"
	tray, err := stock.NewTray(append(p.Tray.Leaves(), p.Leaves...)...)
	if err != nil || want.Sign() < 0 {
		return none
	}
	a, err := tray.MakeUp(stock.Request{Want: want, Rules: p.Rules})
	if err != nil {
		return none
	}
	if len(a.Packs) > 0 {
		return "the tray makes " + show.figure(a.Packs[0].Total) + ", but not together with the other pack"
	}
	words := "nearest"
	if a.Below != nil {
		words += " " + show.figure(a.Below.Total)
	}
	if a.Above != nil {
		words += " and " + show.figure(a.Above.Total)
	}
	if a.Below == nil && a.Above == nil {
		words = "the tray has none"
	}
	if a.Order != nil {
		words += "; order one leaf of " + show.figure(a.Order.Size)
	}
	return words
}

// beyond says that all figures that would do lie beyond what the pack can be;
// "" when they do not.
func (s *side) beyond(need span, show Display) string {
	low, high, some := s.extent()
	switch {
	case !some:
		return "and the rules for its leaves allow none"
	case need.high.Less(low):
		return "the thinnest it can be is " + show.figure(low)
	case high.Less(need.low):
		return "the thickest it can be is " + show.figure(high)
	}
	return ""
}

// extent is the thinnest and the thickest that the pack can be with the leaves
// at hand, the rules and the sheet's range.
func (s *side) extent() (low, high quantity.Exact, some bool) {
	for _, k := range s.keeps {
		ks := s.allowed(k.left)
		if ks == 0 {
			continue
		}
		thin, ok := s.stack(k, ks.fewest(), len(s.kinds)-1, -1)
		if !ok {
			continue
		}
		thick, _ := s.stack(k, stock.MaxLeaves-leadingZeros(ks), 0, +1)
		if !some {
			low, high, some = thin, thick, true
		}
		low, high = least(low, thin), most(high, thick)
	}
	if s.pack.Range != nil {
		low, high = most(low, s.pack.Range.Low), least(high, s.pack.Range.High)
	}
	return low, high, some
}

// stack is a keep with up to n leaves put in, from kind i on; false where there
// are fewer.
func (s *side) stack(k keep, n, i, step int) (quantity.Exact, bool) {
	sum := k.base
	for ; i >= 0 && i < len(s.kinds) && n > 0; i += step {
		m := min(s.kinds[i].free+s.kinds[i].other, n)
		sum = sum.Add(s.grid.size(s.kinds[i].steps * int64(m)))
		n -= m
	}
	return sum, n == 0
}

// leadingZeros is how far below the most leaves the most allowed is.
func leadingZeros(c counts) int {
	n := 0
	for c>>uint(stock.MaxLeaves-n)&1 == 0 {
		n++
	}
	return n
}
