package trade

import (
	"fmt"
	"math/rand/v2"
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
)

const (
	head   = "pinion head"
	face   = "pinion face height"
	recess = "cover recess"
	ring   = "backlash"
	torque = "pinion turning torque"
)

// atFace waits at the pinion's face height, with its pieces drawn.
func atFace(t testing.TB, change ...string) *rig {
	t.Helper()
	r := open(t, change...)
	r.draw("tall post", "S-31", "75.004 mm")
	r.draw("straightedge", "E-02", "12.006 mm")
	r.at = face
	return r
}

func needing(t testing.TB, more string) *rig {
	t.Helper()
	old, changed := with("      - measure: "+face, more)
	return atFace(t, old, changed)
}

// The pinion pack of the job, pressed by gauges from beginning to end: H 53.630,
// pack 1.370 (the trade's second story).
func TestNothingWrong(t *testing.T) {
	r := atFace(t)
	r.mark("pinion distance", "+8", quantity.Hundredth)
	r.mark("casing distance", "-3", quantity.Hundredth)
	for range 3 {
		r.depth("33.38 mm")
		r.wants(fact.Taken)
	}
	r.at = head
	for range 2 {
		r.micrometer("42.37 mm")
		r.wants(fact.Taken)
	}
	r.figure(face, "53.63")
	if v := r.of("pinion pack").Pack.Worked; value(v) != "1.37" {
		t.Errorf("the pack is %s", value(v))
	}
}

// A figure that was typed is marked, needs a reason, and at a critical step a
// second person who is another.
func TestKeyedFigures(t *testing.T) {
	r := needing(t, "critical: yes")
	r.depth("33.38 mm")
	r.key("33.83 mm", "")
	r.wants(fact.Held, "KEYED and nobody said why")
	r.key("33.38 mm", "no cable")
	r.wants(fact.Taken, "KEYED.", "A second person must look at it")
	keyed := r.job.Last
	held := r.numbers(face)[1]
	same(t, "second looks", guard.LooksWanted(r.job, nil), held, keyed)
	r.do(fact.Struck{Press: held, Reason: "mistyped"})
	same(t, "with the held one struck", guard.LooksWanted(r.job, nil), keyed)
	same(t, "looked at", guard.LooksWanted(r.job, map[int64]bool{keyed: true}))
	if err := guard.MayLook("AB", "AB"); err == nil {
		t.Error("who typed it may look at it")
	}
	if err := guard.MayLook("AB", ""); err == nil {
		t.Error("nobody may look at it")
	}
	if err := guard.MayLook("AB", "CD"); err != nil {
		t.Error(err)
	}
	r.do(fact.Again{Step: face, Reason: "anew"})
	same(t, "begun anew", guard.LooksWanted(r.job, nil))

	plain := atFace(t)
	plain.key("33.38 mm", "no cable")
	plain.wants(fact.Taken, "KEYED.")
	same(t, "at a step that is not critical", guard.LooksWanted(plain.job, nil))
}

// A gauge knocked to inches: with its unit it is taken as what it is; without,
// it is held with what it looks like, and changes nothing.
func TestInchAmongMillimetres(t *testing.T) {
	r := atFace(t)
	r.press("D07", "depth gauge", "1.3142 in", true)
	r.wants(fact.Taken, "the gauge is on in, that is 33.38068 mm.")
	before := picture(r.results)
	r.press("D07", "depth gauge", "1.314 mm", false)
	r.wants(fact.Held, "Read in inches it would be 33.3756 mm", "Press the gauge's unit key")
	if picture(r.results) != before {
		t.Error("a held press changed a figure")
	}
}

// An etched +3 says another thing in hundredths than in thousandths: the sheet
// says which, and the sentence says it in words.
func TestEtchedMarkInTwoUnits(t *testing.T) {
	sentence := func(r *rig) string {
		r.mark("pinion distance", "+3", r.of("pinion distance").Step.Mark.Digits)
		return r.of("pinion distance").Text
	}
	metric := sentence(open(t))
	thou := sentence(open(t, "nominal: 150.00 mm\n        digits: 0.01 mm", "nominal: 150.00 mm\n        digits: thou"))
	nearer := sentence(open(t, "plus: longer\n        absent: not allowed\n      - mark: casing", "plus: shorter\n        absent: not allowed\n      - mark: casing"))
	contains(t, metric, "0.030 mm FARTHER from wheel axis")
	contains(t, thou, "0.076 mm FARTHER from wheel axis")
	contains(t, nearer, "0.030 mm NEARER to wheel axis")
}

