package stat

import (
	"math"
	"strconv"

	"github.com/shopspring/decimal"
	"gonum.org/v1/gonum/integrate/quad"
	"gonum.org/v1/gonum/stat/distuv"
)

// MaxGroup is the most readings in a group that chart constants are given for.
// Ranges of larger groups waste what was measured: use standard deviations.
const MaxGroup = 100

// Constants are the chart constants for groups of N readings, by formula, for
// independent readings from a normal distribution. The small letters of the
// trade's tables are spelled out, so that d3 and D3 do not collide.
type Constants struct {
	N           int
	MeanOfRange decimal.Decimal // d2: mean range over σ
	SDOfRange   decimal.Decimal // d3: standard deviation of the range over σ
	MeanOfSD    decimal.Decimal // c4: mean standard deviation over σ
	A2          decimal.Decimal // 3/(d2√n)
	A3          decimal.Decimal // 3/(c4√n)
	D3, D4      decimal.Decimal // 1 ∓ 3·d3/d2, D3 not below nought
	B3, B4      decimal.Decimal // 1 ∓ 3·√(1−c4²)/c4, B3 not below nought
}

// ConstantsFor works the constants for groups of n readings, 2 to MaxGroup.
//
//	d2 = ∫ 1 − Φ(x)ⁿ − (1−Φ(x))ⁿ dx
//	d3² = E[W²] − d2²,  E[W²] = 2∫ w·(1 − P(W ≤ w)) dw,
//	P(W ≤ w) = n∫ φ(x)(Φ(x+w) − Φ(x))ⁿ⁻¹ dx
//	c4 = √(2/(n−1))·Γ(n/2)/Γ((n−1)/2)
//
// (Tippett 1925 for the range; Montgomery, Introduction to Statistical Quality
// Control, chapter 6; from memory.) The integrals are Gauss-Legendre.
func ConstantsFor(n int) (Constants, error) {
	if n < 2 || n > MaxGroup {
		return Constants{}, problem(OutOfRange, "group size", "2 to "+strconv.Itoa(MaxGroup)+" readings", "%d", n)
	}
	d2, d3 := rangeMoments(n)
	c4 := meanOfSD(n)
	root := math.Sqrt(float64(n))
	wide, sway := 3*d3/d2, 3*math.Sqrt(max(0, 1-c4*c4))/c4
	return Constants{
		N:           n,
		MeanOfRange: factor(d2), SDOfRange: factor(d3), MeanOfSD: factor(c4),
		A2: factor(3 / (d2 * root)), A3: factor(3 / (c4 * root)),
		D3: factor(max(0, 1-wide)), D4: factor(1 + wide),
		B3: factor(max(0, 1-sway)), B4: factor(1 + sway),
	}, nil
}

// rangeMoments gives d2 and d3 for n readings. Beyond ±9 standard deviations
// there is less than 10⁻¹⁸ of the distribution. The points leave less than
// 10⁻¹² of error: 96 are enough for ten readings, but for 100 would leave 10⁻⁴
// in d3.
func rangeMoments(n int) (d2, d3 float64) {
	const edge = 9.0
	points := 96
	if n > 10 {
		points = 200
	}
	phi, power := distuv.UnitNormal, float64(n)
	x, weight := make([]float64, points), make([]float64, points)
	quad.Legendre{}.FixedLocations(x, weight, -edge, edge)
	below, density := make([]float64, points), make([]float64, points)
	for i := range x {
		p := phi.CDF(x[i])
		d2 += weight[i] * (1 - math.Pow(p, power) - math.Pow(1-p, power))
		below[i], density[i] = p, weight[i]*power*phi.Prob(x[i])
	}
	within := func(w float64) (chance float64) { // P(W ≤ w)
		for i := range x {
			chance += density[i] * math.Pow(phi.CDF(x[i]+w)-below[i], power-1)
		}
		return chance
	}
	second := 2 * quad.Fixed(func(w float64) float64 {
		return w * (1 - within(w))
	}, 0, 2*edge, points, quad.Legendre{}, 0)
	return d2, math.Sqrt(second - d2*d2)
}

func meanOfSD(n int) float64 {
	up, _ := math.Lgamma(float64(n) / 2)
	down, _ := math.Lgamma(float64(n-1) / 2)
	return math.Sqrt(2/float64(n-1)) * math.Exp(up-down)
}

// shortRunFactor is 1/d2*, which turns the mean of few ranges of n readings
// into a standard deviation: d2*² = d2² + d3²/g for g ranges (Duncan; from
// memory). With many ranges it is 1/d2.
func shortRunFactor(n, ranges int) float64 {
	d2, d3 := rangeMoments(n)
	return 1 / math.Sqrt(d2*d2+d3*d3/float64(ranges))
}
