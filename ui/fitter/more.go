package fitter

import (
	"strings"
	"time"

	"shimwright/calc/overhaul"
	"shimwright/calc/sheet"
	"shimwright/ingest/bench"
	"shimwright/ingest/guard"
	"shimwright/ingest/job"
)

// A saying is one of the things that can be said of a job beside what its steps
// ask by keys of their own. Its letter is the same at every step.
type saying struct {
	letter string
	name   string
	long   string // for those who ask
	// can tells whether it may be said now, asked whether the moment calls for it.
	can, asked func(*view) bool
	form       func(*view) *form
}

// sayings are all of them, those that work waits for first.
func sayings() []saying {
	return []saying{
		{"s", "seal's pulls", "one steady pull with the seal in and one without", takesSeal, wantsSeal, sealForm},
		{"t", "temperatures", "how warm the part, the standards and the gauge are", hasJob, wantsWarmth, warmthForm},
		{"l", "second look", "a second person has looked at a reading that was keyed in", wantsLook, wantsLook, lookForm},
		{"p", "piece check", "the gauge's next press is a reading on a certified piece; again: not", hasGauges, dueCheck, checkForm},
		{"b", "backlash kept", "what both packs must be for another setting, the backlash kept", asksSetting, wantsSetting, settingForm},
		{"c", "concession", "lets a check or a pack be as it was found, with a reason and a name", canConcede, never, concedeForm},
	}
}

// called are those that the moment calls for.
func (v *view) called() []saying {
	var out []saying
	for _, s := range sayings() {
		if s.can(v) && s.asked(v) {
			out = append(out, s)
		}
	}
	return out
}

// calledWords name them; "" for none.
func (v *view) calledWords() string {
	var out []string
	for _, s := range v.called() {
		out = append(out, s.name)
	}
	return strings.Join(out, ", ")
}

func never(*view) bool { return false }

// sayMore opens the list of what can be said now; what the moment calls for
// stands there to be taken by Enter.
func (u *ui) sayMore() {
	v := &u.view
	if f := moreForm(v); f != nil {
		v.form = f
		return
	}
	v.note = note{text: "There is nothing more to say here.", bad: true}
}

// moreForm is the list; nil where nothing can be said.
func moreForm(v *view) *form {
	which := field{ask: "What is to be said?"}
	of := map[string]saying{}
	for _, s := range sayings() {
		if s.can(v) {
			of[s.name] = s
			which.options, which.letters = append(which.options, s.name), which.letters+s.letter
		}
	}
	if len(of) == 0 {
		return nil
	}
	if called := v.called(); len(called) > 0 {
		which.typed, which.fresh = called[0].name, true
	}
	return &form{
		fields: []field{which},
		then:   func(a []string) *form { return of[a[0]].form(v) },
	}
}

// takesSeal: the step is a turning torque whose seal is measured.
func takesSeal(v *view) bool {
	r := v.shown()
	return r != nil && r.Step.Check != nil && r.Step.Check.SealMeasured
}

func wantsSeal(v *view) bool { return takesSeal(v) && !v.saidKind(v.shown(), sheet.EntrySeal) }

// saidKind tells whether something of a kind was said at a step since it was begun.
func (v *view) saidKind(r *overhaul.Result, kind sheet.EntryKind) bool {
	said := false
	for _, e := range v.snap.Job.Entries().List {
		if e.Step == r.Step.Name {
			said = e.Kind == kind || said && e.Kind != sheet.EntryAgain
		}
	}
	return said
}

// wantsWarmth: the sheet says what the parts are made of, so that temperature
// tells, and nobody said how warm they are.
func wantsWarmth(v *view) bool {
	r := v.shown()
	if r == nil || v.snap.Job.Sheet.Materials == nil || v.snap.Job.Entries().Temperatures != nil {
		return false
	}
	return r.Step.Kind == sheet.KindMeasure || waitsForWarmth(r)
}

// waitsForWarmth: nothing goes on before the temperatures are said.
func waitsForWarmth(r *overhaul.Result) bool { return strings.Contains(r.Wants, "temperatures") }

// looks are the presses that wait for a second person's look.
func (v *view) looks() []job.Press {
	var out []job.Press
	for _, seq := range guard.LooksWanted(v.snap.Job, v.snap.Job.Looked()) {
		if p, ok := v.snap.Job.Press(seq); ok && p.Fact.Value != nil {
			out = append(out, p)
		}
	}
	return out
}

func wantsLook(v *view) bool { return hasJob(v) && len(v.looks()) > 0 }

func hasGauges(v *view) bool { return v.snap != nil && len(v.snap.Gauges) > 0 }

// dueCheck: the gauge that the step wants has been read on a piece on other days
// and not on this one (one check a day: common practice, no source).
func dueCheck(v *view) bool {
	r := v.shown()
	if r == nil || r.Step.Gauge == "" || r.Left == 0 {
		return false
	}
	g := v.gauge(r.Step.Gauge)
	return g != nil && g.State == "connected" && g.Next == "" && !g.Checked.IsZero() && !sameDay(g.Checked, v.now)
}

func sameDay(a, b time.Time) bool {
	return a.In(b.Location()).Format(time.DateOnly) == b.Format(time.DateOnly)
}

// checking is the gauge whose next press is a check on a piece; nil where none is.
func (v *view) checking() *bench.GaugeState {
	for i, g := range v.snap.Gauges {
		if g.Next != "" && g.Next != "zero" {
			return &v.snap.Gauges[i]
		}
	}
	return nil
}

// settingShaft is the shaft whose setting the step's pack makes, where it carries
// a gear.
func settingShaft(v *view) (sheet.Shaft, bool) {
	r := v.shown()
	if r == nil || r.Step.Pack == nil {
		return sheet.Shaft{}, false
	}
	w, ok := v.snap.Job.Sheet.WantedNamed(r.Step.Pack.Makes)
	if !ok || w.SettingOf == "" {
		return sheet.Shaft{}, false
	}
	s, ok := v.snap.Job.Sheet.ShaftNamed(w.SettingOf)
	return s, ok && s.Gear != ""
}

func asksSetting(v *view) bool { _, ok := settingShaft(v); return ok }

// wantsSetting: what was asked about waits no more, or nobody asked and the pack
// is in.
func wantsSetting(v *view) bool {
	r := v.shown()
	return asksSetting(v) && r.Pack != nil && r.Pack.Fitted != nil && r.Pack.Keep == nil
}

// canConcede: a check or a pack came out wrong, and nobody let it be.
func canConcede(v *view) bool {
	r := v.shown()
	return r != nil && r.Status == overhaul.Held && (r.Check != nil || r.Pack != nil && r.Pack.Fitted != nil) && v.conceded(r) == nil
}

// conceded is the concession by which a step was let be; nil where it was not.
func (v *view) conceded(r *overhaul.Result) *job.Concession {
	if r.Status != overhaul.Held {
		return nil
	}
	if v.recorded != nil {
		r = v.recorded.Of(r.Step.Name) // a concession is told by the words that were recorded
	}
	if c, ok := bench.LetBe(v.snap.Job, r); ok {
		return &c
	}
	return nil
}
