package sheet_test

import (
	"errors"
	"fmt"
	"strings"
	"testing"

	"shimwright/calc/document"
	"shimwright/calc/network"
	"shimwright/calc/sheet"
)

func step(t *testing.T, s *sheet.Sheet, name string) *sheet.Step {
	t.Helper()
	st, ok := s.Step(name)
	if !ok {
		t.Fatalf("no step %q", name)
	}
	return st
}

// Setups as walks: up and down, and how often the reading counts.
func TestSetupsAsWalks(t *testing.T) {
	s := every(t)
	for _, c := range []struct {
		step, words, readings string
		zeroed                bool
	}{
		{"head", "up ring gauge, down the reading", "-1", true},
		{"face height", "up twin posts, up mandrel, up straightedge, down the reading", "-1", false},
		{"wheel height", "up post, down the reading", "-1", true},
		{"lip stands proud", "up post, up the reading, down straightedge", "1", false},
		{"overall", "up ring gauge, up the reading", "1", true},
		{"overall again", "up the reading", "1", false},
	} {
		setup := step(t, s, c.step).Measure.Setup
		if setup.Words() != c.words || setup.Readings().String() != c.readings || setup.ZeroedOnPiece != c.zeroed {
			t.Errorf("%s: %q, readings %s, zeroed on a piece %v", c.step, setup.Words(), setup.Readings(), setup.ZeroedOnPiece)
		}
	}
}

// Two posts side by side count half each, a mandrel half its diameter.
func TestHowMuchAPieceCounts(t *testing.T) {
	s := every(t)
	for name, want := range map[string]string{"post": "1", "twin posts": "1/2", "mandrel": "1/2", "straightedge": "1"} {
		std, ok := s.StandardNamed(name)
		if !ok || std.Each().String() != want {
			t.Errorf("%s counts %s, want %s", name, std.Each(), want)
		}
	}
	if _, ok := s.StandardNamed("none"); ok {
		t.Error("a standard that is not there is found")
	}
}

// The presses that each step wants, and the limits each must keep.
func TestSlotsAndWindows(t *testing.T) {
	s := every(t)
	for _, c := range []struct {
		step   string
		slots  int
		first  string
		window string
	}{
		{"head", 2, "", "-1.00 mm to 1.00 mm"},
		{"pinion pack", 4, "", "0.20 mm to 3.00 mm"},
		{"back pack", 0, "", ""},
		{"run-out", 3, "0 deg", "0.00 mm to 1.00 mm"},
		{"backlash as found", 8, "0 deg", "0.00 mm to 0.80 mm"},
		{"float as it was", 2, "pull", "0.00 mm to 2.00 mm"},
		{"turning torque", 4, "", "1.0 N to 120.0 N"},
		{"cover bolts", 1, "", "1.0 N.m to 120.0 N.m"},
		{"marking", 0, "", ""},
		{"cleaned", 0, "", ""},
		{"bearings", 0, "", ""},
	} {
		st := step(t, s, c.step)
		slots := st.Slots()
		if len(slots) != c.slots || len(slots) > 0 && slots[0].Spot != c.first {
			t.Errorf("%s wants %v", c.step, slots)
		}
		window := ""
		if b, ok := st.Window(); ok {
			window = b.Low.String() + " to " + b.High.String()
		}
		if window != c.window {
			t.Errorf("%s keeps %q, want %q", c.step, window, c.window)
		}
	}
}

// What a press waits for at each step, and how far off a checked zero may be:
// as far as the presses may lie apart, unless the sheet says.
func TestNeeds(t *testing.T) {
	s := every(t)
	for _, c := range []struct {
		step, needs, zero, agree string
		critical                 bool
	}{
		{"head", "zero bearings seated", "0.02 mm", "0.02 mm", false},
		{"turning torque", "zero bearings rolled", "0.2 N", "", true},
		{"face height", "", "", "0.02 mm", false},
		{"marking", "", "", "", false},
	} {
		st := step(t, s, c.step)
		zero, agree := "", ""
		if st.Need(sheet.NeedsZero) {
			zero = st.Zero.String()
		}
		if a, ok := st.Agree(); ok {
			agree = a.String()
		}
		if strings.Join(st.Needs, " ") != c.needs || zero != c.zero || agree != c.agree || st.Critical != c.critical {
			t.Errorf("%s needs %v, zero within %q, agree %q, critical %v", c.step, st.Needs, zero, agree, st.Critical)
		}
	}
}

// A setting's aim is the middle of its band unless said; a preload is kept
// below nought.
func TestAims(t *testing.T) {
	for _, c := range []struct {
		file, wanted   string
		aim, low, high string
	}{
		{"every.yaml", "wheel setting", "0.05", "0.02", "0.1"},
		{"every.yaml", "plug gap", "0.2", "0.1", "0.3"},
		{"wheel.yaml", "wheel setting", "-0.05", "0", "0"},
		{"flange.yaml", "wheel distance", "45.0088", "0", "0"},
	} {
		w, ok := mustRead(t, c.file, files(t, "testdata/good/*.yaml")[c.file]).WantedNamed(c.wanted)
		if !ok || w.Aim.String() != c.aim || w.Low.String() != c.low || w.High.String() != c.high {
			t.Errorf("%s of %s: aim %s, band %s to %s", c.wanted, c.file, w.Aim, w.Low, w.High)
		}
	}
	text := strings.Replace(string(files(t, "testdata/good/*.yaml")["wheel.yaml"]), "preload: 0.05 mm", "preload: 0.05 mm .. 0.10 mm", 1)
	w, _ := mustRead(t, "wheel.yaml", []byte(text)).WantedNamed("wheel setting")
	if w.Aim.String() != "-0.075" || w.Low.String() != "-0.1" || w.High.String() != "-0.05" {
		t.Errorf("a band of preload: aim %s, band %s to %s", w.Aim, w.Low, w.High)
	}
}

