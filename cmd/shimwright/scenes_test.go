//go:build unix

package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"shimwright/calc/overhaul"
	"shimwright/calc/quantity"
	"shimwright/calc/ring"
	"shimwright/calc/sheet"
	"shimwright/cmd/shimwright/demo"
	"shimwright/devices"
	"shimwright/ingest/bench"
	"shimwright/ingest/fact"
	"shimwright/ingest/job"
	"shimwright/ingest/journal"
)

// A recipe makes a scene: the demonstration's job worked up to an entry, with
// something else put in.
type recipe struct {
	scene demo.Scene
	// upTo is the step that the script stops at, the time it comes round; the
	// entries after it are left out. "" works the whole script.
	upTo  string
	round int
	// change, which may be nil, changes the bench and the script.
	change func(t *testing.T, b *stage)
	// then, which may be nil, goes on at the bench.
	then func(t *testing.T, h *atWork)
	// alter, which may be nil, changes the facts before they are written.
	alter func(fact.Fact) fact.Fact
	// shows tells whether the situation is there.
	shows func(j *job.Job, res *overhaul.Results) bool
}

// atWork is a bench with a fitter's hands.
type atWork struct {
	ctx   context.Context
	bench *running
	stage *stage
}

func (h *atWork) do(t *testing.T, c bench.Command) {
	t.Helper()
	if _, err := h.bench.Do(h.ctx, c); err != nil {
		t.Fatal(err)
	}
}

// press presses a gauge and waits for what comes of it.
func (h *atWork) press(t *testing.T, gauge string, figures ...string) {
	t.Helper()
	woken, stop := h.bench.Watch()
	defer stop()
	for _, x := range figures {
		time.Sleep(12 * time.Millisecond) // two presses apart: the bench's own window for a double one
		v, err := quantity.ParseWithUnit(x)
		if err != nil {
			t.Fatal(err)
		}
		before := h.bench.Snapshot().Last
		if err := h.stage.gauges.Press(gauge, v); err != nil {
			t.Fatal(err)
		}
		for late := time.After(10 * time.Second); h.bench.Snapshot().Last == before; {
			select {
			case <-woken:
			case <-late:
				t.Fatalf("%s from %s never came", x, gauge)
			}
		}
	}
}

// ringOf replaces the figures of the first ring in the script.
func ringOf(step string, figures ...string) func(*testing.T, *stage) {
	return func(_ *testing.T, st *stage) {
		n := 0
		for i, e := range st.script.List {
			if e.Step == step && e.Kind == sheet.EntryPress && n/2 < len(figures) {
				st.script.List[i].Value = mmOf(figures[n/2])
				n++
			}
		}
	}
}

func statusOfStep(step string, want overhaul.Status) func(*job.Job, *overhaul.Results) bool {
	return func(_ *job.Job, res *overhaul.Results) bool { return res.Of(step).Status == want }
}

func heldWith(words string) func(*job.Job, *overhaul.Results) bool {
	return func(j *job.Job, _ *overhaul.Results) bool {
		return slices.ContainsFunc(j.Held(), func(p job.Press) bool { return strings.Contains(p.Fact.Sentence, words) })
	}
}

