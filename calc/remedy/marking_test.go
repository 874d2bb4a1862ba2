package remedy

import (
	"encoding/csv"
	"errors"
	"os"
	"strings"
	"testing"

	"shimwright/calc/ring"
)

func lookup(t *testing.T, table MarkTable, backlash ring.Verdict, seen ...string) MarkAdvice {
	t.Helper()
	var in []Seen
	for i := 0; i < len(seen); i += 2 {
		in = append(in, Seen{seen[i], seen[i+1]})
	}
	a, err := table.Lookup(in, backlash, false)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

func TestMarkingMoves(t *testing.T) {
	table := CommonTable()
	for _, c := range []struct {
		drive, coast, words string
		gear                string
		way                 int
	}{
		{"high", "high", "pinion goes IN", "pinion", -1},
		{"low", "low", "pinion goes OUT", "pinion", +1},
		{"heel", "heel", "wheel goes TOWARD the pinion", "wheel", -1},
		{"toe", "toe", "wheel goes AWAY", "wheel", +1},
		{"central", "central", "as it should be", "", 0},
		{"lame", "central", "no shim mends it", "", 0},
		{"high", "crossed", "no shim mends it", "", 0},
	} {
		a := lookup(t, table, ring.Good, "drive", c.drive, "coast", c.coast)
		if !a.Known || a.Gear != c.gear || a.Way != c.way || a.From == "" {
			t.Errorf("%s and %s: %+v", c.drive, c.coast, a)
		}
		says(t, a.Words, c.words)
	}
	a := lookup(t, table, ring.Good, "drive", "high", "coast", "heel")
	if a.Known || a.Gear != "" {
		t.Errorf("%+v", a)
	}
	says(t, a.Words, "No advice", "high on drive, heel on coast", "ask the bay lead")
}

func TestMarkingBySpiralFlanks(t *testing.T) {
	table := CommonTable()
	if a := lookup(t, table, ring.Good, "convex", "toe", "concave", "heel"); a.Gear != "pinion" || a.Way != -1 {
		t.Errorf("%+v", a)
	}
	if a := lookup(t, table, ring.Good, "concave", "toe", "convex", "heel"); a.Gear != "pinion" || a.Way != +1 {
		t.Errorf("%+v", a)
	}
	if a := lookup(t, table, ring.Good, "drive", "toe", "coast", "heel"); a.Known {
		t.Errorf("flanks were guessed: %+v", a)
	}
	table.Alias = map[string]string{"drive": "convex", "coast": "concave"}
	if a := lookup(t, table, ring.Good, "drive", "toe", "coast", "heel"); a.Gear != "pinion" || a.Way != -1 {
		t.Errorf("%+v", a)
	}
}

func TestWhichFirst(t *testing.T) {
	says(t, lookup(t, CommonTable(), ring.OutHigh, "drive", "high", "coast", "high").Words, "Backlash into its band first, then mark again")
	says(t, lookup(t, CommonTable(), ring.Good, "drive", "high", "coast", "high").Words, "bring backlash back into its band, mark again")
	a, err := CommonTable().Lookup([]Seen{{"drive", "high"}, {"coast", "high"}}, ring.Good, true)
	if err != nil || !strings.Contains(a.Warning, "Straight teeth") {
		t.Errorf("%+v %v", a, err)
	}
}

// The rules agree with testdata/contact_pattern.csv, which names its sources
// row by row; one manual prints the members the other way about, and is a table
// too.
func TestMarkTablesAgainstTheSources(t *testing.T) {
	f, err := os.Open("testdata/contact_pattern.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	seen := map[string][]string{
		"high":        {"drive", "high", "coast", "high"},
		"low":         {"drive", "low", "coast", "low"},
		"toe":         {"drive", "toe", "coast", "toe"},
		"heel":        {"drive", "heel", "coast", "heel"},
		"convex toe":  {"convex", "toe", "concave", "heel"},
		"concave toe": {"concave", "toe", "convex", "heel"},
	}
	done := 0
	for _, r := range rows[1:] {
		for start, marks := range seen {
			if !strings.HasPrefix(r[0], start) {
				continue
			}
			done++
			a := lookup(t, CommonTable(), ring.Good, marks...)
			gear := "pinion"
			if strings.Contains(r[1], "crown wheel") {
				gear = "wheel"
			}
			way := -1
			if strings.Contains(r[2], "away") {
				way = +1
			}
			if a.Gear != gear || a.Way != way {
				t.Errorf("%s: %s %d, the source has %s %s", r[0], a.Gear, a.Way, r[1], r[2])
			}
		}
	}
	if done != 6 {
		t.Errorf("%d rows compared, want 6", done)
	}
	other := CrosswiseTable()
	for mark, gear := range map[string]string{"toe": "pinion", "heel": "pinion", "high": "wheel", "low": "wheel"} {
		a := lookup(t, other, ring.Good, "drive", mark, "coast", mark)
		if a.Gear != gear || a.Way != 0 {
			t.Errorf("%s: %+v", mark, a)
		}
		says(t, a.Words, "which way stands in the manual's picture")
	}
	says(t, lookup(t, other, ring.Good, "drive", "crossed", "coast", "central").Words, "the pair is to be rejected")
}

func TestMarkTableRefuses(t *testing.T) {
	rule := MarkRule{When: every("high"), Gear: "pinion", Way: -1, From: "invented"}
	for name, table := range map[string]MarkTable{
		"no name":   {Rules: []MarkRule{rule}},
		"no rule":   {Name: "x"},
		"twice":     {Name: "x", Rules: []MarkRule{rule, rule}},
		"no source": {Name: "x", Rules: []MarkRule{{When: every("high"), Gear: "pinion", Way: -1}}},
		"gear":      {Name: "x", Rules: []MarkRule{{When: every("high"), Gear: "crown", Way: -1, From: "x"}}},
		"way":       {Name: "x", Rules: []MarkRule{{When: every("high"), Gear: "pinion", Way: 2, From: "x"}}},
		"no gear":   {Name: "x", Rules: []MarkRule{{When: every("high"), Way: 1, From: "x"}}},
		"nothing":   {Name: "x", Rules: []MarkRule{{When: every("high"), From: "x"}}},
		"good":      {Name: "x", Rules: []MarkRule{{When: every("high"), Good: true, Gear: "wheel", From: "x"}}},
	} {
		var p *Problem
		if _, err := table.Lookup([]Seen{{"drive", "high"}}, ring.Good, false); !errors.As(err, &p) {
			t.Errorf("%s: got %v", name, err)
		}
	}
	for _, table := range []MarkTable{CommonTable(), CrosswiseTable()} {
		if err := table.Check(); err != nil {
			t.Error(err)
		}
	}
	if _, err := CommonTable().Lookup([]Seen{{"drive", "high"}, {"drive", "low"}}, ring.Good, false); err == nil {
		t.Error("a flank twice was taken")
	}
}
