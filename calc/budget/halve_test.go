package budget_test

import (
	"math"
	"strings"
	"testing"

	"shimwright/calc/budget"
	"shimwright/calc/quantity"
)

func gauge(kind budget.Kind, size string, coef int64) budget.Source {
	return budget.Source{Name: "D07", Kind: kind, Size: ex(size), Coef: whole(coef), Gauge: "D07"}
}

func repeats(name, s string, n int) budget.Source {
	return budget.Source{Name: name, Kind: budget.Repeats, Size: ex(s), N: n, DF: 20, Pool: "shop", Coef: whole(1), Gauge: "D07"}
}

func gainsOf(t *testing.T, sources ...budget.Source) map[budget.Means]budget.Gain {
	t.Helper()
	out := map[budget.Means]budget.Gain{}
	for _, g := range work(t, sources...).Halve() {
		if _, met := out[g.Means]; !met {
			out[g.Means] = g
		}
	}
	return out
}

func TestHalveWithOneGauge(t *testing.T) {
	edge := piece("straightedge", -2)
	edge.Through = true
	g := gainsOf(t, gauge(budget.LimitOfError, "0.02", 2), gauge(budget.Resolution, "0.01", 1), repeats("press", "0.005", 3), edge)
	// u² = (2·0.02)²/3 + 0.01²/12 + 0.005²/3 + (2·0.001)²
	big, step, rep, se := 0.0016/3, 0.0001/12, 0.000025/3, 4e-6
	now := 2 * math.Sqrt(big+step+rep+se)
	for _, c := range []struct {
		means  budget.Means
		name   string
		then   float64
		halves bool
		say    string
	}{
		{budget.WithoutLargest, "D07", 2 * math.Sqrt(step+rep+se), true, "Without D07 (96 % of the variance) U would be 0.0091 mm instead of 0.0471 mm: that halves it."},
		{budget.HalveLargest, "D07", 2 * math.Sqrt(big/4+step+rep+se), false, "With D07 half as large U would be 0.0248 mm instead of 0.0471 mm: that does not halve it."},
		{budget.ZeroOnPiece, "", 2 * math.Sqrt(big/100+step+rep+4*step), true, "Zeroed on a piece through the same setup"},
		{budget.MorePresses, "", 2 * math.Sqrt(big+step+rep/20+se), false, "More presses cannot halve it: repeats are only 2 % of the variance, and with 20 times as many U would still be 0.0467 mm instead of 0.0471 mm."},
	} {
		got := g[c.means]
		if got.Name != c.name || math.Abs(float(got.Then)-c.then) > 1e-12 || got.Halves != c.halves || math.Abs(float(got.Now)-now) > 1e-12 {
			t.Errorf("means %d: %+v, want U %v", c.means, got, c.then)
		}
		if said := got.Say(quantity.MM, 4); !strings.Contains(said, c.say) {
			t.Errorf("said %q, want %q", said, c.say)
		}
	}
	better := g[budget.BetterGauge]
	limit := math.Sqrt((now*now/16 - step - rep - se) * 3 / 4)
	if got := float(better.Limit); got > limit || got < limit*0.99 || !better.Halves {
		t.Errorf("limit of error needed %v, want just under %v", got, limit)
	}
	if said := better.Say(quantity.MM, 3); said != "In place of gauge D07, one with limit of error 0.0094 mm: U would be 0.024 mm instead of 0.047 mm, that halves it." {
		t.Errorf("said %q", said)
	}
}

func TestHalveByPresses(t *testing.T) {
	g := gainsOf(t, gauge(budget.LimitOfError, "0.002", 1), repeats("press", "0.02", 1))
	more := g[budget.MorePresses]
	// 0.0004/n + 0.000004/3 is a quarter of 0.0004 + 0.000004/3 from n = 5 on.
	if more.Times != 5 || !more.Halves {
		t.Errorf("%+v", more)
	}
	if said := more.Say(quantity.MM, 3); said != "With 5 times as many presses U would be 0.018 mm instead of 0.040 mm: that halves it." {
		t.Errorf("said %q", said)
	}
	if better := g[budget.BetterGauge]; better.Halves || better.Say(quantity.MM, 4) != "Without any error of gauge D07 U would be 0.0400 mm instead of 0.0401 mm: a better gauge cannot halve it." {
		t.Errorf("%q", better.Say(quantity.MM, 4))
	}
	none := gainsOf(t, gauge(budget.LimitOfError, "0.02", 1))[budget.MorePresses]
	if none.Times != 0 || none.Say(quantity.MM, 3) != "More presses change nothing: no repeats stand in this figure, U stays 0.023 mm." {
		t.Errorf("%q", none.Say(quantity.MM, 3))
	}
}

// With several gauges each is spoken of alone, then all; one whose zero and
// scale are known apart is asked for a part of them.
func TestHalveWithSeveralGauges(t *testing.T) {
	other := budget.Source{Name: "D08", Kind: budget.GaugeZero, Size: ex("0.02"), Coef: whole(1), Gauge: "D08"}
	b := work(t, gauge(budget.GaugeZero, "0.02", 1), other, budget.Source{Name: "mark", Kind: budget.MarkRounding, Size: ex("0.01"), Coef: whole(1)})
	var said []string
	for _, g := range b.Halve() {
		if g.Means == budget.BetterGauge {
			said = append(said, g.Say(quantity.MM, 3))
		}
	}
	want := []string{
		"Without any error of gauge D07 U would be 0.024 mm instead of 0.033 mm: a better gauge cannot halve it.",
		"Without any error of gauge D08 U would be 0.024 mm instead of 0.033 mm: a better gauge cannot halve it.",
		"In place of all gauges, better gauges with 0.475 of the present errors: U would be 0.017 mm instead of 0.033 mm, that halves it.",
	}
	if strings.Join(said, "\n") != strings.Join(want, "\n") {
		t.Errorf("said\n%s", strings.Join(said, "\n"))
	}
}

func TestNoComparatorWithoutGauge(t *testing.T) {
	if g, ok := gainsOf(t, piece("post", 1))[budget.ZeroOnPiece]; ok {
		t.Errorf("no gauge, yet %+v", g)
	}
}

// A better force gauge for a torque is told by its share: its limit of error is
// in newtons, and the figure is not.
func TestBetterGaugeInAnotherUnit(t *testing.T) {
	arm := ex("0.0772")
	b := work(t, budget.Source{Name: "F05", Kind: budget.LimitOfError, Size: ex("0.5"), By: &arm, Coef: whole(1), Gauge: "F05"},
		budget.Source{Name: "pulls", Kind: budget.Resolution, Size: ex("0.1"), By: &arm, Coef: whole(1), Gauge: "F05"})
	for _, g := range b.Halve() {
		if g.Means != budget.BetterGauge {
			continue
		}
		said := g.Say(quantity.NewtonMetre, 4)
		if !g.Limit.IsZero() || g.Factor.IsZero() || !strings.Contains(said, "of the present errors") {
			t.Errorf("limit %s, factor %s: %s", g.Limit, g.Factor, said)
		}
	}
}
