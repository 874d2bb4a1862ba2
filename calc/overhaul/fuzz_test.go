package overhaul_test

import (
	"math/rand/v2"
	"testing"

	"shimwright/calc/overhaul"
	"shimwright/calc/quantity"
	"shimwright/calc/sheet"
)

// odd is what a bench may put in out of turn at drive rd3, beside its job.
const odd = `
  - {step: contact marking, move: {pinion: IN, by: 0.15 mm}}
  - {step: contact marking, move: {wheel: AWAY, by: 0.05 mm}}
  - {step: backlash, move: {pinion: OUT, by: 3.00 mm}}
  - {step: pinion head, again: doubted}
  - {step: pinion pack, again: doubted}
  - {step: wheel pack, again: doubted}
  - {step: contact marking, again: doubted}
  - {step: float with the trial pack, again: doubted}
  - {step: casing depth, metal changed: [casing depth, wheel height], reason: reseated}
  - {step: backlash, metal changed: [wheel pack], reason: reseated}
  - {step: pinion turning torque, metal changed: [pinion spacer], reason: reseated}
  - {step: pinion pack, fit: {measured: 0.00 mm}}
  - {step: closing pack, fit: {leaves: [1.00 mm, 1.00 mm]}}
  - {step: trial closing pack, fit: {measured: 9.99 mm}}
  - {step: casing distance, absent: yes}
  - {step: wheel distance, digits: -9999}
  - {step: pinion turning torque, presses: [1.0 N]}
  - {step: backlash, at: {0 deg: [0.80 mm], 180 deg: [0.35 mm, 0.36 mm]}}
  - {step: overall height, pieces: [S-51, E-02], in: {wheel pack: yes}, presses: [24.51 mm]}
  - {step: float with the trial pack, at: {push: [0.00 mm]}}
  - {step: wheel pair number, answer: "0471"}
  - {step: pinion bearings, answer: used}
  - {step: contact marking, seen: {drive: high, coast: toe}}
`

// unruly takes entries of a pool in any order, some more than once, some with
// their gauge, pieces or figure gone.
func unruly(pool sheet.Entries, picks []byte) sheet.Entries {
	out := pool
	out.List = nil
	for i := 0; i+1 < len(picks) && i < 400; i += 2 {
		e := pool.List[int(picks[i])%len(pool.List)]
		switch picks[i+1] % 16 {
		case 1:
			e.Pieces = nil
		case 2:
			e.Gauge = "no such gauge"
		case 3:
			e.Spot = "no such spot"
		case 4:
			e.Value = quantity.Value{}
		case 5:
			e.Value = e.Value.Neg()
		case 6:
			e.In, e.Seen, e.Leaves, e.Measured = nil, nil, nil, nil
		case 7:
			e.Gear = "neither"
		case 8:
			e.Lengths = []string{"no such length"}
		case 9:
			e.Kind = sheet.EntryKind(picks[i+1] >> 4) // a kind that its step does not take
		}
		out.List = append(out.List, e)
	}
	return out
}

// sound holds results to what must be true of any job.
func sound(t testing.TB, s *sheet.Sheet, e sheet.Entries) {
	t.Helper()
	res, err := overhaul.Work(s, e)
	if err != nil {
		t.Fatalf("entries of known steps are refused: %v", err)
	}
	if len(res.Steps) != len(s.Steps()) {
		t.Fatalf("%d results of %d steps", len(res.Steps), len(s.Steps()))
	}
	build := 1
	for _, entry := range e.List {
		if entry.ChangesMetal() {
			build++
		}
	}
	if res.Build != build {
		t.Errorf("build %d, want %d", res.Build, build)
	}
	for _, r := range res.Steps {
		soundStep(t, r)
	}
}

func soundStep(t testing.TB, r *overhaul.Result) {
	t.Helper()
	name := r.Step.Name
	switch r.Status {
	case overhaul.Waiting:
		if r.Wants == "" {
			t.Errorf("%s waits and does not say for what", name)
		}
	case overhaul.Stopped, overhaul.Held, overhaul.Stale:
		if r.Problem == "" {
			t.Errorf("%s is %s and does not say why", name, r.Status)
		}
	}
	if r.Pack != nil && r.Pack.Worked != nil && r.Pack.Worked.Value.Sign() < 0 && r.Status != overhaul.Stopped {
		t.Errorf("%s works out at %s and is %s", name, r.Pack.Worked.Value, r.Status)
	}
	if r.Figure != nil {
		var total quantity.Exact
		for _, l := range r.Figure.Leaves() {
			total = total.Add(l.Figure.Value.Times(l.Coef))
		}
		if !total.Equal(r.Figure.Value) {
			t.Errorf("%s is %s, its leaves add up to %s", name, r.Figure.Value, total)
		}
	}
}