// What one more of each pack does, from the network, in words.
func TestRowWords(t *testing.T) {
	for file, rows := range map[string]map[string]string{
		"wheel.yaml":   {"back pack": "tighter, wheel goes TOWARD the pinion", "closing pack": "tighter, wheel goes AWAY"},
		"flange.yaml":  {"back pack": "looser, wheel goes AWAY", "tooth pack": "looser, wheel goes TOWARD the pinion"},
		"helical.yaml": {"cover pack": "looser", "track pack": "tighter"},
		"spacer.yaml":  {"spacer": "looser, pinion does not move"},
		"pinion.yaml":  {"pinion pack": "setting unchanged, pinion goes OUT"},
		"every.yaml":   {"closing pack": "tighter, wheel goes AWAY", "plug pack": ""},
	} {
		s := mustRead(t, file, files(t, "testdata/good/*.yaml")[file])
		for pack, want := range rows {
			if got := s.RowWords(step(t, s, pack).Pack); got != want {
				t.Errorf("%s of %s: %q, want %q", pack, file, got, want)
			}
		}
	}
}

// Every place of the table has a sheet in which a pack is fitted there and
// agrees, or is a pinion's: those are held to their drives in the network's
// tests.
func TestPlacesOfTheGoodSheets(t *testing.T) {
	used := map[string]bool{}
	for name, text := range files(t, "testdata/good/*.yaml") {
		for _, st := range mustRead(t, name, text).Steps() {
			if st.Pack != nil {
				used[st.Pack.Place] = true
			}
		}
	}
	for _, p := range network.Places() {
		if !used[p.Name] && !strings.Contains(p.Name, "pinion") && !strings.Contains(p.Name, "bearing's outer race") {
			t.Errorf("no good sheet has a pack %s", p.Name)
		}
	}
}

// A place in words and the same place by name read as one row.
func TestPlaceInWordsIsHeldAsANamedOne(t *testing.T) {
	text := string(files(t, "testdata/good/*.yaml")["flange.yaml"])
	for from, to := range map[string]string{
		"place: under the cover flange, wheel-back side": "place: {words: back cover, one more is: looser, gear goes: away, held against: wheel-back side}",
		"place: under the cover flange, tooth side":      "place: {words: tooth cover, one more is: looser, gear goes: toward, held against: tooth side}",
	} {
		if !strings.Contains(text, from) {
			t.Fatalf("%q is not in the sheet", from)
		}
		mustRead(t, "flange.yaml", []byte(strings.Replace(text, from, to, 1)))
		wrong := strings.NewReplacer("looser", "tighter", "away", "toward", "toward", "away").Replace(to)
		if _, err := sheet.Read("flange.yaml", []byte(strings.Replace(text, from, wrong, 1))); err == nil {
			t.Errorf("%q is taken", wrong)
		}
	}
}

// Faults laid by others land where the name was written.
func TestFaultsLaidByOthers(t *testing.T) {
	s := every(t)
	var f *document.Fault
	if err := s.Fault("plug gap", "too wide"); !errors.As(err, &f) || f.Error() != "every.yaml:33:3: too wide" {
		t.Errorf("fault %v", err)
	}
	if err := s.Fault("no such name", "odd"); !errors.As(err, &f) || f.Line != 1 || f.Column != 1 {
		t.Errorf("fault %v", err)
	}
	if err := s.FaultAt(document.Pos{Line: 7, Column: 3}, "odd"); err.Error() != "every.yaml:7:3: odd" {
		t.Errorf("fault %v", err)
	}
}

// A sheet is bounded in axes and in steps.
func TestSheetsAreBounded(t *testing.T) {
	head := "sheet: x\nissue: 1\ntitle: x\nmanual: x\nunits: mm\n"
	var axes, steps strings.Builder
	for i := range 21 {
		fmt.Fprintf(&axes, "  a%d: [f%d, g%d]\n", i, i, i)
	}
	if _, err := sheet.Read("x", []byte(head+"axes:\n"+axes.String()+"stages: []\n")); err == nil || !strings.Contains(err.Error(), "x:7:3: 21 axes: at most 20 are read") {
		t.Errorf("21 axes: %v", err)
	}
	for i := range 402 {
		if i%150 == 0 {
			fmt.Fprintf(&steps, "  - stage: s%d\n    steps:\n", i)
		}
		fmt.Fprintf(&steps, "      - {confirm: c%d, say: x}\n", i)
	}
	if _, err := sheet.Read("x", []byte(head+"axes: {a: [f, g]}\nstages:\n"+steps.String())); err == nil || !strings.Contains(err.Error(), "more than 400 steps") {
		t.Errorf("402 steps: %v", err)
	}
}

// A wide sheet is read in no more than its share of time; a timing is looked
// at by eye.
func BenchmarkRead(b *testing.B) {
	for _, name := range []string{"every.yaml", "wheel.yaml"} {
		text := files(b, "testdata/good/*.yaml")[name]
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				if _, err := sheet.Read(name, text); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
