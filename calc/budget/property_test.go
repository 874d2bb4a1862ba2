package budget_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/shopspring/decimal"

	"shimwright/calc/budget"
	"shimwright/calc/quantity"
)

// randomSource is a believable source; its name tells it apart.
func randomSource(rng *rand.Rand, i int) budget.Source {
	coef, _ := quantity.RatioOf(1+rng.Int64N(3), 1+rng.Int64N(3))
	if rng.IntN(2) == 0 {
		coef = coef.Neg()
	}
	s := budget.Source{
		Name: fmt.Sprintf("thing %d", i), Kind: budget.Kind(1 + rng.IntN(9)), Coef: coef,
		Size: quantity.FromDecimal(decimal.New(1+rng.Int64N(300), -4)),
		K:    ex("2"), N: 2 + rng.IntN(4),
	}
	if rng.IntN(2) == 0 {
		s.Gauge = fmt.Sprintf("D%02d", rng.IntN(3))
	}
	if rng.IntN(4) == 0 {
		s.DF, s.Pool = 12, "shop"
	}
	s.Through = rng.IntN(5) == 0
	if s.Kind == budget.GaugeScale || s.Kind == budget.Temperature {
		by := quantity.FromDecimal(decimal.New(1+rng.Int64N(9000), -3))
		s.By = &by
	}
	return s
}

func randomSources(rng *rand.Rand) []budget.Source {
	var out []budget.Source
	for i := range 1 + rng.IntN(8) {
		out = append(out, randomSource(rng, i))
	}
	return out
}

func TestOrderDoesNotMatter(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 1))
	for range 300 {
		s := randomSources(rng)
		a := work(t, s...)
		rng.Shuffle(len(s), func(i, j int) { s[i], s[j] = s[j], s[i] })
		b := work(t, s...)
		if !a.Standard.Equal(b.Standard) || !a.Student.Equal(b.Student) || a.DF != b.DF || a.Lines[0].Name != b.Lines[0].Name {
			t.Fatalf("u %s or %s, %v or %v degrees of freedom, by the order given", a.Standard, b.Standard, a.DF, b.DF)
		}
		if ga, gb := fmt.Sprint(a.Halve()), fmt.Sprint(b.Halve()); ga != gb {
			t.Fatalf("gains differ by the order given:\n%s\n%s", ga, gb)
		}
	}
}

// In inches all is 25.4 times smaller; degrees of freedom and shares stay.
func TestUnitChangeScales(t *testing.T) {
	rng := rand.New(rand.NewPCG(2, 1))
	for range 300 {
		s := randomSources(rng)
		a := work(t, s...)
		for i := range s {
			if s[i].By != nil { // then By carries the unit
				by := s[i].By.In(quantity.Inch)
				s[i].By = &by
				continue
			}
			s[i].Size = s[i].Size.In(quantity.Inch)
		}
		b := work(t, s...)
		if !near(a.Expanded.In(quantity.Inch), b.Expanded) || !near(a.Student.In(quantity.Inch), b.Student) {
			t.Fatalf("U %s mm and %s in", a.Expanded, b.Expanded)
		}
		if math.IsInf(a.DF, 1) != math.IsInf(b.DF, 1) || !math.IsInf(a.DF, 1) && math.Abs(a.DF/b.DF-1) > 1e-9 {
			t.Fatalf("%v and %v degrees of freedom", a.DF, b.DF)
		}
	}
}

// Adding another thing never lowers u, and u never is less than the largest
// part or more than the sum of parts. Shares make 1.
func TestAddingNeverLowers(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 1))
	for range 300 {
		s := randomSources(rng)
		a, b := work(t, s...), work(t, append(s, randomSource(rng, 99))...)
		if b.Standard.Less(a.Standard) {
			t.Fatalf("one source more brings u from %s to %s", a.Standard, b.Standard)
		}
		var sum, share quantity.Exact
		for _, l := range a.Lines {
			sum, share = sum.Add(l.Part), share.Add(l.Share)
		}
		if float(a.Standard) > float(sum)*(1+1e-9) || float(a.Standard) < float(a.Lines[0].Part)*(1-1e-9) {
			t.Fatalf("u %s, parts sum to %s, largest %s", a.Standard, sum, a.Lines[0].Part)
		}
		if !near(share, ex("1")) {
			t.Fatalf("shares sum to %s", share)
		}
	}
}

// One thing's coefficients add with their signs: given in pieces or at once.
func TestCoefficientsAdd(t *testing.T) {
	rng := rand.New(rand.NewPCG(4, 1))
	for range 300 {
		noise := budget.Source{Name: "noise", Kind: budget.Stated, Size: ex("0.001"), Coef: whole(1)}
		s := randomSource(rng, 1)
		whole, parts := s, []budget.Source{noise}
		whole.Coef = quantity.Ratio{}
		for range 1 + rng.IntN(5) {
			s.Coef = quantity.Whole(rng.Int64N(4) + 1)
			if rng.IntN(2) == 0 {
				s.Coef = s.Coef.Neg()
			}
			parts, whole.Coef = append(parts, s), whole.Coef.Add(s.Coef)
		}
		at := []budget.Source{noise}
		if !whole.Coef.IsZero() {
			at = append(at, whole)
		}
		if a, b := work(t, parts...), work(t, at...); !a.Standard.Equal(b.Standard) {
			t.Fatalf("in pieces u %s, at once %s with coefficient %s", a.Standard, b.Standard, whole.Coef)
		}
	}
}

// What a gain promises comes true: working the budget again with the gauge
// made better, or the presses made more, gives the U it foretells.
func TestGainsComeTrue(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 1))
	for range 300 {
		s := randomSources(rng)
		b := work(t, s...)
		half := b.Expanded.Times(mustRatio(t, 1, 2))
		for _, g := range b.Halve() {
			if g.Halves != (float(g.Then) <= float(half)*(1+1e-9)) || !g.Now.Equal(b.Expanded) {
				t.Fatalf("%+v of U %s", g, b.Expanded)
			}
			again, ok := apply(t, s, g)
			if !ok {
				continue
			}
			if got := work(t, again...).Expanded; !near(got, g.Then) {
				t.Fatalf("%s\nworked again U is %s, foretold %s", g.Say(quantity.MM, 6), got, g.Then)
			}
		}
	}
}

func mustRatio(t *testing.T, a, b int64) quantity.Ratio {
	t.Helper()
	r, err := quantity.RatioOf(a, b)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// apply does to the sources what a gain says, where that can be said in them.
func apply(t *testing.T, sources []budget.Source, g budget.Gain) ([]budget.Source, bool) {
	t.Helper()
	var out []budget.Source
	for _, s := range sources {
		switch {
		case g.Means == budget.HalveLargest && s.Name == g.Name:
			s.Size = s.Size.Times(mustRatio(t, 1, 2))
		case g.Means == budget.WithoutLargest && s.Name == g.Name:
			continue
		case g.Means == budget.MorePresses && s.Kind == budget.Repeats && g.Times > 0:
			s.DF = s.DF + math.Max(0, 1-s.DF) // more readings than before, the same spread
			s.N *= g.Times
		case g.Means == budget.BetterGauge && s.Gauge != "" && (g.Name == "" || s.Gauge == g.Name) &&
			(s.Kind == budget.LimitOfError || s.Kind == budget.GaugeZero || s.Kind == budget.GaugeScale):
			s.Size = s.Size.Mul(g.Factor)
			if g.Factor.IsZero() {
				continue
			}
		case g.Means == budget.ZeroOnPiece:
			return nil, false
		}
		out = append(out, s)
	}
	return out, len(out) > 0
}
