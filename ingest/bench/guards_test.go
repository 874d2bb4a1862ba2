//go:build unix

package bench

import (
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"shimwright/calc/overhaul"
	"shimwright/ingest/fact"
	"shimwright/ingest/register"
)

// These are rows of the trade's table of what goes wrong, each played as presses
// of a virtual gauge through a pseudo-terminal and the real driver.

const (
	face  = "pinion face height"
	depth = "casing depth"
	pulls = "pinion turning torque"
)

// changed has the bench's sheets with each old and new text exchanged, and
// windows that a slow machine and the tests' long pauses leave alone.
func changed(t testing.TB, change ...string) func(*Config) {
	t.Helper()
	return func(c *Config) {
		named := c.Sheets
		c.Windows.Idle, c.Windows.Seated = 100*double, 50*double
		c.Sheets = func(name string) ([]byte, error) {
			text, err := named(name)
			for i := 0; i < len(change); i += 2 {
				if name == "fw3" && !strings.Contains(string(text), change[i]) {
					t.Errorf("%q is not in sheet %s", change[i], name)
				}
			}
			return []byte(strings.NewReplacer(change...).Replace(string(text))), err
		}
	}
}

// needing puts a line more into a measure of the sheet.
func needing(t testing.TB, more string, steps ...string) func(*Config) {
	t.Helper()
	var change []string
	for _, s := range steps {
		change = append(change, "- measure: "+s+"\n", "- measure: "+s+"\n        "+more+"\n")
	}
	return changed(t, change...)
}

// known is a rig whose journal holds facts before the bench is opened.
func known(t testing.TB, facts []about, change ...func(*Config)) *rig {
	t.Helper()
	checkLeaks(t)
	dir := t.TempDir()
	r := &rig{t: t, path: filepath.Join(dir, "bay 2.journal"), clock: &clock{}}
	cfg := config(dir, r.clock.Now)
	r.gauges = plug(t, cfg)
	j := openJournal(t, r.path, r.clock.Now)
	put(t, j, facts...)
	if err := j.Close(); err != nil {
		t.Fatal(err)
	}
	r.start(cfg, change...)
	return r
}

// wants holds a press to an outcome and to words of its sentence or of what to
// do.
func (r *rig) wants(p fact.Pressed, outcome fact.Outcome, words ...string) {
	r.t.Helper()
	if p.Outcome != outcome {
		r.t.Errorf("%s, want %s: %s %s", p.Outcome, outcome, p.Sentence, p.Do)
	}
	if p.Why() != p.Cause || (p.Cause == "") != (outcome == fact.Taken) {
		r.t.Errorf("%s has the cause %q: %s", outcome, p.Cause, p.Sentence)
	}
	for _, w := range words {
		if !strings.Contains(p.Sentence+" "+p.Do, w) {
			r.t.Errorf("%q %q lacks %q", p.Sentence, p.Do, w)
		}
	}
}

func (r *rig) refused(c Command, words ...string) {
	r.t.Helper()
	_, err := r.Do(r.t.Context(), c)
	for _, w := range words {
		if err == nil || !strings.Contains(err.Error(), w) {
			r.t.Errorf("%+v: %v lacks %q", c, err, w)
		}
	}
}

// zero checks a gauge's zero with its next press.
func (r *rig) zero(gauge, shows string) (fact.Zeroed, *Snapshot) {
	r.t.Helper()
	r.do(CheckZero{Gauge: gauge})
	return r.zeroPress(gauge, shows)
}

func (r *rig) zeroPress(gauge, shows string) (fact.Zeroed, *Snapshot) {
	r.t.Helper()
	r.clock.moveOn(double)
	if err := r.gauges[gauge].Press(figure(shows)); err != nil {
		r.t.Fatal(err)
	}
	for {
		f := r.next()
		if z, ok := f.Fact.(fact.Zeroed); ok {
			return z, r.await("the zero to show", func(s *Snapshot) bool {
				return s.Seq > f.Stored.Seq && s.Last != nil && s.Last.Press.Sentence == z.Sentence
			})
		}
	}
}

