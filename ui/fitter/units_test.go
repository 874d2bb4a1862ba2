package fitter

import (
	"maps"
	"regexp"
	"slices"
	"strings"
	"testing"

	"shimwright/calc/overhaul"
	"shimwright/calc/quantity"
)

func everyScene(t *testing.T) map[string]func(width, height int) *view {
	all := scenes(t)
	maps.Copy(all, moreScenes(t))
	return all
}

// openings are the screen at a scene and the pages that lead from it.
func openings(v *view) map[string]func(*view) *page {
	if v.page != nil || v.form != nil {
		return map[string]func(*view) *page{"": func(*view) *page { return v.page }}
	}
	return map[string]func(*view) *page{"": func(*view) *page { return nil }, "why": whyPage, "sum": sumPage, "drawing": drawPage}
}

// bare are the decimal figures of a screen that no unit stands behind, but for
// those of lines that are no lengths.
func bare(v *view) map[string]string {
	out := map[string]string{}
	figure := regexp.MustCompile(`(?:^|[^\w.])(\d+\.\d+)((?: (?:to|\.\.) \d+\.\d+)? (?:mm|in|thou)\b)?`)
	for _, l := range frame(v) {
		s := l.text()
		if slices.ContainsFunc([]string{" N", "Roughness", "factor", "no unit", "°C", "cubits", " arm: "}, func(w string) bool { return strings.Contains(s, w) }) {
			continue
		}
		for _, m := range figure.FindAllStringSubmatch(s, -1) {
			if m[2] == "" && strings.Trim(m[1], "0.") != "" && !strings.HasSuffix(strings.TrimRight(s, " "), m[1]) {
				out[m[1]] = s
			}
		}
	}
	return out
}

// On every screen and page, a figure without a unit is in the unit of the screen:
// none of them stays the same when that is changed.
func TestBareFiguresFollowTheUnit(t *testing.T) {
	looked := 0
	for name, make := range everyScene(t) {
		base := make(120, 60)
		if base.snap.Job == nil || base.recorded != nil || strings.Contains(name, "torque") {
			continue
		}
		in := map[string][]map[string]string{} // by page: the bare figures in each unit
		for _, u := range []quantity.Unit{quantity.MM, quantity.Inch, quantity.Thou} {
			v := *base
			v.unit = u
			v.take(base.snap)
			for which, open := range openings(base) {
				v.page = open(&v)
				in[which] = append(in[which], bare(&v))
				v.page = nil
			}
		}
		for which, figures := range in {
			looked += len(figures[0])
			for f, l := range figures[0] {
				if figures[1][f] != "" && figures[2][f] != "" {
					t.Errorf("%s %s: %s stands bare in every unit: %q", name, which, f, strings.TrimSpace(l))
				}
			}
		}
	}
	if looked < 100 {
		t.Errorf("only %d bare figures were looked at", looked)
	}
}

// Another unit changes words alone: how the steps stand, the verdicts, the packs
// and every exact figure are the same.
func TestAnotherUnitChangesNoResult(t *testing.T) {
	said := 0
	for name, make := range everyScene(t) {
		v := make(80, 24)
		if v.snap.Job == nil {
			continue
		}
		was := v.snap.Results
		v.unit = quantity.Thou
		v.take(v.snap)
		if v.recorded != was && !strings.Contains(name, "inches") {
			t.Fatalf("%s: the results as recorded are lost", name)
		}
		if again := v.snap.Results; v.recorded == was {
			gauges := *make(80, 24).snap // as when a gauge alone has changed
			gauges.Job, gauges.Results = v.snap.Job, was
			if v.take(&gauges); v.snap.Results != again {
				t.Errorf("%s: what is said already is worked again", name)
			}
		}
		for i, r := range v.snap.Results.Steps {
			w := was.Steps[i]
			if r.Step != w.Step || r.Status != w.Status || r.Left != w.Left || !sameFigures(r, w) {
				t.Errorf("%s, %s: %s and %s", name, r.Step.Name, w.Status, r.Status)
			}
			if r.Problem != w.Problem {
				said++
			}
		}
	}
	if said == 0 {
		t.Error("no sentence followed the unit")
	}
}

func sameFigures(a, b *overhaul.Result) bool {
	of, with := figuresOf(a), figuresOf(b)
	if len(of) != len(with) {
		return false
	}
	for i := range of {
		if !of[i].Value.Equal(with[i].Value) {
			return false
		}
	}
	if a.Check != nil && a.Check.Verdict != b.Check.Verdict {
		return false
	}
	return a.Pack == nil || a.Pack.Makeup == nil || a.Pack.Makeup.Packs == nil && b.Pack.Makeup.Packs == nil ||
		a.Pack.Makeup.Packs[0].String() == b.Pack.Makeup.Packs[0].String()
}

// The key u goes round the units, and sentences follow it with the figures.
func TestUnitsByKey(t *testing.T) {
	g, run, stop := start(t, newStand(worked(t, "backlash").ring("0.34", "0.33", "0.35", "0.34").snapshot()), Options{})
	g.see(t, "mean 0.340, spread 0.020 of 0.050 mm allowed", "limits 0.150 .. 0.250 mm")
	g.keys("u")
	g.see(t, "Lengths are shown in inches.", "mean 0.0134, spread 0.0008 of 0.0020 in", "limits 0.0059 .. 0.0098 in")
	g.keys("u")
	g.see(t, "Lengths are shown in thou.", "mean 13.4, spread 0.8 of 2.0 thou", "limits 5.9 .. 9.8 thou")
	g.keys("u")
	g.see(t, "Lengths are shown in mm.", "mean 0.340, spread 0.020 of 0.050 mm")
	stop()
	run.wait()
}
