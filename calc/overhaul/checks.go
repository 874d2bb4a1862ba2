package overhaul

import (
	"fmt"
	"slices"
	"strings"

	"shimwright/calc/network"
	"shimwright/calc/quantity"
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
	r.Check = &Check{U: c.Uncertainty.Exact()}
	if c.What == sheet.Marking {
		w.marking(r)
		return
	}
	r.Presses, _ = w.current(r.Step, w.dependsOn(c))
	w.points(r)
	r.Check.Band = w.band(c)
	if !w.allIn(r) {
		return
	}
	if !w.agreed(r) {
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
			pt.Figure = meanPress(at)
			pt.Build = at[len(at)-1].Build
			pt.Range = spread(at)
		}
		r.Check.Points = append(r.Check.Points, pt)
	}
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
func (w *worker) judge(r *Result, what string) {
	c := r.Check
	unit, places := w.sheet.CheckShownIn(r.Step.Check)
	shown := c.Figure.Value.ShowUnit(unit, places)
	if c.Band == nil {
		c.Words = fmt.Sprintf("%s is %s", what, shown)
		if r.Step.Check.Band != nil {
			r.Status, r.Wants = Waiting, "its limits: "+w.bandWants(r.Step.Check.Band)
		}
		return
	}
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

// ringInput gathers the points of a check that goes round the wheel.
func ringPoints(c *Check) []ring.Point {
	var out []ring.Point
	for _, p := range c.Points {
		rp := ring.Point{Angle: p.Angle}
		for _, pr := range p.Pressed {
			rp.Repeats = append(rp.Repeats, pr.Entry.Value.Exact())
		}
		out = append(out, rp)
	}
	return out
}

// backlash judges every point, the fitted low and the spread.
func (w *worker) backlash(r *Result) {
	c := r.Check
	if c.Band == nil {
		r.Wants = "its limits: " + w.bandWants(r.Step.Check.Band)
		return
	}
	in := ring.Input{Points: ringPoints(c), Band: *c.Band, U: c.U}
	if s := r.Step.Check.Spread.Exact(); s.Sign() > 0 {
		in.SpreadLimit = &s
	}
	res, err := ring.Judge(in)
	if err != nil {
		r.Status, r.Problem = Held, err.Error()
		return
	}
	c.Ring = &res
	for i := range c.Points {
		c.Points[i].Verdict = res.Points[i].Verdict
	}
	c.Verdict = worst(append(pointVerdicts(res), res.LowVerdict, res.SpreadVerdict))
	c.Words = w.ringWords(r.Step.Check.Reads+" backlash", res, in.SpreadLimit)
	c.Words += ": " + strings.ToUpper(c.Verdict.String())
	if c.Verdict != ring.Good {
		r.Status, r.Problem = Held, c.Words
	}
	w.ringAdvice(c, res)
}

func pointVerdicts(res ring.Result) []ring.Verdict {
	var out []ring.Verdict
	for _, p := range res.Points {
		out = append(out, p.Verdict)
	}
	return out
}

// worst is the verdict that counts for the whole: out before too close before
// good; what was not judged does not count.
func worst(of []ring.Verdict) ring.Verdict {
	for _, v := range []ring.Verdict{ring.NotGood, ring.OutLow, ring.OutHigh, ring.TooClose, ring.Good} {
		if slices.Contains(of, v) {
			return v
		}
	}
	return ring.NotJudged
}

func (w *worker) ringWords(what string, res ring.Result, limit *quantity.Exact) string {
	u, p := w.sheet.Unit, w.sheet.Places
	out := fmt.Sprintf("%s, mean %s, spread %s", what, res.Mean.Value().ShowUnit(u, p), res.Spread.ShowUnit(u, p))
	if limit != nil {
		out += fmt.Sprintf(" of %s allowed", limit.ShowUnit(u, p))
	}
	return out
}

// ringAdvice says what change of the mean would pass, or that none does.
func (w *worker) ringAdvice(c *Check, res ring.Result) {
	if c.Verdict == ring.Good {
		return
	}
	u, p := w.sheet.Unit, w.sheet.Places
	if res.Window.Empty() {
		c.Advice = "No shim can pass: the points lie too far apart. Fix the spread first: run-out of the wheel's back face, burrs, bolts."
		return
	}
	c.Advice = fmt.Sprintf("A change of the mean from %s to %s passes at every point.",
		signed(res.Window.From, u, p), signed(res.Window.To, u, p))
}

func signed(v quantity.Exact, u quantity.Unit, p int32) string {
	s := v.ShowUnit(u, p)
	if v.Sign() > 0 {
		return "+" + s
	}
	return s
}

// runOut is highest less lowest over the turn.
func (w *worker) runOut(r *Result) {
	c := r.Check
	var high, low *Figure
	for _, p := range c.Points {
		if high == nil || high.Value.Less(p.Figure.Value) {
			high = p.Figure
		}
		if low == nil || p.Figure.Value.Less(low.Value) {
			low = p.Figure
		}
	}
	c.Figure = sum("run-out", Term{quantity.Whole(1), high}, Term{quantity.Whole(-1), low})
	limit := r.Step.Check.Spread.Exact()
	c.Verdict = ring.JudgeMost(c.Figure.Value, limit, c.U, ring.Guarded)
	u, p := w.sheet.Unit, w.sheet.Places
	c.Words = fmt.Sprintf("run-out is %s of %s allowed: %s", c.Figure.Value.ShowUnit(u, p), limit.ShowUnit(u, p), strings.ToUpper(c.Verdict.String()))
	if c.Verdict != ring.Good {
		r.Status, r.Problem = Held, c.Words
		c.Advice = "Look for burrs, dirt or uneven bolts under the wheel before anything else."
	}
}

// torque is the mean of pull × (radius of the housing + radius of the cord),
// and its roughness (most − least) / mean.
func (w *worker) torque(r *Result) {
	c, st := r.Check, r.Step.Check
	half, err := quantity.RatioOf(1, 2000) // half the diameters, and N·mm to N·m
	if err != nil {
		return
	}
	arm := st.Housing.Exact().Add(st.Cord.Exact()).Times(half)
	pull := c.Points[0].Figure
	c.Figure = &Figure{Name: "turning torque", Value: pull.Value.Mul(arm), Terms: []Term{{quantity.Whole(1), pull}}, By: &arm,
		Rule: fmt.Sprintf("pull × (%s/2 + %s/2)", st.Housing, st.Cord)}
	if rough := st.Rough.Exact(); rough.Sign() > 0 && pull.Value.Sign() > 0 {
		if w.rough(r, pull.Value, rough) {
			return
		}
	}
	w.judge(r, "turning torque")
	c.Advice = w.spacerAdvice(r)
}

// rough holds a bearing whose pulls differ too much: no spacer mends it. The
// comparison is range against limit × mean, so nothing is divided.
func (w *worker) rough(r *Result, meanPull, limit quantity.Exact) bool {
	c := r.Check
	unit, places := w.sheet.CheckShownIn(r.Step.Check)
	apart := c.Points[0].Range
	shown := apart.Float() / meanPull.Float()
	c.Rough = &Figure{Name: "roughness", Value: apart, Rule: fmt.Sprintf("(most − least) / mean = %.3f", shown)}
	if !meanPull.Mul(limit).Less(apart) {
		return false
	}
	c.Verdict = ring.NotGood
	c.Words = fmt.Sprintf("turning torque %s is rough: (most − least) / mean is %.3f, at most %s is allowed: NOT GOOD",
		c.Figure.Value.ShowUnit(unit, places), shown, r.Step.Check.Rough.Digits())
	c.Advice = "Replace the bearing. No spacer mends a rough bearing."
	r.Status, r.Problem = Held, c.Words
	return true
}

// spacerAdvice says which way the pack goes that this check sets: a torque too
// high wants it looser.
func (w *worker) spacerAdvice(r *Result) string {
	v := r.Check.Verdict
	if v != ring.OutHigh && v != ring.OutLow {
		return ""
	}
	for _, st := range w.sheet.Steps() {
		if st.Pack == nil || st.Pack.SetBy != r.Step.Name {
			continue
		}
		shaft, _ := w.sheet.ShaftNamed(st.Pack.Shaft)
		row, err := w.sheet.Net.Row(st.Pack.Length, shaft.Name, st.Pack.RowState(shaft))
		if err != nil || row.Float.IsZero() {
			return ""
		}
		thicker := (row.Float.Sign() > 0) == (v == ring.OutHigh)
		if thicker {
			return "Fit a THICKER " + st.Name + "."
		}
		return "Fit a THINNER " + st.Name + "."
	}
	return ""
}

// float is push less pull.
func (w *worker) float(r *Result) {
	f := w.floatFigure(r.Step)
	if f.figure == nil {
		r.Wants = f.lack.Error()
		return
	}
	r.Check.Figure = f.figure
	if f.figure.Value.Sign() < 0 {
		r.Status = Held
		r.Problem = fmt.Sprintf("End float works out at %s: push reads less than pull. Were they pressed the other way round, or does the dial count the other way?", f.figure.Value.ShowUnit(w.sheet.Unit, w.sheet.Places))
		return
	}
	w.judge(r, "end float")
}

// floatFigure is the end float found: push reading − pull reading. The dial's
// own zero cancels.
func (w *worker) floatFigure(st *sheet.Step) *found {
	all, last := w.current(st, w.dependsOn(st.Check))
	by := map[string][]Press{}
	for _, p := range all {
		if !p.Stale {
			by[p.Entry.Spot] = append(by[p.Entry.Spot], p)
		}
	}
	push, pull := by["push"], by["pull"]
	if len(push) < st.Check.Each || len(pull) < st.Check.Each {
		return &found{lack: waits(st.Name, st.Name), index: -1}
	}
	f := sum(st.Name, Term{quantity.Whole(1), meanPress(push)}, Term{quantity.Whole(-1), meanPress(pull)})
	return &found{figure: f, index: last}
}

// believedFloat is the float found for other figures to rest on: one that its
// own step holds gives none.
func (w *worker) believedFloat(st *sheet.Step) *found {
	f := w.floatFigure(st)
	if f.figure == nil {
		return f
	}
	r := &Result{Step: st, Check: &Check{}}
	r.Presses, _ = w.current(st, w.dependsOn(st.Check))
	w.points(r)
	if f.figure.Value.Sign() >= 0 && w.agreed(r) {
		return f
	}
	return &found{index: f.index, lack: &Lack{For: st.Name, Stop: st.Name + " is not believed: see its step"}}
}

// marking judges what was seen on the flanks and says the moves asked for.
func (w *worker) marking(r *Result) {
	c := r.Step.Check
	for _, m := range w.moves {
		if w.entries.List[m.index].Step == r.Step.Name {
			r.Check.Moves = append(r.Check.Moves, w.moveWords(m))
		}
	}
	e, at, ok := w.entry(r.Step.Name, sheet.EntrySeen)
	if !ok {
		r.Wants = "say what is seen on " + strings.Join(c.Flanks, " and ")
		return
	}
	if ch, changed := w.lastChange(w.dependsOn(c)); changed && at < ch.index {
		r.Status = Stale
		r.Problem = fmt.Sprintf("Metal was changed since the marking was seen, now build %d: mark it again.", w.build)
		r.Wants = "mark it again"
		return
	}
	var seen []string
	r.Check.Verdict = ring.Good
	for _, f := range c.Flanks {
		seen = append(seen, e.Seen[f]+" on "+f)
		if !slices.Contains(c.Good, e.Seen[f]) {
			r.Check.Verdict = ring.NotGood
		}
	}
	r.Check.Words = strings.Join(seen, ", ")
	r.Text = r.Check.Words
	if r.Check.Verdict != ring.Good {
		r.Status, r.Problem = Held, r.Check.Words+": NOT GOOD. The manual's pictures rule."
		return
	}
	r.Check.Words += ": GOOD"
	r.Status = Done
}

func (w *worker) moveWords(m moved) Move {
	gear := ""
	for _, s := range w.sheet.Shafts {
		if s.Gear == m.wanted {
			gear = s.Carries
		}
	}
	v := m.by.Value
	words := fmt.Sprintf("%s goes %s by %s", gear, network.WayWord(gear, v.Sign()), v.Abs().ShowUnit(w.sheet.Unit, w.sheet.Places+1))
	if m.by.Rule != "" {
		words += " (" + m.by.Rule + ")"
	}
	return Move{gear, v, words}
}

// standings works where each wanted figure stands with what is in.
func (w *worker) standings() []Standing {
	var out []Standing
	for _, wd := range w.sheet.Wanted {
		form, err := w.sheet.Target(wd)
		if loose := w.loose(wd); loose != "" {
			if s, ok := w.standingRange(wd, loose+" has float"); ok {
				out = append(out, s)
			}
			continue
		}
		if err == nil {
			if f := w.through(wd.Name, form); f != nil {
				out = append(out, Standing{wd.Name, f, f, stateWords(wd)})
			}
			continue
		}
		if s, ok := w.standingRange(wd, "its shaft's state is not said"); ok {
			out = append(out, s)
		}
	}
	return out
}

func (w *worker) through(name string, form network.Form) *Figure {
	form, err := w.sheet.Net.Through(form)
	if err != nil {
		return nil
	}
	f, _, lack := w.formFigure(name, form, false)
	if lack != nil {
		return nil
	}
	return f
}

// loose is the shaft that a wanted distance is worked with closed, and that has
// float with what is in: "" where none is. Half of a float is no share of a
// squeeze.
func (w *worker) loose(wd sheet.Wanted) string {
	for _, st := range wd.State {
		if st.How != network.Closed {
			continue
		}
		form, err := w.sheet.Net.Setting(st.Shaft)
		if err != nil {
			continue
		}
		if f := w.through(st.Shaft, form); f != nil && f.Value.Sign() > 0 {
			return st.Shaft
		}
	}
	return ""
}

// standingRange is where a gear sits whose shaft lies anywhere in its float: from
// held against the one bearing to held against the other.
func (w *worker) standingRange(wd sheet.Wanted, state string) (Standing, bool) {
	shaft, ok := w.sheet.ShaftOfGear(wd.Name)
	if !ok || len(shaft.Bearings) != 2 {
		return Standing{}, false
	}
	var ends []*Figure
	for _, b := range shaft.Bearings {
		form, err := w.sheet.Net.Position(wd.Name, network.State{Shaft: shaft.Name, How: network.HeldAgainst, Bearing: b.Name})
		if err != nil {
			return Standing{}, false
		}
		f := w.through(wd.Name, form)
		if f == nil {
			return Standing{}, false
		}
		ends = append(ends, f)
	}
	if ends[1].Value.Less(ends[0].Value) {
		ends[0], ends[1] = ends[1], ends[0]
	}
	return Standing{wd.Name, ends[0], ends[1], state}, true
}

func stateWords(wd sheet.Wanted) string {
	var out []string
	for _, s := range wd.State {
		out = append(out, s.Shaft+" "+s.String())
	}
	return strings.Join(out, ", ")
}
