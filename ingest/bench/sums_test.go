//go:build unix

package bench

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"shimwright/calc/overhaul"
	"shimwright/calc/quantity"
	"shimwright/calc/sheet"
	"shimwright/ingest/fact"
	"shimwright/ingest/journal"
	"shimwright/ingest/register"
)

// More rows of the trade's table, those whose words come from the figures.

// A pack that works out below nought stops the job, and cannot be fitted: never
// its absolute value.
func TestNegativePackInTheBench(t *testing.T) {
	r := newRig(t, changed(t))
	r.postAndEdge()
	for range 3 {
		r.press("D07", "34.11 mm") // 75.004 + 12.006 − 34.11 = 52.900
	}
	r.do(ChooseStep{"pinion head"})
	r.press("M02", "43.50 mm")
	r.press("M02", "43.50 mm")
	r.do(Mark{Step: "pinion distance", Digits: "+8"})
	r.do(Mark{Step: "casing distance", Digits: "-3"})
	x := r.Snapshot().Results.Of("pinion pack") // 150.08 − 43.50 + 52.90 − 159.97 = −0.49
	if x.Status != overhaul.Stopped || x.Figure == nil || x.Figure.Value.String() != "-0.49" || !strings.HasPrefix(x.Problem, "STOP. ") || !strings.Contains(x.Problem, "already overlap") {
		t.Errorf("%s %v %q", x.Status, x.Figure, x.Problem)
	}
	r.refused(Fit{Step: "pinion pack", Measured: []string{"0.49 mm"}}, "STOP. ")
	r.do(ChooseStep{"pinion pack"})
	p, _ := r.press("M02", "0.52 mm")
	r.wants(p, fact.Held, "it cannot count yet")
}

// The wrong shim, or one left out: the pack is measured by the micrometer and
// held against what was worked and against its leaves.
func TestWrongPackInTheBench(t *testing.T) {
	r := newRig(t, changed(t))
	workPinionPack(r)
	r.press("M02", "1.05 mm")
	r.press("M02", "1.05 mm")
	r.do(Fit{Step: "pinion pack", Leaves: []string{"1.00 mm", "0.30 mm", "0.05 mm"}})
	x := r.Snapshot().Results.Of("pinion pack")
	if x.Status != overhaul.Held || !strings.Contains(x.Problem, "off by -0.320 mm, at most 0.025 mm is allowed: ADD 0.320 mm") {
		t.Errorf("%s %q", x.Status, x.Problem)
	}
}

// The bands of new and of used bearings: the same pulls are good in one and tight
// in the other, and neither counts before somebody said which they are.
func TestBandInTheBench(t *testing.T) {
	for condition, words := range map[string]string{"new": "good", "used": "out"} {
		r := newRig(t, changed(t))
		r.do(OpenJob{Sheet: "fw3", Serial: "17"})
		r.do(Fit{Step: "pinion spacer", Measured: []string{"9.96 mm"}})
		r.do(ChooseStep{pulls})
		for range 4 {
			p, _ := r.press("F05", "38.0 N") // 38.0 N × 77.20 mm = 2.9336 N·m
			r.wants(p, fact.Taken)
		}
		if x := r.Snapshot().Results.Of(pulls); x.Status == overhaul.Done || x.Check.Verdict.String() != "not judged" {
			t.Errorf("judged before the bearings were said: %s %s", x.Status, x.Check.Verdict)
		}
		r.do(Record{"pinion bearings", condition})
		x := r.Snapshot().Results.Of(pulls)
		if !strings.HasPrefix(x.Check.Verdict.String(), words) || condition == "used" && !strings.Contains(x.Check.Words+x.Check.Advice, "fit a THICKER pinion spacer") {
			t.Errorf("%s: %s %q %q", condition, x.Check.Verdict, x.Check.Words, x.Check.Advice)
		}
	}
}

