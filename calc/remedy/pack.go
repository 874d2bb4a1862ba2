package remedy

import (
	"fmt"

	"shimwright/calc/network"
	"shimwright/calc/quantity"
	"shimwright/calc/ring"
	"shimwright/calc/stock"
)

// A Pack is a pack that may change, as it is in the drive now.
type Pack struct {
	Name   string         // the step
	Place  string         // in words: "under the track, wheel-back side"
	Row    network.Row    // what one more of it does, in the shaft's present state
	Figure quantity.Exact // mm, as fitted
	// Leaves are what it is made of, counted; none where that is not known or
	// it is one solid thing, which then can be added to or replaced whole.
	Leaves []stock.Leaf
	// Tray is the leaves that are free; those in the packs are not in it. Packs
	// with one TrayName draw on one tray, and a leaf out of one may go into the
	// other.
	Tray     stock.Tray
	TrayName string
	Rules    stock.Rules
	Range    *ring.Band // mm, what the sheet lets it be; nil for any
	// Within is how far it may lie from the figure that keeps the setting
	// exactly, in mm; nil leaves that to the setting's own limit.
	Within *quantity.Exact
}

func (p Pack) check(field string) error {
	if p.Name == "" || p.Place == "" {
		return problem(field, "give its name and its place in words")
	}
	if err := checkNotNegative(field+", figure", p.Figure); err != nil {
		return err
	}
	if p.Figure.Cmp(whole(stock.MaxTarget)) > 0 {
		return problem(field+", figure", "%s mm: the thickest pack is %d mm; is the unit right?", p.Figure, stock.MaxTarget)
	}
	if err := checkRatio(field+", float of the row", p.Row.Float); err != nil {
		return err
	}
	if err := checkRatio(field+", gear of the row", p.Row.Gear); err != nil {
		return err
	}
	if err := p.checkLeaves(field); err != nil {
		return err
	}
	if p.Range != nil {
		if err := checkBand(field+", range", *p.Range); err != nil {
			return err
		}
	}
	if p.Within != nil {
		return checkNotNegative(field+", within", *p.Within)
	}
	return nil
}

func (p Pack) checkLeaves(field string) error {
	if p.Rules.AtLeast < 0 || p.Rules.AtMost < 0 || p.Rules.AtLeast > stock.MaxLeaves || p.Rules.AtMost > stock.MaxLeaves {
		return problem(field+", rules", "at least %d and at most %d leaves: give 0 to %d", p.Rules.AtLeast, p.Rules.AtMost, stock.MaxLeaves)
	}
	if p.Rules.AtMost > 0 && p.Rules.AtMost < p.Rules.AtLeast {
		return problem(field+", rules", "at least %d and at most %d leaves: no pack has both", p.Rules.AtLeast, p.Rules.AtMost)
	}
	if _, err := stock.NewTray(p.Leaves...); err != nil {
		return problem(field+", leaves", "%v", err)
	}
	if n := countOf(p.Leaves); n > stock.MaxLeaves {
		return problem(field+", leaves", "%d of them: a pack has at most %d", n, stock.MaxLeaves)
	}
	if sum := sumOf(p.Leaves); sum.Cmp(whole(stock.MaxTarget)) > 0 {
		return problem(field+", leaves", "they make %s mm: the thickest pack is %d mm; is the unit right?", sum, stock.MaxTarget)
	}
	return nil
}

func countOf(leaves []stock.Leaf) int {
	n := 0
	for _, l := range leaves {
		n += l.Count
	}
	return n
}

func sumOf(leaves []stock.Leaf) quantity.Exact {
	var sum quantity.Exact
	for _, l := range leaves {
		sum = sum.Add(l.Size.Times(quantity.Whole(int64(l.Count))))
	}
	return sum
}

func checkBand(field string, b ring.Band) error {
	if err := checkLength(field+", low", b.Low); err != nil {
		return err
	}
	if err := checkLength(field+", high", b.High); err != nil {
		return err
	}
	if b.High.Less(b.Low) {
		return problem(field, "low %s is above high %s: swap them", b.Low, b.High)
	}
	return nil
}

// A Setting is the end float or preload of the shaft, which a re-shim keeps.
// The zero Setting is kept exactly and its figure is not known.
type Setting struct {
	Figure *quantity.Exact // mm, as it stands; preload below nought
	Band   *ring.Band      // mm, what it may be; nil for no limits of its own
	Within quantity.Exact  // mm, the most it may change either way; nought keeps it exactly
}

func (s Setting) check() error {
	if s.Figure != nil {
		if err := checkLength("setting", *s.Figure); err != nil {
			return err
		}
	}
	if s.Band != nil {
		if err := checkBand("setting, band", *s.Band); err != nil {
			return err
		}
	}
	return checkNotNegative("setting, within", s.Within)
}

// change is the change of the setting that is allowed: within its limit, within
// its band, and never from float to preload or back, because the rows hold only
// in the state they were worked in.
func (s Setting) change() (low, high quantity.Exact) {
	low, high = s.Within.Neg(), s.Within
	if s.Figure == nil {
		return low, high
	}
	if s.Band != nil {
		low, high = most(low, s.Band.Low.Sub(*s.Figure)), least(high, s.Band.High.Sub(*s.Figure))
	}
	if s.Figure.Sign() >= 0 {
		low = most(low, s.Figure.Neg())
	} else {
		high = least(high, s.Figure.Neg())
	}
	return low, high
}

// outside tells whether the setting lies outside its band now.
func (s Setting) outside() bool {
	return s.Figure != nil && s.Band != nil && (s.Figure.Less(s.Band.Low) || s.Band.High.Less(*s.Figure))
}

func packField(i int) string { return fmt.Sprintf("pack %d", i+1) }
