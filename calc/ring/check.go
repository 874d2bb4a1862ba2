package ring

import (
	"fmt"

	"github.com/shopspring/decimal"

	"shimwright/calc/quantity"
)

// mostDigits bounds a figure's digits and places before any sum is done with
// it, so that no figure, however made, can make the arithmetic slow or overflow
// a float64.
const mostDigits = 24

func checkDigits(x quantity.Exact) error {
	d := x.Decimal()
	if d.NumDigits() > mostDigits || d.Exponent() > mostDigits || d.Exponent() < -mostDigits {
		return fmt.Errorf("a figure of %d digits and exponent %d: at most %d of either", d.NumDigits(), d.Exponent(), mostDigits)
	}
	return nil
}

func whole(n int64) quantity.Exact { return quantity.FromDecimal(decimal.New(n, 0)) }

// checkLength refuses a length that no dial reads.
func checkLength(x quantity.Exact) error {
	if err := checkDigits(x); err != nil {
		return err
	}
	if x.Abs().Cmp(whole(MaxReading)) > 0 {
		return fmt.Errorf("%s mm: at most %d mm either way; is the unit right?", x, MaxReading)
	}
	return nil
}

// checkNotNegative refuses a length that is no dial's, or below nought.
func checkNotNegative(x quantity.Exact) error {
	if err := checkLength(x); err != nil {
		return err
	}
	if x.Sign() < 0 {
		return fmt.Errorf("%s mm: give 0 or more", x)
	}
	return nil
}

func (in Input) check() error {
	if err := checkPoints(in.Points, in.Sense); err != nil {
		return err
	}
	fields := []struct {
		name string
		x    quantity.Exact
	}{{"band, low", in.Band.Low}, {"band, high", in.Band.High}, {"U", in.U}, {"U of the spread", in.SpreadU}}
	if in.SpreadLimit != nil {
		fields = append(fields, struct {
			name string
			x    quantity.Exact
		}{"spread limit", *in.SpreadLimit})
	}
	for _, f := range fields {
		if err := checkNotNegative(f.x); err != nil {
			return fmt.Errorf("%s: %w", f.name, err)
		}
	}
	if in.Band.High.Less(in.Band.Low) {
		return fmt.Errorf("band: low %s mm is above high %s mm; swap them", in.Band.Low, in.Band.High)
	}
	if in.Rule > Simple {
		return fmt.Errorf("rule: %s is not known; use Guarded or Simple", in.Rule)
	}
	return nil
}

func checkPoints(points []Point, s Sense) error {
	if len(points) < MinPoints || len(points) > MaxPoints {
		return fmt.Errorf("points: %d of them; a ring takes %d to %d", len(points), MinPoints, MaxPoints)
	}
	if s > Anticlockwise {
		return fmt.Errorf("sense: %d is not known; use Clockwise or Anticlockwise", s)
	}
	for i, p := range points {
		if err := p.check(); err != nil {
			return fmt.Errorf("point %d, %w", i+1, err)
		}
		for k := range i {
			if points[k].Angle.Equal(p.Angle) {
				return fmt.Errorf("points %d and %d, angle: both at %s deg; give each angle once, with its repeats together", k+1, i+1, p.Angle.Decimal())
			}
		}
	}
	return nil
}

func (p Point) check() error {
	if err := checkDigits(p.Angle); err != nil {
		return fmt.Errorf("angle: %w", err)
	}
	if p.Angle.Sign() < 0 || p.Angle.Cmp(whole(360)) >= 0 {
		return fmt.Errorf("angle: %s deg; give 0 to under 360", p.Angle.Decimal())
	}
	if len(p.Repeats) == 0 || len(p.Repeats) > MaxRepeats {
		return fmt.Errorf("repeats: %d readings; give 1 to %d", len(p.Repeats), MaxRepeats)
	}
	for i, x := range p.Repeats {
		if err := checkLength(x); err != nil {
			return fmt.Errorf("repeat %d: %w", i+1, err)
		}
	}
	return nil
}

// reciprocal is 1/k, exact, for a decimal factor above nought.
func reciprocal(k quantity.Exact) (quantity.Exact, error) {
	if err := checkDigits(k); err != nil {
		return quantity.Exact{}, fmt.Errorf("move factor: %w", err)
	}
	d := k.Decimal()
	if !k.IsDecimal() || d.Sign() <= 0 || !d.Coefficient().IsInt64() {
		return quantity.Exact{}, fmt.Errorf("move factor %s: give a decimal above 0 of at most 18 digits", k)
	}
	part, err := quantity.RatioOf(1, d.CoefficientInt64())
	if err != nil {
		return quantity.Exact{}, fmt.Errorf("move factor %s: %w", k, err)
	}
	return quantity.FromDecimal(decimal.New(1, -d.Exponent())).Times(part), nil
}
