package stat_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/shopspring/decimal"
	"gonum.org/v1/gonum/stat/distuv"

	"shimwright/calc/stat"
)

// normal draws n readings of N(mean, sd²) written to the given places.
func normal(rnd *rand.Rand, n int, mean, sd float64, places int32) []decimal.Decimal {
	out := make([]decimal.Decimal, n)
	for i := range out {
		out[i] = decimal.NewFromFloat(mean + sd*rnd.NormFloat64()).Round(places)
	}
	return out
}

// Adding a constant, however large, changes no spread; a factor goes through;
// the order matters to the autocorrelation only.
func TestSummaryMovesExactly(t *testing.T) {
	rnd := rand.New(rand.NewPCG(5, 6))
	sd, lag, shift, scale := must[decimal.Decimal](t), must[decimal.Decimal](t), dec("1e25"), dec("-0.0254")
	for range 200 {
		x := normal(rnd, 2+rnd.IntN(30), 33, 0.02, 3)
		x = append(x, dec("33.5"))
		var moved, scaled []decimal.Decimal
		for _, v := range x {
			moved, scaled = append(moved, v.Add(shift)), append(scaled, v.Mul(scale))
		}
		a, b, c := must[stat.Summary](t)(stat.Summarise(x)), must[stat.Summary](t)(stat.Summarise(moved)), must[stat.Summary](t)(stat.Summarise(scaled))
		if !sd(a.SD()).Equal(sd(b.SD())) || !lag(a.Lag1()).Equal(lag(b.Lag1())) {
			t.Fatalf("adding %s changes the spread of %v", shift, x)
		}
		if !a.SumSquares().Mul(scale).Mul(scale).Sub(c.SumSquares()).Abs().LessThan(dec("1e-27")) || !lag(a.Lag1()).Equal(lag(c.Lag1())) {
			t.Fatalf("a factor of %s does not go through %v", scale, x)
		}
		rnd.Shuffle(len(x), func(i, j int) { x[i], x[j] = x[j], x[i] })
		d := must[stat.Summary](t)(stat.Summarise(x))
		if !sd(a.SD()).Equal(sd(d.SD())) || !a.Median.Equal(d.Median) || !a.Sum.Equal(d.Sum) {
			t.Fatalf("the order changes the summary of %v", x)
		}
	}
}

func TestSummaryBySmallFigures(t *testing.T) {
	s := must[stat.Summary](t)(stat.Summarise(decs("33.38 33.38 33.39")))
	if got := s.Mean.String(); got != "100.15/3" {
		t.Errorf("mean of 33.38 33.38 33.39 is %s, want 100.15/3", got)
	}
	for _, c := range []struct{ in, median, low, high, span string }{
		{"3", "3", "3", "3", "0"},
		{"4 1", "2.5", "1", "4", "3"},
		{"3 1 2", "2", "1", "3", "2"},
		{"0.1 -0.1 0.4 0.2", "0.15", "-0.1", "0.4", "0.5"},
	} {
		x := decs(c.in)
		s := must[stat.Summary](t)(stat.Summarise(x))
		if !s.Median.Equal(dec(c.median)) || !s.Min.Equal(dec(c.low)) || !s.Max.Equal(dec(c.high)) || !s.Range.Equal(dec(c.span)) {
			t.Errorf("%s: median %s, min %s, max %s, range %s", c.in, s.Median, s.Min, s.Max, s.Range)
		}
	}
	in := decs("3 1 2")
	_, _ = stat.Summarise(in)
	if !in[0].Equal(dec("3")) || !in[1].Equal(dec("1")) {
		t.Error("Summarise changed its input")
	}
}

