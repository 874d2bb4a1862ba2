package remedy

import (
	"fmt"

	"shimwright/calc/quantity"
	"shimwright/calc/ring"
)

// A Reshim is a backlash ring that is not good, with all that may be changed.
type Reshim struct {
	Ring    ring.Result
	Band    ring.Band      // mm, the ring was judged by
	U       quantity.Exact // mm, of a point
	Rule    ring.Rule
	Gear    string // which gear the packs move: "wheel" or "pinion"
	Factor  Factor
	Packs   []Pack // the positioning pack and the closing pack of its shaft, or one pack that leaves the setting alone
	Setting Setting
	RunOut  *RunOut // of the wheel, where it was taken
	Loops   int     // re-shims made already without landing
	// LoopLimit is how many of these end the advice; nought takes three, which
	// is common practice, no source.
	LoopLimit int
	Answers   int // plans wanted; nought takes three
	Show      Display
}

// A Cause says what an advice comes to.
type Cause uint8

// The causes.
const (
	HasPlan      Cause = iota // plans are given
	NothingWrong              // the ring is good
	SpreadFirst               // no shim can pass: mend the spread
	LowFirst                  // the points could pass, the fitted low could not
	SettingFirst              // the setting is out of its band
	StockShort                // the stock cannot make the packs
	StockLimit                // both packs are at the end of what stock and sheet allow
	LoopsSpent                // too many re-shims without landing
)

// String is the cause in words.
func (c Cause) String() string {
	switch c {
	case HasPlan:
		return "plan"
	case NothingWrong:
		return "nothing wrong"
	case SpreadFirst:
		return "spread first"
	case LowFirst:
		return "fitted low first"
	case SettingFirst:
		return "setting first"
	case StockShort:
		return "not in stock"
	case StockLimit:
		return "at the stock's limit"
	default:
		return "too many loops"
	}
}

// An Advice is plans, best first, or why there is none.
type Advice struct {
	Cause   Cause
	Words   string
	LookFor []string    // what to look at or doubt, in order
	Window  ring.Window // change of the mean that brings every point into its band
	Move    ring.Move   // the same as a move of the gear; nought where the window is empty
	Plans   []Plan
	// CutShort tells that the stock has more choices than were tried, so that
	// a better one may exist.
	CutShort bool
}

const (
	defaultLoops   = 3
	defaultAnswers = 3
	mostAnswers    = 50
)

// Advise works out what to change after a backlash ring.
func Advise(in Reshim) (Advice, error) {
	if err := in.check(); err != nil {
		return Advice{}, err
	}
	out := Advice{Window: in.window()}
	if done, err := in.first(&out); done || err != nil {
		return out, err
	}
	var err error
	if out.Move, err = out.Window.Move(in.Factor.K); err != nil {
		return Advice{}, problem("factor", "%v", err)
	}
	t, err := in.task(out.Window)
	if err != nil {
		return Advice{}, err
	}
	choices, cut := t.task.choose()
	out.CutShort = cut
	if len(choices) == 0 {
		t.explain(&out, in.Gear, out.Move.Aim, in.Show)
		return out, nil
	}
	for _, c := range choices {
		out.Plans = append(out.Plans, in.plan(t, c))
	}
	out.Words = out.Plans[0].Words
	return out, nil
}

// guard is the guard band of the verdicts.
func (in Reshim) guard() quantity.Exact {
	if in.Rule == ring.Simple {
		return quantity.Exact{}
	}
	return in.U
}

func (in Reshim) window() ring.Window {
	return ring.Window{
		From: in.Band.Low.Add(in.guard()).Sub(in.Ring.Lowest),
		To:   in.Band.High.Sub(in.guard()).Sub(in.Ring.Highest),
	}
}

// first deals with what comes before any shim; true where it ends the advice.
func (in Reshim) first(out *Advice) (bool, error) {
	limit := in.LoopLimit
	if limit == 0 {
		limit = defaultLoops
	}
	spread := in.Ring.SpreadVerdict == ring.OutHigh
	switch {
	case in.goodAt(quantity.Exact{}) && (in.Ring.SpreadVerdict == ring.Good || in.Ring.SpreadVerdict == ring.NotJudged):
		out.Cause, out.Words = NothingWrong, "The ring is good: leave the packs as they are."
	case out.Window.Empty() || spread:
		out.Cause = SpreadFirst
		out.Words = "No shim can pass: fix the spread first."
		if spread && !out.Window.Empty() {
			out.Words = "The spread is over its limit and no shim changes it: fix the spread first."
		}
		look, err := LookForSpread(in.Ring, in.Factor, in.RunOut, in.Show)
		if err != nil {
			return true, err
		}
		out.LookFor = look
	case in.lowBars(out.Window):
		out.Cause = LowFirst
		out.Words = "Every point could be brought into the band, but not the fitted low with them."
		if low := in.Ring.Fit.Low; low.At.Known {
			out.Words += " Take one more reading at " + degrees(low.At.Degrees) + "; if it is as low as that, fix the spread first."
		}
		look, err := LookForSpread(in.Ring, in.Factor, in.RunOut, in.Show)
		if err != nil {
			return true, err
		}
		out.LookFor = look
	case in.Loops >= limit:
		out.Cause, out.LookFor = LoopsSpent, Doubts()
		out.Words = "It has not landed after so many re-shims: make no further move. Doubt these, in this order, and call the bay lead."
	case in.Setting.outside():
		out.Cause = SettingFirst
		out.Words = "The shaft's setting is out of its band: put that right first, then read the ring again."
	default:
		return false, nil
	}
	return true, nil
}

