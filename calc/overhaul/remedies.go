package overhaul

import (
	"slices"

	"shimwright/calc/network"
	"shimwright/calc/quantity"
	"shimwright/calc/remedy"
	"shimwright/calc/ring"
	"shimwright/calc/sheet"
	"shimwright/calc/stock"
)

// display is how lengths stand in the words of an advice.
func (w *worker) display() remedy.Display {
	return remedy.Display{Unit: w.sheet.Unit, Places: w.sheet.Places}
}

// factor is what one unit of move of a gear adds to the backlash that the dial
// showed: the sheet's own, else worked from the gears; false where neither is
// known.
func (w *worker) factor(c *sheet.Check, gear string) (remedy.Factor, bool) {
	if c.Factor.Exact().Sign() > 0 {
		if gear != "wheel" {
			return remedy.Factor{}, false // never a sheet's factor of one gear with a worked one of the other
		}
		return remedy.Factor{K: c.Factor.Exact(), Source: "from the sheet"}, true
	}
	g := w.sheet.Gears
	if g.Wheel == 0 {
		return remedy.Factor{}, false
	}
	all, err := ring.Gears{Pinion: g.Pinion, Wheel: g.Wheel, Shafts: g.Shafts.Exact(), Pressure: g.Pressure.Exact(), Spiral: g.Spiral.Exact()}.Factors()
	if err != nil {
		return remedy.Factor{}, false
	}
	k := map[string]quantity.Exact{
		"wheel normal": all.WheelNormal, "wheel transverse": all.WheelTransverse,
		"pinion normal": all.PinionNormal, "pinion transverse": all.PinionTransverse,
	}[gear+" "+c.Reads]
	return remedy.Factor{K: k, Source: "from the gears"}, k.Sign() > 0
}

// reshim says what to change after a ring that is not good.
func (w *worker) reshim(r *Result) {
	c := r.Check
	shaft, ok := w.shaftCarrying("wheel")
	k, known := w.factor(r.Step.Check, "wheel")
	packs := w.reshimPacks(r, shaft)
	if !ok || !known || len(packs) == 0 {
		w.ringAdvice(c, *c.Ring)
		return
	}
	advice, err := remedy.Advise(remedy.Reshim{
		Ring: *c.Ring, Band: *c.Band, U: c.U, Rule: w.rule(), Gear: "wheel", Factor: k, Packs: packs,
		Setting: w.settingNow(shaft), RunOut: w.runOutRing(), Loops: w.loops(r.Step.Name), Show: w.display(),
	})
	if err != nil {
		w.ringAdvice(c, *c.Ring)
		return
	}
	c.Reshim = &advice
	c.Advice = advice.Words
	if len(advice.Plans) > 0 {
		c.Advice = advice.Plans[0].Words
	}
}

func (w *worker) rule() ring.Rule {
	if w.entries.Simple {
		return ring.Simple
	}
	return ring.Guarded
}

func (w *worker) shaftCarrying(gear string) (sheet.Shaft, bool) {
	i := slices.IndexFunc(w.sheet.Shafts, func(s sheet.Shaft) bool { return s.Carries == gear })
	if i < 0 {
		return sheet.Shaft{}, false
	}
	return w.sheet.Shafts[i], true
}

// reshimPacks are the packs that place the wheel and keep its setting, as
// fitted; none unless every one of them is fitted.
func (w *worker) reshimPacks(r *Result, shaft sheet.Shaft) []remedy.Pack {
	setting, _ := w.sheet.SettingOf(shaft.Name)
	var out []remedy.Pack
	for _, st := range w.sheet.Steps() {
		if st.Pack == nil || st.Pack.Before || st.Pack.Makes == "" || (st.Pack.Makes != shaft.Gear && st.Pack.Makes != setting.Name) {
			continue
		}
		fit, _ := w.fitted(st)
		if fit == nil {
			return nil
		}
		row, err := w.sheet.Net.Row(st.Pack.Length, shaft.Name, stateOf(r.Step.Check.State, shaft.Name))
		if err != nil {
			return nil
		}
		p := remedy.Pack{Name: st.Name, Place: st.Pack.Place, Row: row, Figure: fit.Value, TrayName: st.Pack.Stock,
			Rules:  stock.Rules{AtLeast: st.Pack.AtLeast, AtMost: st.Pack.AtMost, ThinnestOutside: st.Pack.Outside},
			Leaves: w.leavesIn(st), Tray: w.trays[st.Pack.Stock]}
		if b := st.Pack.Range; b != nil {
			p.Range = &ring.Band{Low: b.Low.Exact(), High: b.High.Exact()}
		}
		out = append(out, p)
	}
	return out
}

