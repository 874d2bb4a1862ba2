package overhaul_test

import (
	"fmt"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/shopspring/decimal"

	"shimwright/calc/overhaul"
	"shimwright/calc/quantity"
)

// packs are all figures of packs, both ways where there are two.
func packs(res *overhaul.Results) map[string]quantity.Exact {
	out := map[string]quantity.Exact{}
	for _, r := range res.Steps {
		if r.Pack == nil {
			continue
		}
		if r.Pack.Worked != nil {
			out[r.Step.Name] = r.Pack.Worked.Value
		}
		if r.Pack.Other != nil {
			out[r.Step.Name+", the other way"] = r.Pack.Other.Value
		}
	}
	return out
}

func samePacks(t testing.TB, what string, got, want map[string]quantity.Exact) {
	t.Helper()
	if len(got) != len(want) || len(want) == 0 {
		t.Errorf("%s: %d packs, want %d", what, len(got), len(want))
	}
	for name, v := range want {
		same(t, what+": "+name, got[name], v)
	}
}

// reversed writes one axis of a sheet the other way round: its faces and every
// pair of them.
func reversed(t testing.TB, body, axis string) string {
	t.Helper()
	list := regexp.MustCompile(`(?s)\n  ` + axis + `: \[([^\[\]]*)\]`)
	found := list.FindStringSubmatchIndex(body)
	if found == nil {
		t.Fatalf("no axis %s", axis)
	}
	var faces []string
	for f := range strings.SplitSeq(body[found[2]:found[3]], ",") {
		faces = append(faces, strings.TrimSpace(f))
	}
	back := slices.Clone(faces)
	slices.Reverse(back)
	head, tail := body[:found[2]], body[found[3]:]
	pair := regexp.MustCompile(`\[([^\[\],]+), ([^\[\],]+)\]`)
	tail = pair.ReplaceAllStringFunc(tail, func(s string) string {
		m := pair.FindStringSubmatch(s)
		if !slices.Contains(faces, m[1]) || !slices.Contains(faces, m[2]) {
			return s
		}
		return "[" + m[2] + ", " + m[1] + "]"
	})
	return head + strings.Join(back, ", ") + tail
}

// An axis written the other way round gives the same packs: signs come from
// the faces, not from which end was drawn first.
func TestReversedAxisChangesNoPack(t *testing.T) {
	for _, c := range []struct {
		sheet, job string
		axes       []string
	}{
		{"rd3.yaml", "rd3-job.yaml", []string{"pinion", "wheel"}},
		{"br7.yaml", "br7-job.yaml", []string{"pinion", "wheel", "helical", "outlet"}},
		{"hx4.yaml", "hx4-job.yaml", []string{"helical"}},
	} {
		body, job := text(t, c.sheet), text(t, c.job)
		want := work(t, parse(t, body), job)
		all := body
		for _, axis := range c.axes {
			back := reversed(t, body, axis)
			if back == body {
				t.Fatalf("%s: nothing was reversed", axis)
			}
			got := work(t, parse(t, back), job)
			samePacks(t, c.sheet+" with "+axis+" reversed", packs(got), packs(want))
			all = reversed(t, all, axis)
		}
		got := work(t, parse(t, all), job)
		samePacks(t, c.sheet+" with all axes reversed", packs(got), packs(want))
		for i, r := range want.Steps {
			if got.Steps[i].Status != r.Status {
				t.Errorf("%s: %s is %s, reversed %s", c.sheet, r.Step.Name, r.Status, got.Steps[i].Status)
			}
		}
	}
}

var inches = regexp.MustCompile(`([+-]?\d+(?:\.\d+)?) in\b`)

// inMillimetres writes every figure in inches in mm; exactly, since an inch is
// 25.4 mm.
func inMillimetres(t testing.TB, body string) string {
	t.Helper()
	return inches.ReplaceAllStringFunc(body, func(s string) string {
		d, err := decimal.NewFromString(strings.TrimPrefix(inches.FindStringSubmatch(s)[1], "+"))
		if err != nil {
			t.Fatal(err)
		}
		return d.Mul(decimal.RequireFromString("25.4")).String() + " mm"
	})
}

// The same figures written in mm give the same packs, in sheet, readings or
// both.
func TestInchesWrittenInMillimetresChangeNoPack(t *testing.T) {
	for _, name := range []string{"br7", "hx4"} {
		body, job := text(t, name+".yaml"), text(t, name+"-job.yaml")
		want := packs(work(t, parse(t, body), job))
		metric := strings.Replace(inMillimetres(t, body), "units: in", "units: mm", 1)
		if inches.MatchString(metric) || metric == body {
			t.Fatalf("%s: figures in inches are left", name)
		}
		samePacks(t, name+" readings in mm", packs(work(t, parse(t, body), inMillimetres(t, job))), want)
		samePacks(t, name+" sheet in mm", packs(work(t, parse(t, metric), job)), want)
		samePacks(t, name+" all in mm", packs(work(t, parse(t, metric), inMillimetres(t, job))), want)
	}
}

