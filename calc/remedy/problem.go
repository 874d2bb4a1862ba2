package remedy

import (
	"fmt"
	"math"

	"github.com/shopspring/decimal"

	"shimwright/calc/quantity"
)

// A Problem is an input that cannot be used, with the field it was found in.
type Problem struct {
	Field   string
	Message string // what was found, and what to give instead
}

// Error is the field and what is wanted there.
func (p *Problem) Error() string { return p.Field + ": " + p.Message }

func problem(field, format string, args ...any) *Problem {
	return &Problem{field, fmt.Sprintf(format, args...)}
}

// Limits of what is believed.
const (
	mostDigits = 24   // of a figure, and places of it either way
	mostLength = 1000 // mm
)

// tame tells whether a figure is short enough to reckon with.
func tame(x quantity.Exact) bool {
	d := x.Decimal()
	return d.Exponent() >= -mostDigits && d.Exponent() <= mostDigits && d.NumDigits() <= mostDigits
}

// checkFigure refuses a figure that no bench has; limit is in its own unit.
func checkFigure(field string, x quantity.Exact, limit int64) error {
	if !tame(x) {
		return problem(field, "a figure of more than %d digits or places: round it to what the gauge shows", mostDigits)
	}
	if x.Abs().Cmp(whole(limit)) > 0 {
		return problem(field, "%s is more than %d either way; is the unit right?", x, limit)
	}
	return nil
}

func checkLength(field string, x quantity.Exact) error { return checkFigure(field, x, mostLength) }

func checkNotNegative(field string, x quantity.Exact) error {
	if err := checkLength(field, x); err != nil {
		return err
	}
	if x.Sign() < 0 {
		return problem(field, "%s is below nought: give 0 or more", x)
	}
	return nil
}

func checkRatio(field string, r quantity.Ratio) error {
	if most := quantity.Whole(100); r.Cmp(most) > 0 || r.Cmp(most.Neg()) < 0 {
		return problem(field, "%s: one more of a pack moves nothing by more than 100 times; give the row that the network works", r)
	}
	return nil
}

func checkGear(field, gear string) error {
	if gear != "wheel" && gear != "pinion" {
		return problem(field, "%q is no gear: write wheel or pinion", gear)
	}
	return nil
}

func whole(n int64) quantity.Exact { return quantity.FromDecimal(decimal.New(n, 0)) }

// inverse is 1/x, exact, of a decimal other than nought with at most 18 digits.
func inverse(field string, x quantity.Exact) (quantity.Exact, error) {
	if !tame(x) { // it may be too long to print
		return quantity.Exact{}, problem(field, "a figure of more than %d digits or places: give a decimal other than 0 of at most 18 digits", mostDigits)
	}
	if !x.IsDecimal() || x.IsZero() || !x.Decimal().Coefficient().IsInt64() {
		return quantity.Exact{}, problem(field, "%s: give a decimal other than 0 of at most 18 digits", x)
	}
	d := x.Decimal()
	part, err := quantity.RatioOf(1, d.CoefficientInt64())
	if err != nil {
		return quantity.Exact{}, problem(field, "%s: %v", x, err)
	}
	return quantity.FromDecimal(decimal.New(1, -d.Exponent())).Times(part), nil
}

// floorOf is the greatest whole number not above x.
func floorOf(x quantity.Exact) int64 {
	r := x.Round(0)
	if x.Less(quantity.FromDecimal(r)) {
		r = r.Sub(decimal.New(1, 0))
	}
	return r.IntPart()
}

func ceilOf(x quantity.Exact) int64 { return -floorOf(x.Neg()) }

func least(a, b quantity.Exact) quantity.Exact {
	if b.Less(a) {
		return b
	}
	return a
}

func most(a, b quantity.Exact) quantity.Exact {
	if a.Less(b) {
		return b
	}
	return a
}

// finest is the finest step of any stock, in mm.
func finest() quantity.Exact { return quantity.MustExact("0.0001") }

// roundedMM turns a fitted float64 into a decimal of 9 places at once.
func roundedMM(x float64) quantity.Exact {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return quantity.Exact{}
	}
	return quantity.FromDecimal(decimal.NewFromFloat(x).RoundBank(quantity.WorkPlaces))
}