func (r *rig) postAndEdge() {
	r.t.Helper()
	r.at(face, DrawPiece{"tall post", "S-31"}, DrawPiece{"straightedge", "E-02"})
}

func gauge(s *Snapshot, id string) GaugeState {
	return s.Gauges[slices.IndexFunc(s.Gauges, func(g GaugeState) bool { return g.ID == id })]
}

// Zero not set, or lost: it is checked before a press counts, for each setup and
// after whatever may have moved it; the presses that a lost one puts in doubt are
// flagged and count all the same.
func TestZeroInTheBench(t *testing.T) {
	r := newRig(t, needing(t, "needs: [zero]", face, depth))
	r.postAndEdge()
	r.do(DrawPiece{"long post", "S-41"})
	r.do(ChooseStep{face})
	aside := func(words ...string) {
		t.Helper()
		p, _ := r.press("D07", "33.38 mm")
		r.wants(p, fact.Aside, words...)
	}
	aside("ZERO FIRST: D07 has had no zero check.", "foot and tip level, then press again")
	r.refused(CheckZero{Gauge: "M02"}, "M02 is a micrometer, and pinion face height wants a depth gauge")
	r.refused(CheckZero{}, "D07 and D09 are there: say which one is meant")
	r.do(CheckZero{Gauge: "D07"})
	if got := gauge(r.Snapshot(), "D07").Next; got != "zero" {
		t.Errorf("the next press is %q", got)
	}
	z, s := r.zeroPress("D07", "0.01 mm")
	if !z.Good || z.Step != face || len(z.Doubts) != 0 || gauge(s, "D07").Next != "" || len(s.Job.Presses) != 1 {
		t.Errorf("%+v, next %q", z, gauge(s, "D07").Next)
	}
	p, _ := r.pressAtOnce("D07", "0.01 mm")
	r.wants(p, fact.Aside, "One press counted: 0.01 mm came again")
	p, _ = r.press("D07", "33.38 mm")
	r.wants(p, fact.Taken)
	r.do(ChooseStep{depth})
	p, _ = r.press("D07", "31.48 mm")
	r.wants(p, fact.Aside, "ZERO FIRST: D07 stands in another setup.")
	r.do(ChooseStep{face})

	r.do(Knocked{Gauge: "D07"})
	aside("ZERO FIRST: D07 was knocked.")
	r.zero("D07", "0.00 mm")
	p, _ = r.press("D07", "33.38 mm")
	r.wants(p, fact.Taken)
	if err := r.gauges["D07"].Unplug(); err != nil {
		t.Fatal(err)
	}
	r.await("the gauge to be gone", func(s *Snapshot) bool { return gauge(s, "D07").State == "gone" })
	if err := r.gauges["D07"].Replug(); err != nil {
		t.Fatal(err)
	}
	aside("ZERO FIRST: D07 was unplugged.")
	r.zero("D07", "0.00 mm")
	r.clock.moveOn(200 * double)
	aside("ZERO FIRST: D07 lay idle for 201 h.")

	z, s = r.zero("D07", "0.05 mm")
	if z.Good || len(z.Doubts) != 0 {
		t.Errorf("no press came since the last good zero: %+v", z)
	}
	aside("was off when its zero was last checked")
	r.zero("D07", "0.00 mm")
	_, s = r.press("D07", "33.37 mm")
	before := s.Results.Of(face)
	r.do(ChooseStep{face})
	z, s = r.zero("D07", "0.06 mm")
	if z.Good || len(z.Doubts) != 1 || !slices.Equal(s.Doubted, z.Doubts) {
		t.Errorf("%+v, in doubt %v", z, s.Doubted)
	}
	r.wants(s.Last.Press, fact.Held, "ZERO OFF: D07 shows 0.06 mm, and at most 0.02 mm either way is allowed.", "Look at its presses since the last good zero")
	after := s.Results.Of(face)
	if len(after.Presses) != len(before.Presses) || after.Status != before.Status {
		t.Error("a press in doubt was taken out")
	}
	if len(after.Notes) == 0 || !strings.Contains(after.Notes[len(after.Notes)-1], "In doubt, because the gauge's zero was lost") {
		t.Errorf("notes %q", after.Notes)
	}
	r.do(Retake{face, "zero lost"})
	if s := r.Snapshot(); len(s.Doubted) != 0 {
		t.Errorf("in doubt %v", s.Doubted)
	}
	r.zero("D07", "0.00 mm")
	r.stop()
	r.start(config(filepath.Dir(r.path), r.clock.Now), changed(t))
	aside("ZERO FIRST: D07 was not watched while the bench stood still.")
}

