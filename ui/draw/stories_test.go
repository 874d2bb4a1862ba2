package draw

import (
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"shimwright/calc/overhaul"
	"shimwright/calc/sheet"
)

const stories = "../../testdata/stories"

const runOutStep = `      - check: wheel run-out
        what: run-out
        gauge: dial indicator
        points: [0 deg, 90 deg, 180 deg, 270 deg]
        window: 0.00 mm .. 1.50 mm
        spread: 0.20 mm
`

// Swaps in the sheet of a story: old text, new text.
var (
	fine      = []string{"within: 0.025 mm\n        stock: shims\n        range: 0.80 mm .. 2.20 mm\n        leaves", "within: 0.01 mm\n        stock: shims\n        range: 0.80 mm .. 2.20 mm\n        leaves"}
	wideBand  = []string{"band: 0.15 mm .. 0.25 mm", "band: 0.15 mm .. 0.30 mm"}
	anySpread = []string{"band: 0.15 mm .. 0.25 mm", "band: 0.15 mm .. 0.30 mm", "spread: 0.08 mm", "spread: 0.20 mm"}
	runOut    = []string{"      - check: backlash\n", runOutStep + "      - check: backlash\n"}
	learned   = []string{"move factor: 0.80", "move factor: learned"}
	sealDrag  = []string{"rough: 0.25", "rough: 0.25\n        seal drag: 0.50 N.m"}
	sealAsked = []string{"rough: 0.25", "rough: 0.25\n        seal drag: measured"}
	crosswise = []string{"good: [central, slightly to toe]", "good: [central, slightly to toe]\n        rules from: crosswise"}
)

// story works one story: a readings file of the stories' sheet.
func story(t testing.TB, name string, swaps ...string) (*sheet.Sheet, *overhaul.Results) {
	t.Helper()
	text, err := os.ReadFile(filepath.Join(stories, "dm3.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	body := string(text)
	for i := 0; i+1 < len(swaps); i += 2 {
		if strings.Count(body, swaps[i]) != 1 {
			t.Fatalf("%q does not stand once in the sheet", swaps[i])
		}
		body = strings.Replace(body, swaps[i], swaps[i+1], 1)
	}
	s, err := sheet.Read("dm3.yaml", []byte(body))
	if err != nil {
		t.Fatal(err)
	}
	if text, err = os.ReadFile(filepath.Join(stories, name+".yaml")); err != nil {
		t.Fatal(err)
	}
	e, err := sheet.ReadEntries(s, name+".yaml", text)
	if err != nil {
		t.Fatal(err)
	}
	r, err := overhaul.Work(s, e)
	if err != nil {
		t.Fatal(err)
	}
	return s, r
}

// What to change when a check fails, as a fitter reads it. The figures are held
// by the tests of the same stories in calc/overhaul.
func TestStories(t *testing.T) {
	for _, c := range []struct {
		name, golden string
		swaps        []string
	}{
		{"two-answers", "", nil}, {"re-shim-lands", "", nil}, {"re-shim-misses", "", nil},
		{"run-out-spread", "", wideBand}, {"hidden-tooth", "", anySpread}, {"bent-wheel", "", nil},
		{"pinion-asked", "", nil}, {"pinion-in", "", nil}, {"pinion-asked", "pinion-asked-crosswise", crosswise},
		{"other-setting", "", nil}, {"earlier-moves", "", nil}, {"earlier-moves", "earlier-moves-learned", learned},
		{"too-tight", "", nil}, {"two-spacers", "", nil}, {"spacer-lands", "", nil},
		{"wrong-condition", "", nil}, {"worn-bearing", "", nil}, {"no-pack", "", fine},
		{"three-points", "", nil}, {"run-out-known", "", append(runOut, wideBand...)},
		{"too-tight", "seal-drag", sealDrag}, {"seal-measured", "", sealAsked},
	} {
		if c.golden == "" {
			c.golden = c.name
		}
		t.Run(c.golden, func(t *testing.T) {
			s, r := story(t, c.name, c.swaps...)
			golden(t, "story_"+c.golden, func(w io.Writer) error { return Results(w, PageFor(s), r, detailOf(c.golden)) })
		})
	}
}

// detailOf is full where the sum is the story.
func detailOf(name string) Detail {
	if strings.HasPrefix(name, "seal") {
		return Full
	}
	return Short
}

// What would differ with other packs, other readings, another answer; and where
// nothing would.
func TestWhatIf(t *testing.T) {
	for job, instead := range map[string]string{
		"two-answers": "packs-instead", "re-shim-misses": "readings-instead", "spacer-lands": "condition-instead", "no-pack": "nothing-instead",
	} {
		s, _ := story(t, job)
		read := func(name string) []byte {
			text, err := os.ReadFile(filepath.Join(stories, name+".yaml"))
			if err != nil {
				t.Fatal(err)
			}
			return text
		}
		e, err := sheet.ReadEntries(s, job, read(job))
		if err != nil {
			t.Fatal(err)
		}
		put, err := sheet.ReadInstead(s, instead, read(filepath.Join("instead", instead)), e)
		if err != nil {
			t.Fatal(err)
		}
		r, err := overhaul.WhatIf(s, e, put)
		if err != nil {
			t.Fatal(err)
		}
		golden(t, "whatif_"+instead, func(w io.Writer) error { return WhatIf(w, PageFor(s), r) })
	}
}
