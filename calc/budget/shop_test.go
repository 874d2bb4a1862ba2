package budget_test

import (
	"math"
	"testing"

	"github.com/shopspring/decimal"

	"shimwright/calc/budget"
	"shimwright/calc/quantity"
	"shimwright/calc/ring"
)

// A limitOf is how a depth gauge's errors are put into a budget. The figures of
// the trade give only the limit of error, 0.02 mm, and the results; the rest
// is guessed here: resolution 0.01 mm, single readings that scatter by 0.0045 mm
// with plenty behind it, pieces certified to 0.002 mm (k = 2).
type limitOf func(gauge string, coef int64) budget.Source

// plain is the rule as common practice states it: the whole limit of error, and
// the resolution beside it.
func plain(gauge string, coef int64) budget.Source {
	return budget.Source{Name: gauge, Kind: budget.LimitOfError, Size: ex("0.02"), Coef: whole(coef), Gauge: gauge}
}

// inside is the guess that reproduces the figures to their last digit: the
// limit of error was proved with readings of that resolution, so one step's
// part is inside it already: u² = 0.02²/3 − 0.01²/12.
func inside(gauge string, coef int64) budget.Source {
	u := decimal.NewFromFloat(math.Sqrt(0.02*0.02/3 - 0.01*0.01/12)).Round(15)
	return budget.Source{Name: gauge, Kind: budget.Stated, Size: quantity.FromDecimal(u), Coef: whole(coef), Gauge: gauge}
}

func reading(gauge, press string) []budget.Source {
	return []budget.Source{
		{Name: press, Kind: budget.Resolution, Size: ex("0.01"), Coef: whole(1), Gauge: gauge},
		{Name: press, Kind: budget.Stated, Size: ex("0.0045"), Coef: whole(1), Gauge: gauge},
	}
}

func piece(name string, coef int64) budget.Source {
	return budget.Source{Name: name, Kind: budget.CertifiedPiece, Size: ex("0.002"), K: ex("2"), Coef: whole(coef)}
}

func join(groups ...[]budget.Source) []budget.Source {
	var out []budget.Source
	for _, g := range groups {
		out = append(out, g...)
	}
	return out
}

// figures are the five situations.
func (limit limitOf) figures() map[string][]budget.Source {
	one := reading("D07", "press 1")
	two := join(one, reading("D07", "press 2"))
	three := join(two, reading("D07", "press 3"))
	pieces := []budget.Source{piece("post A", 1), piece("post B", -1), piece("straightedge", -2)}
	return map[string][]budget.Source{
		"absolute":   join(one, []budget.Source{limit("D07", 1), piece("post A", 1), piece("straightedge", 1)}),
		"comparator": join(one, []budget.Source{piece("post A", 1), {Name: "zero", Kind: budget.Resolution, Size: ex("0.01"), Coef: whole(1)}}),
		"two":        join(two, []budget.Source{limit("D07", 2)}, pieces),
		"three":      join(three, []budget.Source{limit("D07", 3)}, pieces),
		"separate":   join(three, []budget.Source{limit("D07", 1), limit("D08", 1), limit("D09", 1)}, pieces),
	}
}

// Orders of size for a gauge with limit of error 0.02 mm, k = 2: common
// practice, no source; what was assumed for them is not written down. Both sets
// of guesses are held to them: the plain rule to
// within 0.002 mm, the other to the last digit.
func TestShopFiguresOrderOfSize(t *testing.T) {
	want := map[string]string{"absolute": "0.025", "comparator": "0.012", "two": "0.047", "three": "0.070", "separate": "0.043"}
	for name, sources := range limitOf(plain).figures() {
		b := work(t, sources...)
		off := b.Expanded.Sub(ex(want[name]))
		if ex("0.002").Less(off.Abs()) {
			t.Errorf("plain, %s: U %s, the trade says about %s", name, shown(b.Expanded, 4), want[name])
		}
	}
	for name, sources := range limitOf(inside).figures() {
		b := work(t, sources...)
		if got := shown(b.Expanded, 3); got != want[name] {
			t.Errorf("inside, %s: U %s, the trade says %s", name, got, want[name])
		}
	}
}

// One thing met twice counts twice, whether given once or place by place.
func TestMetTwiceCountsTwice(t *testing.T) {
	noise := budget.Source{Name: "press", Kind: budget.Resolution, Size: ex("0.01"), Coef: whole(1)}
	once := work(t, noise, piece("straightedge", -2))
	twice := work(t, piece("straightedge", -1), noise, piece("straightedge", -1))
	if !once.Standard.Equal(twice.Standard) || !twice.Lines[1].Coef.Equal(whole(-2)) {
		t.Errorf("met twice: u %s, coefficient %s; given once with 2: u %s", twice.Standard, twice.Lines[1].Coef, once.Standard)
	}
	other := work(t, piece("straightedge 1", -1), noise, piece("straightedge 2", -1))
	if !other.Standard.Less(twice.Standard) {
		t.Errorf("two straightedges give u %s, one twice %s", other.Standard, twice.Standard)
	}
	cancels := work(t, piece("straightedge", 1), noise, piece("straightedge", -1))
	if alone := work(t, noise); !cancels.Standard.Equal(alone.Standard) {
		t.Errorf("a straightedge that cancels leaves u %s, without it %s", cancels.Standard, alone.Standard)
	}
	if last := cancels.Lines[1]; !last.Coef.IsZero() || !last.Share.IsZero() {
		t.Errorf("a straightedge that cancels has coefficient %s and share %s", last.Coef, last.Share)
	}
}

