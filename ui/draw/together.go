package draw

import (
	"strings"

	"shimwright/calc/overhaul"
	"shimwright/calc/quantity"
)

// together writes every leaf of a figure with its combined coefficient: a
// straightedge met twice shows here that it counts twice.
func (s *sums) together(f *overhaul.Figure, indent int) {
	u := s.unitOf(f)
	owner := owners(f)
	leaves := f.Leaves()
	var parts []string
	for i := 0; i < len(leaves); {
		n := alike(leaves[i:], owner)
		parts = append(parts, s.leafPart(leaves[i:i+n], owner, u))
		i += n
	}
	prefix := strings.Repeat(" ", indent) + "All together: "
	say := strings.Join(parts, ", ") + "."
	if len(leaves) < len(owner) {
		say += " What cancels is left out."
	}
	s.t.wrap(prefix, indent+2, say)
}

// alike counts how many leaves at the head of a list are presses of one mean.
func alike(leaves []overhaul.LeafTerm, owner map[string]string) int {
	n := 1
	first := leaves[0]
	for n < len(leaves) && repeats(leaves[n].Figure.Leaf) && leaves[n].Figure.Leaf.Kind == first.Figure.Leaf.Kind &&
		leaves[n].Coef.Equal(first.Coef) && leaves[n].Figure.Name == first.Figure.Name &&
		owner[leaves[n].Figure.Leaf.Key] == owner[first.Figure.Leaf.Key] {
		n++
	}
	return n
}

// repeats tells of a leaf that there is one of for each press.
func repeats(l *overhaul.Leaf) bool {
	return strings.HasPrefix(l.Key, "press:") || l.Kind == overhaul.LeafCorrection
}

// leafPart is "- 2 × 12.006 straightedge, piece E-02" or, of presses,
// "- 1/3 × (33.38 + 33.38 + 33.39) reading of pinion face height".
func (s *sums) leafPart(of []overhaul.LeafTerm, owner map[string]string, u quantity.Unit) string {
	first := of[0]
	coef, value := first.Coef, s.leafDigits(first.Figure, u)
	if len(of) > 1 {
		var each []string
		for _, l := range of {
			each = append(each, s.leafDigits(l.Figure, u))
		}
		value = "(" + strings.Join(each, " + ") + ")"
	}
	sign := "+ "
	if coef.Sign() < 0 {
		sign, coef = "- ", coef.Neg()
	}
	switch bare, below := strings.CutPrefix(value, "-"); {
	case below && first.Coef.Equal(quantity.Whole(1)):
		sign, value = "- ", bare
	case below:
		value = "(" + value + ")"
	}
	if !coef.Equal(quantity.Whole(1)) {
		value = coef.String() + " × " + value
	}
	return sign + value + " " + leafName(first.Figure, owner)
}

func (s *sums) leafDigits(f *overhaul.Figure, u quantity.Unit) string {
	if f.Leaf.Written.Unit() == u {
		return f.Leaf.Written.Digits()
	}
	d := inFull(f.Value, u)
	if d.Sign() < 0 {
		return "-" + digits(d, 2)
	}
	return digits(d, 2)
}

func leafName(f *overhaul.Figure, owner map[string]string) string {
	l := f.Leaf
	switch kind, _, _ := strings.Cut(l.Key, ":"); kind {
	case "piece":
		return f.Name + " (" + l.Source + ")"
	case "wanted":
		return f.Name
	}
	if of := owner[l.Key]; of != "" && of != f.Name {
		return f.Name + " of " + of
	}
	return f.Name
}

// owners tells for each leaf the name of the figure it was met in.
func owners(f *overhaul.Figure) map[string]string {
	out := map[string]string{}
	var walk func(f *overhaul.Figure, of string)
	walk = func(f *overhaul.Figure, of string) {
		if f.Leaf != nil {
			if _, ok := out[f.Leaf.Key]; !ok {
				out[f.Leaf.Key] = of
			}
			return
		}
		if f.Name != "reading" && f.Name != "correction" && f.Name != overhaul.ToTwenty {
			of = f.Name
		}
		for _, t := range f.Terms {
			walk(t.Figure, of)
		}
	}
	walk(f, "")
	return out
}