// A reading before bearings are rolled does not count; what was said goes stale,
// and is void once metal was changed.
func TestRolledInTheBench(t *testing.T) {
	r := newRig(t, needing(t, "needs: [bearings rolled]", face))
	r.postAndEdge()
	p, s := r.press("D07", "33.38 mm")
	r.wants(p, fact.Aside, "ROLL FIRST: nobody has said that the bearings are rolled.", "Roll the bearings ten turns, say so, then press again.")
	if len(s.Needs) != 1 || s.Needs[0].Words != "Are the bearings rolled, ten turns?" || !s.Needs[0].Said.IsZero() {
		t.Errorf("%+v", s.Needs)
	}
	r.refused(SayNeed{Need: "seated"}, `"seated" is not what pinion face height needs`)
	r.refused(SayNeed{Step: recess}, "asks nobody")
	r.do(SayNeed{Need: "rolled"})
	p, s = r.press("D07", "33.38 mm")
	r.wants(p, fact.Taken)
	if s.Needs[0].Said.IsZero() {
		t.Error("it was said, and does not show")
	}
	r.clock.moveOn(60 * double)
	p, _ = r.press("D07", "33.38 mm")
	r.wants(p, fact.Aside, "ROLL FIRST: the bearings were rolled 62 h ago, which holds for 50 h.")
	r.do(SayNeed{})
	r.do(Metal{Step: face, Lengths: []string{"casing distance"}, Reason: "faced again"})
	r.do(ChooseStep{face})
	p, _ = r.press("D07", "33.38 mm")
	r.wants(p, fact.Aside, "ROLL FIRST: nobody has said")
	r.do(SayNeed{})
	r.stop() // what was said is a fact
	r.start(config(filepath.Dir(r.path), r.clock.Now), changed(t))
	p, _ = r.press("D07", "33.38 mm")
	r.wants(p, fact.Taken)
}

func day(r *clock, days int) fact.Day { return fact.DayOf(r.Now().AddDate(0, 0, days)) }

func certified(id, size string, due fact.Day) about {
	return about{register.PieceSubject(id), fact.Certified{Size: figure(size), Certificate: fact.Certificate{Due: due}}}
}