// The parts of a study's table add up exactly, its total is that of the
// readings as one run, and swapping parts with operators swaps the rows.
func TestStudyAddsUp(t *testing.T) {
	rnd := rand.New(rand.NewPCG(7, 8))
	for range 20 {
		operators := 2 + rnd.IntN(3)
		var rows, swapped []stat.Trial
		var all []decimal.Decimal
		for p := range 2 + rnd.IntN(3) {
			for o := range operators {
				for _, x := range normal(rnd, 3, float64(p+o), 0.5, 2) {
					part, operator := string(rune('a'+p)), string(rune('a'+o))
					rows = append(rows, stat.Trial{Part: part, Operator: operator, Reading: x})
					swapped = append(swapped, stat.Trial{Part: operator, Operator: part, Reading: x})
					all = append(all, x)
				}
			}
		}
		settings := stat.DefaultStudySettings()
		s := must[stat.Study](t)(stat.CrossedStudy(rows, settings))
		w := must[stat.Study](t)(stat.CrossedStudy(swapped, settings))
		total := must[stat.Summary](t)(stat.Summarise(all)).SumSquares()
		if !s.Total.SumSquares.Equal(total) || s.Total.DF != len(all)-1 {
			t.Fatalf("total %s with %d, want %s with %d", s.Total.SumSquares, s.Total.DF, total, len(all)-1)
		}
		if !s.Part.SumSquares.Equal(w.Operator.SumSquares) || !s.Operator.MeanSquare.Equal(w.Part.MeanSquare) {
			t.Fatalf("parts %v, as operators %v", s.Part, w.Operator)
		}
		x := s.Shares
		sum := x.Gauge.Contribution.Add(x.Part.Contribution)
		if sum.Sub(dec("100")).Abs().GreaterThan(dec("1e-26")) || x.Total.Study.String() != "100" {
			t.Fatalf("contributions make %s %%", sum)
		}
	}
}

func TestStudySettings(t *testing.T) {
	settings := stat.DefaultStudySettings()
	settings.Tolerance = decimal.NewNullDecimal(dec("8"))
	settings.Categories = stat.Nearest
	s := must[stat.Study](t)(stat.CrossedStudy(readTrials(t, "aiag.csv"), settings))
	if s.Shares.Categories != 5 { // 1.41·PV/GRR = 4.861
		t.Errorf("categories to the nearest: %d, want 5", s.Shares.Categories)
	}
	// 6·GRR of 8: 75 × 0.302371522…, by hand.
	if got := s.Shares.Gauge.OfTolerance.Decimal.Round(6).String(); got != "22.677864" {
		t.Errorf("gauge is %s %% of the tolerance, want 22.677864", got)
	}
	raw := studyAt(t, "aiag.csv", 1).Shares.Interaction
	if raw.Raw.Sign() >= 0 || raw.Variance.Sign() != 0 || raw.SD.Sign() != 0 {
		t.Errorf("a component below nought is %s, reported as %s", raw.Raw, raw.Variance)
	}
}

// Repeats that differ but no interaction at all: the test of part and operator
// has nothing below the line, and says so.
func TestStudyWithoutInteraction(t *testing.T) {
	settings := stat.DefaultStudySettings()
	settings.PoolAbove = 1
	s := must[stat.Study](t)(stat.CrossedStudy(trials("1/A/1 1/A/2 1/B/2 1/B/3 2/A/5 2/A/6 2/B/6 2/B/7"), settings))
	if s.PartTest.Made || s.OperatorTest.Made || !s.InteractionTest.Made || s.InteractionTest.P != 1 || s.Pooled {
		t.Errorf("tests %v %v %v, pooled %v", s.PartTest, s.OperatorTest, s.InteractionTest, s.Pooled)
	}
}

func TestOutside(t *testing.T) {
	l := stat.Limits{Centre: dec("2"), Lower: dec("1"), Upper: dec("3")}
	got := l.Outside(append(decs("1 0.99 3 3.01 2"), decimal.New(1, -2e9)))
	if len(got) != 3 || got[0] != 1 || got[1] != 3 || got[2] != 5 {
		t.Errorf("outside: %v, want 1 3 5", got)
	}
}

func TestOneSidedCapability(t *testing.T) {
	x := count(30)
	for _, c := range []struct {
		t        stat.Tolerance
		cpu, cpl bool
	}{{stat.AtMost(dec("40")), true, false}, {stat.AtLeast(dec("-10")), false, true}} {
		got := must[stat.Capability](t)(stat.CapabilityOf(x, c.t, 0.95))
		i := got.Indices
		if i.Cpu.Valid != c.cpu || i.Cpl.Valid != c.cpl || i.Cp.Valid || i.K.Valid || got.Cp != nil || !got.Few {
			t.Errorf("one limit: %+v", got)
		}
		if !got.Cpk.Low.LessThan(i.Cpk) || !got.Cpk.High.GreaterThan(i.Cpk) {
			t.Errorf("Cpk %s is not between %s and %s", i.Cpk, got.Cpk.Low, got.Cpk.High)
		}
	}
}

