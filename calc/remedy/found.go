package remedy

import (
	"fmt"

	"shimwright/calc/network"
	"shimwright/calc/quantity"
)

// A Fit is a re-shim with the ring before and after it.
type Fit struct {
	Gear      string         // "wheel" or "pinion"
	Predicted quantity.Exact // mm, the move that the packs as measured should give
	Before    quantity.Exact // mm, mean of the ring before
	After     quantity.Exact // mm, mean of the ring after
	U         quantity.Exact // mm, expanded uncertainty of the change of mean, packs included
	Factor    Factor
	Show      Display
}

// A Comparison is what a re-shim did against what it should have done.
type Comparison struct {
	Gear      string          // that was to move
	Predicted quantity.Exact  // mm, the move that the packs as measured should give
	Found     quantity.Exact  // mm, AWAY or OUT above nought: change of mean ÷ k, exact
	Change    quantity.Exact  // mm, of the mean
	Miss      quantity.Exact  // mm: change of the mean − k × predicted move
	Agrees    bool            // the miss is within U
	Learned   *quantity.Exact // change of mean ÷ predicted move, by factor; nil where nothing should have moved
	Words     string
}

// Compare holds a move as found against the move as predicted.
func Compare(in Fit) (Comparison, error) {
	if err := in.check(); err != nil {
		return Comparison{}, err
	}
	by, err := inverse("factor", in.Factor.K)
	if err != nil {
		return Comparison{}, err
	}
	c := Comparison{Gear: in.Gear, Predicted: in.Predicted, Change: in.After.Sub(in.Before)}
	c.Found = c.Change.Mul(by)
	c.Miss = c.Change.Sub(in.Predicted.Mul(in.Factor.K))
	c.Agrees = c.Miss.Abs().Cmp(in.U) <= 0
	if !in.Predicted.IsZero() {
		k := quotient(c.Change, in.Predicted)
		c.Learned = &k
	}
	c.Words = in.words(c)
	return c, nil
}

func (in Fit) check() error {
	if err := checkGear("gear", in.Gear); err != nil {
		return err
	}
	for _, f := range []struct {
		field string
		x     quantity.Exact
	}{{"predicted move", in.Predicted}, {"mean before", in.Before}, {"mean after", in.After}} {
		if err := checkLength(f.field, f.x); err != nil {
			return err
		}
	}
	if err := checkNotNegative("U", in.U); err != nil {
		return err
	}
	if err := in.Factor.check("factor"); err != nil {
		return err
	}
	return in.Show.check("show")
}

func (in Fit) words(c Comparison) string {
	found, predicted := in.Show.figure(c.Found.Abs()), in.Show.figure(in.Predicted.Abs())
	still := c.Change.Abs().Cmp(in.U) <= 0
	switch {
	case c.Agrees:
		return fmt.Sprintf("The %s moved %s, predicted %s: they agree within U.", in.Gear, found, predicted)
	case in.Predicted.IsZero():
		return fmt.Sprintf("The %s moved %s %s though nothing should have moved it: measure both packs, look for dirt.",
			in.Gear, network.WayWord(in.Gear, c.Found.Sign()), found)
	case !still && c.Found.Sign() != in.Predicted.Sign():
		return fmt.Sprintf("The %s moved %s %s, not %s %s: are the two packs in each other's places?",
			in.Gear, network.WayWord(in.Gear, c.Found.Sign()), found, network.WayWord(in.Gear, in.Predicted.Sign()), predicted)
	}
	return fmt.Sprintf("The %s moved %s not %s: the pack is not what you think. Measure it again; then look for dirt, and bolts not pulled down.",
		in.Gear, found, predicted)
}

// quotient is a ÷ b rounded half to even at 12 places, "by factor"; b is first
// rounded to 10⁻¹² where it is no decimal. Of nought it is nought.
func quotient(a, b quantity.Exact) quantity.Exact {
	d := quantity.FromDecimal(b.Round(12))
	by, err := inverse("", d)
	if err != nil {
		return quantity.Exact{}
	}
	return quantity.FromDecimal(a.Mul(by).Round(12))
}

// An Earlier is one earlier re-shim of drives of this type.
type Earlier struct {
	Move   quantity.Exact // mm, by the packs as measured
	Change quantity.Exact // mm, of the mean
	U      quantity.Exact // mm, expanded uncertainty of the change
}

// A Learned is the factor that earlier re-shims found.
type Learned struct {
	Mean, Low, High quantity.Exact // by factor
	N               int            // re-shims that counted
	LeftOut         int            // re-shims too small to tell: no move, or a change not above its U
	Disagrees       bool           // the sheet's factor lies outside what three or more found
	Words           string
}

const (
	mostEarlier = 10000
	fewToJudge  = 3
)

// Learn finds the factor from earlier re-shims, each k = change of mean ÷
// move, and holds a stated factor against them.
func Learn(earlier []Earlier, stated Factor) (Learned, error) {
	if len(earlier) > mostEarlier {
		return Learned{}, problem("earlier re-shims", "%d of them: give at most %d", len(earlier), mostEarlier)
	}
	if err := stated.check("factor"); err != nil {
		return Learned{}, err
	}
	var out Learned
	var sum quantity.Exact
	for i, e := range earlier {
		if err := e.check(i); err != nil {
			return Learned{}, err
		}
		k := quotient(e.Change, e.Move)
		if e.Move.IsZero() || k.IsZero() || e.Change.Abs().Cmp(e.U) <= 0 {
			out.LeftOut++
			continue
		}
		if out.N == 0 {
			out.Low, out.High = k, k
		}
		out.Low, out.High = least(out.Low, k), most(out.High, k)
		sum = sum.Add(k)
		out.N++
	}
	out.finish(sum, stated)
	return out, nil
}

func (e Earlier) check(i int) error {
	name := fmt.Sprintf("earlier re-shim %d, ", i+1)
	if err := checkLength(name+"move", e.Move); err != nil {
		return err
	}
	if err := checkLength(name+"change", e.Change); err != nil {
		return err
	}
	return checkNotNegative(name+"U", e.U)
}

func (l *Learned) finish(sum quantity.Exact, stated Factor) {
	if l.N == 0 {
		l.Words = fmt.Sprintf("Factor %s %s; no re-shim has shown it yet.", stated.K.Round(4), stated.Source)
		return
	}
	one, err := quantity.RatioOf(1, int64(l.N))
	if err != nil {
		return
	}
	l.Mean = quantity.FromDecimal(sum.Times(one).Round(12))
	l.Disagrees = l.N >= fewToJudge && (stated.K.Less(l.Low) || l.High.Less(stated.K))
	l.Words = fmt.Sprintf("Factor %s %s; %d re-shims found %s to %s, mean %s.", stated.K.Round(4), stated.Source, l.N,
		l.Low.Round(3).StringFixed(3), l.High.Round(3).StringFixed(3), l.Mean.Round(3).StringFixed(3))
	if l.N == 1 {
		l.Words = fmt.Sprintf("Factor %s %s; one re-shim found %s.", stated.K.Round(4), stated.Source, l.Mean.Round(3).StringFixed(3))
	}
	if l.Disagrees {
		l.Words += " They disagree: packs not measured, dirt, or the wrong sheet. Has the dial shown the same backlash (normal or transverse) that the factor speaks of?"
	}
}
