package sheet_test

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"shimwright/calc/sheet"
)

const stories = "../../testdata/stories"

func storySheet(t *testing.T, swaps ...string) string {
	t.Helper()
	text, err := os.ReadFile(filepath.Join(stories, "dm3.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	out := string(text)
	for i := 0; i+1 < len(swaps); i += 2 {
		if strings.Count(out, swaps[i]) != 1 {
			t.Fatalf("%q does not stand once in the sheet", swaps[i])
		}
		out = strings.Replace(out, swaps[i], swaps[i+1], 1)
	}
	return out
}

const dm3Gears = "gears: {pinion: 9, wheel: 37, shafts: 90 deg, pressure: 20 deg, spiral: 35 deg}\n"

// What a sheet may say of move factors, seal drag and spacers, and what not.
func TestKeysOfWhatToChange(t *testing.T) {
	for _, c := range []struct {
		want  string
		swaps []string
	}{
		{"", []string{"move factor: 0.80", "move factor: learned"}},
		{"a learned factor wants gears", []string{"move factor: 0.80", "move factor: learned", dm3Gears, ""}},
		{"above 0 and at most 2, as in 0.80; or learned", []string{"move factor: 0.80", "move factor: 2.5"}},
		{"learned", []string{"move factor: 0.80", "move factor: taught"}},
		{"", []string{"rough: 0.25", "rough: 0.25\n        seal drag: 4 lbf.in"}},
		{"", []string{"rough: 0.25", "rough: 0.25\n        seal drag: measured"}},
		{"a figure above nought is wanted", []string{"rough: 0.25", "rough: 0.25\n        seal drag: 0.00 N.m"}},
		{"torque", []string{"rough: 0.25", "rough: 0.25\n        seal drag: 4.0 N"}},
		{"", []string{"set by: pinion turning torque", "set by: pinion turning torque\n        graded in: 0.01 mm\n        at once: 0.04 mm"}},
		{"a figure above nought is wanted", []string{"set by: pinion turning torque", "set by: pinion turning torque\n        graded in: 0 mm"}},
		{`the key "at once" is not known`, []string{"makes: wheel setting\n", "makes: wheel setting\n        at once: 0.04 mm\n"}},
	} {
		_, err := sheet.Read("dm3.yaml", []byte(storySheet(t, c.swaps...)))
		if c.want == "" && err != nil {
			t.Errorf("%q: %v", c.swaps, err)
		}
		if c.want != "" && (err == nil || !strings.Contains(err.Error(), c.want)) {
			t.Errorf("%q: %v, want %q in it", c.swaps, err, c.want)
		}
	}
}

// What readings may say of earlier moves, the seal and another setting.
func TestEntriesOfWhatToChange(t *testing.T) {
	measured := []string{"rough: 0.25", "rough: 0.25\n        seal drag: measured"}
	for _, c := range []struct {
		want, body string
		swaps      []string
	}{
		{"", "earlier:\n  backlash: [{moved: {wheel: AWAY, by: 4 thou}, mean changed: 0.003 in}]\nentries: []", nil},
		{`"contact marking" is no check of backlash`, "earlier:\n  contact marking: []\nentries: []", nil},
		{"write one of TOWARD, AWAY", "earlier:\n  backlash: [{moved: {wheel: IN, by: 0.1 mm}, mean changed: 0.1 mm}]\nentries: []", nil},
		{"not below nought", "earlier:\n  backlash: [{moved: {wheel: AWAY, by: -0.1 mm}, mean changed: 0.1 mm}]\nentries: []", nil},
		{"mean changed", "earlier:\n  backlash: [{moved: {wheel: AWAY, by: 0.1 mm}}]\nentries: []", nil},
		{"", "entries: [{step: pinion turning torque, seal: {with: 40 N, without: 36 N}}]", measured},
		{"the sheet does not ask for the seal's drag here", "entries: [{step: pinion turning torque, seal: {with: 40 N, without: 36 N}}]", nil},
		{"are they the other way round?", "entries: [{step: pinion turning torque, seal: {with: 36 N, without: 40 N}}]", measured},
		{"without", "entries: [{step: pinion turning torque, seal: {with: 36 N}}]", measured},
		{"", "entries: [{step: closing pack, keep backlash: {float: 0.05 mm, held against: tooth side}}]", nil},
		{"ask this at the pack that makes the setting", "entries: [{step: wheel pack, keep backlash: {preload: 0.12 mm}}]", nil},
		{"write one of wheel-back side, tooth side", "entries: [{step: closing pack, keep backlash: {float: 0.05 mm, held against: head}}]", nil},
		{"not below nought", "entries: [{step: closing pack, keep backlash: {preload: -0.12 mm}}]", nil},
		{`the key "float" is not known`, "entries: [{step: closing pack, keep backlash: {preload: 0.12 mm, float: 0.1 mm}}]", nil},
		{"entries", "stock: {}", nil},
	} {
		s, err := sheet.Read("dm3.yaml", []byte(storySheet(t, c.swaps...)))
		if err != nil {
			t.Fatal(err)
		}
		_, err = sheet.ReadEntries(s, "r.yaml", []byte("readings for: dm3\n"+c.body+"\n"))
		if c.want == "" && err != nil || c.want != "" && (err == nil || !strings.Contains(err.Error(), c.want)) {
			t.Errorf("%q: %v, want %q in it", c.body, err, c.want)
		}
	}
}

// Entries instead take the places of those that count now, of their kind, step
// and spot; a pack goes into the drive as it is; the job is not touched.
func TestInstead(t *testing.T) {
	s, err := sheet.Read("dm3.yaml", []byte(storySheet(t)))
	if err != nil {
		t.Fatal(err)
	}
	job, err := sheet.ReadEntries(s, "job.yaml", []byte(`readings for: dm3
pieces: {S-31: {standard: tall post, size: 75.004 mm}, E-02: {standard: straightedge, size: 12.006 mm}}
stock: {shims: [{leaf: 1.00 mm, count: 1}], other: [{leaf: 0.50 mm, count: 1}]}
entries:
  - {step: pinion distance, digits: +8}
  - {step: pinion face height, pieces: [S-31, E-02], presses: [33.38 mm, 33.39 mm]}
  - {step: pinion pack, fit: {measured: 1.37 mm}}
  - {step: backlash, at: {0 deg: [0.30 mm], 90 deg: [0.31 mm]}}
  - {step: pinion pack, fit: {measured: 1.35 mm}}
  - {step: backlash, at: {0 deg: [0.20 mm], 90 deg: [0.21 mm]}}
`))
	if err != nil {
		t.Fatal(err)
	}
	before := slices.Clone(job.List)
	put, err := sheet.ReadInstead(s, "put.yaml", []byte(`readings for: dm3
stock: {shims: [{leaf: 0.10 mm, count: 9}]}
entries:
  - {step: backlash, at: {90 deg: [0.25 mm, 0.26 mm], 180 deg: [0.27 mm]}}
  - {step: pinion pack, fit: {measured: 1.33 mm}}
  - {step: pinion face height, pieces: [S-31, E-02], presses: [33.30 mm]}
  - {step: pinion distance, digits: -8}
`), job)
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	out := sheet.Instead(s, job, put)
	for _, e := range out.List {
		v := e.Value
		if e.Kind == sheet.EntryFit {
			v = e.Measured[0]
		}
		got = append(got, strings.TrimSpace(e.Step+" "+e.Spot)+" "+v.String())
	}
	want := []string{"pinion distance -8 0.01 mm", "pinion face height 33.30 mm", "pinion pack 1.37 mm", "backlash 0 deg 0.30 mm", "backlash 90 deg 0.31 mm",
		"pinion pack 1.35 mm", "backlash 0 deg 0.20 mm", "backlash 90 deg 0.25 mm", "backlash 90 deg 0.26 mm", "backlash 180 deg 0.27 mm", "pinion pack 1.33 mm"}
	if !slices.Equal(got, want) {
		t.Errorf("the entries are\n%s\nwant\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
	if len(out.Trays["shims"]) != 1 || out.Trays["shims"][0].Count != 9 || len(out.Trays["other"]) != 1 || len(out.Pieces) != 2 {
		t.Errorf("stock %v, pieces %v", out.Trays, out.Pieces)
	}
	if len(before) != len(job.List) || job.Trays["shims"][0].Count != 1 {
		t.Error("the job itself was changed")
	}
}