// Zero is checked for the setup before a press counts, and again after whatever
// may move it; a zero that is lost puts in doubt the presses since the last good
// one, and takes none out.
func TestZeroLost(t *testing.T) {
	r := needing(t, "needs: [zero]")
	r.zeros = map[string]*guard.Zero{}
	r.depth("33.38 mm")
	r.wants(fact.Aside, "ZERO FIRST: D07 has had no zero check.", "foot and tip level")
	if z := r.zero("D07", "0.01 mm"); !z.Good || z.Doubt {
		t.Errorf("%+v", z)
	}
	good := r.job.Last
	r.depth("33.38 mm")
	r.wants(fact.Taken)
	first := r.job.Last
	r.zeros["D07"].Knocked = true
	r.depth("33.38 mm")
	r.wants(fact.Aside, "was knocked")
	r.zero("D07", "0.00 mm")
	r.now = r.now.Add(41 * time.Minute)
	r.depth("33.38 mm")
	r.wants(fact.Aside, "ZERO FIRST: D07 lay idle for 41 min.")
	r.depth("33.38 mm") // pressing again does not help
	r.wants(fact.Aside, "ZERO FIRST: D07 lay idle for 41 min.")
	r.zero("D07", "0.00 mm")
	r.depth("33.37 mm")
	r.wants(fact.Taken)
	second := r.job.Last
	before := picture(r.results)

	was := figure(t, "0.00 mm")
	z := guard.CheckZero("D07", r.of(face).Step, figure(t, "0.05 mm"), &was)
	if z.Good || !z.Doubt {
		t.Errorf("%+v", z)
	}
	contains(t, z.Sentence, "ZERO OFF: D07 shows 0.05 mm, and at most 0.02 mm either way is allowed.")
	same(t, "in doubt", guard.Doubted(r.job, "D07", good), first, second)
	same(t, "in doubt since the second one", guard.Doubted(r.job, "D07", first), second)
	same(t, "in doubt of another gauge", guard.Doubted(r.job, "D09", good))
	if picture(r.results) != before {
		t.Error("what is in doubt changed a figure")
	}
	r.do(fact.Struck{Press: first, Reason: "zero lost"})
	same(t, "with one struck", guard.Doubted(r.job, "D07", good), second)
	r.do(fact.Again{Step: face, Reason: "zero lost"})
	same(t, "begun anew", guard.Doubted(r.job, "D07", good))

	r.at = recess // it needs no zero
	r.depth("18.74 mm")
	r.wants(fact.Taken)
	same(t, "at a step that needs no zero", guard.Doubted(r.job, "D07", good))
}

// What a gauge shows on its zero.
func TestZeroChecks(t *testing.T) {
	st := needing(t, "needs: [zero]").of(face).Step
	for _, c := range []struct {
		shows, before string
		good, doubt   bool
		words, do     string
	}{
		{"0.00 mm", "", true, false, "D07 shows 0.00 mm on its zero: good.", ""},
		{"0.02 mm", "", true, false, "good.", ""},
		{"-0.02 mm", "0.00 mm", true, false, "good.", ""},
		{"0.0007 in", "", true, false, "good.", ""},
		{"0.0008 in", "", false, false, "ZERO OFF: D07 shows 0.0008 in, and at most 0.02 mm either way is allowed.", "Clean foot and tip, set the zero and check it again."},
		{"-0.021 mm", "", false, false, "ZERO OFF", "Clean foot and tip, set the zero and check it again."},
		{"0.03 mm", "0.00 mm", false, true, "ZERO OFF", "Look at its presses since the last good zero"},
		{"0.015 mm", "-0.01 mm", true, true, "ZERO MOVED: D07 shows 0.015 mm and showed -0.01 mm before; at most 0.02 mm apart is allowed.", "Look at its presses since the last good zero"},
		{"0.015 mm", "-0.005 mm", true, false, "good.", ""},
		{"0.00 N", "0.00 mm", false, false, "D07 shows 0.00 N, a force: the step", "Is this the right gauge?"},
	} {
		var before *quantity.Value
		if c.before != "" {
			v := figure(t, c.before)
			before = &v
		}
		z := guard.CheckZero("D07", st, figure(t, c.shows), before)
		if z.Good != c.good || z.Doubt != c.doubt {
			t.Errorf("%s after %q: %+v", c.shows, c.before, z)
		}
		contains(t, z.Sentence, c.words)
		contains(t, z.Do, c.do)
	}
}