// Four good points hide a tight tooth between them: the ring is not good, and
// asks for a reading there.
func TestTightToothInTheBench(t *testing.T) {
	r := newRig(t, changed(t, "        presses: 2\n        agree: 0.02 mm\n        window: 0.00 mm .. 0.80 mm\n        band: 0.15 mm .. 0.25 mm\n        spread: 0.05 mm\n        uncertainty: 0.01 mm\n        reads: normal",
		"        presses: 1\n        agree: 0.02 mm\n        window: 0.00 mm .. 0.80 mm\n        band: 0.15 mm .. 0.30 mm\n        spread: 0.20 mm\n        uncertainty: 0.01 mm\n        reads: transverse"))
	r.at("backlash")
	for _, v := range []string{"0.17 mm", "0.17 mm", "0.27 mm", "0.27 mm"} {
		p, _ := r.press("I03", v)
		r.wants(p, fact.Taken)
	}
	c := r.Snapshot().Results.Of("backlash").Check
	if c.Verdict.String() == "good" || !strings.Contains(c.Words+" "+strings.Join(c.Asks, " "), "45 deg") {
		t.Errorf("%s %q %q", c.Verdict, c.Words, c.Asks)
	}
	for _, p := range c.Points {
		if p.Verdict.String() != "good" {
			t.Errorf("%s alone is %s", p.Spot, p.Verdict)
		}
	}
}

