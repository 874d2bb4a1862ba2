package checks

import (
	"strings"
	"testing"

	"github.com/shopspring/decimal"

	"shimwright/calc/network"
	"shimwright/calc/overhaul"
	"shimwright/calc/quantity"
	"shimwright/calc/remedy"
	"shimwright/calc/stat/checktest"
)

const (
	tradePart = "Facts of the trade"
	trade     = "common practice, no source"
)

func TestTrade(t *testing.T) {
	rows := oneRadiusRows(t)
	rows = append(rows, usedBearingRows(t)...)
	rows = append(rows, likePlaceRows(t)...)
	rows = append(rows, preloadRows(t)...)
	hold(t, tradePart, checktest.Section{Title: "Common practice, no source", Rows: rows})
}

// oneRadiusRows: 1.7 to 2.8 N·m are 2.5 to 4.2 kgf on one and the same housing:
// some radius makes both true to the digit printed.
func oneRadiusRows(t *testing.T) []checktest.Row {
	radii := func(pull, torque string) remedy.Radii {
		r, err := remedy.RadiusOf(value(t, pull), value(t, torque))
		if err != nil {
			t.Fatal(err)
		}
		return r
	}
	both := radii("2.5 kgf", "1.7 N.m").And(radii("4.2 kgf", "2.8 N.m"))
	if both.Empty() {
		t.Error("no radius makes both true")
	}
	radius := func(words, form, want string, ours quantity.Exact) checktest.Row {
		return checktest.Compare("radius in mm at which both are true to the digit printed, "+words, "closed form "+form, checktest.Computed, want, ours.Round(9), checktest.All)
	}
	torque := func(pull string) decimal.Decimal {
		x, err := remedy.TorqueOfPull(value(t, pull), value(t, "136.50 mm"), value(t, "0 mm"))
		if err != nil {
			t.Fatal(err)
		}
		return x.Decimal()
	}
	x, err := remedy.TorqueOfPull(value(t, "66.0 N"), value(t, "152.40 mm"), value(t, "2.00 mm"))
	if err != nil {
		t.Fatal(err)
	}
	cord := x.Decimal()
	return []checktest.Row{
		checktest.Compare("2.5 kgf on a radius of 68.25 mm, N.m", trade, checktest.Recalled, "1.7", torque("2.5 kgf"), checktest.All),
		checktest.Compare("4.2 kgf on the same radius, N.m", trade, checktest.Recalled, "2.8", torque("4.2 kgf"), checktest.All),
		radius("from", "1.65 N.m / (2.5 · 9.80665 N)", "67.301270", both.Low),
		radius("to", "2.85 N.m / (4.2 · 9.80665 N)", "69.195029", both.High),
		checktest.Compare("66.0 N on a cord of 2.00 mm round 152.40 mm, N.m: half the cord counts", trade, checktest.Computed, "5.0952", cord, checktest.All),
	}
}

// usedBearingRows: used bearings take the lower end of the band. A sheet says so
// with a band of each; the half is the sheet's, not the program's.
func usedBearingRows(t *testing.T) []checktest.Row {
	s := readSheet(t, "rd3.yaml",
		"window: 1.0 N .. 120.0 N", "window: 0.5 kgf .. 9.0 kgf", "cord runs on: 152.40 mm", "cord runs on: 136.50 mm", "cord: 2.00 mm", "cord: 0.00 mm",
		"{by: pinion bearings, new: 2.00 N.m .. 3.50 N.m, used: 1.00 N.m .. 1.75 N.m}", "{by: pinion bearings, new: 1.70 N.m .. 2.80 N.m, used: 1.70 N.m .. 2.25 N.m}")
	verdict := func(bearings, pull string) string {
		presses := strings.TrimSuffix(strings.Repeat(pull+", ", 4), ", ")
		r := work(t, s, "readings for: rd3\nentries:\n  - {step: pinion bearings, answer: "+bearings+"}\n"+
			"  - {step: pinion spacer, fit: {measured: 9.46 mm}}\n  - {step: pinion turning torque, presses: ["+presses+"]}\n")
		return of(t, r, "pinion turning torque").Check.Verdict.String()
	}
	row := func(bearings, pull, want string) checktest.Row {
		band := map[string]string{"new": "all of 1.7 to 2.8 N.m", "used": "its lower half"}[bearings]
		return checktest.Words(pull+" on that housing, "+bearings+" bearings, which take "+band, trade, checktest.Recalled, want, verdict(bearings, pull))
	}
	return []checktest.Row{
		row("new", "2.6 kgf", "good"), row("used", "2.6 kgf", "good"), row("new", "4.1 kgf", "good"), row("used", "4.1 kgf", "out high"),
	}
}

