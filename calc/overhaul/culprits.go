package overhaul

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"shimwright/calc/quantity"
)

// A Culprit is one plausible blunder that would explain why a loop does not
// close, or why a figure is not believed.
type Culprit struct {
	Term   string         // the leaf it concerns
	Slip   string         // what may have happened, in words
	Left   quantity.Exact // what would be left of the closure
	Closes bool           // whether that is within the limit
	Share  quantity.Exact // of the variance, where a budget is known
}

// mostCulprits is how many are named.
const mostCulprits = 5

// culprits ranks blunders by how well they explain a difference that should be
// nought: those that close it first, the plainest slip before the rarer, then
// what is left, then the share of uncertainty.
func (w *worker) culprits(apart *Figure, limit quantity.Exact, b *Budget) []Culprit {
	shares := map[string]quantity.Exact{}
	if b != nil {
		for _, l := range b.Lines {
			shares[l.Name] = shares[l.Name].Add(l.Share)
		}
	}
	type ranked struct {
		Culprit
		rare int
	}
	var all []ranked
	for _, t := range apart.Leaves() {
		for _, s := range w.slips(t.Figure) {
			left := apart.Value.Add(s.change.Times(t.Coef))
			if !left.Abs().Less(apart.Value.Abs()) {
				continue
			}
			c := Culprit{Term: leafName(t.Figure), Slip: s.words, Left: left, Closes: !limit.Less(left.Abs()), Share: shares[sourceName(t.Figure)]}
			all = append(all, ranked{c, s.rare})
		}
	}
	slices.SortStableFunc(all, func(a, b ranked) int {
		switch {
		case a.Closes != b.Closes:
			return map[bool]int{true: -1, false: 1}[a.Closes]
		case a.Closes && a.rare != b.rare:
			return a.rare - b.rare
		case !a.Left.Abs().Equal(b.Left.Abs()):
			return a.Left.Abs().Cmp(b.Left.Abs())
		}
		return b.Share.Cmp(a.Share)
	})
	var out []Culprit
	for _, r := range all {
		if len(out) < mostCulprits && !slices.ContainsFunc(out, func(c Culprit) bool { return c.Slip == r.Slip && c.Term == r.Term }) {
			out = append(out, r.Culprit)
		}
	}
	return out
}

func leafName(f *Figure) string {
	if f.Leaf.Kind == LeafPress {
		return f.Leaf.Group + ", " + f.Leaf.Written.String()
	}
	return f.Name + ", " + f.Leaf.Source
}

func sourceName(f *Figure) string {
	if f.Leaf.Kind == LeafPress {
		return f.Leaf.Gauge
	}
	return strings.TrimPrefix(f.Leaf.Source, "piece ")
}

// slip is what a blunder would have changed in a leaf: the true figure less the
// one used.
type slip struct {
	words  string
	change quantity.Exact
	rare   int
}

// slips are the plausible blunders of one leaf.
func (w *worker) slips(f *Figure) []slip {
	var out []slip
	switch f.Leaf.Kind {
	case LeafPiece:
		out = append(w.otherPieces(f), slip{"it is counted once too often", f.Value.Neg(), 2}, slip{"it is counted once too few", f.Value, 2})
	case LeafPress:
		out = append(out, wrongUnit(f)...)
		// A press is not typed; one in a readings file, or keyed, was.
		if f.Leaf.Ref == "" || strings.HasPrefix(f.Leaf.Source, "keyed") {
			out = append(out, swapped(f)...)
		}
	case LeafMark:
		out = append(swapped(f), wrongUnit(f)...)
		out = append(out, slip{"its sign was read the wrong way", f.Value.Times(quantity.Whole(-2)), 1})
	case LeafKeyed:
		out = append(swapped(f), wrongUnit(f)...)
		out = append(out, slip{"it was left out, or not measured as it is", f.Value.Neg(), 3})
	}
	return out
}

// otherPieces tries every other certified piece the entries name.
func (w *worker) otherPieces(f *Figure) []slip {
	var out []slip
	for _, id := range slices.Sorted(maps.Keys(w.entries.Pieces)) {
		p := w.entries.Pieces[id]
		if "piece:"+id == f.Leaf.Key {
			continue
		}
		out = append(out, slip{fmt.Sprintf("%s, %s, stood there", id, p.Size), p.Size.Exact().Sub(f.Value), 1})
	}
	return out
}

// wrongUnit reads the digits in the other length units.
func wrongUnit(f *Figure) []slip {
	var out []slip
	v := f.Leaf.Written
	if v.Unit().Dimension() != quantity.Length {
		return nil
	}
	for _, u := range []quantity.Unit{quantity.MM, quantity.Inch, quantity.Thou, quantity.Hundredth} {
		if u != v.Unit() {
			out = append(out, slip{fmt.Sprintf("%s was meant in %s", v.Digits(), u), v.In(u).Exact().Sub(f.Value), 2})
		}
	}
	return out
}

// swapped exchanges each two neighbouring digits.
func swapped(f *Figure) []slip {
	var out []slip
	digits := []byte(f.Leaf.Written.Digits())
	for i := range len(digits) - 1 {
		j := i + 1
		if digits[j] == '.' && j+1 < len(digits) {
			j++
		}
		if digits[i] == digits[j] || !isDigit(digits[i]) || !isDigit(digits[j]) {
			continue
		}
		turned := slices.Clone(digits)
		turned[i], turned[j] = turned[j], turned[i]
		v, err := quantity.Parse(string(turned), f.Leaf.Written.Unit())
		if err != nil {
			continue
		}
		out = append(out, slip{fmt.Sprintf("its digits were swapped: %s", v.Digits()), v.Exact().Sub(f.Value), 1})
	}
	return out
}

func isDigit(b byte) bool { return b >= '0' && b <= '9' }

// whichPiece says which other certified piece would bring a measured length
// where it is expected; "" when none would.
func (w *worker) whichPiece(f *Figure, low, high quantity.Exact) string {
	for _, t := range f.Leaves() {
		if t.Figure.Leaf.Kind != LeafPiece {
			continue
		}
		for _, s := range w.otherPieces(t.Figure) {
			v := f.Value.Add(s.change.Times(t.Coef))
			if !v.Less(low) && !high.Less(v) {
				return fmt.Sprintf("With %s it would be %s", strings.TrimSuffix(s.words, " stood there"), v.ShowUnit(w.sheet.Unit, w.sheet.Places))
			}
		}
	}
	return ""
}
