package stock

import (
	"fmt"

	"shimwright/calc/quantity"
)

// An Objective says which pack is best.
type Objective uint8

// The objectives; ties are broken as the package comment says.
const (
	Closest      Objective = iota // smallest error, then fewest leaves
	FewestWithin                  // fewest leaves within tolerance, then smallest error
)

// String names the objective.
func (o Objective) String() string {
	switch o {
	case Closest:
		return "closest"
	case FewestWithin:
		return "fewest leaves within tolerance"
	default:
		return fmt.Sprintf("objective %d", uint8(o))
	}
}

// Rules are what a place demands of a pack. The zero Rules demand nothing.
type Rules struct {
	AtLeast         int  // fewest leaves allowed
	AtMost          int  // most leaves allowed; 0 leaves it at MaxLeaves
	ThinnestOutside bool // thinnest leaves on both outer faces, not the thickest
}

// A Request asks for packs.
type Request struct {
	Want      quantity.Exact // mm
	Within    quantity.Exact // mm: tolerance either way, 0 or more
	Objective Objective
	Rules     Rules
	Answers   int // different packs wanted; 0 asks for one
}

// An Answer is the packs a tray can make, or what comes nearest.
type Answer struct {
	// Packs within tolerance, best first, at most as many as asked for. None
	// means "no pack".
	Packs []Pack
	// Below and Above are, when there is no pack, the nearest totals on either
	// side; nil when there is none on that side.
	Below, Above *Pack
	// Order is, when there is no pack, the single leaf that would make one; nil
	// when one leaf more is not enough.
	Order *Order
}

// An Order is one leaf to order so that a pack lands exactly on the wanted
// size. A thickness between the thinnest and the thickest leaf in the tray is
// preferred, then a pack that keeps the rules, then the fewest leaves, then the
// thicker leaf.
type Order struct {
	Size        quantity.Exact // mm
	Pack        Pack           // with the ordered leaf in it, labelled by its size
	Unusual     bool           // thinner or thicker than every leaf in the tray
	BreaksRules bool           // the pack has too many or too few leaves
}

// MakeUp finds the best packs for a request. It refuses a request that cannot
// be meant; that a tray has no pack is an answer, not an error.
func (t Tray) MakeUp(r Request) (Answer, error) {
	if err := r.check(); err != nil {
		return Answer{}, err
	}
	g, err := gridOf(t.leaves)
	if err != nil {
		return Answer{}, fmt.Errorf("tray: %w", err)
	}
	return newSearch(r, g, sizesOf(t.leaves, g)).answer()
}

func (r Request) check() error {
	if err := checkDigits(r.Want); err != nil {
		return fmt.Errorf("wanted size: %w", err)
	}
	if err := checkDigits(r.Within); err != nil {
		return fmt.Errorf("tolerance: %w", err)
	}
	switch {
	case r.Want.Sign() < 0:
		return fmt.Errorf("wanted size %s mm: a pack cannot be negative; the parts already overlap, so check the readings and the place", r.Want)
	case r.Want.Cmp(maxTarget()) > 0:
		return fmt.Errorf("wanted size %s mm: the thickest pack is %d mm; is the unit right?", r.Want, MaxTarget)
	case r.Within.Sign() < 0:
		return fmt.Errorf("tolerance %s mm: give 0 or more", r.Within)
	case r.Within.Cmp(maxTarget()) > 0:
		return fmt.Errorf("tolerance %s mm: the most is %d mm; is the unit right?", r.Within, MaxTarget)
	case r.Objective > FewestWithin:
		return fmt.Errorf("%s is not known: use Closest or FewestWithin", r.Objective)
	case r.Answers < 0 || r.Answers > MaxAnswers:
		return fmt.Errorf("%d answers asked for: ask for 1 to %d", r.Answers, MaxAnswers)
	}
	return r.Rules.check()
}

func (r Rules) check() error {
	switch {
	case r.AtLeast < 0 || r.AtLeast > MaxLeaves:
		return fmt.Errorf("at least %d leaves: give 0 to %d", r.AtLeast, MaxLeaves)
	case r.AtMost < 0 || r.AtMost > MaxLeaves:
		return fmt.Errorf("at most %d leaves: give 1 to %d, or 0 for no rule", r.AtMost, MaxLeaves)
	case r.AtMost > 0 && r.AtMost < r.AtLeast:
		return fmt.Errorf("at least %d and at most %d leaves: no pack has both; swap them", r.AtLeast, r.AtMost)
	}
	return nil
}

func (r Rules) most() int {
	if r.AtMost == 0 {
		return MaxLeaves
	}
	return r.AtMost
}

// allowed is the numbers of leaves that keep the rules.
func (r Rules) allowed() counts {
	return (counts(1)<<(r.most()+1) - 1) &^ (counts(1)<<r.AtLeast - 1)
}
