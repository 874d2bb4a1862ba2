package overhaul

import (
	"fmt"
	"slices"
	"strings"

	"shimwright/calc/network"
	"shimwright/calc/ring"
	"shimwright/calc/sheet"
)

// dependsOn is the lengths whose metal a check rests on: those with a part in
// a wanted figure or a shaft's setting it judges, in its own state.
func (w *worker) dependsOn(c *sheet.Check) []string {
	var out []string
	of := c.Of
	if c.Before != "" {
		of = append(slices.Clone(of), c.Before)
	}
	for _, name := range of {
		form, err := w.judged(name, c.State)
		if err != nil {
			continue
		}
		if form, err = w.sheet.Net.Through(form); err == nil {
			out = append(out, form.Names()...)
		}
	}
	return out
}

func (w *worker) judged(name string, states []network.State) (network.Form, error) {
	if wd, ok := w.sheet.WantedNamed(name); ok {
		if wd.SettingOf != "" {
			return w.sheet.Net.Setting(wd.SettingOf)
		}
		return w.sheet.Net.Position(name, states...)
	}
	return w.sheet.Net.Setting(name)
}

// check works a check step.
func (w *worker) check(r *Result) {
	c := r.Step.Check
	r.Check = &Check{}
	for _, m := range w.moves {
		if w.entries.List[m.index].Step == r.Step.Name {
			r.Check.Moves = append(r.Check.Moves, w.moveWords(m))
		}
	}
	if e, _, ok := w.entry(r.Step.Name, sheet.EntryMove); ok && e.Gear == "pinion" && w.sheet.Gears.Wheel > 0 {
		r.Check.Follow = w.follow(e.Value.Exact())
	}
	if c.What == sheet.Marking {
		w.marking(r)
		return
	}
	r.Presses, _ = w.current(r.Step, w.dependsOn(c))
	w.points(r)
	r.Check.Band = w.band(c)
	if !w.allIn(r) {
		if c.What == sheet.Backlash {
			w.expect(r)
		}
		return
	}
	if !w.covered(r) || !w.agreed(r) {
		return
	}
	switch c.What {
	case sheet.Backlash:
		w.backlash(r)
	case sheet.RunOut:
		w.runOut(r)
	case sheet.TurningTorque:
		w.torque(r)
	case sheet.EndFloat:
		w.float(r)
	case sheet.Tightening:
		r.Check.Figure = r.Check.Points[0].Figure
		w.judge(r, "the torque")
	}
	if r.Status == Waiting && r.Wants == "" {
		r.Status = Done
	}
}

// points gathers the presses by spot. At a spot with presses since the last
// change of metal the older ones no longer count.
func (w *worker) points(r *Result) {
	for i, spot := range r.Step.Check.Spots() {
		pt := Point{Spot: spot}
		if len(r.Step.Check.Points) > 0 {
			pt.Angle = r.Step.Check.Points[i].Exact()
		}
		var at []Press
		for _, p := range r.Presses {
			if p.Entry.Spot == spot {
				at = append(at, p)
			}
		}
		if live := fresh(at); len(live) > 0 {
			at = live
		} else {
			pt.Stale = len(at) > 0
		}
		pt.Pressed = at
		if len(at) > 0 {
			pt.Build = at[len(at)-1].Build
			last := ofBuild(at, pt.Build)
			pt.Figure = meanPress(last)
			pt.Range = spread(last)
		}
		r.Check.Points = append(r.Check.Points, pt)
	}
}

// ofBuild are the presses made in a build state: readings before and after a
// change of metal have no mean.
func ofBuild(of []Press, build int) []Press {
	return slices.DeleteFunc(slices.Clone(of), func(p Press) bool { return p.Build != build })
}

