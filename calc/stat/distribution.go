package stat

import (
	"strconv"

	"github.com/shopspring/decimal"
	"gonum.org/v1/gonum/stat/distuv"
)

// Bounds within which quantiles are given; outside them gonum's inverses were
// not tried, and no workshop figure needs them.
const (
	MinConfidence = 0.5
	MaxConfidence = 0.9999
	MaxDF         = 100_000 // above it the normal quantile is used: they differ by less than 1 in 10⁴
)

func confident(confidence float64) error {
	if !(confidence >= MinConfidence && confidence <= MaxConfidence) {
		return problem(OutOfRange, "confidence", "from 0.5 to 0.9999, such as 0.95", "%s", show(confidence))
	}
	return nil
}

func show(f float64) string { return strconv.FormatFloat(f, 'g', -1, 64) }

// StudentT is the t for which P(|T| ≤ t) is the confidence, with dof degrees
// of freedom from 1 up, which need not be whole; +Inf gives the normal
// quantile (GUM annex G, table G.2; NIST TN 1297 table B.1). It is gonum's
// distuv.StudentsT, float64.
func StudentT(confidence, dof float64) (float64, error) {
	if err := confident(confidence); err != nil {
		return 0, err
	}
	if !(dof >= 1) {
		return 0, problem(OutOfRange, "degrees of freedom", "1 or more", "%s", show(dof))
	}
	if dof > MaxDF {
		return Normal(confidence)
	}
	return distuv.StudentsT{Mu: 0, Sigma: 1, Nu: dof}.Quantile((1 + confidence) / 2), nil
}

// Normal is the z for which P(|Z| ≤ z) is the confidence, 0.5 to 0.9999. It is
// gonum's distuv.Normal, float64.
func Normal(confidence float64) (float64, error) {
	if err := confident(confidence); err != nil {
		return 0, err
	}
	return distuv.UnitNormal.Quantile((1 + confidence) / 2), nil
}

// ChiSquared is the x below which chi-squared with dof degrees of freedom
// (1 to 100 000) falls with chance p (0.00005 to 0.99995). It is gonum's
// distuv.ChiSquared, float64.
func ChiSquared(p float64, dof int) (float64, error) {
	const edge = (1 - MaxConfidence) / 2
	if !(p >= edge && p <= 1-edge) {
		return 0, problem(OutOfRange, "chance", "from 0.00005 to 0.99995", "%s", show(p))
	}
	if dof < 1 || dof > MaxDF {
		return 0, problem(OutOfRange, "degrees of freedom", "1 to "+strconv.Itoa(MaxDF), "%d", dof)
	}
	return distuv.ChiSquared{K: float64(dof)}.Quantile(p), nil
}

// tailF is the chance that F with these degrees of freedom is f or more. It is
// asked as P(1/F ≤ 1/f), because gonum's Survival is 1 − CDF and has no digits
// left in a far tail.
func tailF(f decimal.Decimal, df1, df2 int) float64 {
	const far = 1e300 // beyond it 1/x would leave float64
	x := Float(f)
	switch {
	case x < 1/far:
		return 1
	case x > far:
		return 0
	}
	p := distuv.F{D1: float64(df2), D2: float64(df1)}.CDF(1 / x)
	return min(max(p, 0), 1)
}
