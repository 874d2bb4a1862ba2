package fitter

import (
	"time"

	"shimwright/calc/sheet"
	"shimwright/ingest/bench"
)

// needsSaid: the open step wants somebody to say that bearings are rolled or
// seated.
func needsSaid(v *view) bool {
	r := v.shown()
	return hasJob(v) && r != nil && r == v.snap.Step && len(v.snap.Needs) > 0
}

// needsZero: the open step wants the zero of its gauge checked.
func needsZero(v *view) bool {
	r := v.shown()
	return hasJob(v) && r != nil && r == v.snap.Step && r.Step.Need(sheet.NeedsZero) && v.zeroGauge() != nil
}

// zeroGauge is the gauge whose zero is meant: of those that the open step wants
// the one pressed last, for a press that wanted a zero brought the fitter here.
func (v *view) zeroGauge() *bench.GaugeState {
	best := v.gauge(v.snap.Step.Step.Gauge)
	for i := range v.snap.Gauges {
		g := &v.snap.Gauges[i]
		if g.Kind == v.snap.Step.Step.Gauge && g.LastAt.After(lastAt(best)) {
			best = g
		}
	}
	return best
}

func lastAt(g *bench.GaugeState) time.Time {
	if g == nil {
		return time.Time{}
	}
	return g.LastAt
}

// sayNeed says what was not said yet, or else the oldest thing said.
func (u *ui) sayNeed() {
	v := &u.view
	first := v.snap.Needs[0]
	for _, n := range v.snap.Needs[1:] {
		if n.Said.Before(first.Said) {
			first = n
		}
	}
	u.send(bench.SayNeed{Step: v.snap.Step.Step.Name, Need: first.Need}, nil)
}

// checkZero makes the gauge's next press a check of its zero; the key pressed
// again takes that back.
func (u *ui) checkZero() {
	g := u.view.zeroGauge()
	u.send(bench.CheckZero{Gauge: g.ID, Cancel: g.Next != ""}, nil)
}