// Two presses at once are one where they agree, and neither counts where they
// differ.
func TestPressedTwice(t *testing.T) {
	r := atFace(t)
	r.depth("33.38 mm")
	r.now = r.now.Add(-4 * time.Second) // so that the next one comes at once
	r.depth("33.38 mm")
	r.wants(fact.Aside, "One press counted")
	r.now = r.now.Add(-4 * time.Second)
	r.depth("33.37 mm")
	r.wants(fact.Held, "which is right?")
	if n := len(r.of(face).Presses); n != 0 {
		t.Errorf("%d presses count", n)
	}
}

// A press at the wrong step is held, and says which step it would fit; one of
// another kind of gauge is kept and counts nowhere.
func TestWrongStep(t *testing.T) {
	r := atFace(t)
	r.draw("overall post", "S-40", "200.011 mm")
	before := picture(r.results)
	r.depth("31.48 mm")
	r.wants(fact.Held, `the step "pinion face height" wants. It would fit the step casing depth.`, "Right step?")
	r.depth("18.74 mm")
	r.wants(fact.Held, "It would fit the step cover recess.")
	r.depth("25.93 mm")
	r.wants(fact.Held, "It would fit the steps wheel height and overall height.")
	r.depth("3.38 mm")
	r.wants(fact.Held, `the step "pinion face height" wants.`)
	r.micrometer("33.38 mm")
	r.wants(fact.Aside, "wants a depth gauge")
	if picture(r.results) != before {
		t.Error("a press at the wrong step changed a figure")
	}
	r.at = recess
	for range 3 {
		r.depth("18.74 mm")
	}
	r.at = face
	r.depth("18.74 mm") // that step has all its presses
	r.wants(fact.Held, `the step "pinion face height" wants.`)
	if r.last.Sentence[len(r.last.Sentence)-6:] != "wants." {
		t.Errorf("a full step is named: %s", r.last.Sentence)
	}
}

// Bearings are rolled before a press counts, and anew after ten minutes.
func TestNotRolled(t *testing.T) {
	r := needing(t, "needs: [bearings rolled]")
	r.said = map[string]time.Time{}
	before := picture(r.results)
	r.depth("33.38 mm")
	r.wants(fact.Aside, "ROLL FIRST: nobody has said", "Roll the bearings ten turns")
	r.rolled()
	r.now = r.now.Add(14 * time.Minute)
	r.depth("33.38 mm")
	r.wants(fact.Aside, "the bearings were rolled 14 min ago, which holds for 10 min.")
	if picture(r.results) != before {
		t.Error("a press before rolling changed a figure")
	}
	r.rolled()
	r.depth("33.38 mm")
	r.wants(fact.Taken)
}

// Repeats that only fall are not seated yet. Each counts, and there is no mean.
func TestStillSettling(t *testing.T) {
	r := atFace(t)
	r.depth("33.46 mm")
	r.depth("33.44 mm")
	r.wants(fact.Taken, "33.44 mm from D07 at pinion face height.")
	r.depth("33.43 mm")
	r.wants(fact.Taken, "Readings still falling 33.46 33.44 33.43: not seated yet.", "Roll and reseat")
	r.status(face, overhaul.Held, "0.030 mm apart", "They are not averaged")
	r.figure(face, "")
	if len(r.of(face).Notes) == 0 {
		t.Error("the result does not say that it is still settling")
	}
}

