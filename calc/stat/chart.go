package stat

import (
	"math/big"
	"strconv"

	"github.com/shopspring/decimal"
)

// Limits are the centre line and the control limits of one chart. They are
// exact sums times a chart constant (by factor: FactorDigits digits).
type Limits struct {
	Centre, Lower, Upper decimal.Decimal
}

// Outside gives the places, counted from 0, of points above the upper or below
// the lower limit. A point on a limit is inside; one too long to be a reading
// (see MaxDigits, MaxPlaces) is outside.
func (l Limits) Outside(points []decimal.Decimal) []int {
	var out []int
	for i, p := range points {
		if plain("point", p) != nil || p.LessThan(l.Lower) || p.GreaterThan(l.Upper) {
			out = append(out, i)
		}
	}
	return out
}

// A Chart is a pair of control charts: one of where readings lie, one of their
// spread, with the points drawn on each, all in the unit of the readings.
type Chart struct {
	Constants    Constants
	Middle       Limits            // of readings or group means
	Spread       Limits            // of moving ranges, ranges or standard deviations
	MiddlePoints []decimal.Decimal // readings or group means
	SpreadPoints []decimal.Decimal
	Sigma        decimal.Decimal // the process's standard deviation by this chart
}

// Individuals is the chart of single readings with the moving range of two:
// mean ± 3·R̄/d2, moving range up to D4·R̄ (NIST/SEMATECH e-Handbook 6.3.2.2).
// It needs two readings, and readings that differ; limits from fewer than 20
// are a beginning only (common practice, no source).
func Individuals(readings []decimal.Decimal) (Chart, error) {
	if len(readings) < 2 {
		return Chart{}, problem(TooFew, "readings", "at least 2 for a moving range", "%d", len(readings))
	}
	s, err := Summarise(readings)
	if err != nil {
		return Chart{}, err
	}
	k, err := ConstantsFor(2)
	if err != nil {
		return Chart{}, err
	}
	ranges := make([]decimal.Decimal, 0, len(readings)-1)
	for i := 1; i < len(readings); i++ {
		ranges = append(ranges, readings[i].Sub(readings[i-1]).Abs())
	}
	mean, rbar := over(rat(s.Sum), s.N), meanOf(ranges)
	if rbar.Sign() == 0 {
		return Chart{}, flat("readings", len(readings))
	}
	sigma := div(rbar, rat(k.MeanOfRange))
	return Chart{
		Constants:    k,
		Middle:       about(mean, mul(ratio(3, 1), sigma)),
		Spread:       between(rbar, k.D3, k.D4),
		MiddlePoints: append([]decimal.Decimal(nil), readings...),
		SpreadPoints: ranges,
		Sigma:        round(sigma),
	}, nil
}

// MeanAndRange is the chart of group means and ranges: grand mean ± A2·R̄,
// range from D3·R̄ to D4·R̄ (Montgomery, chapter 6). It needs two groups or
// more of one size, 2 to MaxGroup.
func MeanAndRange(groups [][]decimal.Decimal) (Chart, error) {
	c, mean, err := startChart(groups)
	if err != nil {
		return Chart{}, err
	}
	for _, g := range groups {
		s, err := Summarise(g)
		if err != nil {
			return Chart{}, err
		}
		c.SpreadPoints = append(c.SpreadPoints, s.Range)
	}
	rbar := meanOf(c.SpreadPoints)
	if rbar.Sign() == 0 {
		return Chart{}, flat("groups", len(groups))
	}
	c.Middle = about(mean, mul(rat(c.Constants.A2), rbar))
	c.Spread = between(rbar, c.Constants.D3, c.Constants.D4)
	c.Sigma = round(div(rbar, rat(c.Constants.MeanOfRange)))
	return c, nil
}

// MeanAndSD is the chart of group means and standard deviations: grand mean
// ± A3·s̄, standard deviation from B3·s̄ to B4·s̄ (Montgomery, chapter 6).
func MeanAndSD(groups [][]decimal.Decimal) (Chart, error) {
	c, mean, err := startChart(groups)
	if err != nil {
		return Chart{}, err
	}
	for _, g := range groups {
		s, err := Summarise(g)
		if err != nil {
			return Chart{}, err
		}
		sd, err := s.SD()
		if err != nil {
			return Chart{}, err
		}
		c.SpreadPoints = append(c.SpreadPoints, sd)
	}
	sbar := meanOf(c.SpreadPoints)
	if sbar.Sign() == 0 {
		return Chart{}, flat("groups", len(groups))
	}
	c.Middle = about(mean, mul(rat(c.Constants.A3), sbar))
	c.Spread = between(sbar, c.Constants.B3, c.Constants.B4)
	c.Sigma = round(div(sbar, rat(c.Constants.MeanOfSD)))
	return c, nil
}

// startChart checks the groups and gives the constants, the group means as
// points, and the grand mean.
func startChart(groups [][]decimal.Decimal) (Chart, *big.Rat, error) {
	if len(groups) < 2 {
		return Chart{}, nil, problem(TooFew, "groups", "at least 2", "%d", len(groups))
	}
	n := len(groups[0])
	k, err := ConstantsFor(n)
	if err != nil {
		return Chart{}, nil, inGroup(err, 0)
	}
	c, sum := Chart{Constants: k}, new(big.Rat)
	for i, g := range groups {
		if len(g) != n {
			return Chart{}, nil, problem(Unbalanced, "group "+strconv.Itoa(i+1),
				strconv.Itoa(n)+" readings, as in group 1", "%d", len(g))
		}
		s, err := Summarise(g)
		if err != nil {
			return Chart{}, nil, inGroup(err, i)
		}
		mean := over(rat(s.Sum), n)
		sum.Add(sum, mean)
		c.MiddlePoints = append(c.MiddlePoints, round(mean))
	}
	return c, over(sum, len(groups)), nil
}

func flat(field string, n int) error {
	return problem(NoSpread, field, "readings that differ, for limits to be drawn", "no spread in any of %d", n)
}

// meanOf is the exact mean of figures that are not empty.
func meanOf(figures []decimal.Decimal) *big.Rat {
	sum := decimal.Decimal{}
	for _, d := range figures {
		sum = sum.Add(d)
	}
	return over(rat(sum), len(figures))
}

func about(centre, reach *big.Rat) Limits {
	return Limits{Centre: round(centre), Lower: round(sub(centre, reach)), Upper: round(add(centre, reach))}
}

func between(centre *big.Rat, low, high decimal.Decimal) Limits {
	return Limits{Centre: round(centre), Lower: round(mul(centre, rat(low))), Upper: round(mul(centre, rat(high)))}
}