func recipes() []recipe {
	sc := func(name, say, at string) demo.Scene { return demo.Scene{Name: name, Say: say, Sheet: "fw3", At: at} }
	face := "pinion face height"
	unplugged := sc("gauge-unplugged", "The depth gauge is pulled out with one press of three taken.", face)
	unplugged.Gone = []string{"D07"}
	signed := sc("signed-off", "Every step is done and the job is finished, as training.", "")
	signed.Finish = true
	return []recipe{
		{scene: sc("ring-too-wide", "Backlash is out high at every point; two packs would bring it in.", "backlash"),
			upTo: "backlash", round: 1, shows: func(_ *job.Job, res *overhaul.Results) bool {
				c := res.Of("backlash").Check
				return c.Verdict == ring.OutHigh && c.Reshim != nil && len(c.Reshim.Plans) > 0
			}},
		{scene: sc("empty-shift-window", "Backlash spreads so far that no shim brings every point in.", "backlash"),
			upTo: "backlash", round: 1, change: ringOf("backlash", "0.16", "0.22", "0.30", "0.24"),
			shows: func(_ *job.Job, res *overhaul.Results) bool { return res.Of("backlash").Check.Ring.Window.Empty() }},
		{scene: sc("too-close-to-call", "One point lies nearer to its limit than the gauge can tell.", "backlash"),
			upTo: "backlash", round: 1, change: ringOf("backlash", "0.25", "0.24", "0.23", "0.24"),
			shows: func(_ *job.Job, res *overhaul.Results) bool {
				return res.Of("backlash").Check.Verdict == ring.TooClose
			}},
		{scene: sc("wrong-unit", "The depth gauge was knocked to inch and states no unit.", face),
			upTo: "pinion head", round: 1, change: bareGauge("D07"),
			then: func(t *testing.T, h *atWork) {
				h.do(t, bench.DrawPiece{Standard: "tall post", Piece: "S-31"})
				h.do(t, bench.DrawPiece{Standard: "straightedge", Piece: "E-02"})
				h.press(t, "D07", "33.380 mm", "1.314 mm")
			}, shows: heldWith("Read in inches")},
		{scene: sc("wrong-piece", "The short post was named for the tall one: the worked figure says so.", face),
			upTo: face, round: 1, alter: func(f fact.Fact) fact.Fact {
				// A bench refuses a post of another nominal by now; a job of an
				// earlier one may hold it.
				switch x := f.(type) {
				case fact.Drew:
					if x.Piece == "S-31" {
						x.Piece, x.Size = "S-12", mmOf("50.003")
					}
					return x
				case fact.Pressed:
					if i := slices.Index(x.Pieces, "S-31"); i >= 0 {
						x.Pieces[i] = "S-12"
					}
					return x
				}
				return f
			}, shows: statusOfStep(face, overhaul.Held)},
		{scene: sc("negative-pack", "A mark read with a digit too many gives a pack below nought.", "pinion pack"),
			upTo: face, round: 1, change: func(_ *testing.T, st *stage) {
				for i, e := range st.script.List {
					if e.Step == "casing distance" {
						v, _ := quantity.Parse("+300", quantity.Hundredth)
						st.script.List[i].Value = v
					}
				}
			}, shows: statusOfStep("pinion pack", overhaul.Stopped)},
		{scene: unplugged, upTo: "pinion head", round: 1, then: func(t *testing.T, h *atWork) {
			h.do(t, bench.DrawPiece{Standard: "tall post", Piece: "S-31"})
			h.do(t, bench.DrawPiece{Standard: "straightedge", Piece: "E-02"})
			h.press(t, "D07", "33.38 mm")
		}, shows: func(_ *job.Job, res *overhaul.Results) bool { return res.Of(face).Left == 2 }},
		{scene: sc("stale", "A pack was changed after the ring was read: the ring is of the build before.", "backlash"),
			upTo: "contact marking", round: 1, then: func(t *testing.T, h *atWork) {
				h.press(t, "M02", "1.66 mm", "1.66 mm")
				h.do(t, bench.Fit{Step: "wheel pack", Leaves: []string{"1.00 mm", "0.50 mm", "0.15 mm"}})
			}, shows: statusOfStep("backlash", overhaul.Stale)},
		{scene: sc("no-pack-in-stock", "The leaves on the bench make no pack that is near enough.", "pinion pack"),
			upTo: face, round: 1, change: func(_ *testing.T, st *stage) {
				st.file.Trays = map[string][]fact.Leaf{"shims": {{Size: mmOf("0.20"), Count: 9}, {Size: mmOf("0.50"), Count: 6}}}
			}, shows: func(_ *job.Job, res *overhaul.Results) bool {
				p := res.Of("pinion pack").Pack
				return p.Makeup != nil && len(p.Makeup.Packs) == 0
			}},
		{scene: signed, shows: func(_ *job.Job, res *overhaul.Results) bool { return res.Next() == nil }},
	}
}

func mmOf(digits string) quantity.Value {
	v, err := quantity.ParseWithUnit(digits + " mm")
	if err != nil {
		panic(err)
	}
	return v
}

// bareGauge has a gauge send three decimals and no unit.
func bareGauge(id string) func(*testing.T, *stage) {
	return func(t *testing.T, st *stage) {
		if err := st.gauges.Close(); err != nil {
			t.Fatal(err)
		}
		for i, g := range st.file.Gauges {
			if g.ID == id {
				p, three := g.Profile, 3
				p.Parts = []devices.Part{devices.Sign{}, devices.Figure{Places: &three}}
				p.Assume = quantity.MM
				st.file.Gauges[i].Profile = p
			}
		}
		var err error
		if st.gauges, err = demo.PlugIn(st.file); err != nil {
			t.Fatal(err)
		}
	}
}

// upTo cuts a script after a step has come round so many times.
func upTo(list []sheet.Entry, step string, round int) []sheet.Entry {
	for i, e := range list {
		if e.Step == step && (i+1 == len(list) || list[i+1].Step != step || list[i+1].Kind == sheet.EntryMove) {
			if round--; round == 0 {
				return list[:i+1]
			}
		}
	}
	return list
}