// One of three repeats lies off: each counts, and there is no mean.
func TestBurr(t *testing.T) {
	r := atFace(t)
	r.depth("33.38 mm")
	r.depth("33.43 mm")
	r.wants(fact.Taken, "The presses lie 0.05 mm apart, at most 0.02 mm is allowed.", "Clean and stone the faces", "do not average it away")
	r.depth("33.38 mm")
	r.wants(fact.Taken, "0.05 mm apart")
	r.status(face, overhaul.Held, "0.050 mm apart", "clean and stone the faces", "They are not averaged")
	r.figure(face, "")
	r.do(fact.Again{Step: face, Reason: "stoned"})
	for range 3 {
		r.depth("33.38 mm")
		r.wants(fact.Taken, "33.38 mm from D07 at pinion face height.")
	}
	r.figure(face, "53.63")
}

// The wrong post was drawn (the trade's eighth story): each press keeps its
// window and is taken, the figure is held, and the post that would bring it in
// is named: by the results where the job drew it, else out of the register. A
// twin of its size is out of reach of any figure, and is named beside it.
func TestWrongPost(t *testing.T) {
	r := open(t)
	r.draw("tall post", "S-12", "50.003 mm")
	r.draw("straightedge", "E-02", "12.006 mm")
	r.at = face
	for range 3 {
		r.depth("33.38 mm")
		r.wants(fact.Taken)
	}
	r.status(face, overhaul.Held, "28.629 mm", "52.90 mm .. 54.30 mm is expected", "which piece stands in the setup?")
	register := []sheet.Piece{
		{ID: "E-02", Standard: "straightedge", Size: figure(t, "12.006 mm")},
		{ID: "S-12", Standard: "short post", Size: figure(t, "50.003 mm")},
		{ID: "S-31", Standard: "tall post", Size: figure(t, "75.004 mm")},
		{ID: "S-40", Standard: "overall post", Size: figure(t, "200.011 mm")},
	}
	sentence, do := guard.OtherPiece(r.of(face), register)
	if sentence != "With S-31, 75.004 mm, in place of S-12 it would be 53.630 mm." {
		t.Errorf("%q", sentence)
	}
	contains(t, do, "Look at the number on the piece.")
	sentence, _ = guard.OtherPiece(r.of(face), append(register, sheet.Piece{ID: "S-32", Size: figure(t, "75.021 mm")}))
	contains(t, sentence, "it would be 53.630 mm. With S-32, 75.021 mm, in place of S-12 it would be 53.647 mm.")
	if s, _ := guard.OtherPiece(r.of(face), register[:2]); s != "" {
		t.Errorf("no piece would do, and it says %q", s)
	}
	if s, _ := guard.OtherPiece(r.of(head), register); s != "" {
		t.Errorf("nothing is held, and it says %q", s)
	}
	if s, _ := guard.OtherPiece(nil, register); s != "" {
		t.Errorf("%q", s)
	}

	r.draw("tall post", "S-31", "75.004 mm") // now the job knows it
	r.status(face, overhaul.Held, "With S-31, 75.004 mm, it would be 53.630 mm")
	r.figure("pinion distance", "")
	r.do(fact.Again{Step: face, Reason: "wrong post"})
	for range 3 {
		r.depth("33.38 mm")
	}
	r.figure(face, "53.63")
	if s, _ := guard.OtherPiece(r.of(face), register); s != "" {
		t.Errorf("the figure is good, and it says %q", s)
	}

	twin := open(t)
	twin.draw("tall post", "S-32", "75.021 mm")
	twin.draw("straightedge", "E-02", "12.006 mm")
	twin.at = face
	for range 3 {
		twin.depth("33.38 mm")
	}
	twin.figure(face, "53.647") // wrong by 0.017, and only the number on the post tells
}

// A press counts only with its pieces: the straightedge is a term of the sum.
func TestStraightedgeForgotten(t *testing.T) {
	r := open(t)
	r.draw("tall post", "S-31", "75.004 mm")
	r.at = face
	r.depth("33.38 mm")
	r.wants(fact.Held, "it cannot count yet", "Say which straightedge stands in the setup")
	r.draw("straightedge", "E-02", "12.006 mm")
	for range 3 {
		r.depth("33.38 mm")
	}
	r.figure(face, "53.63") // 75.004 + 12.006 − 33.38
}

