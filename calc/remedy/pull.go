package remedy

import (
	"github.com/shopspring/decimal"

	"shimwright/calc/quantity"
)

// mostTorque is in N·m, mostPull in N: far above any bearing's.
const (
	mostTorque = 10000
	mostPull   = 100000
)

// TorqueOfPull is the torque of a steady pull on a cord round a housing, exact
// in N·m: pull × (housing/2 + cord/2), in whatever units the figures have.
// Source: the formula is in four US Army manuals, among them TM 5-3895-359-14&P
// p. 5-16; half the cord is common practice, no source. The breakaway pull is
// never the figure.
func TorqueOfPull(pull, housing, cord quantity.Value) (quantity.Exact, error) {
	for _, f := range []struct {
		field string
		v     quantity.Value
		dim   quantity.Dimension
	}{{"pull", pull, quantity.Force}, {"housing diameter", housing, quantity.Length}, {"cord diameter", cord, quantity.Length}} {
		if f.v.Unit().Dimension() != f.dim {
			return quantity.Exact{}, problem(f.field, "%s is a %s, not a %s: give it its unit", f.v, f.v.Unit().Dimension(), f.dim)
		}
	}
	if err := checkPull("pull", pull.Exact()); err != nil {
		return quantity.Exact{}, err
	}
	if err := checkNotNegative("housing diameter", housing.Exact()); err != nil {
		return quantity.Exact{}, err
	}
	if housing.Exact().IsZero() {
		return quantity.Exact{}, problem("housing diameter", "0: give the diameter that the cord runs on")
	}
	if err := checkNotNegative("cord diameter", cord.Exact()); err != nil {
		return quantity.Exact{}, err
	}
	radius, err := half(housing.Exact().Add(cord.Exact()))
	if err != nil {
		return quantity.Exact{}, err
	}
	return pull.Exact().Mul(radius).Mul(perMille()), nil
}

func checkPull(field string, x quantity.Exact) error {
	if err := checkFigure(field, x, mostPull); err != nil {
		return err
	}
	if x.Sign() < 0 {
		return problem(field, "%s N is below nought: a pull counts the way it turns", x)
	}
	return nil
}

// A Radii is a range of radii, in mm; both ends belong to it.
type Radii struct{ Low, High quantity.Exact }

// Empty tells that no radius is in the range.
func (r Radii) Empty() bool { return r.High.Less(r.Low) }

// And is what two ranges share.
func (r Radii) And(s Radii) Radii { return Radii{most(r.Low, s.Low), least(r.High, s.High)} }

// RadiusOf is the radii at which a pull makes a torque as printed, that is to
// within half a unit of its last digit: for asking whether a manual's pull and
// torque speak of one housing.
func RadiusOf(pull, torque quantity.Value) (Radii, error) {
	if pull.Unit().Dimension() != quantity.Force {
		return Radii{}, problem("pull", "%s is a %s: give a force with its unit", pull, pull.Unit().Dimension())
	}
	if torque.Unit().Dimension() != quantity.Torque {
		return Radii{}, problem("torque", "%s is a %s: give a torque with its unit", torque, torque.Unit().Dimension())
	}
	if err := checkPull("pull", pull.Exact()); err != nil {
		return Radii{}, err
	}
	if err := checkTorque("torque", torque.Exact()); err != nil {
		return Radii{}, err
	}
	by, err := inverse("pull", pull.Exact())
	if err != nil {
		return Radii{}, err
	}
	slack, err := half(torque.Resolution())
	if err != nil {
		return Radii{}, err
	}
	perMetre := by.Mul(whole(1000))
	return Radii{torque.Exact().Sub(slack).Mul(perMetre), torque.Exact().Add(slack).Mul(perMetre)}, nil
}

// SealDrag is what a seal adds to a turning torque, from one pair of readings
// with it and without, in one unit.
func SealDrag(with, without quantity.Exact) (quantity.Exact, error) {
	if err := checkTorque("torque with the seal", with); err != nil {
		return quantity.Exact{}, err
	}
	if err := checkTorque("torque without the seal", without); err != nil {
		return quantity.Exact{}, err
	}
	if with.Less(without) {
		return quantity.Exact{}, problem("torque with the seal", "%s is less than %s without it: were the two taken the other way round?", with, without)
	}
	return with.Sub(without), nil
}

// LessSealDrag is a turning torque without the seal's part.
func LessSealDrag(torque, drag quantity.Exact) (quantity.Exact, error) {
	if err := checkTorque("torque", torque); err != nil {
		return quantity.Exact{}, err
	}
	if err := checkTorque("seal drag", drag); err != nil {
		return quantity.Exact{}, err
	}
	if torque.Less(drag) {
		return quantity.Exact{}, problem("seal drag", "%s is more than the whole torque %s: take the pair with and without the seal again", drag, torque)
	}
	return torque.Sub(drag), nil
}

func checkTorque(field string, x quantity.Exact) error {
	if err := checkFigure(field, x, mostTorque); err != nil {
		return err
	}
	if x.Sign() < 0 {
		return problem(field, "%s is below nought: give 0 or more", x)
	}
	return nil
}

func half(x quantity.Exact) (quantity.Exact, error) {
	h, err := quantity.RatioOf(1, 2)
	return x.Times(h), err
}

func perMille() quantity.Exact { return quantity.FromDecimal(decimal.New(1, -3)) }
