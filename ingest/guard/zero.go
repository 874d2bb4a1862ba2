package guard

import (
	"fmt"
	"slices"
	"time"

	"shimwright/calc/quantity"
	"shimwright/calc/sheet"
	"shimwright/ingest/fact"
	"shimwright/ingest/job"
)

// A Zero is what is known of a gauge's zero as a press arrives. The zero Zero is
// that of a gauge that was never checked.
type Zero struct {
	Good   bool          // its last check was good
	At     time.Time     // of its last good check
	Step   *sheet.Step   // the step at which that was made
	Unit   quantity.Unit // that the gauge was on then; Bare where nothing tells
	Pieces []string      // that stood in the setup then
	// Used is its last press since that counts or is held. One set aside, as for
	// an old zero, does not make the zero young again.
	Used   time.Time
	Turned bool // a press since came in another unit
	Gone   bool // it was unplugged since
	// Unwatched: the bench stood still since, and does not know what happened to
	// it.
	Unwatched bool
	Knocked   bool // a person said since that it was knocked or dropped
}

// zeroed asks for a zero check at the beginning of each setup whose step needs
// one, and again after whatever may move a zero.
func zeroed(c Case) *Decision {
	if c.Zero == nil || !c.Step.Need(sheet.NeedsZero) {
		return nil
	}
	why := c.Zero.lost(c)
	if why == "" {
		return nil
	}
	return aside(fact.ZeroFirst, zeroHow(c.Sample.Gauge, c.Step), "ZERO FIRST: %s %s. %s does not count.", c.Sample.Gauge, why, c.Sample.Value)
}

// lost says why a zero is not to be relied on; "" where it is.
func (z Zero) lost(c Case) string {
	switch idle := c.Sample.At.Sub(later(z.At, z.Used)); {
	case z.At.IsZero() && !z.Good:
		return "has had no zero check"
	case !z.Good:
		return "was off when its zero was last checked"
	case z.Knocked:
		return "was knocked"
	case z.Gone:
		return "was unplugged"
	case z.Unwatched:
		return "was not watched while the bench stood still"
	case z.Unit != quantity.Bare && z.Unit != c.Sample.Value.Unit():
		return fmt.Sprintf("was on %s and is on %s now", z.Unit, c.Sample.Value.Unit())
	case z.Turned:
		return "was on another unit in between"
	case z.Step != nil && !z.sameSetup(c):
		return "stands in another setup"
	case c.Windows.Idle > 0 && idle > c.Windows.Idle:
		return "lay idle for " + inWords(idle)
	}
	return ""
}

func later(a, b time.Time) time.Time {
	if b.After(a) {
		return b
	}
	return a
}

// inWords is a time as people say it.
func inWords(d time.Duration) string {
	const hours = 2 * time.Hour
	switch {
	case d < time.Minute:
		return fmt.Sprintf("%d s", d/time.Second)
	case d < hours:
		return fmt.Sprintf("%d min", d/time.Minute)
	}
	return fmt.Sprintf("%d h", d/time.Hour)
}

// sameSetup tells whether a press stands in the setup that its gauge's zero was
// checked in: at the same step, or at another that is set up alike. Where the
// gauge is zeroed on a piece, another piece is another zero.
func (z Zero) sameSetup(c Case) bool {
	was, is := z.Step, c.Step
	if m := is.Measure; m != nil && m.Setup.ZeroedOnPiece && len(z.Pieces) > 0 && len(c.Pieces) > 0 {
		for _, p := range c.Pieces {
			if !slices.Contains(z.Pieces, p.ID) {
				return false
			}
		}
	}
	if was.Name == is.Name {
		return true
	}
	if was.Measure == nil || is.Measure == nil {
		return false
	}
	a, b := was.Measure.Setup, is.Measure.Setup
	return a.Name == b.Name && a.ZeroedOnPiece == b.ZeroedOnPiece && slices.Equal(a.Walk, b.Walk)
}

// zeroHow says how a gauge's zero is checked at a step.
func zeroHow(gauge string, st *sheet.Step) string {
	on := ""
	if st.Measure != nil {
		on = ", foot and tip level"
		if setup := st.Measure.Setup; setup.ZeroedOnPiece {
			on = " on its piece"
			if roles := setup.Standards(); len(roles) == 1 {
				on = " on the " + roles[0]
			}
		}
	}
	return fmt.Sprintf("Check the zero of %s%s, then press again.", gauge, on)
}

// A ZeroCheck is what a press on a gauge's zero comes to.
type ZeroCheck struct {
	Good bool // work may go on with the gauge
	// Doubt: the zero was lost since its last good check, so the presses since
	// then are to be looked at. See Doubted.
	Doubt    bool
	Sentence string
	Do       string
}

// CheckZero judges what a gauge shows on its zero at a step. Before is what it
// showed at its last good check, nil where there was none: a zero may stand
// within the limit both times and have moved by more than that in between.
func CheckZero(gauge string, st *sheet.Step, shows quantity.Value, before *quantity.Value) ZeroCheck {
	limit := st.Zero
	z := ZeroCheck{Doubt: before != nil}
	switch {
	case shows.Unit().Dimension() != limit.Unit().Dimension():
		z.Sentence = fmt.Sprintf("%s shows %s, a %s: the step %q checks no such zero.", gauge, shows, shows.Unit().Dimension(), st.Name)
		z.Do, z.Doubt = "Is this the right gauge? Check the zero of the one that the step wants.", false
	case limit.Exact().Less(shows.Exact().Abs()):
		z.Sentence = fmt.Sprintf("ZERO OFF: %s shows %s, and at most %s either way is allowed.", gauge, shows, limit)
		z.Do = "Clean foot and tip, set the zero and check it again."
	case before != nil && limit.Exact().Less(shows.Exact().Sub(before.Exact()).Abs()):
		z.Good = true
		z.Sentence = fmt.Sprintf("ZERO MOVED: %s shows %s and showed %s before; at most %s apart is allowed.", gauge, shows, before, limit)
	default:
		z.Good, z.Doubt = true, false
		z.Sentence = fmt.Sprintf("%s shows %s on its zero: good.", gauge, shows)
	}
	if z.Doubt {
		z.Do = joined(z.Do, "Look at its presses since the last good zero: take those steps again.")
	}
	return z
}

// Doubted are the numbers of a job's presses that a lost zero puts in doubt:
// those of the gauge since its last good check that count or are held, at steps
// that need a zero and were not begun anew since. They are flagged and never
// taken out: what they are worth is for a person to say. Good is the number of
// the last good check, 0 where there was none.
func Doubted(j *job.Job, gauge string, good int64) []int64 {
	var out []int64
	for _, p := range j.Presses {
		st, ok := j.Sheet.Step(p.Fact.Step)
		if !ok || !st.Need(sheet.NeedsZero) || p.Fact.Gauge != gauge || p.Fact.Value == nil || p.Now == fact.Aside {
			continue
		}
		if p.Seq > good && p.Seq > j.Begun(p.Fact.Step) {
			out = append(out, p.Seq)
		}
	}
	return out
}