// A gauge or a standard out of date: a piece is not offered, a press on it or of
// such a gauge is held and says what to use; let count once, it counts in this
// job and no other.
func TestOutOfDateInTheBench(t *testing.T) {
	c := &clock{}
	due := func(id, kind string, days int) about {
		return about{register.GaugeSubject(id), fact.GaugeCertified{GaugeKind: kind, Certificate: fact.Certificate{Due: day(c, days)}}}
	}
	r := known(t, []about{due("D07", "depth gauge", -3), due("D09", "depth gauge", 30), certified("S-31", "75.004 mm", day(c, -1)),
		certified("S-32", "75.021 mm", day(c, 3))}, changed(t))
	r.do(OpenJob{Sheet: "fw3", Serial: "17"})
	r.refused(DrawPiece{"tall post", "S-31"}, "piece S-31 was due on", "in date are S-32")
	r.do(DrawPiece{"tall post", "S-32"})
	r.do(DrawPiece{"straightedge", "E-02"})
	r.do(ChooseStep{face})
	p, s := r.press("D07", "33.38 mm")
	r.wants(p, fact.Held, "D07 was due 3 days ago: 33.38 mm from D07 is kept.", "Use D09; the lead may let it count with a reason.")
	if n := len(s.Results.Of(face).Presses); n != 0 {
		t.Errorf("%d presses count", n)
	}
	if got := r.do(Take{s.Last.Seq, "the keeper extends it to Friday"}); !strings.Contains(got.Words, "In this job D07 may be used from now on.") {
		t.Error(got.Words)
	}
	p, s = r.press("D07", "33.38 mm")
	r.wants(p, fact.Taken)
	if n := len(s.Results.Of(face).Presses); n != 2 {
		t.Errorf("%d presses count", n)
	}
	r.clock.moveOn(5 * 24 * time.Hour)
	p, _ = r.press("D07", "33.38 mm")
	r.wants(p, fact.Held, "S-32 was due", "None in date can stand in for S-32")
	r.do(OpenJob{Sheet: "fw3", Serial: "18"})
	r.do(ChooseStep{recess})
	p, _ = r.press("D07", "18.74 mm")
	r.wants(p, fact.Held, "D07 was due 8 days ago")
}

// Who lets a press count that was held for what was missing is told first what
// the guards behind that would have said.
func TestTakenAgainstOtherGuards(t *testing.T) {
	r := newRig(t, changed(t))
	r.at(face)
	p, s := r.press("D09", "1.31 mm")
	r.wants(p, fact.Held, "it cannot count yet", "Say which tall post stands in the setup")
	held := s.Last.Seq
	r.refused(Take{held, "it is right"}, "cannot count yet: Say which tall post")
	r.do(DrawPiece{"tall post", "S-31"})
	r.do(DrawPiece{"straightedge", "E-02"})
	r.refused(Take{held, "it is right"}, "1.31 from D09, which states no unit, misses", "Read in inches it would be 33.274 mm", "take it once more and say why")
	r.do(Take{held, "the stone was short"})
	s = r.Snapshot()
	if got := s.Results.Of(face).Presses; len(got) != 1 || strings.Join(got[0].Entry.Pieces, " ") != "S-31 E-02" {
		t.Errorf("%+v", got)
	}
	r.do(Strike{held, "it was not"})
	for range 3 {
		r.press("D07", "33.38 mm")
	}
	if f := r.Snapshot().Results.Of(face).Figure; f == nil || f.Value.String() != "53.63" {
		t.Errorf("%v", f)
	}
}

// A reading at the wrong step is held and says which step it would fit; one of
// another kind of gauge is kept and counts nowhere.
func TestWrongStepInTheBench(t *testing.T) {
	r := newRig(t, changed(t))
	r.postAndEdge()
	p, _ := r.press("D07", "31.48 mm")
	r.wants(p, fact.Held, `misses 31.90 mm .. 34.90 mm, which the step "pinion face height" wants. It would fit the step casing depth.`, "Foot on the face? Right step? Press again.")
	p, _ = r.press("D07", "18.74 mm")
	r.wants(p, fact.Held, "It would fit the step cover recess.")
	p, s := r.press("M02", "33.38 mm")
	r.wants(p, fact.Aside, "That was M02, a micrometer", "Press on a depth gauge.")
	if n := len(s.Results.Of(face).Presses); n != 0 {
		t.Errorf("%d presses count", n)
	}
}

// A burr: no mean is taken of presses that lie apart. Repeats that only fall have
// not settled.
func TestBurrAndSettlingInTheBench(t *testing.T) {
	r := newRig(t, changed(t))
	r.postAndEdge()
	r.press("D07", "33.38 mm")
	p, _ := r.press("D07", "33.43 mm")
	r.wants(p, fact.Taken, "The presses lie 0.05 mm apart, at most 0.02 mm is allowed.", "Clean and stone the faces")
	_, s := r.press("D07", "33.38 mm")
	if x := s.Results.Of(face); x.Status != overhaul.Held || x.Figure != nil || !strings.Contains(x.Problem, "not averaged") {
		t.Errorf("%s %v %q", x.Status, x.Figure, x.Problem)
	}
	r.do(Retake{face, "stoned"})
	r.press("D07", "33.46 mm")
	r.press("D07", "33.44 mm")
	p, s = r.press("D07", "33.43 mm")
	r.wants(p, fact.Taken, "Readings still falling 33.46 33.44 33.43: not seated yet.", "Roll and reseat")
	if x := s.Results.Of(face); x.Figure != nil || len(x.Notes) == 0 {
		t.Errorf("%v %q", x.Figure, x.Notes)
	}
}