// A gauge or a piece whose certificate was due holds the press, and says what
// to use instead; a person may let it count.
func TestCertificateDue(t *testing.T) {
	r := atFace(t)
	yesterday := fact.DayOf(r.now.AddDate(0, 0, -1))
	r.papers["D07"] = guard.Paper{Due: fact.DayOf(r.now.AddDate(0, 0, -3)), InDate: []string{"D09"}}
	r.depth("33.38 mm")
	r.wants(fact.Held, "D07 was due 3 days ago", "Use D09; the lead may let it count with a reason.")
	if n := len(r.of(face).Presses); n != 0 {
		t.Errorf("%d presses count", n)
	}
	r.do(fact.Took{Press: r.job.Last, Reason: "the keeper extends it to Friday"})
	if n := len(r.of(face).Presses); n != 1 {
		t.Errorf("%d presses count", n)
	}
	r.papers = map[string]guard.Paper{"S-31": {Due: yesterday, InDate: []string{"S-32"}}, "D07": {Due: fact.DayOf(r.now)}}
	r.depth("33.38 mm")
	r.wants(fact.Held, "S-31 was due yesterday", "Use S-32")
	r.papers = map[string]guard.Paper{"D09": {Due: yesterday}}
	r.depth("33.38 mm")
	r.wants(fact.Taken)
}

// A worn bearing whose mean torque lies in its band is not good (the trade's
// ninth story): each pull counts, none is averaged away, no spacer is advised.
func TestWornBearing(t *testing.T) {
	r := open(t)
	r.do(fact.Answered{Step: "pinion bearings", Answer: "used"})
	spacer := figure(t, "9.46 mm")
	r.do(fact.Fitted{Step: "pinion spacer", Measured: []quantity.Value{spacer}})
	r.at = torque
	for _, pull := range []string{"11.0 N", "24.5 N", "13.0 N", "22.0 N"} {
		r.pull(pull)
		r.wants(fact.Taken)
	}
	r.status(torque, overhaul.Held, "rough")
	if s := r.of(torque).Check.Spacer; s != nil && (s.Next != nil || s.Exact != nil) {
		t.Errorf("a spacer is advised: %+v", s)
	}
}

// Metal was changed: the ring before it is stale point by point, and no verdict
// stands on it (the trade's twelfth story).
func TestRingBeforeTheReshim(t *testing.T) {
	r := wholeJob(t)
	if v := r.of(ring).Status; v != overhaul.Done {
		t.Fatalf("the ring is %s: %s", v, r.of(ring).Problem)
	}
	pack := figure(t, "1.22 mm")
	r.do(fact.Fitted{Step: "pinion pack", Measured: []quantity.Value{pack}})
	r.status(ring, overhaul.Stale, "Metal was changed since")
	r.at = ring
	for range 3 {
		r.dial("0.20 mm")
		r.wants(fact.Taken)
	}
	r.status(ring, overhaul.Stale, "270 deg is from build")
	r.dial("0.20 mm")
	r.wants(fact.Taken, "at backlash at 270 deg.")
	if v := r.of(ring).Status; v == overhaul.Stale {
		t.Errorf("the ring is %s: %s", v, r.of(ring).Problem)
	}
}

// wholeJob is a job with its pinion and wheel packs in and a good ring.
func wholeJob(t testing.TB) *rig {
	t.Helper()
	r := needing(t, "needs: [zero, bearings rolled]")
	for _, f := range story(t, r.now) {
		r.do(f)
	}
	return r
}

