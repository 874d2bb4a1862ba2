package fitter

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"shimwright/devices"
	"shimwright/ingest/bench"
	"shimwright/ingest/fact"
	"shimwright/ingest/store"
)

// Keys at a step become these commands.
func TestKeysBecomeCommands(t *testing.T) {
	face := func() *scene {
		return worked(t, "pinion face height").pieces("tall post", "S-31", "75.004", "straightedge", "E-02", "12.006")
	}
	held := face().press("D07", "3.38 mm")
	for name, c := range map[string]struct {
		scene *scene
		keys  string
		want  bench.Command
	}{
		"confirm": {worked(t, "turned by hand"), " ", bench.Confirm{Step: "turned by hand"}},
		"pack in": {worked(t, "overall height").pieces("overall post", "S-51", "200.011"), "Y",
			bench.SayIn{Step: "overall height", Pack: "wheel pack", In: true}},
		"pack not in": {worked(t, "overall height").pieces("overall post", "S-51", "200.011"), "n",
			bench.SayIn{Step: "overall height", Pack: "wheel pack"}},
		"seen": {worked(t, "contact marking"), "\n21",
			bench.See{Step: "contact marking", Marks: map[string]string{"drive": "slightly to toe", "coast": "central"}}},
		"fit a measured pack": {worked(t, "pinion pack").press("M02", "1.352 mm", "1.352 mm"), "\n\n",
			bench.Fit{Step: "pinion pack", Leaves: []string{"1.00 mm", "0.30 mm", "0.05 mm"}}},
		"fit a measured spacer": {worked(t, "pinion spacer").press("M02", "10.09 mm", "10.09 mm"), "\n",
			bench.Fit{Step: "pinion spacer"}},
		"fit by typing": {worked(t, "pinion pack"), "f1.35 1.36\n\n",
			bench.Fit{Step: "pinion pack", Measured: []string{"1.35 mm", "1.36 mm"}, Leaves: []string{"1.00 mm", "0.30 mm", "0.05 mm"}}},
		"move": {worked(t, "backlash").ring("0.34", "0.33", "0.35", "0.34"), "g10.20\ny",
			bench.Move{Step: "backlash", Gear: "wheel", Way: "TOWARD", By: "0.20 mm"}},
		"take": {held, "t1", bench.Take{Press: held.seq, Reason: "looked at again by hand: it is right"}},
		"again": {face().press("D07", "33.38 mm"), "adropped it\n",
			bench.Retake{Step: "pinion face height", Reason: "dropped it"}},
		"keyed": {worked(t, "wheel run-out").press("I03", "0.52 mm"), "k0.53\n2",
			bench.Keyed{Step: "wheel run-out", Spot: "90 deg", Value: "0.53 mm", Reason: "the cable is broken"}},
		"metal": {worked(t, "pinion head"), "c1pinion head, casing distance\n",
			bench.Metal{Step: "pinion head", Reason: "part replaced", Lengths: []string{"pinion head", "casing distance"}}},
		"abandon":         {worked(t, "pinion head"), "x21", bench.Abandon{Reason: "opened by mistake"}},
		"who works at it": {worked(t, "pinion head"), "x3ab\n\n", bench.By{Initials: "ab", Command: bench.StartWork{}}},
		"finish": {func() *scene {
			s := worked(t, "wheel run-out")
			s.source = devices.SourceVirtual
			return s.press("I03", "0.52 mm")
		}(), "x1", bench.Finish{}},
		"sign off": {worked(t, "pinion head"), "x1AB\n4711\n", bench.By{Initials: "AB", PIN: "4711", Command: bench.SignOff{}}},
		"metal by numbers": {worked(t, "pinion head"), "c11 3\n",
			bench.Metal{Step: "pinion head", Reason: "part replaced", Lengths: []string{lengthNo(t, 1), lengthNo(t, 3)}}},
		"hold":          {face(), "h12", bench.Hold{Step: "pinion face height", Reason: "the lead is to look"}},
		"job":           {openTwo(face()), "j2", bench.ChooseJob{Job: "0011"}},
		"ask the gauge": {face(), "i", bench.AskGauge{}},
		"the make-up shown gives way to what is typed": {worked(t, "pinion pack"), "f1.35\n1.00 0.35\n",
			bench.Fit{Step: "pinion pack", Measured: []string{"1.35 mm"}, Leaves: []string{"1.00 mm", "0.35 mm"}}},
		"a figure that is none stays where it is asked": {worked(t, "wheel run-out").press("I03", "0.52 mm"), "kx\n0.53\n2",
			bench.Keyed{Step: "wheel run-out", Spot: "90 deg", Value: "0.53 mm", Reason: "the cable is broken"}},
		"the list goes there": {worked(t, "wheel run-out").goTo("pinion pack"), "l \n",
			bench.ChooseStep{Step: "wheel run-out"}},
	} {
		t.Run(name, func(t *testing.T) {
			st := newStand(c.scene.snapshot())
			g, run, stop := start(t, st, Options{})
			g.see(t, "q leave")
			g.keys(c.keys)
			if d := cmp.Diff(c.want, <-st.did); d != "" {
				t.Errorf("-want +got\n%s", d)
			}
			stop()
			run.wait()
		})
	}
}

// openTwo has two jobs open, that of the scene the newer one.
func openTwo(s *scene) *scene {
	s.open = []store.Job{{ID: "0012", Serial: "4711", Drive: "Harrow FW3"}, {ID: "0011", Serial: "4700", Drive: "Harrow FW3"}}
	return s
}

// lengthNo is a length by its number in the list that is asked from.
func lengthNo(t *testing.T, n int) string {
	t.Helper()
	v := newScene(t).view(80, 24)
	return metalForm(v, v.shown()).fields[1].options[n-1]
}

// What was typed at a step is entered anew behind a reason.
func TestEnteredAnewWithAReason(t *testing.T) {
	s := worked(t, "contact marking").put(fact.Seen{Step: "contact marking", Marks: map[string]string{"drive": "heel", "coast": "central"}})
	st := newStand(s.snapshot())
	g, run, stop := start(t, st, Options{})
	g.see(t, "q leave")
	g.keys("e112")
	want := []bench.Command{
		bench.Retake{Step: "contact marking", Reason: "looked at again"},
		bench.See{Step: "contact marking", Marks: map[string]string{"drive": "central", "coast": "central"}},
	}
	for i, w := range want {
		if d := cmp.Diff(w, <-st.did); d != "" {
			t.Errorf("-want +got\n%s", d)
		}
		if i == 0 {
			st.release <- nil
		}
	}
	stop()
	run.wait()
}

// A press that came before its pieces were said is not let count.
func TestNoTakingWithoutPieces(t *testing.T) {
	s := worked(t, "pinion face height").press("D07", "33.38 mm")
	g, run, stop := start(t, newStand(s.snapshot()), Options{})
	g.see(t, "t take held")
	g.keys("t")
	g.see(t, "before its pieces were said")
	stop()
	run.wait()
}