// A figure misread: it is pressed, not typed; typed it is marked, needs a
// reason, and at a critical step a second person.
func TestKeyedInTheBench(t *testing.T) {
	r := newRig(t, needing(t, "critical: yes", face))
	r.postAndEdge()
	r.refused(Keyed{Step: face, Value: "33.38 mm"}, "the reason is empty")
	r.do(Keyed{Step: face, Value: "33.38 mm", Reason: "no cable"})
	p, _, s := r.nextPress()
	r.wants(p, fact.Taken, "KEYED.", "A second person must look at it before sign-off.")
	if s.Job.Presses[0].Fact.Source.String() != "keyed" {
		t.Errorf("%+v", s.Job.Presses[0].Fact)
	}
	r.do(Keyed{Step: face, Value: "38.33 mm", Reason: "no cable"})
	p, _, _ = r.nextPress()
	r.wants(p, fact.Held, "38.33 mm", "misses")
}

// A gauge knocked to inches (the trade's seventh story): stated it is taken as
// what it is; bare it is held with what it looks like; an etched mark is read
// back in words.
func TestStoryUnitsInTheBench(t *testing.T) {
	r := newRig(t, changed(t))
	r.postAndEdge()
	p, _ := r.raw("D07", "+1.3142in\r")
	r.wants(p, fact.Taken, "the gauge is on in, that is 33.38068 mm.")
	before := results(r.Snapshot())
	p, s := r.raw("D09", "1.314\r")
	r.wants(p, fact.Held, "which states no unit", "Read in inches it would be 33.3756 mm, which fits.", "Press the gauge's unit key, check its zero, press again.")
	if results(s) != before {
		t.Error("a held press changed a figure")
	}
	if got := r.do(Mark{Step: "pinion distance", Digits: "+3"}); !strings.Contains(got.Words, "0.030 mm FARTHER from wheel axis") {
		t.Error(got.Words)
	}
}

// The wrong post (the trade's eighth story): each press keeps its window and is
// taken, the figure is held, and the posts of the register that would bring it in
// are named, the twin of one too: no figure tells them apart.
func TestStoryWrongPostInTheBench(t *testing.T) {
	r := known(t, []about{certified("S-12", "50.003 mm", fact.Day{})}, changed(t, "setup: {height: [tall post, straightedge]}\n        gauge: depth gauge\n        window: 31.90", "setup: {height: [short post, straightedge]}\n        gauge: depth gauge\n        window: 31.90",
		"S-31: {standard: tall post, size: 75.004 mm}\n", "S-31: {standard: tall post, size: 75.004 mm}\n    S-11: {standard: short post, size: 75.004 mm}\n",
		"{step: pinion face height, pieces: [S-31, E-02]", "{step: pinion face height, pieces: [S-11, E-02]"))
	r.do(OpenJob{Sheet: "fw3", Serial: "17"})
	r.refused(DrawPiece{"tall post", "S-12"}, "S-12 is 50.003 mm, and the tall post is 75 mm: draw another piece; in date are S-31, S-32")
	r.do(DrawPiece{"short post", "S-12"})
	r.do(DrawPiece{"straightedge", "E-02"})
	r.do(ChooseStep{face})
	for range 3 {
		p, _ := r.press("D07", "33.38 mm")
		r.wants(p, fact.Taken)
	}
	x := r.Snapshot().Results.Of(face)
	for _, w := range []string{"28.629 mm", "52.90 mm .. 54.30 mm is expected", "with S-31, 75.004 mm, it would be 53.630 mm", "S-32, 75.021 mm, it would be 53.647 mm", "read the number on the piece"} {
		if !strings.Contains(strings.ToLower(x.Problem), strings.ToLower(w)) {
			t.Errorf("%q lacks %q", x.Problem, w)
		}
	}
	if x.Status != overhaul.Held {
		t.Errorf("%s", x.Status)
	}
	before := results(r.Snapshot())
	r.again() // what the register offered is in the job
	if got := results(r.Snapshot()); got != before {
		t.Errorf("opened again:\n%s\nwas\n%s", got, before)
	}
}

