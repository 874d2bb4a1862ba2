package network

import (
	"fmt"

	"shimwright/calc/quantity"
)

// A How says how a shaft's setting is shared between its touches.
type How uint8

// The states of a shaft.
const (
	NotSaid     How = iota // the gear's position is a range
	HeldAgainst            // one bearing carries, all of F is at the other
	Closed                 // F below nought, each bearing gives its share
)

// A State is how one shaft lies when a length is judged or a pack worked.
type State struct {
	Shaft   string
	How     How
	Bearing string // of HeldAgainst
}

// String is how the shaft lies, in words: "closed", "held against the head".
func (s State) String() string {
	switch s.How {
	case HeldAgainst:
		return "held against the " + s.Bearing + " bearing"
	case Closed:
		return "closed"
	default:
		return "not said"
	}
}

// Length gives a length by its name.
func (n *Net) Length(name string) (Length, bool) { l, ok := n.lengths[name]; return l, ok }

// Lengths are all lengths in the order listed.
func (n *Net) Lengths() []Length {
	out := make([]Length, 0, len(n.order))
	for _, name := range n.order {
		out = append(out, n.lengths[name])
	}
	return out
}

// Axes are the axes as listed.
func (n *Net) Axes() []Axis { return n.axes }

// Shaft gives a shaft by its name.
func (n *Net) Shaft(name string) (Shaft, bool) { s, ok := n.shafts[name]; return s, ok }

// Walk is the way between two faces as a form: lengths, and for each touch
// crossed its part of the shaft's setting in the state given. It fails where
// nothing leads, or where a touch is crossed and the shaft's state is not said.
func (n *Net) Walk(from, to string, states ...State) (Form, error) {
	for _, f := range []string{from, to} {
		if _, ok := n.place[f]; !ok {
			return Form{}, fmt.Errorf("%q is no face of this sheet", f)
		}
	}
	way, ok := n.way(from, to)
	if !ok {
		return Form{}, fmt.Errorf("nothing leads from %q to %q", from, to)
	}
	f := Form{Lengths: make([]Term, 0, len(way))}
	for _, l := range way {
		if l.touch == "" { // a walk passes each length once
			f.Lengths = append(f.Lengths, Term{l.name, quantity.Whole(l.coef)})
			continue
		}
		part, err := n.part(l.name, l.touch, states)
		if err != nil {
			return Form{}, err
		}
		f.Settings = add(f.Settings, l.name, part.Mul(quantity.Whole(l.coef)))
	}
	return f, nil
}

// part is how much of a shaft's setting stands at one of its touches.
func (n *Net) part(shaft, bearing string, states []State) (quantity.Ratio, error) {
	sh := n.shafts[shaft]
	for _, st := range states {
		if st.Shaft != shaft {
			continue
		}
		switch st.How {
		case HeldAgainst:
			if st.Bearing != sh.Bearings[0].Name && st.Bearing != sh.Bearings[1].Name {
				return quantity.Ratio{}, fmt.Errorf("%s is said to be held against %q, which is none of its bearings", shaft, st.Bearing)
			}
			if st.Bearing == bearing {
				return quantity.Ratio{}, nil
			}
			return quantity.Whole(1), nil
		case Closed:
			near, _ := sh.located()
			return near.Share, nil
		}
	}
	return quantity.Ratio{}, fmt.Errorf("the walk crosses a touch of %s and its state is not said: say held against %s, held against %s, or closed",
		shaft, sh.Bearings[0].Name, sh.Bearings[1].Name)
}

// Position is a wanted length, or a length found as a check, in terms of the
// found lengths, packs and settings of its loop.
func (n *Net) Position(name string, states ...State) (Form, error) {
	l, ok := n.lengths[name]
	if !ok {
		return Form{}, fmt.Errorf("%q is no length of this sheet", name)
	}
	return n.Walk(l.From, l.To, states...)
}

// Setting is a shaft's F in terms of the lengths of its loop: the way round
// between the faces of the touch that is not walked. It fails for a shaft that
// cannot float.
func (n *Net) Setting(shaft string) (Form, error) {
	sh, ok := n.shafts[shaft]
	if !ok {
		return Form{}, fmt.Errorf("%q is no shaft of this sheet", shaft)
	}
	if len(sh.Bearings) == 0 {
		return Form{}, fmt.Errorf("%s has no touches, so it has no float and no preload to set", shaft)
	}
	_, far := sh.located()
	// Held against the bearing that is walked, that touch is nought and the
	// whole of F stands at the other. Build has seen to it that no other
	// shaft's touch is crossed.
	f, err := n.Walk(far.From, far.To, State{shaft, HeldAgainst, sh.LocatedBy})
	if err != nil {
		return Form{}, fmt.Errorf("the loop of %s: %w", shaft, err)
	}
	return f, nil
}

// Through replaces the settings of a form by their loops: what the form comes
// to when F is not set but follows from what is fitted.
func (n *Net) Through(f Form) (Form, error) {
	out := Form{Lengths: f.Lengths}
	for _, t := range f.Settings {
		loop, err := n.Setting(t.Name)
		if err != nil {
			return Form{}, err
		}
		out = out.plus(loop, t.Coef)
	}
	return out, nil
}

// A Loop is a wanted figure and a pack that makes it true, solved for the
// pack: pack = PerWanted × wanted + the terms of Rest.
type Loop struct {
	Pack      string
	PerWanted quantity.Ratio
	Rest      Form
	// Position is the form it was solved from.
	Position Form
}

// Solve turns a position (or a setting's form) round for one pack.
func Solve(position Form, pack string) (Loop, error) {
	c := position.Of(pack)
	if c.IsZero() {
		return Loop{}, fmt.Errorf("%s is not on the loop, so it cannot make it true", pack)
	}
	per, err := c.Inverse()
	if err != nil {
		return Loop{}, err
	}
	rest := Form{}.plus(position, per.Neg())
	rest.Lengths = add(rest.Lengths, pack, quantity.Whole(1))
	return Loop{Pack: pack, PerWanted: per, Rest: rest, Position: position}, nil
}