// allIn tells whether every spot has its presses; else it says what is wanted.
func (w *worker) allIn(r *Result) bool {
	each := r.Step.Check.Each
	var stale []string
	for _, p := range r.Check.Points {
		have := len(p.Pressed)
		if p.Stale {
			have = 0
			name := p.Spot
			if name == "" {
				name = "it"
			}
			stale = append(stale, fmt.Sprintf("%s is from build %d", name, p.Build))
		}
		if have < each {
			if r.Left == 0 {
				r.Spot = p.Spot
			}
			r.Left += each - have
		}
	}
	if r.Left == 0 {
		return true
	}
	r.Wants = pressesWanted(r.Left, each*len(r.Check.Points))
	if r.Spot != "" {
		r.Wants += ", next at " + r.Spot
	}
	if len(stale) > 0 {
		r.Status = Stale
		r.Problem = fmt.Sprintf("Metal was changed since, now build %d: %s. Take it again.", w.build, strings.Join(stale, ", "))
	}
	return false
}

// pressesWanted says how many presses a step still wants.
func pressesWanted(left, all int) string {
	switch {
	case left == 1 && all == 1:
		return "one press"
	case left == all:
		return fmt.Sprintf("%d presses", all)
	case left == 1:
		return fmt.Sprintf("1 more press of %d", all)
	}
	return fmt.Sprintf("%d more presses of %d", left, all)
}

// agreed holds a check whose presses at one spot lie too far apart.
func (w *worker) agreed(r *Result) bool {
	c := r.Step.Check
	if c.Agree.Exact().Sign() == 0 {
		return true
	}
	for _, p := range r.Check.Points {
		if c.Agree.Exact().Less(p.Range) {
			unit, places := w.sheet.ShownIn(p.Pressed[0].Entry.Value.Unit().Dimension())
			r.Status = Held
			r.Problem = strings.TrimSpace(fmt.Sprintf("The presses %s lie %s apart, at most %s is allowed: look for slack or dirt and take the step again. They are not averaged.",
				at(p.Spot), p.Range.ShowUnit(unit, places), c.Agree))
			return false
		}
	}
	return true
}

func at(spot string) string {
	if spot == "" {
		return ""
	}
	return "at " + spot
}

// band is a check's limits: fixed, by the answer to a record, or as found.
func (w *worker) band(c *sheet.Check) *ring.Band {
	switch b := c.Band; {
	case b == nil:
		return nil
	case b.Fixed != nil:
		return &ring.Band{Low: b.Fixed.Low.Exact(), High: b.Fixed.High.Exact()}
	case b.AsFound != "":
		r := w.results[b.AsFound]
		if r == nil || r.Check == nil || r.Check.Ring == nil {
			return nil
		}
		return &ring.Band{Low: r.Check.Ring.Lowest, High: r.Check.Ring.Highest}
	default:
		e, _, ok := w.entry(b.Record, sheet.EntryAnswer)
		limits, known := b.ByAnswer[e.Text]
		if !ok || !known {
			return nil
		}
		return &ring.Band{Low: limits.Low.Exact(), High: limits.High.Exact()}
	}
}

// judge compares a check's one figure with its band.
func (w *worker) judge(r *Result, what string) { w.judgeBy(r, what, r.Check.Figure) }

// judgeBy is judge where another figure tells how sure the one judged is.
func (w *worker) judgeBy(r *Result, what string, unsure *Figure) {
	c := r.Check
	unit, places := w.sheet.CheckShownIn(r.Step.Check)
	shown := c.Figure.Value.ShowUnit(unit, places)
	if c.Band == nil {
		r.Budget = w.budget(c.Figure)
		c.Words = fmt.Sprintf("%s is %s", what, shown)
		if r.Step.Check.Band != nil {
			r.Status, r.Wants = Waiting, "its limits: "+w.bandWants(r.Step.Check.Band)
		}
		return
	}
	c.U, r.Budget = w.guardOf(r.Step.Check, unsure)
	c.Verdict = c.Band.Judge(c.Figure.Value, c.U, ring.Guarded)
	c.Words = fmt.Sprintf("%s is %s, limits %s .. %s: %s", what, shown,
		c.Band.Low.Show(unit, places), c.Band.High.ShowUnit(unit, places), strings.ToUpper(c.Verdict.String()))
	if c.Verdict != ring.Good {
		r.Status = Held
		r.Problem = c.Words
	}
}

func (w *worker) bandWants(b *sheet.Band) string {
	if b.AsFound != "" {
		return b.AsFound
	}
	return "the answer to " + b.Record
}
