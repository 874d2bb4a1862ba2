package overhaul

import (
	"fmt"

	"shimwright/calc/network"
	"shimwright/calc/quantity"
	"shimwright/calc/remedy"
	"shimwright/calc/ring"
	"shimwright/calc/sheet"
)

// keepBacklash answers what both packs of a shaft must become for another
// setting while its gear, and so the backlash, stays where it is. It changes
// nothing of the job.
func (w *worker) keepBacklash(r *Result) {
	e, _, asked := w.entry(r.Step.Name, sheet.EntrySetting)
	wd, ok := w.sheet.WantedNamed(r.Step.Pack.Makes)
	if !asked || !ok {
		return
	}
	shaft, _ := w.sheet.ShaftNamed(wd.SettingOf)
	now := w.settingNow(shaft)
	if now.Figure == nil {
		r.Pack.KeepWaits = "what keeps the backlash waits for both packs of the " + shaft.Name
		return
	}
	from := w.stateAt(shaft, *now.Figure, e.Text)
	to := w.stateAt(shaft, e.Value.Exact(), e.Text)
	before, then := w.shaftPacks(shaft, from), w.shaftPacks(shaft, to)
	if len(before) != 2 || len(then) != 2 {
		r.Pack.KeepWaits = "what keeps the backlash waits for both packs of the " + shaft.Name + " to be fitted"
		return
	}
	advice, err := remedy.KeepBacklash(remedy.SettingChange{
		Gear: shaft.Carries, Packs: then, Was: []network.Row{before[0].Row, before[1].Row},
		Now: *now.Figure, Then: e.Value.Exact(), Within: w.tolerance(r.Step), Stay: w.stay(shaft),
		StateNow: stateName(from), StateThen: stateName(to), Show: w.display(),
	})
	if err != nil {
		r.Pack.KeepWaits = "what keeps the backlash cannot be worked: " + err.Error()
		return
	}
	if from.How != to.How || from.How == network.Closed {
		advice.Words += " How squeeze is shared is own mechanics, no published source: take the backlash again."
	}
	r.Pack.Keep = &advice
}

// stateAt is how a shaft lies at a setting: closed by a preload, else held
// against the bearing asked about, or the one that locates it.
func (w *worker) stateAt(shaft sheet.Shaft, setting quantity.Exact, against string) network.State {
	if setting.Sign() < 0 {
		return network.State{Shaft: shaft.Name, How: network.Closed}
	}
	if against == "" {
		against = shaft.LocatedBy
	}
	return network.State{Shaft: shaft.Name, How: network.HeldAgainst, Bearing: against}
}

func stateName(s network.State) string {
	if s.How == network.Closed {
		return "closed"
	}
	return "held against the " + s.Bearing
}

// stay is the most that a gear may move while its setting is changed: what the
// pack that places it may be off.
func (w *worker) stay(shaft sheet.Shaft) quantity.Exact {
	for _, st := range w.sheet.Steps() {
		if st.Pack != nil && !st.Pack.Before && st.Pack.Makes == shaft.Gear {
			return w.tolerance(st)
		}
	}
	return quantity.Exact{}
}

// oneStep is the pinion move that a marking asks for, taken a step at a time,
// with the wheel following: only where backlash is good, for till then no
// marking counts.
func (w *worker) oneStep(r *Result) {
	m := r.Check.Marks
	if m.Gear != "pinion" || m.Way == 0 || w.ringVerdict() != ring.Good || r.Check.Follow != nil {
		return
	}
	step := remedy.DefaultStep()
	f := w.follow(step.Times(quantity.Whole(int64(m.Way))))
	if f == nil {
		return
	}
	f.Words = fmt.Sprintf("At most %s at a time (common practice, no source): %s", step.ShowUnit(quantity.MM, 2), f.Words)
	r.Check.Follow = f
}

// follow is a pinion move with the wheel following so that backlash holds; nil
// where the teeth are not known.
func (w *worker) follow(by quantity.Exact) *remedy.Following {
	in := remedy.PinionMove{Move: by, Pinion: w.sheet.Gears.Pinion, Wheel: w.sheet.Gears.Wheel, Show: w.display()}
	in.Show.Places++ // a follow-up is small
	for _, st := range w.sheet.Steps() {
		if st.Check == nil || st.Check.What != sheet.Backlash {
			continue
		}
		if wheel, ok := w.factor(st); ok {
			if pinion, ok := w.pinionFactor(wheel); ok {
				in.PinionFactor, in.WheelFactor = &pinion, &wheel
			}
		}
	}
	out, err := remedy.Follow(in)
	if err != nil {
		return nil
	}
	return &out
}
