package sheet_test

import (
	"testing"

	"shimwright/calc/overhaul"
	"shimwright/calc/sheet"
)

// The demonstration's sheets read, their examples come out, and no example is
// blind to a figure that it uses.
func TestDemonstrationSheets(t *testing.T) {
	for name, text := range files(t, "../../cmd/shimwright/sheets/*.yaml") {
		t.Run(name, func(t *testing.T) {
			s := mustRead(t, name, text)
			res, err := overhaul.CheckExample(s)
			if err != nil {
				t.Fatal(err)
			}
			for _, r := range res.Steps {
				if r.Status == overhaul.Stopped || r.Status == overhaul.Held || r.Problem != "" {
					t.Errorf("%s is %s: %s", r.Step.Name, r.Status, r.Problem)
				}
				if c := r.Pack; c != nil && c.Closure != nil && !c.Closure.Good {
					t.Errorf("%s does not close: %s", r.Step.Name, c.Closure.Value)
				}
			}
		})
	}
}

// Each demonstration sheet has packs in places where a slip of sign would
// show the other way round from the other's.
func TestDemonstrationSheetsMirrorOneAnother(t *testing.T) {
	for name, want := range map[string]map[string]string{
		"fw3.yaml": {
			"pinion pack": "setting unchanged, pinion goes OUT", "wheel pack": "tighter, wheel goes TOWARD the pinion",
			"closing pack": "tighter, wheel goes AWAY", "helical pack": "tighter",
		},
		"sluice.yaml": {
			"pinion pack": "setting unchanged, pinion goes IN", "back pack": "looser, wheel goes AWAY",
			"closing pack": "looser, wheel goes TOWARD the pinion", "helical pack": "looser",
		},
	} {
		s := mustRead(t, name, files(t, "../../cmd/shimwright/sheets/*.yaml")[name])
		for pack, row := range want {
			if got := s.RowWords(step(t, s, pack).Pack); got != row {
				t.Errorf("%s of %s: %q, want %q", pack, name, got, row)
			}
		}
		for _, st := range s.Steps() {
			if st.Kind != sheet.KindConfirm && st.Kind != sheet.KindRecord && st.Say == "" {
				t.Errorf("%s of %s says nothing to the fitter", st.Name, name)
			}
		}
	}
}
