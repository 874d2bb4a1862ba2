package stat

import (
	"math/big"

	"github.com/shopspring/decimal"
)

// An AverageRange is the same study by average and range, the pencil method.
//
//	EV = R̄·K1
//	AV = √((X̄diff·K2)² − EV²/(p·r))
//	PV = Rp·K3
//	GRR = √(EV² + AV²),  TV = √(GRR² + PV²)
//
// with R̄ the mean range of the cells, X̄diff the range of operator means, Rp
// the range of part means (AIAG manual, 4th edition; from memory). The
// constants are by formula, not from the printed four-digit table: K1 = 1/d2
// for the trials, as for many cells, whatever their number; K2 and K3 are
// 1/d2* for one range of the operators and of the parts. Here Share.Study is
// the figure the method is known by. It has no interaction.
type AverageRange struct {
	MeanRange     decimal.Decimal // R̄
	OperatorRange decimal.Decimal // X̄diff
	PartRange     decimal.Decimal // Rp
	K1, K2, K3    decimal.Decimal // by factor
	Shares        Shares
}

func averageRange(c *cells, settings StudySettings) AverageRange {
	np, no := len(c.parts), len(c.operators)
	var ranges []decimal.Decimal
	for i := range c.readings {
		for j := range c.readings[i] {
			low, high := decimal.Min(c.readings[i][j][0], c.readings[i][j][1:]...),
				decimal.Max(c.readings[i][j][0], c.readings[i][j][1:]...)
			ranges = append(ranges, high.Sub(low))
		}
	}
	d2, _ := rangeMoments(c.trials)
	a := AverageRange{
		K1: factor(1 / d2),
		K2: factor(shortRunFactor(no, 1)),
		K3: factor(shortRunFactor(np, 1)),
	}
	rbar := meanOf(ranges)
	diff, rp := over(spanOf(c.ofOperator), np*c.trials), over(spanOf(c.ofPart), no*c.trials)
	a.MeanRange, a.OperatorRange, a.PartRange = round(rbar), round(diff), round(rp)

	ev := square(mul(rbar, rat(a.K1)))
	av := sub(square(mul(diff, rat(a.K2))), over(ev, np*c.trials))
	pv := square(mul(rp, rat(a.K3)))
	a.Shares = settings.shares(ev, av, new(big.Rat), pv)
	return a
}

// spanOf is the largest less the smallest.
func spanOf(xs []*big.Rat) *big.Rat {
	low, high := xs[0], xs[0]
	for _, x := range xs {
		if x.Cmp(low) < 0 {
			low = x
		}
		if x.Cmp(high) > 0 {
			high = x
		}
	}
	return sub(high, low)
}
