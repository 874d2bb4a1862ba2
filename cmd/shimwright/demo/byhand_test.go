package demo

import (
	"testing"

	"shimwright/calc/quantity"
	"shimwright/calc/sheet"
)

func press(step, spot, figure string) sheet.Entry {
	v, err := quantity.ParseWithUnit(figure + " mm")
	if err != nil {
		panic(err)
	}
	return sheet.Entry{Kind: sheet.EntryPress, Step: step, Spot: spot, Value: v}
}

func TestNextGoesOnByTheFits(t *testing.T) {
	fit := sheet.Entry{Kind: sheet.EntryFit, Step: "pack"}
	script := []sheet.Entry{
		press("pack", "", "1.00"), press("pack", "", "1.01"), fit,
		press("ring", "0 deg", "0.34"), press("ring", "90 deg", "0.33"),
		press("pack", "", "1.20"), press("pack", "", "1.21"), fit,
		press("ring", "0 deg", "0.21"), press("ring", "90 deg", "0.22"),
	}
	for name, c := range map[string]struct {
		had              []sheet.Entry
		step, spot, want string
	}{
		"first":                          {nil, "pack", "", "1.00"},
		"second":                         {script[:1], "pack", "", "1.01"},
		"after the last of a run":        {script[:2], "pack", "", "1.01"},
		"a fitted pack is pressed":       {script[:3], "pack", "", "1.20"},
		"the second of the refit":        {script[:6], "pack", "", "1.21"},
		"first ring":                     {script[:3], "ring", "0 deg", "0.34"},
		"another spot":                   {script[:4], "ring", "90 deg", "0.33"},
		"the ring after the refit":       {script[:8], "ring", "0 deg", "0.21"},
		"and its next spot":              {script[:9], "ring", "90 deg", "0.22"},
		"past the script's end":          {script, "pack", "", "1.20"},
		"another pack than the script's": {append(append([]sheet.Entry{}, script...), fit), "ring", "0 deg", "0.21"},
	} {
		got, ok := next(script, c.had, c.step, c.spot)
		if !ok || got.Value.Digits() != c.want {
			t.Errorf("%s: %s, want %s", name, got.Value, c.want)
		}
	}
	if _, ok := next(script, nil, "nowhere", ""); ok {
		t.Error("there is no such step")
	}
}