// A sheet that puts temperature right waits until it is said, and what a readings
// file can say of gauges, temperatures and check pieces a bench's job can say
// too: both come to the same figures.
func TestAsInAReadingsFile(t *testing.T) {
	point := func(at, add string) sheet.Correction { return sheet.Correction{At: figure(at), Add: figure(add)} }
	u, limit, fine := figure("0.004 mm"), figure("0.02 mm"), figure("0.002 mm")
	k, err := quantity.Parse("2", quantity.Bare)
	if err != nil {
		t.Fatal(err)
	}
	table, err := sheet.NewCorrections([]sheet.Correction{point("0.00 mm", "0.000 mm"), point("25.00 mm", "0.010 mm"), point("50.00 mm", "-0.005 mm")}, &u, &k)
	if err != nil {
		t.Fatal(err)
	}
	readings, err := os.ReadFile(filepath.Join("..", "..", "testdata", "sheets", "fs2-job.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	_, entries, _ := strings.Cut(string(readings), "readings for: fs2\n")
	example := "example:\n  gives: {plug pack: 3.492 mm}\n" + strings.ReplaceAll("\n"+strings.TrimSpace(entries), "\n", "\n  ") + "\n"
	sure := figure("0.001 mm")
	piece := func(id, size string) about {
		return about{register.PieceSubject(id), fact.Certified{Size: figure(size), Uncertainty: &sure, K: &k}}
	}
	r := known(t, []about{piece("S-31", "75.004 mm"), piece("E-02", "12.006 mm"), piece("R-30", "30.002 mm"), piece("C-25", "25.001 mm")}, func(c *Config) {
		for i, g := range c.Gauges {
			switch g.ID {
			case "D07":
				c.Gauges[i].Limit, c.Gauges[i].Corrections = &limit, table
			case "M02":
				c.Gauges[i].Limit = &fine
			}
		}
		c.Pieces = nil
		named := c.Sheets
		c.Sheets = func(name string) ([]byte, error) {
			text, err := named(name)
			return append(text, example...), err
		}
	})
	for _, shows := range []string{"25.00 mm", "25.01 mm", "25.03 mm"} {
		r.do(CheckPiece{Gauge: "D07", Piece: "C-25"})
		r.clock.moveOn(double)
		if err := r.gauges["D07"].Press(figure(shows)); err != nil {
			t.Fatal(err)
		}
		s := r.await("the check", func(s *Snapshot) bool {
			return s.Last != nil && strings.Contains(s.Last.Press.Sentence, "shows "+shows)
		})
		want := map[string]string{"25.00 mm": "D07 shows 25.00 mm on C-25, 25.001 mm: -0.001 mm off: within its 0.02 mm.",
			"25.03 mm": "D07 shows 25.03 mm on C-25, 25.001 mm: 0.029 mm off, and at most 0.02 mm is allowed."}[shows]
		if want != "" && s.Last.Press.Sentence != want {
			t.Errorf("%q", s.Last.Press.Sentence)
		}
	}
	r.do(OpenJob{Sheet: "fs2", Serial: "17"})
	for _, p := range []DrawPiece{{"tall post", "S-31"}, {"straightedge", "E-02"}, {"ring", "R-30"}} {
		r.do(p)
	}
	type pressed struct {
		step, gauge string
		values      []string
	}
	for _, p := range []pressed{
		{"seat depth", "D07", []string{"33.38 mm", "33.37 mm", "33.38 mm"}}, {"plug length", "D07", []string{"50.00 mm", "49.99 mm", "49.97 mm"}},
		{"rim depth", "D07", []string{"-1.25 mm"}}, {"plug pack", "M02", []string{"3.51 mm", "3.51 mm"}},
	} {
		if p.step == "plug pack" {
			r.refused(Temperatures{Part: "28", Standards: "21 °C"}, "is no temperature")
			r.refused(Temperatures{Part: "28 °C"}, "the temperature of the standards is empty")
			r.do(Temperatures{Part: "28.0 °C ± 1.0 °C", Standards: "21.0 °C ± 0.5 °C"})
		}
		r.do(ChooseStep{p.step})
		for _, v := range p.values {
			got, _ := r.press(p.gauge, v)
			r.wants(got, fact.Taken)
		}
		if x := r.Snapshot().Results.Of(p.step); p.step == "seat depth" && (x.Figure != nil || !strings.Contains(x.Wants, "temperatures")) {
			t.Errorf("%s %v %q", x.Status, x.Figure, x.Wants)
		}
	}
	r.do(Fit{Step: "plug pack"})

	text, err := sheets("fs2")
	if err != nil {
		t.Fatal(err)
	}
	s, err := sheet.Read("fs2", text)
	if err != nil {
		t.Fatal(err)
	}
	e, err := sheet.ReadEntries(s, "fs2-job.yaml", readings)
	if err != nil {
		t.Fatal(err)
	}
	want, err := overhaul.Work(s, e)
	if err != nil {
		t.Fatal(err)
	}
	got := r.Snapshot().Results
	for _, w := range want.Steps {
		x := got.Of(w.Step.Name)
		if fmt.Sprint(value(x.Figure), x.Status, x.Problem) != fmt.Sprint(value(w.Figure), w.Status, w.Problem) {
			t.Errorf("%s: %s %s %q, the readings file gives %s %s %q", w.Step.Name, value(x.Figure), x.Status, x.Problem, value(w.Figure), w.Status, w.Problem)
		}
		if (x.Budget == nil) != (w.Budget == nil) || x.Budget != nil && !x.Budget.Guard.Equal(w.Budget.Guard) {
			t.Errorf("%s: other budgets", w.Step.Name)
		}
	}
	if len(got.Notes) != len(want.Notes) || len(want.Notes) == 0 {
		t.Errorf("notes %q, the readings file gives %q", got.Notes, want.Notes)
	}
}

func value(f *overhaul.Figure) string {
	if f == nil {
		return "none"
	}
	return f.Value.String()
}

// What earlier re-shims found is told once when a job is opened: the learned
// factor of a job does not change while it is open, and training teaches nothing.
func TestEarlierReshims(t *testing.T) {
	text, err := sheets("fw3")
	if err != nil {
		t.Fatal(err)
	}
	head := fact.Opened{Drive: "FW3", Serial: "1", Sheet: "fw3", Issue: 1, Digest: Digest(text), Text: string(text), Rule: "guarded"}
	judged := func(moved, changed string, training bool) fact.Fact {
		return fact.Judged{Step: "backlash", What: "backlash", Verdict: "good", Words: "good", Uncertainty: "0.01", Mean: "0.2", Moved: moved, Changed: changed, Training: training, Digest: head.Digest, Program: "old"}
	}
	r := known(t, []about{{"job/0001", head}, {"job/0001", judged("-0.15", "-0.12", false)}, {"job/0001", judged("0.1", "0.08", false)},
		{"job/0001", judged("-0.2", "-0.16", false)}, {"job/0001", judged("-0.2", "-0.9", true)}, {"job/0001", judged("", "", false)},
		{"job/0001", fact.Finished{}}}, changed(t, "        reads: normal\n", "        reads: transverse\n        move factor: learned\n"))
	r.do(OpenJob{Sheet: "fw3", Serial: "17"})
	e := r.Snapshot().Job.Entries().Earlier["backlash"]
	if len(e) != 3 || e[0].Move.String() != "-0.2" || e[2].Change.String() != "-0.12" || e[1].U.String() != "0.01" {
		t.Fatalf("%+v", e)
	}
	r.do(ChooseStep{"backlash"})
	for range 8 {
		r.press("I03", "0.34 mm")
	}
	c := r.Snapshot().Results.Of("backlash").Check
	if c.Factor == nil || c.Factor.K.String() != "0.8" {
		t.Errorf("%+v %+v", c.Factor, c.Learned)
	}
	stored := r.stored()
	if n := len(slices.DeleteFunc(stored, func(s journal.Stored) bool { return s.Kind != "earlier" })); n != 1 {
		t.Errorf("%d facts of earlier re-shims", n)
	}
}

// Seal drag and a setting asked about are entries of a bench's job.
func TestSealAndSetting(t *testing.T) {
	r := newRig(t, changed(t, "        rough: 0.25\n", "        rough: 0.25\n        seal drag: measured\n"))
	r.do(OpenJob{Sheet: "fw3", Serial: "17"})
	r.do(Record{"pinion bearings", "new"})
	r.do(Fit{Step: "pinion spacer", Measured: []string{"9.96 mm"}})
	r.refused(Seal{pulls, "36.0 N", "40.0 N"}, "are they the other way round?")
	r.refused(Seal{pulls, "36.0 mm", "40.0 N"}, "want a force")
	r.refused(Seal{"backlash", "40.0 N", "36.0 N"}, "does not ask for the seal's drag")
	r.do(ChooseStep{pulls})
	for range 4 {
		r.press("F05", "42.0 N")
	}
	r.do(Seal{pulls, "40.0 N", "36.0 N"}) // (42 − 4) N × 77.20 mm = 2.9336 N·m
	if x := r.Snapshot().Results.Of(pulls); x.Check.Figure == nil || x.Check.Figure.Value.String() != "2.9336" {
		t.Errorf("%s %v %q", x.Status, value(x.Check.Figure), x.Problem)
	}
	r.refused(KeepBacklash{Step: "pinion pack", Preload: "0.12 mm"}, "the setting of a shaft that carries a gear")
	r.refused(KeepBacklash{Step: "closing pack"}, "a preload, or a float")
	r.refused(KeepBacklash{Step: "closing pack", Float: "0.05 mm", Against: "the wall"}, "is no bearing")
	r.refused(KeepBacklash{Step: "closing pack", Float: "-0.05 mm"}, "not below nought")
	r.do(KeepBacklash{Step: "closing pack", Float: "0.05 mm", Against: "tooth side"})
	r.do(KeepBacklash{Step: "closing pack", Preload: "0.12 mm"})
	if p := r.Snapshot().Results.Of("closing pack").Pack; p.Keep == nil && p.KeepWaits == "" {
		t.Error("nothing is said of it")
	}
}
