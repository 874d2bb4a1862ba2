package remedy

import (
	"shimwright/calc/network"
	"shimwright/calc/quantity"
)

// A Factor is what one unit of move of a gear, AWAY or OUT, adds to the same
// backlash that the dial showed (normal or transverse).
type Factor struct {
	K      quantity.Exact // a decimal above nought
	Source string         // in words: "from the sheet", "from the gears", "learned from 6 re-shims"
}

// mostFactor is far above any pair's: 2·tan 45°/cos 60° is 4.
const mostFactor = 10

func (f Factor) check(field string) error {
	if _, err := inverse(field, f.K); err != nil {
		return err
	}
	if f.K.Sign() < 0 || f.K.Cmp(whole(mostFactor)) > 0 {
		return problem(field, "%s: a move factor is above 0 and at most %d", f.K, mostFactor)
	}
	if f.Source == "" {
		return problem(field, "it has no source: say in words where %s comes from", f.K)
	}
	return nil
}

// A Display is how lengths stand in words. The zero Display is mm at three
// places.
type Display struct {
	Unit   quantity.Unit
	Places int32
}

func (d Display) figure(x quantity.Exact) string {
	if d.Unit == quantity.Bare {
		d.Unit = quantity.MM
	}
	if d.Places <= 0 {
		d.Places = 3
	}
	return x.ShowUnit(d.Unit, d.Places)
}

func (d Display) check(field string) error {
	if d.Unit != quantity.Bare && d.Unit.Dimension() != quantity.Length {
		return problem(field, "%s is no unit of length", d.Unit)
	}
	if d.Places < 0 || d.Places > 9 {
		return problem(field, "%d places: give 0 to 9", d.Places)
	}
	return nil
}

// goes is a move in words: "wheel goes TOWARD the pinion by 0.15 mm".
func (d Display) goes(gear string, move quantity.Exact) string {
	if move.IsZero() {
		return gear + " stays where it is"
	}
	return gear + " goes " + network.WayWord(gear, move.Sign()) + " by " + d.figure(move.Abs())
}
