package ring

import (
	"fmt"
	"math"

	"github.com/shopspring/decimal"

	"shimwright/calc/quantity"
)

// FactorPlaces is where a factor from an angle is rounded, half to even, when
// it leaves float64; figures worked with one are "by factor".
const FactorPlaces = 12

// Gears is a pair of bevel gears without offset.
type Gears struct {
	Pinion, Wheel int            // teeth, 1 to 1000
	Shafts        quantity.Exact // degrees between the axes, above 0 and under 180
	Pressure      quantity.Exact // degrees, normal pressure angle, above 0 and at most 45
	Spiral        quantity.Exact // degrees, 0 for straight teeth, at most 60 of either hand
}

// Factors are what one unit of axial move, OUT or AWAY, adds to backlash, and
// the pitch cone angles they come from; each by factor.
type Factors struct {
	PinionCone, WheelCone             quantity.Exact // degrees
	PinionTransverse, WheelTransverse quantity.Exact // backlash in the plane of turning
	PinionNormal, WheelNormal         quantity.Exact // backlash square to the flank
}

// Factors works out the move factors of a pair of gears:
//
//	pinion cone  δ1 = atan(sin S / (z2/z1 + cos S)), wheel cone δ2 = S − δ1
//	transverse   2·tan(pressure)·sin(δ)/cos(spiral)
//	normal       2·sin(pressure)·sin(δ)
//
// (from memory of gear handbooks; no published worked example was found). The
// form is linear, right for small moves. Moving a straight-toothed member also
// shifts it along its cone, at worst about a fifth of the main term for a small
// pinion: measure again after moving a pinion. At the heel use the spiral angle
// there. Never mix a sheet's own factor for one gear with a worked one for the
// other.
func (g Gears) Factors() (Factors, error) {
	if err := g.check(); err != nil {
		return Factors{}, err
	}
	ratio := float64(g.Wheel) / float64(g.Pinion)
	sinS, cosS := sincos(g.Shafts.Float())
	pinion := math.Atan2(sinS, ratio+cosS)
	wheel := g.Shafts.Float()*math.Pi/180 - pinion
	sinA, cosA := sincos(g.Pressure.Float())
	_, cosB := sincos(g.Spiral.Float())
	transverse := 2 * sinA / cosA / cosB
	return Factors{
		PinionCone:       byFactor(pinion * 180 / math.Pi),
		WheelCone:        byFactor(wheel * 180 / math.Pi),
		PinionTransverse: byFactor(transverse * math.Sin(pinion)),
		WheelTransverse:  byFactor(transverse * math.Sin(wheel)),
		PinionNormal:     byFactor(2 * sinA * math.Sin(pinion)),
		WheelNormal:      byFactor(2 * sinA * math.Sin(wheel)),
	}, nil
}

// NormalPerTransverse is cos(pressure)·cos(spiral), by factor: what a
// transverse backlash is multiplied by to give the normal one.
func (g Gears) NormalPerTransverse() (quantity.Exact, error) {
	cos, err := g.tilt()
	if err != nil {
		return quantity.Exact{}, err
	}
	return byFactor(cos), nil
}

// Normal is a transverse backlash, in mm, as the normal one: what a dial square
// to the flank shows. It refuses more than 100 mm and angles that no gear has.
func (g Gears) Normal(transverse quantity.Exact) (quantity.Exact, error) {
	if err := checkLength(transverse); err != nil {
		return quantity.Exact{}, fmt.Errorf("transverse backlash: %w", err)
	}
	k, err := g.NormalPerTransverse()
	if err != nil {
		return quantity.Exact{}, err
	}
	return transverse.Mul(k), nil
}

// Transverse is a normal backlash, in mm, as the transverse one: what turning
// the wheel shows at the same radius. It uses the reciprocal of the factor,
// itself of FactorPlaces.
func (g Gears) Transverse(normal quantity.Exact) (quantity.Exact, error) {
	if err := checkLength(normal); err != nil {
		return quantity.Exact{}, fmt.Errorf("normal backlash: %w", err)
	}
	cos, err := g.tilt()
	if err != nil {
		return quantity.Exact{}, err
	}
	return normal.Mul(byFactor(1 / cos)), nil
}

// tilt is cos(pressure)·cos(spiral), which needs no tooth counts.
func (g Gears) tilt() (float64, error) {
	if err := g.checkTooth(); err != nil {
		return 0, err
	}
	_, a := sincos(g.Pressure.Float())
	_, b := sincos(g.Spiral.Float())
	return a * b, nil
}

func (g Gears) check() error {
	for _, z := range []struct {
		name  string
		teeth int
	}{{"pinion", g.Pinion}, {"wheel", g.Wheel}} {
		if z.teeth < 1 || z.teeth > 1000 {
			return fmt.Errorf("%s: %d teeth; give 1 to 1000", z.name, z.teeth)
		}
	}
	if err := checkDigits(g.Shafts); err != nil {
		return fmt.Errorf("shafts: %w", err)
	}
	if g.Shafts.Sign() <= 0 || g.Shafts.Cmp(whole(180)) >= 0 {
		return fmt.Errorf("shafts: %s deg between the axes; give above 0 and under 180", g.Shafts)
	}
	return g.checkTooth()
}

func (g Gears) checkTooth() error {
	if err := checkDigits(g.Pressure); err != nil {
		return fmt.Errorf("pressure angle: %w", err)
	}
	if err := checkDigits(g.Spiral); err != nil {
		return fmt.Errorf("spiral angle: %w", err)
	}
	if g.Pressure.Sign() <= 0 || g.Pressure.Cmp(whole(45)) > 0 {
		return fmt.Errorf("pressure angle: %s deg; give above 0 and at most 45", g.Pressure)
	}
	if g.Spiral.Abs().Cmp(whole(60)) > 0 {
		return fmt.Errorf("spiral angle: %s deg; give at most 60 of either hand", g.Spiral)
	}
	return nil
}

// byFactor turns a float64 into a decimal of FactorPlaces at once.
func byFactor(x float64) quantity.Exact {
	return quantity.FromDecimal(decimal.NewFromFloat(x).RoundBank(FactorPlaces))
}
