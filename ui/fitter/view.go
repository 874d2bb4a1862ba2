package fitter

import (
	"slices"
	"time"

	"shimwright/calc/overhaul"
	"shimwright/calc/quantity"
	"shimwright/calc/sheet"
	"shimwright/ingest/bench"
	"shimwright/ingest/fact"
	"shimwright/ingest/job"
)

// The smallest window that the screen is drawn in.
const (
	leastWidth  = 80
	leastHeight = 24
)

// A view is all that a frame is drawn from: the bench's snapshot and what is
// only the screen's. It belongs to the screen's goroutine.
type view struct {
	snap          *bench.Snapshot   // with the results said in the unit of the screen
	recorded      *overhaul.Results // as the bench has them, in the sheet's unit; nil where snap has the same
	width, height int
	now           time.Time
	choosing      string // the step just chosen, until the bench is there; "" none
	form          *form
	page          *page
	note          note
	striking      int64         // the press that the next Backspace strikes; 0 none
	struck        bool          // a press was struck and no other key came since
	leaving       bool          // asked whether to leave
	busy          bool          // a command is on its way
	byHand        bool          // a key presses the gauge (demonstration)
	saidAt        time.Time     // when the newest press was first shown
	unit          quantity.Unit // that lengths are shown in; Bare is the sheet's
	saidIn        quantity.Unit // that the results in snap are said in
	ascii         bool          // plain characters alone
	comma         bool          // figures with a decimal comma
	over          *job.Job      // the job that ended last under this screen
	sheets        []Choice      // what a job may be opened by
	leavingWords  string        // what leaving does to the job
	shop          Shop          // how shipping facts to a shop stands
}

// A note is what the bench answered, or why something cannot be done.
type note struct {
	text string
	bad  bool
}

// shown is the step that the screen shows; nil where no job is open or all is
// done.
func (v *view) shown() *overhaul.Result {
	s := v.snap
	if s == nil || s.Job == nil || s.Results == nil {
		return nil
	}
	if v.choosing != "" {
		if r := s.Results.Of(v.choosing); r != nil {
			return r
		}
	}
	return s.Step
}

// number is a step's place in the order of work, from 1.
func (v *view) number(r *overhaul.Result) int { return slices.Index(v.snap.Results.Steps, r) + 1 }

// pieces are those in use for a step, and what must be said before a press
// there can count.
func (v *view) pieces(r *overhaul.Result) (in []string, missing string) {
	if r == v.snap.Step {
		return v.snap.Pieces, v.snap.Missing
	}
	return v.snap.Job.InUse(r.Step)
}

// lastAt is the newest press that landed at a step, whatever it came to; false
// where there is none since the step was begun.
func (v *view) lastAt(step string) (job.Press, bool) {
	for _, p := range slices.Backward(v.snap.Job.Presses) {
		if p.Fact.Step == step {
			return p, !v.begunAnew(step, p)
		}
	}
	return job.Press{}, false
}

// begunAnew tells whether a press was made before its step was taken again, so
// that it no longer counts there.
func (v *view) begunAnew(step string, p job.Press) bool {
	if p.Now != fact.Taken || p.Fact.Value == nil {
		return false
	}
	r := v.snap.Results.Of(step)
	return r == nil || !slices.ContainsFunc(r.Presses, func(x overhaul.Press) bool { return x.Entry.Ref == refOf(p) })
}

// strikable is the press that Backspace strikes: the newest that counts or is
// held at the step shown, else of the whole job.
func (v *view) strikable() (job.Press, bool) {
	if v.snap == nil || v.snap.Job == nil {
		return job.Press{}, false
	}
	if r := v.shown(); r != nil {
		if p, ok := v.lastAt(r.Step.Name); ok && counts(p) {
			return p, true
		}
	}
	// The press that completed the step before is the last one of all; nothing
	// older is struck from here.
	all := v.snap.Job.Presses
	if n := len(all); n > 0 && counts(all[n-1]) && !v.begunAnew(all[n-1].Fact.Step, all[n-1]) {
		return all[n-1], true
	}
	return job.Press{}, false
}

func counts(p job.Press) bool { return !p.Struck && p.Now != fact.Aside }

// held is the press that a decision is wanted on: the newest held one at the
// step shown, else the newest of the job.
func (v *view) held() (job.Press, bool) {
	if v.snap == nil || len(v.snap.Held) == 0 {
		return job.Press{}, false
	}
	if r := v.shown(); r != nil {
		for _, p := range slices.Backward(v.snap.Held) {
			if p.Fact.Step == r.Step.Name {
				return p, true
			}
		}
	}
	return v.snap.Held[len(v.snap.Held)-1], true
}

// packAsked is the first pack of which must be said whether it is in; "" where
// none is.
func (v *view) packAsked() string {
	r := v.shown()
	if r == nil || r.Step.Measure == nil || len(r.Step.Measure.AskIn) == 0 {
		return ""
	}
	said := v.packsSaid(r.Step.Name)
	for _, pack := range r.Step.Measure.AskIn {
		if _, ok := said[pack]; !ok {
			return pack
		}
	}
	return ""
}

// packsSaid is what was said of packs at a step since it was begun.
func (v *view) packsSaid(step string) map[string]bool {
	said := map[string]bool{}
	for _, e := range v.snap.Job.Entries().List {
		switch {
		case e.Step != step:
		case e.Kind == sheet.EntryAgain:
			clear(said)
		case e.Kind == sheet.EntryIn:
			for pack, in := range e.In {
				said[pack] = in
			}
		}
	}
	return said
}

// gauge is the gauge of the bench that a step wants: a connected one where
// there is one; nil where the bench has none of its kind.
func (v *view) gauge(kind string) *bench.GaugeState {
	var found *bench.GaugeState
	for i := range v.snap.Gauges {
		g := &v.snap.Gauges[i]
		if g.Kind == kind && (found == nil || g.State == "connected" && found.State != "connected") {
			found = g
		}
	}
	return found
}
