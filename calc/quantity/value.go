package quantity

import (
	"errors"
	"fmt"
	"strings"

	"github.com/shopspring/decimal"
)

// MaxDigits is the most significant figures a written figure may have: more
// than any bench instrument shows, so a longer run of digits is noise.
const MaxDigits = 9

// A Value is a figure as written: digits, unit, and the place of the last
// digit. The zero Value is 0 without a unit.
type Value struct {
	d      decimal.Decimal
	places int32
	unit   Unit
}

// Parse reads a sign, digits and at most one decimal point; nothing else is a
// figure (no exponent, no thousands mark, no blank, no NaN). At most MaxDigits
// significant figures. Minus nought is nought.
func Parse(digits string, u Unit) (Value, error) {
	body, minus := digits, false
	if body != "" && (body[0] == '+' || body[0] == '-') {
		body, minus = body[1:], body[0] == '-'
	}
	number, places, err := shape(body)
	if err != nil {
		// A copy, so that the text of a good figure need not outlive the call.
		return Value{}, fmt.Errorf("%q is not a figure: %w", strings.Clone(digits), err)
	}
	if minus {
		number = -number
	}
	return Value{d: decimal.New(number, -places), places: places, unit: u}, nil
}

// shape reads the digits of a figure as a whole number, and how many of them
// are decimals.
func shape(body string) (number int64, places int32, err error) {
	whole, significant := strings.IndexByte(body, '.'), 0
	dotted := whole >= 0
	if !dotted {
		whole = len(body)
	}
	frac := len(body) - whole
	if dotted {
		frac--
	}
	switch {
	case whole == 0 && frac == 0:
		return 0, 0, errors.New("it has no digits")
	case whole == 0:
		return 0, 0, errors.New("write a digit before the point")
	case dotted && frac == 0:
		return 0, 0, errors.New("write a digit after the point")
	}
	for i, r := range body {
		switch {
		case i == whole:
			continue
		case r < '0' || r > '9':
			return 0, 0, fmt.Errorf("%q may not stand in it", r)
		case r != '0' || significant > 0:
			significant++
		}
		if significant <= MaxDigits {
			number = 10*number + int64(r-'0')
		}
	}
	switch {
	case significant > MaxDigits:
		return 0, 0, fmt.Errorf("it has %d significant figures, at most %d are believed", significant, MaxDigits)
	case frac > MaxDigits:
		return 0, 0, fmt.Errorf("it has %d decimal places, at most %d are believed", frac, MaxDigits)
	case whole > 2*MaxDigits:
		return 0, 0, errors.New("it is too long")
	}
	return number, int32(frac), nil
}

// ParseWithUnit reads "33.38 mm": a figure, one blank or more, a unit. The error
// says which of the two is missing or not known.
func ParseWithUnit(s string) (Value, error) {
	digits, unit, ok := strings.Cut(strings.TrimSpace(s), " ")
	if !ok {
		return Value{}, fmt.Errorf("%q has no unit: write a figure, a blank and a unit, as in 33.38 mm", s)
	}
	u, err := ParseUnit(strings.TrimSpace(unit))
	if err != nil {
		return Value{}, err
	}
	return Parse(digits, u)
}

// Unit is the unit the figure was written in.
func (v Value) Unit() Unit { return v.unit }

// Places is how many decimals were written, in the figure's own unit.
func (v Value) Places() int32 { return v.places }

// In is the same digits read in another unit. It converts nothing.
func (v Value) In(u Unit) Value { v.unit = u; return v }

// Exact is the figure in the base unit of its dimension, exact.
func (v Value) Exact() Exact {
	if _, _, factor := v.unit.facts(); factor == "1" {
		return FromDecimal(v.d)
	}
	return FromDecimal(v.d.Mul(v.unit.Factor()))
}

// Resolution is one step of the last digit written, in the base unit.
func (v Value) Resolution() Exact {
	step := decimal.New(1, -v.places)
	if _, _, factor := v.unit.facts(); factor == "1" {
		return FromDecimal(step)
	}
	return FromDecimal(step.Mul(v.unit.Factor()))
}

// Digits is the figure without its unit, trailing zeros kept.
func (v Value) Digits() string { return v.d.StringFixed(v.places) }

// String is the figure as written, with its unit.
func (v Value) String() string {
	if v.unit == Bare {
		return v.Digits()
	}
	return v.Digits() + " " + v.unit.String()
}

// MarshalText writes the figure as String does.
func (v Value) MarshalText() ([]byte, error) { return []byte(v.String()), nil }

// UnmarshalText reads what MarshalText writes.
func (v *Value) UnmarshalText(b []byte) error {
	var (
		got Value
		err error
	)
	if strings.Contains(string(b), " ") {
		got, err = ParseWithUnit(string(b))
	} else {
		got, err = Parse(string(b), Bare)
	}
	if err == nil {
		*v = got
	}
	return err
}

// Neg is the figure with its sign turned.
func (v Value) Neg() Value { v.d = v.d.Neg(); return v }