func stateOf(states []network.State, shaft string) network.State {
	for _, s := range states {
		if s.Shaft == shaft {
			return s
		}
	}
	return network.State{Shaft: shaft}
}

// leavesIn are the leaves of a fitted pack, counted; none where they were not
// said.
func (w *worker) leavesIn(st *sheet.Step) []stock.Leaf {
	e, _, ok := w.entry(st.Name, sheet.EntryFit)
	if !ok {
		return nil
	}
	var out []stock.Leaf
	for _, v := range e.Leaves {
		i := slices.IndexFunc(out, func(l stock.Leaf) bool { return l.Size.Equal(v.Exact()) })
		if i >= 0 {
			out[i].Count++
			continue
		}
		out = append(out, stock.Leaf{Size: v.Exact(), Label: v.String(), Count: 1})
	}
	return out
}

// settingNow is a shaft's setting as it stands, which a re-shim keeps.
func (w *worker) settingNow(shaft sheet.Shaft) remedy.Setting {
	wd, ok := w.sheet.SettingOf(shaft.Name)
	if !ok {
		return remedy.Setting{}
	}
	form, err := w.sheet.Target(wd)
	if err != nil {
		return remedy.Setting{}
	}
	f := w.through(wd.Name, form)
	if f == nil {
		return remedy.Setting{}
	}
	return remedy.Setting{Figure: &f.Value}
}

// runOutRing is the wheel's run-out, where it was taken.
func (w *worker) runOutRing() *remedy.RunOut {
	for _, st := range w.sheet.Steps() {
		r := w.results[st.Name]
		if st.Check == nil || st.Check.What != sheet.RunOut || r == nil || r.Check.Figure == nil {
			continue
		}
		fit, err := ring.FitPoints(ringPoints(r.Check), ring.Clockwise)
		if err == nil {
			return &remedy.RunOut{Fit: fit, Source: st.Name}
		}
	}
	return nil
}

// loops is how many times a gear was moved on purpose after a check.
func (w *worker) loops(step string) int {
	n := 0
	for _, m := range w.moves {
		if w.entries.List[m.index].Step == step {
			n++
		}
	}
	return n
}

// compare holds what a re-shim did against what it should have done, where the
// ring was taken before and after it.
func (w *worker) compare(r *Result) {
	k, known := w.factor(r.Step.Check, "wheel")
	before, index, ok := w.ringBefore(r.Step)
	if !known || !ok {
		return
	}
	predicted, moved := w.movedByPacks(r, index)
	if !moved {
		return
	}
	cmp, err := remedy.Compare(remedy.Fit{Gear: "wheel", Predicted: predicted, Before: before, After: r.Check.Ring.Mean.Value(),
		U: r.Check.U, Factor: k, Show: w.display()})
	if err == nil {
		r.Check.Compared = &cmp
	}
}

// ringBefore is the mean of a ring as it was last taken whole before metal
// changed, with the index of its last press.
func (w *worker) ringBefore(st *sheet.Step) (mean quantity.Exact, last int, ok bool) {
	c, changed := w.lastChange(w.dependsOn(st.Check))
	if !changed {
		return mean, -1, false
	}
	in := w.in[st.Name]
	var points []quantity.Exact
	last = -1
	for _, spot := range st.Check.Spots() {
		var at []Press
		for i, p := range in.presses {
			if p.Entry.Spot == spot && in.index[i] < c.index {
				at = append(at, p)
				last = max(last, in.index[i])
			}
		}
		if len(at) < st.Check.Each {
			return mean, -1, false
		}
		points = append(points, meanPress(at[len(at)-st.Check.Each:]).Value)
	}
	share, err := quantity.RatioOf(1, int64(len(points)))
	if err != nil {
		return mean, -1, false
	}
	for _, p := range points {
		mean = mean.Add(p.Times(share))
	}
	return mean, last, true
}

// movedByPacks is how far the packs as measured should have moved the wheel
// since an entry.
func (w *worker) movedByPacks(r *Result, since int) (quantity.Exact, bool) {
	shaft, ok := w.shaftCarrying("wheel")
	if !ok {
		return quantity.Exact{}, false
	}
	form, err := w.sheet.Net.Position(shaft.Gear, r.Step.Check.State...)
	if err == nil {
		form, err = w.sheet.Net.Through(form)
	}
	if err != nil {
		return quantity.Exact{}, false
	}
	var move quantity.Exact
	changed := false
	for _, t := range form.Lengths {
		l, _ := w.sheet.Net.Length(t.Name)
		then := w.asFitted(t.Name, since)
		now := w.asFitted(t.Name, len(w.entries.List))
		if l.Kind != network.Pack || then == nil || now == nil {
			continue
		}
		by := now.Value.Sub(then.Value)
		changed = changed || !by.IsZero()
		move = move.Add(by.Times(t.Coef))
	}
	return move, changed
}

