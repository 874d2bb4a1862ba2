package stat

import (
	"math/big"

	"github.com/shopspring/decimal"
)

// A Row is one line of an analysis of variance: a sum of squares, in the square
// of the unit of the readings, its degrees of freedom, and the one over the other.
type Row struct {
	SumSquares decimal.Decimal
	DF         int
	MeanSquare decimal.Decimal
}

func row(squares *big.Rat, df int) Row {
	return Row{SumSquares: round(squares), DF: df, MeanSquare: round(over(squares, df))}
}

// A OneWayTable is the analysis of variance of readings in groups.
type OneWayTable struct {
	Between, Within, Total Row
	F                      decimal.Decimal
	P                      float64         // chance of F or more if the groups do not differ
	R2                     decimal.Decimal // between over total
	ResidualSD             decimal.Decimal // √ of the mean square within
}

// OneWay is the one-way analysis of variance of groups, which may differ in
// size: at least two groups, none empty, one with two readings or more, and
// some spread within them. Between is ΣSg²/ng − S²/n, within the rest, both
// exact.
//
//	F = (between/(k−1)) / (within/(n−k))     R² = between/(between + within)
//
// with k groups and n readings in all (any textbook; as NIST StRD certifies them,
// seen). P is the upper tail of F, float64 by gonum.
func OneWay(groups [][]decimal.Decimal) (OneWayTable, error) {
	if len(groups) < 2 {
		return OneWayTable{}, problem(TooFew, "groups", "at least 2", "%d", len(groups))
	}
	var all []decimal.Decimal
	between, within := new(big.Rat), new(big.Rat)
	for i, g := range groups {
		s, err := Summarise(g)
		if err != nil {
			return OneWayTable{}, inGroup(err, i)
		}
		all = append(all, g...)
		within.Add(within, s.squares)
	}
	s, err := Summarise(all)
	if err != nil {
		return OneWayTable{}, err
	}
	between.Sub(s.squares, within)
	dfb, dfw := len(groups)-1, len(all)-len(groups)
	if dfw < 1 {
		return OneWayTable{}, problem(TooFew, "groups", "at least one group with 2 readings or more", "one reading each")
	}
	if within.Sign() == 0 {
		return OneWayTable{}, problem(NoSpread, "groups", "readings that differ within a group", "no spread within any group")
	}
	t := OneWayTable{Between: row(between, dfb), Within: row(within, dfw), Total: row(s.squares, len(all)-1)}
	t.F = round(div(over(between, dfb), over(within, dfw)))
	t.P = tailF(t.F, dfb, dfw)
	t.R2 = round(div(between, s.squares))
	t.ResidualSD = root(over(within, dfw))
	return t, nil
}
