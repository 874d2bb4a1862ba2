package network

import (
	"fmt"
	"slices"
	"strings"

	"shimwright/calc/quantity"
)

// A Row says what one more of a pack does, length for length: to the shaft's
// setting (more float above nought) and to the gear (AWAY from its mate, or OUT,
// above nought).
type Row struct{ Float, Gear quantity.Ratio }

// WordsFor says the row as a fitter would, of a shaft that carries a pinion, a
// wheel or no gear ("").
func (r Row) WordsFor(gear string) string {
	if gear == "" {
		return r.floatWords()
	}
	return r.floatWords() + ", " + MoveWords(gear, r.Gear)
}

// Words says the row of a gear that is neither named pinion nor wheel.
func (r Row) Words() string { return r.WordsFor("gear") }

func (r Row) floatWords() string {
	switch r.Float.Sign() {
	case 1:
		return "looser"
	case -1:
		return "tighter"
	}
	return "setting unchanged"
}

// MoveWords says which way a gear goes for each one more: a pinion goes OUT or
// IN, a wheel AWAY from the pinion or TOWARD it.
func MoveWords(gear string, move quantity.Ratio) string {
	much := ""
	if a := move; !a.Equal(quantity.Whole(1)) && !a.Equal(quantity.Whole(-1)) {
		much = " by " + strings.TrimPrefix(a.String(), "-")
	}
	if move.IsZero() {
		return gear + " does not move"
	}
	return gear + " goes " + WayWord(gear, move.Sign()) + much
}

// WayWord is the word for which way a gear goes: a longer distance is OUT for
// a pinion and AWAY for a wheel.
func WayWord(gear string, sign int) string {
	if gear == "pinion" {
		if sign > 0 {
			return "OUT"
		}
		return "IN"
	}
	if sign > 0 {
		return "AWAY"
	}
	return "TOWARD the pinion"
}

// A Place is where a pack is fitted, in workshop words, with the row that one
// thicker must give. The rows are mechanics and common trade practice, no
// source.
type Place struct {
	Name string
	// Against is the bearing the shaft is held against when the row is
	// worked; "" where the row does not depend on it.
	Against     string
	Float, Gear int
	// Else is what the gear does with the shaft held against the other
	// bearing; it tells apart places whose own rows are alike.
	Else   int
	NoGear bool // the row speaks of float only
}

// The names that bearings have in the places below.
const (
	HeadBearing = "head"
	TailBearing = "tail"
	BackSide    = "wheel-back side"
	ToothSide   = "tooth side"
)

// Places are all places known.
func Places() []Place {
	return []Place{
		{Name: "between the pinion's inner races", Against: HeadBearing, Float: +1, Gear: 0, Else: -1},
		{Name: "between the pinion's outer races, head race on the shoulder", Against: HeadBearing, Float: +1, Gear: 0, Else: +1},
		{Name: "between the pinion's outer races, tail race on the shoulder", Against: HeadBearing, Float: +1, Gear: -1},
		{Name: "under the pinion housing flange", Against: HeadBearing, Float: 0, Gear: +1, Else: +1},
		{Name: "between the pinion head and the inner race", Against: HeadBearing, Float: 0, Gear: -1, Else: -1},
		{Name: "behind the head bearing's outer race", Against: HeadBearing, Float: -1, Gear: -1},
		{Name: "behind the tail bearing's outer race", Against: HeadBearing, Float: -1, Gear: 0, Else: +1},
		{Name: "under the track, wheel-back side", Against: BackSide, Float: -1, Gear: -1},
		{Name: "under the track, tooth side", Against: ToothSide, Float: -1, Gear: +1},
		{Name: "under the cover flange, wheel-back side", Against: BackSide, Float: +1, Gear: +1},
		{Name: "under the cover flange, tooth side", Against: ToothSide, Float: +1, Gear: -1},
		{Name: "under the track, helical shaft", Float: -1, NoGear: true},
		{Name: "under the cover flange, helical shaft", Float: +1, NoGear: true},
	}
}

// PlaceNamed finds a place by its name; the error lists the names.
func PlaceNamed(name string) (Place, error) {
	all := Places()
	i := slices.IndexFunc(all, func(p Place) bool { return p.Name == name })
	if i < 0 {
		var known []string
		for _, p := range all {
			known = append(known, p.Name)
		}
		return Place{}, fmt.Errorf("%q is no place known: write one of: %s; or state the row in words", name, strings.Join(known, "; "))
	}
	return all[i], nil
}

// Row works out from the network what one more of a pack does on a shaft in a
// state. For a shaft without touches the float part is nought; for a shaft
// without a gear the gear part is.
func (n *Net) Row(pack, shaft string, state State) (Row, error) {
	sh, ok := n.shafts[shaft]
	if !ok {
		return Row{}, fmt.Errorf("%q is no shaft of this sheet", shaft)
	}
	if _, ok := n.lengths[pack]; !ok {
		return Row{}, fmt.Errorf("%q is no length of this sheet", pack)
	}
	var row Row
	if len(sh.Bearings) > 0 {
		f, err := n.Setting(shaft)
		if err != nil {
			return Row{}, err
		}
		row.Float = f.Of(pack)
	}
	if sh.Gear == "" {
		return row, nil
	}
	state.Shaft = shaft
	at, err := n.Position(sh.Gear, state)
	if err != nil {
		return Row{}, err
	}
	at, err = n.Through(at)
	if err != nil {
		return Row{}, err
	}
	row.Gear = at.Of(pack)
	return row, nil
}

// Other is the bearing at the shaft's other end from the one the row is worked
// against; "" where the row depends on none.
func (p Place) Other() string {
	return map[string]string{HeadBearing: TailBearing, TailBearing: HeadBearing, BackSide: ToothSide, ToothSide: BackSide}[p.Against]
}

// AgreesElse tells whether a row computed with the shaft held against the other
// bearing is the one that the place states.
func (p Place) AgreesElse(r Row) bool {
	return r.Float.Equal(quantity.Whole(int64(p.Float))) && (p.NoGear || r.Gear.Equal(quantity.Whole(int64(p.Else))))
}

// Agrees tells whether a computed row is the one that the place states.
func (p Place) Agrees(r Row) bool {
	return r.Float.Equal(quantity.Whole(int64(p.Float))) &&
		(p.NoGear || r.Gear.Equal(quantity.Whole(int64(p.Gear))))
}

// Row is the row the place states.
func (p Place) Row() Row {
	return Row{quantity.Whole(int64(p.Float)), quantity.Whole(int64(p.Gear))}
}
