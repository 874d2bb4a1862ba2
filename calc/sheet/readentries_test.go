package sheet_test

import (
	"slices"
	"strings"
	"testing"

	"shimwright/calc/document"
	"shimwright/calc/sheet"
)

// every is the sheet that holds every key.
func every(t testing.TB) *sheet.Sheet {
	t.Helper()
	return mustRead(t, "every.yaml", files(t, "testdata/good/*.yaml")["every.yaml"])
}

// Readings with one thing wrong are refused for it, at its place.
func TestBadReadings(t *testing.T) {
	s := every(t)
	for name, text := range files(t, "testdata/readings/bad/*.yaml") {
		t.Run(name, func(t *testing.T) {
			_, err := sheet.ReadEntries(s, name, text)
			holdFaults(t, name, text, err)
		})
	}
}

func goodReadings(t *testing.T) sheet.Entries {
	t.Helper()
	e, err := sheet.ReadEntries(every(t), "every.yaml", files(t, "testdata/readings/good/*.yaml")["every.yaml"])
	if err != nil {
		t.Fatal(err)
	}
	return e
}

// word says an entry in one line, so that a table can hold it.
func word(e sheet.Entry) string {
	kinds := map[sheet.EntryKind]string{
		sheet.EntryPress: "press", sheet.EntryIn: "in", sheet.EntryDigits: "digits", sheet.EntryFigure: "figure",
		sheet.EntryAbsent: "absent", sheet.EntryFit: "fit", sheet.EntryAnswer: "answer", sheet.EntryDone: "done",
		sheet.EntryAgain: "again", sheet.EntryMetal: "metal", sheet.EntrySeen: "seen", sheet.EntryMove: "move",
	}
	parts := []string{e.Step, kinds[e.Kind], e.Spot, e.Gauge, strings.Join(e.Pieces, "+"), e.Text, e.Gear, strings.Join(e.Lengths, "+")}
	if e.Value.String() != "0" {
		parts = append(parts, e.Value.String())
	}
	for _, v := range slices.Concat(e.Leaves, e.Measured) {
		parts = append(parts, v.String())
	}
	return strings.Join(slices.DeleteFunc(parts, func(s string) bool { return s == "" }), " ")
}

func TestEntriesAsWritten(t *testing.T) {
	var got []string
	for _, e := range goodReadings(t).List {
		got = append(got, word(e))
	}
	want := []string{
		"casing number answer 00123",
		"cover number answer 00123",
		"bearings answer new",
		"hours run answer 4100.5",
		"cleaned done",
		"tooth form digits -2 0.01 mm",
		"pinion distance digits 3 thou",
		"casing distance figure 160.02 mm",
		"head press R-1 0.10 mm", "head press R-1 0.12 mm",
		"head again the plate was dirty",
		"head press R-1 0.11 mm", "head press R-1 0.11 mm",
		"face height press D07 T-1+T-2+M-1+E-1 31.21 mm",
		"face height press D07 T-1+T-2+M-1+E-1 31.22 mm",
		"face height press D07 T-1+T-2+M-1+E-1 1.2291 in",
		"pinion pack press M02 1.37 mm", "pinion pack press M02 1.37 mm", "pinion pack fit",
		"pinion pack fit 1.00 mm 0.37 mm 1.37 mm 1.38 mm",
		"run-out press 0 deg 0.50 mm", "run-out press 120 deg 0.51 mm",
		"overall in", "overall press D08 R-1 125.00 mm",
		"old closing pack fit 1.65 mm",
		"float as it was press pull I03 1.00 mm", "float as it was press push I03 1.07 mm",
		"turning torque press 38.0 N", "turning torque press 8.5 lbf",
		"marking seen",
		"marking move pinion -0.15 mm", "marking move wheel 6 thou",
		"backlash metal the tracks were reseated back pack+plug depth",
		"cover bolts press 48.0 N.m",
	}
	for i := range max(len(got), len(want)) {
		if i >= len(got) || i >= len(want) || got[i] != want[i] {
			t.Fatalf("entry %d: got %q, want %q", i, got[i:min(i+1, len(got))], want[i:min(i+1, len(want))])
		}
	}
}