// figures are every figure of a job by name, so that two jobs can be compared.
func figures(res *overhaul.Results) map[string]string {
	out := map[string]string{}
	for _, r := range res.Steps {
		put := func(what string, f *overhaul.Figure) {
			if f != nil {
				out[r.Step.Name+what] = f.Value.String()
			}
		}
		put("", r.Figure)
		if r.Pack != nil {
			put(": worked", r.Pack.Worked)
			put(": the other way", r.Pack.Other)
			put(": fitted", r.Pack.Fitted)
		}
		if r.Check != nil {
			put(": check", r.Check.Figure)
			for _, p := range r.Check.Points {
				put(" at "+p.Spot, p.Figure)
			}
		}
	}
	for _, s := range res.Places {
		out["where "+s.Wanted+" stands"] = s.Low.Value.String() + " " + s.High.Value.String()
	}
	return out
}

// A step taken again changes what rests on it, and nothing else. What rests on
// what is written out here by hand.
func TestRetakeChangesItsDependantsAlone(t *testing.T) {
	s := readSheet(t, "rd3.yaml")
	job := text(t, "rd3-job.yaml")
	before := figures(work(t, s, job))
	for _, c := range []struct {
		step, entry string
		rest        []string
	}{
		{"pinion head", "presses: [42.38 mm, 42.38 mm]", []string{"pinion pack", "pinion pack: worked", "where pinion distance stands"}},
		{"pinion face height", "pieces: [S-31, E-02], presses: [33.39 mm, 33.39 mm, 33.39 mm]", []string{"pinion pack", "pinion pack: worked", "where pinion distance stands"}},
		{"casing distance", "digits: -2", []string{"pinion pack", "pinion pack: worked", "where pinion distance stands"}},
		{"pinion distance", "digits: +7", []string{"pinion pack", "pinion pack: worked"}},
		{"joint to pinion axis", "digits: +3", []string{"wheel pack", "wheel pack: worked", "where wheel distance stands"}},
		{"wheel distance", "digits: -4", []string{"wheel pack", "wheel pack: worked"}},
		{"wheel height", "pieces: [S-31, E-02], presses: [25.94 mm, 25.94 mm, 25.94 mm]", []string{"wheel pack", "wheel pack: worked", "where wheel distance stands"}},
		{"casing depth", "pieces: [S-41, E-02], presses: [31.49 mm, 31.49 mm, 31.49 mm]", []string{"wheel pack", "wheel pack: worked", "closing pack: the other way", "where wheel distance stands", "where wheel setting stands"}},
		{"cover recess", "presses: [18.75 mm, 18.75 mm, 18.75 mm]", []string{"closing pack: the other way", "where wheel setting stands"}},
		{"overall height", "pieces: [S-51, E-02], in: {wheel pack: no}, presses: [26.98 mm, 26.98 mm, 26.98 mm]", []string{"closing pack: the other way", "where wheel setting stands"}},
		{"float with the trial pack", "at: {pull: [1.00 mm, 1.00 mm, 1.00 mm], push: [1.12 mm, 1.12 mm, 1.12 mm]}", []string{"closing pack", "closing pack: worked", "float with the trial pack: check", "float with the trial pack at push"}},
		{"pinion turning torque", "presses: [39.0 N, 39.0 N, 39.0 N, 39.0 N]", []string{"pinion turning torque: check", "pinion turning torque at "}},
		{"backlash", "at: {0 deg: [0.22 mm], 90 deg: [0.19 mm], 180 deg: [0.20 mm], 270 deg: [0.20 mm]}", []string{"backlash at 0 deg"}},
	} {
		t.Run(c.step, func(t *testing.T) {
			body := job + fmt.Sprintf("  - {step: %s, again: taken once more}\n  - {step: %s, %s}\n", c.step, c.step, c.entry)
			after := figures(work(t, s, body))
			var changed []string
			for name, v := range after {
				if before[name] != v && name != c.step {
					changed = append(changed, name)
				}
			}
			slices.Sort(changed)
			want := slices.Sorted(slices.Values(c.rest))
			if !slices.Equal(changed, want) {
				t.Errorf("changed\n %s\nwant\n %s", strings.Join(changed, "\n "), strings.Join(want, "\n "))
			}
			if len(after) != len(before) {
				t.Errorf("%d figures, were %d", len(after), len(before))
			}
		})
	}
}

// The sum of a figure's leaves, each with its coefficient, is the figure; and
// a mean of n presses taken n times is their sum, to the last digit.
func TestFiguresAreTheSumsOfTheirLeaves(t *testing.T) {
	for _, name := range []string{"rd3", "br7", "hx4"} {
		res := work(t, readSheet(t, name+".yaml"), text(t, name+"-job.yaml"))
		for _, r := range res.Steps {
			if r.Figure == nil {
				continue
			}
			var total quantity.Exact
			for _, l := range r.Figure.Leaves() {
				total = total.Add(l.Figure.Value.Times(l.Coef))
			}
			same(t, name+": "+r.Step.Name, total, r.Figure.Value)
		}
	}
	// Three presses 0.01 apart: a third of a hundredth is kept.
	r := strings.Replace(pinionReadings, "[33.38 mm, 33.38 mm, 33.38 mm]", "[33.38 mm, 33.38 mm, 33.39 mm]", 1)
	h := found(t, work(t, readSheet(t, "rd3.yaml"), r), "pinion face height")
	same(t, "three times the height", h.Times(quantity.Whole(3)), plus(mm("225.012"), mm("36.018"), mm("-100.15")))
	if h.IsDecimal() {
		t.Error("a third of a hundredth was rounded to a decimal")
	}
}
