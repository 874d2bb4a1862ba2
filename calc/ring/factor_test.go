package ring

import (
	"encoding/csv"
	"math/rand/v2"
	"os"
	"strconv"
	"strings"
	"testing"

	"github.com/shopspring/decimal"

	"shimwright/calc/quantity"
)

// Computed values, not published ones; see testdata/README.md.
func TestFactorsAgainstComputedTable(t *testing.T) {
	f, err := os.Open("testdata/backlash_axial_factors_computed.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	for _, row := range rows[1:] {
		pinion, _ := strconv.Atoi(row[0])
		wheel, _ := strconv.Atoi(row[1])
		g := Gears{Pinion: pinion, Wheel: wheel, Shafts: ex(row[2]), Pressure: ex(row[3]), Spiral: ex(row[4])}
		k, err := g.Factors()
		if err != nil {
			t.Fatal(err)
		}
		cone, across, normal := k.PinionCone, k.PinionTransverse, k.PinionNormal
		if row[5] == "wheel" {
			cone, across, normal = k.WheelCone, k.WheelTransverse, k.WheelNormal
		}
		back, err := reciprocal(across)
		if err != nil {
			t.Fatal(err)
		}
		for i, got := range []quantity.Exact{cone, across, normal, back} {
			if want := decimal.RequireFromString(row[6+i]); !got.Round(8).Equal(want) {
				t.Errorf("%s: %s = %s, want %s", strings.Join(row[:6], " "), rows[0][6+i], got, want)
			}
		}
	}
	if len(rows) < 20 {
		t.Errorf("only %d rows read", len(rows))
	}
}

// Figures of the workshop notes for 9/37 teeth at 20 deg pressure, 35 deg
// spiral (computed), and a dial square to the flank.
func TestFactorsOfTheWorkshop(t *testing.T) {
	g := Gears{Pinion: 9, Wheel: 37, Shafts: whole(90), Pressure: whole(20), Spiral: whole(35)}
	k, err := g.Factors()
	if err != nil {
		t.Fatal(err)
	}
	near(t, "kw transverse", k.WheelTransverse.Float(), 0.863, 5e-4)
	near(t, "kp transverse", k.PinionTransverse.Float(), 0.210, 5e-4)
	near(t, "kw normal", k.WheelNormal.Float(), 0.665, 5e-4)
	near(t, "kp normal", k.PinionNormal.Float(), 0.162, 5e-4)
	near(t, "kp/kw", k.PinionNormal.Float()/k.WheelNormal.Float(), 9.0/37, 1e-10)
	n, err := g.Normal(ex("0.200"))
	if err != nil {
		t.Fatal(err)
	}
	near(t, "normal of 0.200", n.Float(), 0.154, 5e-4)
	if by, err := g.NormalPerTransverse(); err != nil || -by.Decimal().Exponent() > FactorPlaces {
		t.Errorf("factor %s, %v: want at most %d places", by, err, FactorPlaces)
	}
	back, err := g.Transverse(n)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "there and back", back.Float(), 0.2, 1e-11)
	g.Spiral = whole(40)
	k, _ = g.Factors()
	near(t, "kw transverse at the heel", k.WheelTransverse.Float(), 0.923, 5e-4)
	g.Spiral = whole(0)
	k, _ = g.Factors()
	near(t, "kw transverse, straight", k.WheelTransverse.Float(), 0.707, 5e-4)
}

// kp/kw is the ratio of teeth, at any shaft angle: both cones share a pitch
// element. The normal factor is the transverse one by cos(pressure)·cos(spiral).
func TestFactorsHangTogether(t *testing.T) {
	rng := rand.New(rand.NewPCG(9, 1))
	for range 500 {
		g := Gears{
			Pinion: 5 + rng.IntN(40), Wheel: 5 + rng.IntN(60), Shafts: whole(1 + rng.Int64N(179)),
			Pressure: whole(10 + rng.Int64N(20)), Spiral: whole(rng.Int64N(121) - 60),
		}
		k, err := g.Factors()
		if err != nil {
			t.Fatal(err)
		}
		ratio := float64(g.Pinion) / float64(g.Wheel)
		near(t, "kp/kw", k.PinionTransverse.Float(), ratio*k.WheelTransverse.Float(), 1e-10)
		n, err := g.Normal(k.WheelTransverse)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "normal", n.Float(), k.WheelNormal.Float(), 1e-10)
		near(t, "cones", k.PinionCone.Add(k.WheelCone).Float(), g.Shafts.Float(), 1e-10)
		if t.Failed() {
			t.Fatalf("%+v", g)
		}
	}
}

func TestGearsRefuse(t *testing.T) {
	good := Gears{Pinion: 9, Wheel: 37, Shafts: whole(90), Pressure: whole(20), Spiral: whole(35)}
	huge := quantity.FromDecimal(decimal.New(1, 1000000000))
	for _, c := range []struct {
		change func(*Gears)
		want   string
	}{
		{func(g *Gears) { g.Pinion = 0 }, "pinion: 0 teeth"},
		{func(g *Gears) { g.Wheel = 1001 }, "wheel: 1001 teeth"},
		{func(g *Gears) { g.Shafts = whole(180) }, "shafts: 180 deg"},
		{func(g *Gears) { g.Shafts = huge }, "shafts: a figure"},
		{func(g *Gears) { g.Pressure = whole(0) }, "pressure angle: 0 deg"},
		{func(g *Gears) { g.Pressure = huge }, "pressure angle: a figure"},
		{func(g *Gears) { g.Spiral = whole(-61) }, "spiral angle: -61 deg"},
		{func(g *Gears) { g.Spiral = huge }, "spiral angle: a figure"},
	} {
		g := good
		c.change(&g)
		if _, err := g.Factors(); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("error %v, want one with %q", err, c.want)
		}
	}
	good.Pressure = whole(50)
	if _, err := good.Normal(ex("0.2")); err == nil {
		t.Error("normal backlash at a pressure angle of 50 deg")
	}
	if _, err := good.Transverse(ex("0.2")); err == nil {
		t.Error("transverse backlash at a pressure angle of 50 deg")
	}
}
