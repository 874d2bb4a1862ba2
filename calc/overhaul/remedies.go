package overhaul

import (
	"slices"

	"shimwright/calc/network"
	"shimwright/calc/remedy"
	"shimwright/calc/ring"
	"shimwright/calc/sheet"
	"shimwright/calc/stock"
)

// display is how lengths stand in the words of an advice.
func (w *worker) display() remedy.Display {
	return remedy.Display{Unit: w.sheet.Unit, Places: w.sheet.Places}
}

// reshim says what to change after a ring that is not good. Where only the
// curve between the points falls too low, one more reading comes first.
func (w *worker) reshim(r *Result) {
	c := r.Check
	if low, ask := remedy.LowToRead(*c.Ring, w.display()); ask && c.Ring.SpreadVerdict != ring.OutHigh && !c.Ring.Window.Empty() {
		c.Advice = low.Words
		return
	}
	shaft, ok := w.shaftCarrying("wheel")
	k, known := w.factor(r.Step)
	packs := w.shaftPacks(shaft, stateOf(r.Step.Check.State, shaft.Name))
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

// shaftPacks are the packs that place a shaft's gear and keep its setting, as
// fitted, with their rows in a state; none unless every one of them is fitted.
func (w *worker) shaftPacks(shaft sheet.Shaft, state network.State) []remedy.Pack {
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
		row, err := w.sheet.Net.Row(st.Pack.Length, shaft.Name, state)
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
			return &remedy.RunOut{Fit: fit, Source: "as taken at " + st.Name, ToothSide: st.Check.ToothSide}
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
	k, known := w.factor(r.Step)
	spread := r.Check.Ring.SpreadVerdict
	bent := twiceTells(r)
	if !known || spread == ring.NotJudged || spread == ring.Good && !bent {
		return nil
	}
	out, err := remedy.LookForSpread(*r.Check.Ring, k, w.runOutRing(), w.display())
	switch {
	case err != nil:
		return nil
	case spread == ring.Good:
		return out[:1]
	}
	return out
}

// twiceTells tells of a ring whose twice-per-turn part is the larger one and
// takes up more than half of the spread allowed (our own rule, no source): a
// bent wheel is worth a look though the spread still passes.
func twiceTells(r *Result) bool {
	fit := r.Check.Ring.Fit
	return fit.Twice.Amplitude > fit.Once.Amplitude && 4*fit.Twice.Amplitude > r.Step.Check.Spread.Exact().Float()
}