// nextSpacer says what spacer to try, from the trials made so far.
func (w *worker) nextSpacer(r *Result, rough bool) string {
	st := w.setBy(r.Step.Name)
	if st == nil || r.Check.Band == nil {
		return ""
	}
	shaft, _ := w.sheet.ShaftNamed(st.Pack.Shaft)
	row, err := w.sheet.Net.Row(st.Pack.Length, shaft.Name, st.Pack.RowState(shaft))
	if err != nil || row.Float.IsZero() {
		return ""
	}
	advice, err := remedy.NextSpacer(remedy.Spacer{Name: st.Name, Float: row.Float, Trials: w.trials(r, st), Band: *r.Check.Band,
		U: r.Check.U, Rule: w.rule(), Rough: rough, Show: w.display()})
	if err != nil {
		return ""
	}
	r.Check.Spacer = &advice
	if advice.Way == 0 && advice.Verdict == ring.Good {
		return ""
	}
	return advice.Words
}

// setBy is the pack that a check sets by trial.
func (w *worker) setBy(check string) *sheet.Step {
	for _, st := range w.sheet.Steps() {
		if st.Pack != nil && st.Pack.SetBy == check {
			return st
		}
	}
	return nil
}

// trials are the spacers tried, each with the torque pressed before the next
// one went in.
func (w *worker) trials(r *Result, st *sheet.Step) []remedy.Trial {
	in, fits := w.in[r.Step.Name], w.in[st.Name].fits
	var out []remedy.Trial
	for n, fit := range fits {
		until := len(w.entries.List)
		if n+1 < len(fits) {
			until = fits[n+1]
		}
		var pulls []Press
		for i, p := range in.presses {
			if in.index[i] > fit && in.index[i] < until {
				pulls = append(pulls, p)
			}
		}
		figure := w.fitFigure(st, fit)
		if len(pulls) < r.Step.Check.Each || figure == nil || r.Check.Figure == nil {
			continue
		}
		out = append(out, remedy.Trial{Thickness: figure.Value, Torque: meanPress(pulls).Value.Mul(*r.Check.Figure.By)})
	}
	return out
}

// markAdvice says what a marking asks for by the sheet's table.
func (w *worker) markAdvice(r *Result, marks map[string]string) *remedy.MarkAdvice {
	c := r.Step.Check
	table := c.Table
	var seen []remedy.Seen
	for _, flank := range c.Flanks {
		seen = append(seen, remedy.Seen{Flank: flank, Mark: marks[flank]})
	}
	straight := w.sheet.Gears.Wheel > 0 && w.sheet.Gears.Spiral.Exact().IsZero()
	advice, err := table.Lookup(seen, w.ringVerdict(), straight)
	if err != nil {
		return nil
	}
	return &advice
}

// ringVerdict is the verdict of the backlash ring of the present build.
func (w *worker) ringVerdict() ring.Verdict {
	for _, st := range w.sheet.Steps() {
		if r := w.results[st.Name]; st.Check != nil && st.Check.What == sheet.Backlash && r != nil {
			return r.Check.Verdict
		}
	}
	return ring.NotJudged
}

// asks are the extra readings that would tell more of a ring.
func (w *worker) asks(r *Result) []string {
	var out []string
	if low, ok := remedy.LowToRead(*r.Check.Ring, w.display()); ok {
		out = append(out, low.Words)
	}
	g := w.sheet.Gears
	if r.Check.Verdict == ring.Good || g.Wheel == 0 {
		return out
	}
	if p, err := remedy.SamePinionTooth(g.Pinion, g.Wheel); err == nil {
		out = append(out, p.Words)
	}
	return out
}

// lookFor is what may spread a ring, where that stands against it.
func (w *worker) lookFor(r *Result) []string {
	k, known := w.factor(r.Step.Check, "wheel")
	if !known || r.Check.Ring.SpreadVerdict == ring.Good || r.Check.Ring.SpreadVerdict == ring.NotJudged {
		return nil
	}
	out, err := remedy.LookForSpread(*r.Check.Ring, k, w.runOutRing(), w.display())
	if err != nil {
		return nil
	}
	return out
}