func TestEntriesKeepTheirPiecesGaugesAndStock(t *testing.T) {
	e := goodReadings(t)
	if p := e.Pieces["T-2"]; p.Standard != "twin posts" || p.Size.String() != "50.004 mm" || p.ID != "T-2" {
		t.Errorf("piece %+v", p)
	}
	if e.Gauges["D07"].CountsIn || !e.Gauges["D08"].CountsIn || e.Gauges["M02"].CountsIn || e.Gauges["D08"].Kind != "depth gauge" {
		t.Errorf("gauges %+v", e.Gauges)
	}
	if tray := e.Trays["shims"]; len(tray) != 2 || tray[0].Count != 5 || tray[1].Count != 0 || tray[1].Size.String() != "0.30 mm" {
		t.Errorf("tray %+v", e.Trays)
	}
	i := slices.IndexFunc(e.List, func(x sheet.Entry) bool { return x.Kind == sheet.EntryIn })
	if in, asked := e.List[i].In["back pack"]; in || !asked {
		t.Errorf("in %+v", e.List[i].In)
	}
	i = slices.IndexFunc(e.List, func(x sheet.Entry) bool { return x.Kind == sheet.EntrySeen })
	if seen := e.List[i].Seen; seen["drive"] != "central" || seen["coast"] != "high" {
		t.Errorf("seen %+v", seen)
	}
	i = slices.IndexFunc(e.List, func(x sheet.Entry) bool { return x.Value.String() == "31.22 mm" })
	if at := e.List[i].At; at != (document.Pos{Line: 32, Column: 25}) {
		t.Errorf("the press is at %v", at)
	}
	for _, x := range e.List {
		if x.Virtual || x.Keyed {
			t.Errorf("%s passes for a gauge's own or a virtual press", x.Step)
		}
		if changes := x.Kind == sheet.EntryFit || x.Kind == sheet.EntryMetal; changes != x.ChangesMetal() {
			t.Errorf("%s changes metal: %v", word(x), x.ChangesMetal())
		}
	}
}

// A mark that is said not to be absent needs its digits; an absent one that
// means nought needs none.
func TestAbsentMark(t *testing.T) {
	s := mustRead(t, "pinion.yaml", files(t, "testdata/good/*.yaml")["pinion.yaml"])
	read := func(item string) (sheet.Entries, error) {
		return sheet.ReadEntries(s, "r.yaml", []byte("readings for: pinion\nentries:\n  - "+item+"\n"))
	}
	e, err := read("{step: casing distance, absent: yes}")
	if err != nil || len(e.List) != 1 || e.List[0].Kind != sheet.EntryAbsent {
		t.Errorf("%+v, %v", e.List, err)
	}
	e, err = read("{step: casing distance, absent: no, digits: -3}")
	if err != nil || len(e.List) != 1 || e.List[0].Kind != sheet.EntryDigits {
		t.Errorf("%+v, %v", e.List, err)
	}
}

func TestReadingsAreBounded(t *testing.T) {
	s := every(t)
	item := "  - {step: cleaned, done: yes}\n"
	_, err := sheet.ReadEntries(s, "r.yaml", []byte("readings for: every\nentries:\n"+strings.Repeat(item, 5001)))
	if err == nil || !strings.Contains(err.Error(), "this list has 5001 items: at most 5000 are read") {
		t.Errorf("5001 entries: %v", err)
	}
	if _, err = sheet.ReadEntries(s, "r.yaml", []byte("readings for: every\nentries:\n"+strings.Repeat(item, 5000))); err != nil {
		t.Errorf("5000 entries: %v", err)
	}
}
