package remedy

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"shimwright/calc/quantity"
	"shimwright/calc/stock"
)

// bigTray is 40 sizes, ten leaves of each, from step to 2 mm.
func bigTray(b testing.TB, step string, steps int64) stock.Tray {
	rng := rand.New(rand.NewPCG(7, 7))
	unit := quantity.MustExact(step)
	var leaves []stock.Leaf
	seen := map[int64]bool{}
	for len(leaves) < 40 {
		n := steps/40 + rng.Int64N(steps-steps/40)
		if seen[n] {
			continue
		}
		seen[n] = true
		leaves = append(leaves, stock.Leaf{Size: unit.Times(quantity.Whole(n)), Label: fmt.Sprint(n), Count: 10, Measured: true})
	}
	return tray(b, leaves...)
}

// BenchmarkAdvise: a re-shim from 40 sizes × 10, packs of four leaves of these.
func BenchmarkAdvise(b *testing.B) {
	for _, c := range []struct {
		name, step string
		steps      int64
		within     string
		thirds     bool
	}{
		{name: "grid 0.01, setting exact", step: "0.01", steps: 200, within: "0"},
		{name: "grid 0.001, setting exact", step: "0.001", steps: 2000, within: "0"},
		{name: "grid 0.001, setting within 0.02", step: "0.001", steps: 2000, within: "0.02"},
		{name: "grid 0.001, within 0.02, closed by thirds", step: "0.001", steps: 2000, within: "0.02", thirds: true},
	} {
		b.Run(c.name, func(b *testing.B) {
			in := storyFive(b)
			from := bigTray(b, c.step, c.steps)
			all := from.Leaves()
			for i := range in.Packs {
				p := &in.Packs[i]
				p.Tray, p.TrayName = from, "one tray"
				p.Leaves = nil
				for n := range 4 {
					l := all[39-5*n-i]
					l.Count = 1
					p.Leaves = append(p.Leaves, l)
				}
				p.Figure = sumOf(p.Leaves)
			}
			if c.thirds {
				in.Packs[0].Row.Gear, in.Packs[1].Row.Gear = ratio(-2, 3), ratio(1, 3)
			}
			in.Setting.Within = quantity.MustExact(c.within)
			b.ReportAllocs()
			for b.Loop() {
				a, err := Advise(in)
				if err != nil || len(a.Plans) == 0 || a.CutShort {
					b.Fatalf("%+v %v", a, err)
				}
			}
		})
	}
}

// BenchmarkKeepBacklash: another setting with the wheel where it is, from 40
// sizes × 10.
func BenchmarkKeepBacklash(b *testing.B) {
	in := settingOf(b, wheelRows("closed"), wheelRows("closed"), "-0.04", "-0.08")
	from := bigTray(b, "0.01", 200)
	for i := range in.Packs {
		in.Packs[i].Tray, in.Packs[i].TrayName = from, "one tray"
	}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := KeepBacklash(in); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkNextSpacer: the next spacer after a hundred trials.
func BenchmarkNextSpacer(b *testing.B) {
	in := spacer()
	for i := range mostTrials {
		in.Trials = append(in.Trials, Trial{ex("12.50").Add(ex("0.001").Times(quantity.Whole(int64(i)))), ex("9.0").Sub(ex("0.01").Times(quantity.Whole(int64(i))))})
	}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := NextSpacer(in); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkLookup: a marking looked up in the usual table.
func BenchmarkLookup(b *testing.B) {
	table := CommonTable()
	seen := []Seen{{"drive", "toe"}, {"coast", "heel"}}
	table.Alias = map[string]string{"drive": "concave", "coast": "convex"}
	b.ReportAllocs()
	for b.Loop() {
		if a, err := table.Lookup(seen, 0, false); err != nil || a.Gear != "pinion" {
			b.Fatal(a, err)
		}
	}
}