// A worn bearing (the trade's ninth story): the mean of its pulls lies in the
// band, and it is not good; no spacer is advised.
func TestStoryWornBearingInTheBench(t *testing.T) {
	r := newRig(t, changed(t))
	r.do(OpenJob{Sheet: "fw3", Serial: "17"})
	r.do(Record{"pinion bearings", "used"})
	r.do(Fit{Step: "pinion spacer", Measured: []string{"9.96 mm"}})
	r.do(ChooseStep{pulls})
	for _, v := range []string{"11.0 N", "24.5 N", "13.0 N", "22.0 N"} {
		p, _ := r.press("F05", v)
		r.wants(p, fact.Taken)
	}
	x := r.Snapshot().Results.Of(pulls)
	if x.Status != overhaul.Held || !strings.Contains(x.Problem+x.Check.Words, "rough") || x.Check.Spacer != nil && (x.Check.Spacer.Next != nil || x.Check.Spacer.Exact != nil) {
		t.Errorf("%s %q %q %+v", x.Status, x.Problem, x.Check.Words, x.Check.Spacer)
	}
}

// Metal was changed (the trade's twelfth story): the ring before it is stale
// point by point, and sign-off names the point that is still of the build
// before.
func TestStoryStaleRingInTheBench(t *testing.T) {
	r := newRig(t, changed(t, "        presses: 2\n        agree: 0.02 mm\n        window: 0.00 mm .. 0.80 mm", "        presses: 1\n        agree: 0.02 mm\n        window: 0.00 mm .. 0.80 mm"))
	workPinionPack(r)
	r.press("M02", "1.35 mm")
	r.press("M02", "1.35 mm")
	r.do(Fit{Step: "pinion pack"})
	const ring = "backlash"
	r.do(ChooseStep{ring})
	for range 4 {
		p, _ := r.press("I03", "0.14 mm") // normal; 0.182 in the turning plane
		r.wants(p, fact.Taken)
	}
	build := r.Snapshot().Results.Build
	r.do(Move{Step: ring, Gear: "pinion", Way: "IN", By: "0.15 mm"})
	r.do(Fit{Step: "pinion pack", Measured: []string{"1.20 mm"}})
	s := r.Snapshot()
	if x := s.Results.Of(ring); s.Results.Build != build+1 || x.Status != overhaul.Stale || !strings.Contains(x.Problem, "Metal was changed since") {
		t.Errorf("build %d, %s %q", s.Results.Build, x.Status, x.Problem)
	}
	r.do(ChooseStep{ring})
	for range 3 {
		p, _ := r.press("I03", "0.14 mm")
		r.wants(p, fact.Taken)
	}
	x := r.Snapshot().Results.Of(ring)
	stale := fmt.Sprintf("270 deg is from build %d", build)
	if x.Status != overhaul.Stale || !strings.Contains(x.Problem, stale) {
		t.Errorf("%s %q", x.Status, x.Problem)
	}
	if all := strings.Join(r.Snapshot().Unfinished, " "); !strings.Contains(all, stale) {
		t.Errorf("sign-off asks for %q", all)
	}
	r.press("I03", "0.14 mm")
	if x := r.Snapshot().Results.Of(ring); x.Status == overhaul.Stale {
		t.Errorf("%s %q", x.Status, x.Problem)
	}
}