func pool(t testing.TB, s *sheet.Sheet) sheet.Entries {
	return parseEntries(t, s, text(t, "rd3-job.yaml")+odd)
}

// Any subset of a job in any order is worked without a panic and says what it
// waits for.
func TestAnySubsetInAnyOrder(t *testing.T) {
	s := readSheet(t, "rd3.yaml")
	all := pool(t, s)
	rng := rand.New(rand.NewPCG(3, 1))
	for range 400 {
		e := all
		e.List = nil
		for _, i := range rng.Perm(len(all.List))[:rng.IntN(len(all.List)+1)] {
			e.List = append(e.List, all.List[i])
		}
		sound(t, s, e)
	}
}

// Every beginning of the job is a job.
func TestEveryBeginningOfAJob(t *testing.T) {
	s := readSheet(t, "rd3.yaml")
	all := parseEntries(t, s, text(t, "rd3-job.yaml"))
	for n := range len(all.List) + 1 {
		e := all
		e.List = all.List[:n]
		sound(t, s, e)
		res, err := overhaul.Work(s, e)
		if err != nil {
			t.Fatal(err)
		}
		if next := res.Next(); (next == nil) != (n == len(all.List)) {
			t.Errorf("after %d of %d entries the next step is %v", n, len(all.List), next)
		}
	}
}

// Working a job twice gives the same, and changes neither sheet nor entries.
func TestWorkIsPure(t *testing.T) {
	s := readSheet(t, "rd3.yaml")
	body := text(t, "rd3-job.yaml")
	e := parseEntries(t, s, body)
	first, err := overhaul.Work(s, e)
	if err != nil {
		t.Fatal(err)
	}
	again, err := overhaul.Work(s, e)
	if err != nil {
		t.Fatal(err)
	}
	if a, b := ledger(first), ledger(again); a != b {
		t.Errorf("worked twice:\n%s\n%s", a, b)
	}
	if a, b := ledger(first), ledger(work(t, readSheet(t, "rd3.yaml"), body)); a != b {
		t.Errorf("worked from a fresh sheet:\n%s\n%s", a, b)
	}
}

func FuzzWork(f *testing.F) {
	s := readSheet(f, "rd3.yaml")
	all := pool(f, s)
	var straight []byte
	for i := range all.List {
		straight = append(straight, byte(i), 0)
	}
	f.Add(straight)
	f.Add([]byte{0, 9, 40, 5, 41, 25, 60, 8})
	f.Add([]byte{})
	f.Fuzz(func(t *testing.T, picks []byte) {
		e := unruly(all, picks)
		if _, err := overhaul.Work(s, e); err != nil {
			t.Skip()
		}
		sound(t, s, e)
	})
}

// storyPool is the entries of many stories, and their sheet.
func storyPool(t testing.TB) (*sheet.Sheet, sheet.Entries) {
	t.Helper()
	s := parse(t, swap(t, storyText(t, "dm3.yaml"), "rough: 0.25", "rough: 0.25\n        seal drag: measured", "move factor: 0.80", "move factor: learned"))
	var all sheet.Entries
	for _, name := range []string{"two-answers", "pinion-in", "other-setting", "earlier-moves", "two-spacers", "worn-bearing", "seal-measured"} {
		e := parseEntries(t, s, storyText(t, name+".yaml"))
		list := append(all.List, e.List...)
		all = sheet.Instead(s, all, e)
		all.List = list
	}
	return s, all
}

// wellPut works unruly entries of the stories, as a job and as a what-if.
func wellPut(t *testing.T, s *sheet.Sheet, all sheet.Entries, picks []byte) {
	e := unruly(all, picks)
	if _, err := overhaul.Work(s, e); err != nil {
		return
	}
	sound(t, s, e)
	if _, err := overhaul.WhatIf(s, e, unruly(all, []byte{9, 0, 40, 0, 3, 4})); err != nil {
		t.Fatal(err)
	}
}

func TestStoriesInAnyOrder(t *testing.T) {
	s, all := storyPool(t)
	rnd := rand.New(rand.NewPCG(11, 2026))
	for range 150 {
		picks := make([]byte, rnd.IntN(300))
		for i := range picks {
			picks[i] = byte(rnd.Uint32())
		}
		wellPut(t, s, all, picks)
	}
}

// FuzzStories puts any entries of the stories together, in any order.
func FuzzStories(f *testing.F) {
	s, all := storyPool(f)
	f.Add([]byte{0, 0, 1, 0, 2, 0})
	f.Fuzz(func(t *testing.T, picks []byte) { wellPut(t, s, all, picks) })
}