// The limits of Cp are exact for normal readings, so about 95 in 100 runs hold
// the true Cp; those of Cpk are an approximation and come near. The draws are
// fixed by the seed; four standard errors of 3000 draws are 1.6 in 100.
func TestCapabilityLimitsHold(t *testing.T) {
	rnd := rand.New(rand.NewPCG(9, 10))
	const runs = 3000
	cp, cpk := 0, 0
	// σ 0.01, limits −0.03 and +0.05: Cp = 4/3, Cpk = 1.
	band, trueCp, trueCpk := stat.Within(dec("-0.03"), dec("0.05")), dec("1.33333333"), dec("1")
	for range runs {
		c := must[stat.Capability](t)(stat.CapabilityOf(normal(rnd, 25, 0, 0.01, 6), band, 0.95))
		if trueCp.GreaterThan(c.Cp.Low) && trueCp.LessThan(c.Cp.High) {
			cp++
		}
		if trueCpk.GreaterThan(c.Cpk.Low) && trueCpk.LessThan(c.Cpk.High) {
			cpk++
		}
	}
	t.Logf("held: Cp %.1f %%, Cpk %.1f %%", 100*float64(cp)/runs, 100*float64(cpk)/runs)
	if held := float64(cp) / runs; math.Abs(held-0.95) > 0.016 {
		t.Errorf("limits of Cp hold in %.3f of runs, want 0.95", held)
	}
	if held := float64(cpk) / runs; math.Abs(held-0.95) > 0.02 {
		t.Errorf("limits of Cpk hold in %.3f of runs, want about 0.95", held)
	}
}

// A quantile put back into its distribution gives the chance again, over the
// whole range this package allows.
func TestQuantilesGoBack(t *testing.T) {
	for _, dof := range []float64{1, 1.5, 2, 3, 7.3, 16, 42.24, 100, 1000, 9999.5, stat.MaxDF} {
		for _, c := range []float64{0.5, 0.6827, 0.9, 0.95, 0.99, 0.9999} {
			q := must[float64](t)(stat.StudentT(c, dof))
			if back := 1 - 2*(distuv.StudentsT{Sigma: 1, Nu: dof}.Survival(q)); !(math.Abs(back-c) < 1e-9) {
				t.Errorf("t of %g with %g degrees of freedom is %g, which goes back to %g", c, dof, q, back)
			}
		}
	}
	for _, dof := range []int{1, 2, 3, 24, 99, 1000, stat.MaxDF} {
		for _, p := range []float64{0.00005, 0.025, 0.5, 0.975, 0.99995} {
			q := must[float64](t)(stat.ChiSquared(p, dof))
			if back := (distuv.ChiSquared{K: float64(dof)}).CDF(q); !(math.Abs(back-p) < 1e-9) {
				t.Errorf("chi-squared of %g with %d degrees of freedom is %g, which goes back to %g", p, dof, q, back)
			}
		}
	}
	big, z := must[float64](t)(stat.StudentT(0.95, math.Inf(1))), must[float64](t)(stat.Normal(0.95))
	near := must[float64](t)(stat.StudentT(0.95, stat.MaxDF))
	if big != z || math.Abs(near/z-1) > 1e-4 {
		t.Errorf("t with many degrees of freedom is %v and %v, the normal %v", near, big, z)
	}
}

func TestEffectiveDF(t *testing.T) {
	inf := math.Inf(1)
	for _, c := range []struct {
		terms []stat.Term
		want  float64
	}{
		{[]stat.Term{{1, 9}}, 9},
		{[]stat.Term{{1, 10}, {1, 10}}, 20},
		{[]stat.Term{{1, inf}, {4, inf}}, inf},
		{[]stat.Term{{1e-300, 4}, {1e-300, inf}}, 16},
		{[]stat.Term{{1e300, 4}, {0, 1}}, 4},
	} {
		if got := must[float64](t)(stat.EffectiveDF(c.terms)); got != c.want && !(math.Abs(got/c.want-1) < 1e-12) {
			t.Errorf("EffectiveDF(%v) = %v, want %v", c.terms, got, c.want)
		}
	}
}