// lowBars tells that no change in the window brings the fitted low in too.
func (in Reshim) lowBars(w ring.Window) bool {
	if !in.lowSeen() {
		return false
	}
	low := in.Ring.Fit.Low.Value
	from := most(w.From, in.Band.Low.Add(in.guard()).Sub(low))
	to := least(w.To, in.Band.High.Sub(in.guard()).Sub(low))
	return to.Less(from)
}

func (in Reshim) lowSeen() bool { return in.Ring.Fit.Once.Sight == ring.Whole }

// goodAt tells whether every point and the fitted low are good with so much
// added to each.
func (in Reshim) goodAt(y quantity.Exact) bool {
	for _, x := range []quantity.Exact{in.Ring.Lowest, in.Ring.Highest} {
		if in.Band.Judge(x.Add(y), in.U, in.Rule) != ring.Good {
			return false
		}
	}
	return !in.lowSeen() || in.Band.Judge(in.Ring.Fit.Low.Value.Add(y), in.U, in.Rule) == ring.Good
}

func (in Reshim) check() error {
	if err := in.checkRing(); err != nil {
		return err
	}
	if err := checkGear("gear", in.Gear); err != nil {
		return err
	}
	if err := in.Factor.check("factor"); err != nil {
		return err
	}
	if err := checkPacks(in.Packs, 1); err != nil {
		return err
	}
	if len(in.Packs) == 1 && !in.Packs[0].Row.Float.IsZero() {
		return problem("packs", "%s alone changes the setting: give the shaft's other pack too", in.Packs[0].Name)
	}
	if err := in.Setting.check(); err != nil {
		return err
	}
	if in.Loops < 0 || in.LoopLimit < 0 {
		return problem("loops", "%d of %d: give 0 or more", in.Loops, in.LoopLimit)
	}
	if in.Answers < 0 || in.Answers > mostAnswers {
		return problem("answers", "%d asked for: ask for 1 to %d", in.Answers, mostAnswers)
	}
	return in.Show.check("show")
}

func (in Reshim) checkRing() error {
	if n := len(in.Ring.Points); n < ring.MinPoints || n > ring.MaxPoints {
		return problem("ring", "%d points: judge a ring of %d or more first", n, ring.MinPoints)
	}
	for _, f := range []struct {
		field string
		x     quantity.Exact
	}{{"ring, lowest", in.Ring.Lowest}, {"ring, highest", in.Ring.Highest}, {"ring, fitted low", in.Ring.Fit.Low.Value}} {
		if err := checkLength(f.field, f.x); err != nil {
			return err
		}
	}
	for i, pt := range in.Ring.Points {
		if err := checkLength(fmt.Sprintf("ring, point %d", i+1), pt.Mean.Value()); err != nil {
			return err
		}
		if x := pt.Mean.Value(); x.Less(in.Ring.Lowest) || in.Ring.Highest.Less(x) {
			return problem(fmt.Sprintf("ring, point %d", i+1), "%s lies outside the ring's lowest %s and highest %s: judge the ring again", x, in.Ring.Lowest, in.Ring.Highest)
		}
	}
	if err := checkFitted("ring", in.Ring.Fit); err != nil {
		return err
	}
	if in.RunOut != nil {
		if err := checkFitted("run-out", in.RunOut.Fit); err != nil {
			return err
		}
	}
	if in.Ring.Highest.Less(in.Ring.Lowest) {
		return problem("ring", "its lowest %s is above its highest %s: judge the ring again", in.Ring.Lowest, in.Ring.Highest)
	}
	if err := checkBand("band", in.Band); err != nil {
		return err
	}
	if err := checkNotNegative("U", in.U); err != nil {
		return err
	}
	if in.Rule > ring.Simple {
		return problem("rule", "%s is not known: use guarded or simple", in.Rule)
	}
	return nil
}

// grainOf is the least difference that tells, U or, where that is nought, 0.001
// mm: finer than a dial on a tooth shows (from memory, no source).
func grainOf(u quantity.Exact) quantity.Exact {
	if u.Less(finest()) {
		return quantity.MustExact("0.001")
	}
	return quantity.FromDecimal(u.Round(quantity.WorkPlaces))
}

func checkPacks(packs []Pack, least int) error {
	if len(packs) < least || len(packs) > 2 {
		return problem("packs", "%d of them: give the positioning pack and the closing pack of one shaft", len(packs))
	}
	for i, p := range packs {
		if err := p.check(packField(i)); err != nil {
			return err
		}
		if p.Row.Gear.IsZero() && len(packs) == 1 {
			return problem("packs", "%s alone does not move the gear in this state", p.Name)
		}
	}
	if len(packs) == 2 && packs[0].TrayName == packs[1].TrayName && packs[0].TrayName != "" && !sameTray(packs[0], packs[1]) {
		return problem("packs", "both draw on tray %q and it is given differently: give one tray", packs[0].TrayName)
	}
	return nil
}

func sameTray(a, b Pack) bool {
	x, y := a.Tray.Leaves(), b.Tray.Leaves()
	if len(x) != len(y) {
		return false
	}
	for i := range x {
		if !sameKind(x[i], y[i]) || x[i].Count != y[i].Count {
			return false
		}
	}
	return true
}
