package quantity

import (
	"fmt"
	"strings"

	"github.com/shopspring/decimal"
)

// A Dimension tells which units may be added to which.
type Dimension uint8

// The dimensions a workshop figure can have.
const (
	Number Dimension = iota // a bare count or ratio
	Length                  // base unit mm
	Force                   // base unit N
	Torque                  // base unit N·m
	Angle                   // base unit degree
)

// String names the dimension in plain words.
func (d Dimension) String() string {
	switch d {
	case Length:
		return "length"
	case Force:
		return "force"
	case Torque:
		return "torque"
	case Angle:
		return "angle"
	default:
		return "bare number"
	}
}

// A Unit is a unit of measure that sheets, gauges and readings may use.
type Unit uint8

// The units known, all exact by definition: an inch is 25.4 mm, a pound-force
// 4.4482216152605 N, a kilogram-force 9.80665 N, torques their products (NIST SP
// 811, appendix B, seen in the GNU units data file). Mark digits (hundredths, thousandths) are units of their
// own because etched marks are given in them.
const (
	Bare Unit = iota
	MM
	Inch
	Thou      // 0.001 in
	Hundredth // 0.01 mm
	Micron    // 0.001 mm
	Newton
	PoundForce
	KilogramForce
	NewtonMetre
	PoundForceInch
	PoundForceFoot
	KilogramForceCM
	Degree
	unitEnd
)

// facts of a unit: its written name first, then other spellings accepted; unused
// names are empty. An array is handed back by value, and a unit is looked up for
// every figure.
func (u Unit) facts() (names [3]string, dim Dimension, factor string) {
	// Inch, pound-force and kilogram-force are exact by definition: 25.4 mm,
	// 4.4482216152605 N, 9.80665 N (NIST SP 811, appendix B). Torques are the
	// products of these.
	switch u {
	case MM:
		return [3]string{"mm"}, Length, "1"
	case Inch:
		return [3]string{"in", "inch"}, Length, "25.4"
	case Thou:
		return [3]string{"thou", "0.001 in"}, Length, "0.0254"
	case Hundredth:
		return [3]string{"0.01 mm"}, Length, "0.01"
	case Micron:
		return [3]string{"µm", "um", "0.001 mm"}, Length, "0.001"
	case Newton:
		return [3]string{"N"}, Force, "1"
	case PoundForce:
		return [3]string{"lbf"}, Force, "4.4482216152605"
	case KilogramForce:
		return [3]string{"kgf"}, Force, "9.80665"
	case NewtonMetre:
		return [3]string{"N.m", "N·m", "Nm"}, Torque, "1"
	case PoundForceInch:
		return [3]string{"lbf.in", "lbf·in"}, Torque, "0.1129848290276167"
	case PoundForceFoot:
		return [3]string{"lbf.ft", "lbf·ft"}, Torque, "1.3558179483314004"
	case KilogramForceCM:
		return [3]string{"kgf.cm", "kgf·cm"}, Torque, "0.0980665"
	case Degree:
		return [3]string{"deg", "°"}, Angle, "1"
	default:
		return [3]string{""}, Number, "1"
	}
}

// ParseUnit reads a unit's written name; the error lists the names known.
func ParseUnit(s string) (Unit, error) {
	for u := MM; u < unitEnd; u++ {
		names, _, _ := u.facts()
		for _, n := range names {
			if n == s && n != "" {
				return u, nil
			}
		}
	}
	return Bare, fmt.Errorf("%q is not a unit known here: write one of %s", s, strings.Join(unitNames(), ", "))
}

func unitNames() []string {
	var out []string
	for u := MM; u < unitEnd; u++ {
		out = append(out, u.String())
	}
	return out
}

// String is the unit's written name; a bare number's is empty.
func (u Unit) String() string {
	names, _, _ := u.facts()
	return names[0]
}

// Dimension tells what the unit measures.
func (u Unit) Dimension() Dimension {
	_, d, _ := u.facts()
	return d
}

// Factor is how many base units one of u is: exact.
func (u Unit) Factor() decimal.Decimal {
	_, _, f := u.facts()
	return decimal.RequireFromString(f)
}
