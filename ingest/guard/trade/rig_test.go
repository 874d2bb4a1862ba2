package trade

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"shimwright/calc/overhaul"
	"shimwright/calc/quantity"
	"shimwright/calc/sheet"
	"shimwright/devices"
	"shimwright/ingest/fact"
	"shimwright/ingest/guard"
	"shimwright/ingest/job"
)

// A rig is a job with what a bench knows beside it.
type rig struct {
	t       testing.TB
	job     *job.Job
	results *overhaul.Results
	now     time.Time
	at      string // the step that waits
	windows guard.Windows
	zeros   map[string]*guard.Zero
	said    map[string]time.Time
	papers  map[string]guard.Paper // by gauge or piece
	last    guard.Decision
}

// open begins a job on drive rd3; each old and new text is exchanged in its
// sheet first.
func open(t testing.TB, change ...string) *rig {
	t.Helper()
	text, err := os.ReadFile(filepath.FromSlash("../../../testdata/sheets/rd3.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	for i := 0; i < len(change); i += 2 {
		if !strings.Contains(string(text), change[i]) {
			t.Fatalf("%q is not in the sheet", change[i])
		}
	}
	changed := strings.NewReplacer(change...).Replace(string(text))
	j, err := job.Begin("0001", 1, fact.Opened{Drive: "RD3", Serial: "17", Sheet: "rd3", Issue: 2, Text: changed, Rule: "guarded"})
	if err != nil {
		t.Fatal(err)
	}
	r := &rig{t: t, job: j, windows: guard.Usual(), papers: map[string]guard.Paper{},
		now: time.Date(2026, 2, 3, 8, 0, 0, 0, time.UTC)}
	r.work()
	return r
}

// with puts a line more into a step of the sheet.
func with(step, more string) (old, changed string) {
	return step + "\n", step + "\n        " + more + "\n"
}

func (r *rig) work() {
	r.t.Helper()
	res, err := r.job.Work()
	if err != nil {
		r.t.Fatal(err)
	}
	r.results = res
}

// do folds facts in, numbered on from the job's last.
func (r *rig) do(facts ...fact.Fact) {
	r.t.Helper()
	for _, f := range facts {
		next, err := r.job.Then(r.job.Last+1, f)
		if err != nil {
			r.t.Fatal(err)
		}
		r.job = next
	}
	r.work()
}

func (r *rig) of(step string) *overhaul.Result {
	r.t.Helper()
	res := r.results.Of(step)
	if res == nil {
		r.t.Fatalf("there is no step %q", step)
	}
	return res
}

func (r *rig) draw(standard, piece, size string) {
	r.t.Helper()
	r.do(fact.Drew{Standard: standard, Piece: piece, Size: figure(r.t, size)})
}

func (r *rig) mark(step, digits string, u quantity.Unit) {
	r.t.Helper()
	v, err := quantity.Parse(digits, u)
	if err != nil {
		r.t.Fatal(err)
	}
	r.do(fact.Marked{Step: step, Digits: &v})
}

// depth presses the depth gauge D07, pull the force gauge F01 and so on, four
// seconds after what was before.
func (r *rig) depth(v string) guard.Decision {
	r.t.Helper()
	return r.press("D07", "depth gauge", v, true)
}
func (r *rig) pull(v string) guard.Decision {
	r.t.Helper()
	return r.press("F01", "force gauge", v, true)
}
func (r *rig) dial(v string) guard.Decision {
	r.t.Helper()
	return r.press("I03", "dial indicator", v, true)
}
func (r *rig) micrometer(v string) guard.Decision {
	r.t.Helper()
	return r.press("M02", "micrometer", v, true)
}

func (r *rig) press(gauge, kind, v string, stated bool) guard.Decision {
	r.t.Helper()
	s := devices.Sample{Gauge: gauge, Source: devices.SourceGauge}
	s.Value, s.UnitStated = figure(r.t, v), stated
	return r.send(s, kind, "")
}

// key types a figure at the step that waits.
func (r *rig) key(v, reason string) guard.Decision {
	r.t.Helper()
	s := devices.Sample{Gauge: "keyed", Source: devices.SourceKeyed}
	s.Value, s.UnitStated = figure(r.t, v), true
	return r.send(s, r.of(r.at).Step.Gauge, reason)
}

func (r *rig) send(s devices.Sample, kind, reason string) guard.Decision {
	r.t.Helper()
	r.now = r.now.Add(4 * time.Second)
	s.At = r.now
	r.last = r.decide(r.gather(s, kind, reason), kind, reason)
	if z := r.zeros[s.Gauge]; z != nil && r.last.Outcome != fact.Aside {
		z.Used = r.now
	}
	return r.last
}

// gather fills what the guards look at, as the bench does.
func (r *rig) gather(s devices.Sample, kind, reason string) guard.Case {
	r.t.Helper()
	res := r.of(r.at)
	c := guard.Case{Sample: s, Known: true, Kind: kind, Open: true, Step: res.Step, Spot: res.Spot, Windows: r.windows}
	pieces, missing := r.job.InUse(res.Step)
	c.Full, c.Missing = len(res.Step.Slots()) > 0 && res.Left == 0, missing
	if p, ok := r.job.LastBy(s.Gauge); ok && r.windows.TooSoon(p.Fact.Arrived, s.At) {
		c.Before = &guard.Before{Seq: p.Seq, Value: *p.Fact.Value, At: p.Fact.Arrived, Held: p.Now == fact.Held}
	}
	if s.Source == devices.SourceGauge {
		c.Paper = r.papers[s.Gauge]
		if r.zeros != nil {
			if c.Zero = r.zeros[s.Gauge]; c.Zero == nil {
				c.Zero = &guard.Zero{}
			}
		}
	}
	for _, id := range pieces {
		c.Pieces = append(c.Pieces, guard.Piece{ID: id, Paper: r.papers[id]})
	}
	c.Said = r.said
	c.Repeats = guard.RepeatsOf(res, c.Spot, s.Gauge, pieces)
	c.Waiting = guard.WaitingFor(r.results, kind)
	c.Unexplained = s.Source == devices.SourceKeyed && reason == ""
	return c
}

// decide folds a press in with what it comes to.
func (r *rig) decide(c guard.Case, kind, reason string) guard.Decision {
	r.t.Helper()
	d := guard.Decide(c)
	pieces, _ := r.job.InUse(c.Step)
	v := c.Sample.Value
	facts := []fact.Fact{fact.Pressed{Step: c.Step.Name, Spot: c.Spot, Gauge: c.Sample.Gauge, GaugeKind: kind, Value: &v, UnitStated: c.Sample.UnitStated,
		Arrived: c.Sample.At, Source: c.Sample.Source, Pieces: pieces, Outcome: d.Outcome, Sentence: d.Sentence, Do: d.Do, Reason: reason}}
	if d.HoldBefore {
		facts = append(facts, fact.HeldBack{Press: c.Before.Seq, Sentence: d.Sentence})
	}
	r.do(facts...)
	return d
}

// zero checks a gauge's zero at the step that waits.
func (r *rig) zero(gauge, shows string) guard.ZeroCheck {
	r.t.Helper()
	r.now = r.now.Add(4 * time.Second)
	v := figure(r.t, shows)
	st := r.of(r.at).Step
	z := guard.CheckZero(gauge, st, v, nil)
	if r.zeros == nil {
		r.zeros = map[string]*guard.Zero{}
	}
	r.zeros[gauge] = &guard.Zero{Good: z.Good, At: r.now, Step: st, Unit: v.Unit()}
	return z
}

// rolled says that the bearings are rolled.
func (r *rig) rolled() {
	if r.said == nil {
		r.said = map[string]time.Time{}
	}
	r.said[sheet.NeedsRolled] = r.now
}

// wants holds the last press to an outcome and to words of its sentence or of
// what to do.
func (r *rig) wants(outcome fact.Outcome, words ...string) {
	r.t.Helper()
	if r.last.Outcome != outcome {
		r.t.Errorf("%s, want %s: %s", r.last.Outcome, outcome, r.last.Sentence)
	}
	all := r.last.Sentence + " " + r.last.Do
	for _, w := range words {
		if !strings.Contains(all, w) {
			r.t.Errorf("%q lacks %q", all, w)
		}
	}
}

// status holds a step's result to a status and to words of its problem.
func (r *rig) status(step string, want overhaul.Status, words ...string) {
	r.t.Helper()
	res := r.of(step)
	if res.Status != want {
		r.t.Errorf("%s is %s, want %s: %s %s", step, res.Status, want, res.Problem, res.Wants)
	}
	for _, w := range words {
		if !strings.Contains(res.Problem, w) {
			r.t.Errorf("%s: %q lacks %q", step, res.Problem, w)
		}
	}
}

func (r *rig) figure(step, want string) {
	r.t.Helper()
	switch f := r.of(step).Figure; {
	case f == nil && want != "":
		r.t.Errorf("%s has no figure, want %s: %s", step, want, r.of(step).Problem)
	case f != nil && f.Value.String() != want:
		r.t.Errorf("%s is %s, want %s", step, f.Value, want)
	}
}

func figure(t testing.TB, s string) quantity.Value {
	t.Helper()
	v, err := quantity.ParseWithUnit(s)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// picture is all that a job's figures say, without the numbers of its facts.
func picture(res *overhaul.Results) string {
	var b strings.Builder
	fmt.Fprintln(&b, res.Build, res.Training)
	for _, r := range res.Steps {
		fmt.Fprintln(&b, r.Step.Name, r.Status, r.Wants, r.Spot, r.Left, r.Problem, len(r.Presses), value(r.Figure), r.Text, r.Notes)
		if p := r.Pack; p != nil {
			fmt.Fprintln(&b, "  pack", value(p.Worked), value(p.Other), value(p.Fitted), p.Error, p.Refit)
		}
		if c := r.Check; c != nil {
			fmt.Fprintln(&b, "  check", c.Verdict, c.Words, c.Advice, value(c.Figure), c.U)
			for _, p := range c.Points {
				fmt.Fprintln(&b, "  ", p.Spot, value(p.Figure), p.Build, p.Stale)
			}
		}
	}
	for _, p := range res.Places {
		fmt.Fprintln(&b, p.Wanted, value(p.Low), value(p.High), p.State)
	}
	return b.String()
}

func value(f *overhaul.Figure) string {
	if f == nil {
		return "none"
	}
	return f.Value.String()
}

// numbers are those of a job's presses at a step, in order.
func (r *rig) numbers(step string) []int64 {
	var out []int64
	for _, p := range r.job.Presses {
		if p.Fact.Step == step {
			out = append(out, p.Seq)
		}
	}
	return slices.Clip(out)
}
