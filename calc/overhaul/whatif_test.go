package overhaul_test

import (
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"shimwright/calc/overhaul"
	"shimwright/calc/sheet"
)

// whatIf works a story with a text of entries instead.
func whatIf(t testing.TB, name, instead string) *overhaul.Results {
	t.Helper()
	s := parse(t, storyText(t, "dm3.yaml"))
	job := parseEntries(t, s, storyText(t, name+".yaml"))
	put, err := sheet.ReadInstead(s, "instead.yaml", []byte(instead), job)
	if err != nil {
		t.Fatal(err)
	}
	res, err := overhaul.WhatIf(s, job, put)
	if err != nil {
		t.Fatal(err)
	}
	return res
}

func difference(t testing.TB, res *overhaul.Results, of, what string) overhaul.Difference {
	t.Helper()
	for _, d := range res.Differences {
		if d.Of == of && d.What == what {
			return d
		}
	}
	t.Errorf("%s of %s does not differ: %v", what, of, res.Differences)
	return overhaul.Difference{}
}

// A pack typed shows the backlash to expect before anything is stripped: 0.15
// TOWARD by factor 0.80 is 0.12 less at every point. The setting stays.
func TestWhatIfOtherPacks(t *testing.T) {
	res := whatIf(t, "two-answers", storyText(t, filepath.Join("instead", "packs-instead.yaml")))
	e := of(t, res, "backlash").Check.Expected
	same(t, "the wheel's move", e.Wheel, mm("-0.15"))
	for i, want := range []string{"0.22", "0.21", "0.23", "0.22"} {
		same(t, "expected", e.Points[i].After, mm(want))
	}
	if !e.Good {
		t.Error("the ring to expect is not good")
	}
	contains(t, difference(t, res, "backlash", "to expect").Would, "expect about 0.220 mm, 0.210 mm, 0.230 mm, 0.220 mm (mean less by 0.120 mm): wheel TOWARD the pinion by 0.150 mm, all good.")
	d := difference(t, res, "wheel pack", "fitted")
	if d.Was != "1.430 mm" || d.Would != "1.580 mm" {
		t.Errorf("the wheel pack was %s and would be %s", d.Was, d.Would)
	}
	for _, d := range res.Differences {
		if d.Of == "wheel setting" || d.Of == "pinion pack" || d.Of == "pinion distance" {
			t.Errorf("%s of %s differs, from %q to %q", d.What, d.Of, d.Was, d.Would)
		}
	}
	// One pack alone changes the setting, and is said to.
	alone := whatIf(t, "two-answers", "readings for: dm3\nentries:\n  - {step: closing pack, fit: {measured: 1.80 mm}}\n")
	d = difference(t, alone, "wheel setting", "stands at")
	if d.Was != "-0.087 mm preload" || d.Would != "-0.037 mm preload" {
		t.Errorf("the setting was %s and would be %s", d.Was, d.Would)
	}
	// So thin that the shaft floats: no backlash of a closed shaft is expected.
	loose := whatIf(t, "two-answers", "readings for: dm3\nentries:\n  - {step: closing pack, fit: {measured: 1.70 mm}}\n")
	contains(t, of(t, loose, "backlash").Check.Expected.Words, "wheel shaft now has float")
}