// The closing sum: three readings of one sign with one gauge. The zero counts
// 3, not √3; the scale counts on the summed reading.
func TestZeroAndScaleOfOneGauge(t *testing.T) {
	b := work(t,
		budget.Source{Name: "D07", Kind: budget.GaugeZero, Size: ex("0.01"), Coef: whole(1), Gauge: "D07"},
		budget.Source{Name: "D07", Kind: budget.GaugeZero, Size: ex("0.01"), Coef: whole(1), Gauge: "D07"},
		budget.Source{Name: "D07", Kind: budget.GaugeZero, Size: ex("0.01"), Coef: whole(1), Gauge: "D07"},
		budget.Source{Name: "D07", Kind: budget.GaugeScale, Size: ex("0.0002"), Coef: whole(1), By: by("18.74"), Gauge: "D07"},
		budget.Source{Name: "D07", Kind: budget.GaugeScale, Size: ex("0.0002"), Coef: whole(1), By: by("31.48"), Gauge: "D07"},
		budget.Source{Name: "D07", Kind: budget.GaugeScale, Size: ex("0.0002"), Coef: whole(1), By: by("26.99"), Gauge: "D07"},
	)
	zero, scale := 3*0.01/math.Sqrt(3), 77.21*0.0002/math.Sqrt(3)
	if got := float(b.Standard); math.Abs(got-math.Hypot(zero, scale)) > 1e-12 {
		t.Errorf("u = %v, want %v", got, math.Hypot(zero, scale))
	}
	if len(b.Lines) != 2 || b.Lines[0].Kind != budget.GaugeZero || !b.Lines[1].Reach.Equal(ex("77.21")) {
		t.Errorf("lines are %+v", b.Lines)
	}
	if !math.IsInf(b.DF, 1) || shown(b.T, 6) != "2.000000" {
		t.Errorf("endless degrees of freedom: %v, t %s", b.DF, b.T)
	}
}

// The budget's guard band goes into the one verdict there is.
func TestGuardGoesIntoVerdict(t *testing.T) {
	b := work(t,
		budget.Source{Name: "press", Kind: budget.Repeats, Size: ex("0.004"), N: 3, Coef: whole(1)},
		budget.Source{Name: "D07", Kind: budget.LimitOfError, Size: ex("0.002"), Coef: whole(1)})
	band := ring.Band{Low: ex("0.15"), High: ex("0.25")}
	for _, c := range []struct {
		guard budget.Guard
		at    string
		want  ring.Verdict
	}{
		{budget.Guard{}, "0.244", ring.Good},
		{budget.Guard{}, "0.246", ring.TooClose},
		{budget.Guard{Way: budget.Fixed, K: ex("1")}, "0.246", ring.Good},
		{budget.Guard{Way: budget.Student}, "0.244", ring.TooClose}, // few repeats: t is above 2
		{budget.Guard{Way: budget.Simple}, "0.25", ring.Good},
		{budget.Guard{Way: budget.Simple}, "0.2501", ring.OutHigh},
	} {
		u, err := c.guard.Band(b)
		if err != nil {
			t.Fatal(err)
		}
		if got := band.Judge(ex(c.at), u, ring.Guarded); got != c.want {
			t.Errorf("%s with %s, guard band %s: %s, want %s", c.at, c.guard.Way, shown(u, 4), got, c.want)
		}
	}
}

// Repeats that share a pooled standard deviation are wrong together: three
// means with one pooled s of 12 degrees of freedom have 12, not 36.
func TestPooledRepeats(t *testing.T) {
	mean := func(name, pool string) budget.Source {
		return budget.Source{Name: name, Kind: budget.Repeats, Size: ex("0.005"), N: 3, DF: 12, Pool: pool, Coef: whole(1)}
	}
	shared := work(t, mean("a", "shop"), mean("b", "shop"), mean("c", "shop"))
	apart := work(t, mean("a", ""), mean("b", ""), mean("c", ""))
	if math.Abs(shared.DF-12) > 1e-9 || math.Abs(apart.DF-36) > 1e-9 {
		t.Errorf("effective degrees of freedom: pooled %v, want 12; apart %v, want 36", shared.DF, apart.DF)
	}
	if !near(shared.Standard, apart.Standard) {
		t.Errorf("the pool changes u from %s to %s", apart.Standard, shared.Standard)
	}
}