// story is the facts of the second, third and fourth stories after the pieces,
// then a ring.
func story(t testing.TB, now time.Time) []fact.Fact {
	t.Helper()
	var out []fact.Fact
	digits := func(step, d string) {
		v, err := quantity.Parse(d, quantity.Hundredth)
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, fact.Marked{Step: step, Digits: &v})
	}
	press := func(step, gauge, kind, spot, v string, pieces ...string) {
		x := figure(t, v)
		now = now.Add(4 * time.Second)
		out = append(out, fact.Pressed{Step: step, Spot: spot, Gauge: gauge, GaugeKind: kind, Value: &x, UnitStated: true, Arrived: now,
			Source: devices.SourceGauge, Pieces: pieces, Outcome: fact.Taken, Sentence: "taken."})
	}
	fit := func(step, v string) {
		out = append(out, fact.Fitted{Step: step, Measured: []quantity.Value{figure(t, v)}})
	}
	drew := func(standard, piece, size string) {
		out = append(out, fact.Drew{Standard: standard, Piece: piece, Size: figure(t, size)})
	}
	digits("pinion distance", "+8")
	digits("casing distance", "-3")
	for range 2 {
		press(head, "M02", "micrometer", "", "42.37 mm")
	}
	for range 3 {
		press(face, "D07", "depth gauge", "", "33.38 mm", "S-31", "E-02")
	}
	fit("pinion pack", "1.35 mm")
	digits("joint to pinion axis", "+2")
	digits("wheel distance", "-5")
	drew("long post", "S-50", "150.006 mm")
	for range 3 {
		press("casing depth", "D07", "depth gauge", "", "31.48 mm", "S-50", "E-02")
		press("wheel height", "D07", "depth gauge", "", "25.93 mm", "S-31", "E-02")
	}
	fit("wheel pack", "1.43 mm")
	for _, spot := range []string{"0 deg", "90 deg", "180 deg", "270 deg"} {
		press(ring, "I03", "dial indicator", spot, "0.20 mm")
	}
	return out
}

// Whatever is held or set aside, and wherever in a job, every figure is what it
// would be without it.
func TestHeldAndAsideChangeNoFigure(t *testing.T) {
	seed := uint64(time.Now().UnixNano())
	t.Logf("seed %d", seed)
	random := rand.New(rand.NewPCG(seed, 0))
	clean := picture(wholeJob(t).results)
	outcomes := map[fact.Outcome]int{}
	for range 40 {
		r := needing(t, "needs: [zero, bearings rolled]")
		for _, f := range story(t, r.now) {
			for range random.IntN(3) {
				outcomes[r.stray(random)]++
			}
			r.do(f)
		}
		if got := picture(r.results); got != clean {
			t.Fatalf("a press that is held or aside changed a figure:\n%s\nwant\n%s", got, clean)
		}
	}
	if outcomes[fact.Held] < 100 || outcomes[fact.Aside] < 100 {
		t.Errorf("only %v were tried", outcomes)
	}
}

// stray sends a random press, unless it would be taken.
func (r *rig) stray(random *rand.Rand) fact.Outcome {
	r.t.Helper()
	steps := r.job.Sheet.Steps()
	st := steps[random.IntN(len(steps))]
	for st.Gauge == "" {
		st = steps[random.IntN(len(steps))]
	}
	r.at = st.Name
	s := devices.Sample{Gauge: "D07", Source: devices.SourceGauge}
	if random.IntN(4) == 0 {
		s.Gauge, s.Source = "keyed", devices.SourceKeyed
	}
	s.UnitStated = random.IntN(2) == 0
	s.At = r.now
	s.Value = figure(r.t, fmt.Sprintf("%d.%02d %s", random.IntN(60)-5, random.IntN(100), []string{"mm", "in", "N"}[random.IntN(3)]))
	if b, ok := st.Window(); ok && random.IntN(3) > 0 {
		s.Value = b.Low
	}
	c := r.gather(s, st.Gauge, "")
	switch random.IntN(6) {
	case 0:
		c.Paper.Withdrawn = true
	case 3:
		c.Zero = &guard.Zero{}
	case 4:
		c.Said = map[string]time.Time{}
	case 1:
		c.Kind = "ruler"
	case 2:
		c.Missing = "Say which post stands there"
	}
	c.Before = nil // a double takes the press before back
	d := guard.Decide(c)
	if d.Outcome != fact.Taken {
		r.decide(c, c.Kind, "")
	}
	return d.Outcome
}

func same(t *testing.T, what string, got []int64, want ...int64) {
	t.Helper()
	if !slices.Equal(got, want) {
		t.Errorf("%s: %v, want %v", what, got, want)
	}
}

func contains(t *testing.T, s, part string) {
	t.Helper()
	if !strings.Contains(s, part) {
		t.Errorf("%q lacks %q", s, part)
	}
}
