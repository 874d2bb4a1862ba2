package fitter

import (
	"errors"
	"fmt"
	"os"
	"slices"
	"testing"
	"time"

	"shimwright/calc/quantity"
	"shimwright/calc/sheet"
	"shimwright/devices"
	"shimwright/ingest/bench"
	"shimwright/ingest/fact"
	"shimwright/ingest/guard"
	"shimwright/ingest/job"
	"shimwright/ingest/store"
)

const sheetFile = "../../cmd/shimwright/sheets/fw3.yaml"

// day is an invented one.
func day() time.Time { return time.Date(2026, 3, 4, 14, 2, 11, 0, time.UTC) }

// A scene folds facts into a job and makes the snapshot that a bench would.
type scene struct {
	t      testing.TB
	job    *job.Job
	seq    int64
	at     string
	last   *bench.Said
	now    time.Time
	gauges []bench.GaugeState
	source devices.Source
	open   []store.Job
}

func newScene(t testing.TB) *scene {
	t.Helper()
	text, err := os.ReadFile(sheetFile)
	if err != nil {
		t.Fatal(err)
	}
	return sceneOf(t, string(text), "4711")
}

func sceneOf(t testing.TB, text, serial string) *scene {
	t.Helper()
	s := &scene{t: t, seq: 1, now: day(), source: devices.SourceGauge}
	read, err := sheet.Read("fw3", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	s.job, err = job.Begin("0012", 1, fact.Opened{Drive: read.Title, Serial: serial, Sheet: "fw3", Issue: 1, Text: text})
	if err != nil {
		t.Fatal(err)
	}
	tray := []fact.Leaf{}
	for _, size := range []string{"0.05", "0.10", "0.15", "0.20", "0.25", "0.30", "0.50", "1.00"} {
		tray = append(tray, fact.Leaf{Size: mm(size), Count: 6})
	}
	s.put(fact.Offered{Trays: map[string][]fact.Leaf{"shims": tray}})
	for _, g := range []string{"D07 depth gauge", "M02 micrometer", "I03 dial indicator", "F05 force gauge", "T01 torque wrench"} {
		s.gauges = append(s.gauges, bench.GaugeState{ID: g[:3], Kind: g[4:], State: "connected"})
	}
	return s
}

func mm(digits string) quantity.Value { return valueOf(digits + " mm") }

func valueOf(s string) quantity.Value {
	v, err := quantity.ParseWithUnit(s)
	if err != nil {
		panic(err)
	}
	return v
}

func (s *scene) put(f fact.Fact) *scene {
	s.t.Helper()
	s.seq++
	next, err := s.job.Then(s.seq, f)
	if err != nil {
		s.t.Fatal(err)
	}
	s.job = next
	return s
}

// goTo makes a step the open one.
func (s *scene) goTo(step string) *scene { s.at = step; return s }

func (s *scene) pieces(of ...string) *scene {
	for i := 0; i < len(of); i += 3 {
		s.put(fact.Drew{Standard: of[i], Piece: of[i+1], Size: mm(of[i+2])})
	}
	return s
}

func (s *scene) mark(step, digits string) *scene {
	s.at = step
	v, err := quantity.Parse(digits, quantity.Hundredth)
	if err != nil {
		s.t.Fatal(err)
	}
	return s.put(fact.Marked{Step: step, Digits: &v, Sentence: "as read"})
}

func (s *scene) answer(step, a string) *scene {
	s.at = step
	return s.put(fact.Answered{Step: step, Answer: a})
}

func (s *scene) fit(step, measured string) *scene {
	s.at = step
	return s.put(fact.Fitted{Step: step, Measured: []quantity.Value{mm(measured)}})
}

// press sends figures with a gauge to the open step through the guards.
func (s *scene) press(gauge string, figures ...string) *scene {
	for _, f := range figures {
		s.send(gauge, valueOf(f), true, nil)
	}
	return s
}

func (s *scene) send(gauge string, v quantity.Value, stated bool, bad error) {
	s.t.Helper()
	s.now = s.now.Add(4 * time.Second)
	snap := s.snapshot()
	c := guard.Case{Bad: bad, Known: true, Open: true, Windows: guard.Usual()}
	c.Sample = devices.Sample{Gauge: gauge, Source: s.source}
	c.Sample.Value, c.Sample.UnitStated, c.Sample.At = v, stated, s.now
	for _, g := range s.gauges {
		if g.ID == gauge {
			c.Kind = g.Kind
		}
	}
	if snap.Step != nil {
		c.Step, c.Spot, c.Missing = snap.Step.Step, snap.Step.Spot, snap.Missing
		c.Full = len(snap.Step.Step.Slots()) > 0 && snap.Step.Left == 0
	}
	d := guard.Decide(c)
	f := fact.Pressed{Step: c.Step.Name, Spot: c.Spot, Gauge: gauge, GaugeKind: c.Kind, CountsIn: gauge == "I03",
		UnitStated: stated, Arrived: s.now, Source: s.source, Pieces: snap.Pieces,
		Outcome: d.Outcome, Sentence: d.Sentence, Do: d.Do}
	if bad == nil {
		f.Value = &v
	}
	s.put(f)
	s.at = c.Step.Name
	s.last = &bench.Said{Press: f, Seq: s.seq}
	for i := range s.gauges {
		if s.gauges[i].ID == gauge {
			s.gauges[i].LastAt = s.now
		}
	}
}

// snapshot is the bench's, made as it makes it.
func (s *scene) snapshot() *bench.Snapshot {
	s.t.Helper()
	res, err := s.job.Work()
	if err != nil {
		s.t.Fatal(err)
	}
	out := &bench.Snapshot{Bench: "bay 2", Job: s.job, Results: res, Gauges: slices.Clone(s.gauges), Last: s.last, Held: s.job.Held(), Seq: s.seq, Open: s.open}
	start := 0
	for i, r := range res.Steps {
		if r.Step.Name == s.at {
			start = i
		}
	}
	for n := range res.Steps {
		i := (start + n) % len(res.Steps)
		if res.Steps[i].Status != "done" {
			out.Step, out.Number = res.Steps[i], i+1
			out.Pieces, out.Missing = s.job.InUse(out.Step.Step)
			break
		}
	}
	if out.Step != nil && out.Missing == "" {
		v := view{snap: out}
		if pack := v.packAsked(); pack != "" {
			out.Missing = "Say whether it is measured with the " + pack + " in or not"
		}
	}
	return out
}

func (s *scene) view(width, height int) *view {
	return &view{snap: s.snapshot(), width: width, height: height, now: s.now.Add(3 * time.Second)}
}

// errBad is a frame without a number.
var errBad = errors.New(`it says that it has none, "-----"`)

// worked is a job worked up to a step of the sheet, by invented readings.
func worked(t testing.TB, upTo string) *scene {
	s := newScene(t)
	for _, one := range story() {
		if one.step == upTo {
			return s.goTo(upTo)
		}
		s.goTo(one.step)
		one.do(s)
	}
	if upTo != "" {
		t.Fatalf("no step %q in the story", upTo)
	}
	return s
}

type chapter struct {
	step string
	do   func(*scene)
}

// story is one whole job: for each step, what is put in there.
func story() []chapter {
	repeat := func(gauge, figure string, n int) func(*scene) {
		return func(s *scene) {
			for range n {
				s.press(gauge, figure)
			}
		}
	}
	answer := func(step, a string) chapter { return chapter{step, func(s *scene) { s.answer(step, a) }} }
	mark := func(step, d string) chapter { return chapter{step, func(s *scene) { s.mark(step, d) }} }
	fit := func(step, m string) chapter { return chapter{step, func(s *scene) { s.fit(step, m) }} }
	confirm := func(step string) chapter {
		return chapter{step, func(s *scene) { s.put(fact.Confirmed{Step: step}) }}
	}
	return []chapter{
		answer("pinion pair number", "P-4417"), answer("wheel pair number", "P-4417"), answer("pinion bearings", "new"),
		fit("pinion spacer", "10.09"), confirm("pinion bearings rolled"),
		{"pinion turning torque", func(s *scene) { s.press("F05", "38.0 N", "37.5 N", "38.5 N", "38.0 N") }},
		mark("pinion distance", "+8"), mark("casing distance", "-3"),
		{"pinion head", repeat("M02", "42.37 mm", 2)},
		{"pinion face height", func(s *scene) {
			s.pieces("tall post", "S-31", "75.004", "straightedge", "E-02", "12.006").press("D07", "33.38 mm", "33.37 mm", "33.39 mm")
		}},
		fit("pinion pack", "1.352"),
		{"wheel run-out", func(s *scene) { s.press("I03", "0.52 mm", "0.53 mm", "0.55 mm", "0.53 mm") }},
		mark("joint to pinion axis", "+2"), mark("wheel distance", "-5"),
		{"casing depth", func(s *scene) { s.pieces("long post", "S-41", "150.006"); repeat("D07", "31.48 mm", 3)(s) }},
		{"wheel height", repeat("D07", "25.93 mm", 3)},
		fit("wheel pack", "1.452"),
		{"cover recess", repeat("D07", "18.74 mm", 3)},
		{"overall height", func(s *scene) {
			s.pieces("overall post", "S-51", "200.011").put(fact.PacksIn{Step: "overall height", In: map[string]bool{"wheel pack": false}})
			repeat("D07", "26.99 mm", 3)(s)
		}},
		fit("trial closing pack", "1.65"),
		{"float with the trial pack", func(s *scene) { repeat("I03", "1.00 mm", 3)(s); repeat("I03", "1.09 mm", 3)(s) }},
		fit("closing pack", "1.802"),
		{"backlash", func(s *scene) { s.ring("0.21", "0.20", "0.22", "0.21") }},
		{"contact marking", func(s *scene) {
			s.put(fact.Seen{Step: "contact marking", Marks: map[string]string{"drive": "slightly to toe", "coast": "central"}})
		}},
		{"helical depth", repeat("D07", "35.21 mm", 3)},
		{"helical height", repeat("D07", "39.98 mm", 3)},
		fit("helical pack", "1.05"),
		{"helical end float", func(s *scene) { repeat("I03", "1.00 mm", 2)(s); repeat("I03", "1.12 mm", 2)(s) }},
		{"cover bolts", repeat("T01", "48.2 N.m", 1)},
		confirm("turned by hand"),
	}
}

// ring presses twice at each of the four points.
func (s *scene) ring(at ...string) *scene {
	for _, f := range at {
		s.press("I03", f+" mm", f+" mm")
	}
	return s
}

func TestTheStoryIsAWholeJob(t *testing.T) {
	s := worked(t, "")
	for _, r := range s.snapshot().Results.Steps {
		if r.Status != "done" {
			t.Errorf("%s is %s: %s%s", r.Step.Name, r.Status, r.Wants, r.Problem)
		}
	}
	if got := fmt.Sprint(len(story())); got != fmt.Sprint(len(s.snapshot().Results.Steps)) {
		t.Errorf("the story has %s steps", got)
	}
}