// likePlaceRows: a transfer between two like places keeps the preload and moves
// the wheel; between unlike ones it changes the preload by twice as much.
func likePlaceRows(t *testing.T) []checktest.Row {
	rows := map[string]network.Row{}
	for _, p := range network.Places() {
		rows[p.Name] = p.Row()
	}
	moved := func(from, to string) quantity.Ratio {
		a, ok := rows[from]
		b, ok2 := rows[to]
		if !ok || !ok2 {
			t.Fatalf("no place %q or %q", from, to)
		}
		return b.Float.Sub(a.Float)
	}
	net := readSheet(t, "rd3.yaml").Net
	closed := network.State{Shaft: "wheel shaft", How: network.Closed}
	row := func(pack string) network.Row {
		r, err := net.Row(pack, "wheel shaft", closed)
		if err != nil {
			t.Fatal(err)
		}
		return r
	}
	inner, closing := row("wheel pack"), row("closing pack")
	const back, tooth, flange = "under the track, wheel-back side", "under the track, tooth side", "under the cover flange, tooth side"
	return []checktest.Row{
		checktest.Words("setting changed by moving one unit of pack between like places, both under a track", trade, checktest.Recalled, "0", moved(tooth, back).String()),
		checktest.Words("the same on a drive's own loops, closed", trade, checktest.Recalled, "0", inner.Float.Sub(closing.Float).String()),
		checktest.Words("and the wheel goes TOWARD by", trade, checktest.Recalled, "-1", inner.Gear.Sub(closing.Gear).String()),
		checktest.Words("setting changed by moving one unit between unlike places, track to flange", trade, checktest.Recalled, "2", moved(back, flange).String()),
	}
}

// preloadRows: 0.003 in is added to the closing gap for preload. Helical shafts
// float by as much: it is taken off under the track and added under the flange.
func preloadRows(t *testing.T) []checktest.Row {
	readings := readFile(t, top("sheets", "br7-job.yaml"))
	with := work(t, readSheet(t, "br7.yaml"), readings)
	without := work(t, readSheet(t, "br7.yaml", "{setting of: wheel shaft, preload: 0.003 in}", "{setting of: wheel shaft, preload: 0.000 in}"), readings)
	still := work(t, readSheet(t, "br7.yaml",
		"{setting of: helical shaft, float: 0.002 in .. 0.004 in}", "{setting of: helical shaft, float: 0.000 in .. 0.000 in}",
		"{setting of: outlet shaft, float: 0.002 in .. 0.004 in}", "{setting of: outlet shaft, float: 0.000 in .. 0.000 in}"), readings)
	row := func(check, pack, want string, from *overhaul.Results) checktest.Row {
		more := worked(t, with, pack).Sub(worked(t, from, pack))
		return checktest.Compare(check, trade, checktest.Recalled, want, more.In(quantity.Inch).Decimal(), checktest.All)
	}
	return []checktest.Row{
		row("pack added to the closing gap for the usual preload, in", "closing pack", "0.003", without),
		row("pack taken off under a helical shaft's track for its float, in", "helical pack", "-0.003", still),
		row("pack added under a helical shaft's flange for its float, in", "outlet pack", "0.003", still),
	}
}
