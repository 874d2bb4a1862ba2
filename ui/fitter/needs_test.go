package fitter

import (
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"shimwright/calc/sheet"
	"shimwright/ingest/bench"
)

// The keys for what a step needs before a press counts, and that they are not
// there where it needs nothing.
func TestKeysOfNeeds(t *testing.T) {
	said := time.Date(2026, 2, 3, 8, 0, 0, 0, time.UTC)
	for name, c := range map[string]struct {
		keys  string
		needs []bench.Need
		next  string
		want  bench.Command
	}{
		"rolled":         {"b", []bench.Need{{Need: sheet.NeedsRolled}}, "", bench.SayNeed{Step: "pinion face height", Need: sheet.NeedsRolled}},
		"what is unsaid": {"b", []bench.Need{{Need: sheet.NeedsRolled, Said: said}, {Need: sheet.NeedsSeated}}, "", bench.SayNeed{Step: "pinion face height", Need: sheet.NeedsSeated}},
		"zero":           {"z", nil, "", bench.CheckZero{Gauge: "D07"}},
		"no zero":        {"z", nil, "zero", bench.CheckZero{Gauge: "D07", Cancel: true}},
	} {
		t.Run(name, func(t *testing.T) {
			snap := worked(t, "pinion face height").pieces("tall post", "S-31", "75.004", "straightedge", "E-02", "12.006").snapshot()
			step := *snap.Step.Step
			step.Needs = []string{sheet.NeedsZero}
			snap.Step.Step, snap.Needs = &step, c.needs
			for i := range snap.Gauges {
				snap.Gauges[i].Next = c.next
			}
			st := newStand(snap)
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
	v := view{snap: worked(t, "pinion face height").snapshot()}
	if needsSaid(&v) || needsZero(&v) {
		t.Error("a step that needs nothing asks for it")
	}
}