// Readings, marks and answers are replaced where they stand; what does not rest
// on them does not differ, and the job itself is as it was.
func TestWhatIfOtherReadings(t *testing.T) {
	s := parse(t, storyText(t, "dm3.yaml"))
	job := parseEntries(t, s, storyText(t, "two-answers.yaml"))
	was, err := overhaul.Work(s, job)
	if err != nil {
		t.Fatal(err)
	}
	res := whatIf(t, "two-answers", storyText(t, filepath.Join("instead", "readings-instead.yaml")))
	for _, c := range []struct{ of, what, was, would string }{
		{"pinion face height", "figure", "53.630 mm", "53.660 mm"},
		{"pinion pack", "worked", "1.370 mm", "1.400 mm"},
		{"wheel distance", "figure", "44.950 mm", "45.050 mm"},
		{"wheel pack", "worked", "1.430 mm", "1.330 mm"},
	} {
		if d := difference(t, res, c.of, c.what); d.Was != c.was || d.Would != c.would {
			t.Errorf("%s of %s: %s -> %s, want %s -> %s", c.what, c.of, d.Was, d.Would, c.was, c.would)
		}
	}
	for _, d := range res.Differences {
		if d.Of == "casing depth" || d.Of == "closing pack" || d.Of == "backlash" {
			t.Errorf("%s of %s differs: %q -> %q", d.What, d.Of, d.Was, d.Would)
		}
	}
	again, err := overhaul.Work(s, job)
	if err != nil {
		t.Fatal(err)
	}
	if d := overhaul.Differences(was, again); len(d) != 0 {
		t.Errorf("the job itself differs: %v", d)
	}
	res = whatIf(t, "spacer-lands", storyText(t, filepath.Join("instead", "condition-instead.yaml")))
	if d := difference(t, res, "pinion turning torque", "verdict"); d.Was != "GOOD" || d.Would != "OUT HIGH" {
		t.Errorf("on used bearings: %s -> %s", d.Was, d.Would)
	}
	contains(t, difference(t, res, "pinion turning torque", "what to do").Would, "9.520 mm was tried and gave 1.544 N.m, which is good: fit that one again.")
}

// The same entries instead change nothing but what they must: packs fitted once
// more make the ring older than the drive.
func TestWhatIfTheSame(t *testing.T) {
	for _, name := range []string{"two-answers", "spacer-lands", "pinion-in", "no-pack"} {
		text := storyText(t, name+".yaml")
		var kept []string
		for _, line := range strings.Split(text, "\n") {
			if !strings.Contains(line, "fit:") {
				kept = append(kept, line)
			}
		}
		body := strings.Join(kept, "\n")
		if name == "spacer-lands" { // three trials: the latest pulls are the ones that count
			body = "readings for: dm3\nentries:\n  - {step: pinion turning torque, presses: [38.0 N, 38.0 N, 38.0 N, 38.0 N]}\n"
		}
		if d := whatIf(t, name, body).Differences; len(d) != 0 {
			t.Errorf("%s with the same entries differs: %s", name, cmp.Diff([]overhaul.Difference(nil), d))
		}
	}
}

// Pinion and wheel moved together leave the ring as it was, and that is what
// was predicted: neither pack is doubted.
func TestBothGearsMovedAreComparedTogether(t *testing.T) {
	fits := `  - {step: pinion pack, fit: {measured: 1.22 mm}}
  - {step: wheel pack, fit: {measured: 1.394 mm}}
  - {step: closing pack, fit: {measured: 1.886 mm}}
`
	res := storyMore(t, "pinion-in", fits)
	e := of(t, res, "backlash").Check.Expected
	same(t, "pinion", e.Pinion, mm("-0.15"))
	same(t, "wheel", e.Wheel, mm("0.036"))
	contains(t, e.Words, "pinion IN by 0.150 mm, wheel AWAY by 0.036 mm, all good")
	ring := "  - {step: backlash, at: {0 deg: [0.20 mm], 90 deg: [0.20 mm], 180 deg: [0.20 mm], 270 deg: [0.20 mm]}}\n"
	c := of(t, storyMore(t, "pinion-in", fits+ring), "backlash").Check
	if !c.Compared.Agrees || c.Compared.Gear != "wheel" {
		t.Errorf("%s: %q", c.Compared.Gear, c.Compared.Words)
	}
	// The pinion alone is compared by its own factor: 0.15 × 0.80 × 9/37.
	alone := "  - {step: pinion pack, fit: {measured: 1.22 mm}}\n"
	fell := strings.ReplaceAll(ring, "0.20 mm", "0.171 mm")
	c = of(t, storyMore(t, "pinion-in", alone+fell), "backlash").Check
	if !c.Compared.Agrees || c.Compared.Gear != "pinion" {
		t.Errorf("%s: %q", c.Compared.Gear, c.Compared.Words)
	}
	c = of(t, storyMore(t, "pinion-in", alone+strings.ReplaceAll(ring, "0.20 mm", "0.23 mm")), "backlash").Check
	if c.Compared.Agrees {
		t.Errorf("the backlash rose as the pinion went IN: %q", c.Compared.Words)
	}
}
