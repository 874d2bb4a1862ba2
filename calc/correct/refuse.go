package correct

import (
	"fmt"

	"github.com/shopspring/decimal"

	"shimwright/calc/quantity"
	"shimwright/calc/stat"
)

// Limits on what comes in, far beyond any bench's figures.
const (
	MaxFigure = 1_000_000 // of a length, reading or error, in its base unit
	MaxPoints = 10_000    // of a table, a series of checks, a run of readings, a sum
	maxPower  = 60        // of ten, up or down, in a decimal
	maxBits   = 400       // of a decimal's digits: about 120 of them
)

func problem(k stat.Kind, field, wanted, found string, args ...any) error {
	return &stat.Problem{Kind: k, Field: field, Found: fmt.Sprintf(found, args...), Wanted: wanted}
}

func whole(n int64) quantity.Exact { return quantity.FromDecimal(decimal.NewFromInt(n)) }

// bounded refuses a figure whose size or digits no bench has.
func bounded(field string, e quantity.Exact) error {
	wanted := fmt.Sprintf("at most %d either way, with at most %d places", MaxFigure, maxPower)
	if e.IsDecimal() {
		d := e.Decimal()
		if x := d.Exponent(); x < -maxPower || x > maxPower {
			return problem(stat.OutOfRange, field, wanted, "a power of ten of %d", x)
		}
		if n := d.Coefficient().BitLen(); n > maxBits {
			return problem(stat.OutOfRange, field, wanted, "a figure of about %d digits", n*3/10)
		}
	}
	if e.Abs().Cmp(whole(MaxFigure)) > 0 {
		return problem(stat.OutOfRange, field, wanted, "%s", e.Round(3))
	}
	return nil
}

// counted refuses a list too short or too long.
func counted(field string, n, least int) error {
	switch {
	case n < least:
		return problem(stat.TooFew, field, fmt.Sprintf("at least %d", least), "%d", n)
	case n > MaxPoints:
		return problem(stat.TooMany, field, fmt.Sprintf("at most %d", MaxPoints), "%d", n)
	}
	return nil
}