// cook works a recipe on the demonstration's bench and gives its facts.
func cook(t *testing.T, r recipe) demo.Scene {
	t.Helper()
	d := demoChoice{sheet: "fw3", fast: true}
	st, err := setStage(d)
	if err != nil {
		t.Fatal(err)
	}
	st.file.Windows.Double = 4 * time.Millisecond
	if r.change != nil {
		r.change(t, st)
	}
	if r.upTo != "" {
		st.script.List = upTo(st.script.List, r.upTo, r.round)
	}
	b, err := openBench(t.Context(), st.file, st.folder, st.wires, nil)
	if err != nil {
		t.Fatal(err)
	}
	ctx, stop := context.WithCancel(t.Context())
	ran := make(chan error, 1)
	go func() { ran <- b.Run(ctx) }()
	f := st.fitter(b, d)
	f.Slips = nil
	if err := f.Work(ctx); err != nil {
		t.Fatal(err)
	}
	if r.scene.Name == "stale" {
		if _, err := b.Do(ctx, bench.ChooseStep{Step: "wheel pack"}); err != nil {
			t.Fatal(err)
		}
	}
	if r.then != nil {
		r.then(t, &atWork{ctx, b, st})
	}
	out := r.scene
	out.Lines = linesOf(t, b.journal, r.alter)
	stop()
	if err := errors.Join(<-ran, b.close(), st.strike()); err != nil {
		t.Fatal(err)
	}
	return out
}

// linesOf are a journal's facts of its job, as if every press had come four
// seconds after the one before; the sheet's text is left out.
func linesOf(t *testing.T, j *journal.Journal, alter func(fact.Fact) fact.Fact) []demo.Written {
	t.Helper()
	var out []demo.Written
	at := time.Date(2026, 3, 4, 14, 2, 11, 0, time.UTC)
	err := j.Read(t.Context(), "job/0001", 0, func(s journal.Stored) error {
		f, err := fact.Decode(s)
		if err != nil {
			return err
		}
		switch x := f.(type) {
		case fact.Opened:
			x.Text, x.Digest = "", ""
			f = x
		case fact.Pressed:
			at = at.Add(4 * time.Second)
			x.Arrived = at
			f = x
		case fact.Judged:
			x.Digest, x.Program = "", "scene"
			f = x
		}
		if alter != nil {
			f = alter(f)
		}
		b, err := json.Marshal(f)
		out = append(out, demo.Written{Kind: s.Kind, Version: s.Version, Fact: b})
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// Each scene's file folds into a job that shows what it says; with -update the
// files are made anew on the demonstration's bench.
func TestScenes(t *testing.T) {
	var names []string
	for _, r := range recipes() {
		names = append(names, r.scene.Name)
		t.Run(r.scene.Name, func(t *testing.T) {
			if *updateStudies {
				var b bytes.Buffer
				if err := cook(t, r).Write(&b); err != nil {
					t.Fatal(err)
				}
				if err := os.WriteFile(filepath.Join("demo", "scenes", r.scene.Name+".jsonl"), b.Bytes(), 0o644); err != nil {
					t.Fatal(err)
				}
				return
			}
			s, err := demo.ReadScene(r.scene.Name)
			if err != nil {
				t.Fatal(err)
			}
			j, res := foldScene(t, s)
			if !r.shows(j, res) {
				t.Errorf("the scene does not show it: %s", s.Say)
			}
			if !res.Training {
				t.Error("a scene is training, like every job on virtual gauges")
			}
		})
	}
	slices.Sort(names)
	if !*updateStudies && !slices.Equal(names, demo.Scenes()) {
		t.Errorf("the scenes are %v, the recipes %v", demo.Scenes(), names)
	}
}

// foldScene folds a scene's facts into its job.
func foldScene(t *testing.T, s demo.Scene) (*job.Job, *overhaul.Results) {
	t.Helper()
	text, _ := embeddedSheet(s.Sheet)
	records, err := s.Records(text)
	if err != nil {
		t.Fatal(err)
	}
	var j *job.Job
	for i, r := range records {
		f, err := fact.Decode(journal.Stored{Seq: int64(i + 1), Record: r})
		if err != nil {
			t.Fatal(err)
		}
		if open, ok := f.(fact.Opened); ok {
			j, err = job.Begin("0001", int64(i+1), open)
		} else {
			j, err = j.Then(int64(i+1), f)
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	res, err := j.Work()
	if err != nil {
		t.Fatal(err)
	}
	return j, res
}
