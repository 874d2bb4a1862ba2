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
// what is left, then the share of uncertainty, then by name.
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
	leaves := apart.Leaves()
	note := func(term string, s slip, by quantity.Exact, source string) {
		left := apart.Value.Add(by)
		if left.Abs().Less(apart.Value.Abs()) {
			all = append(all, ranked{Culprit{Term: term, Slip: s.words, Left: left, Closes: !limit.Less(left.Abs()), Share: shares[source]}, s.rare})
		}
	}
	places := map[string]int{}
	for _, p := range apart.placed() {
		places[p.Figure.Leaf.Key]++
	}
	for _, t := range leaves {
		if places[t.Figure.Leaf.Key] == 1 {
			continue // a piece in one setup
		}
		for _, s := range w.slips(t.Figure) {
			note(leafName(t.Figure), s, s.change.Times(t.Coef), sourceName(t.Figure))
		}
	}
	for _, p := range apart.placed() {
		term := leafName(p.Figure) + ", in the " + p.in
		for _, s := range w.pieceSlips(p.Figure) {
			note(term, s, s.change.Times(p.Coef), sourceName(p.Figure))
		}
	}
	for _, r := range runsOf(leaves) {
		for _, s := range r.wrongUnit() {
			note(r.name(), s, s.change, sourceName(r[0].Figure))
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
		case !a.Share.Equal(b.Share):
			return b.Share.Cmp(a.Share)
		case a.Term != b.Term: // so that it does not hang on which way the loop is walked
			return strings.Compare(a.Term, b.Term)
		}
		return strings.Compare(a.Slip, b.Slip)
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
	switch f.Leaf.Kind {
	case LeafPress:
		return f.Leaf.Group + ", " + f.Leaf.Written.String()
	case LeafMark:
		return strings.TrimPrefix(f.Leaf.Key, "mark:") + ", its mark"
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
	case LeafPiece: // wherever it stood; at one place see pieceSlips
		for _, s := range w.otherPieces(f) {
			out = append(out, slip{s.words + " each time", s.change, s.rare + 1})
		}
	case LeafPress: // its unit is the run's, for a gauge is switched for all of them
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

// placed is a piece in one setup, with how it counts there.
type placed struct {
	LeafTerm
	in string // the length measured
}

// placed are the pieces of a figure, setup by setup: one may cancel over the
// whole and be the culprit in one of them.
func (f *Figure) placed() []placed {
	var out []placed
	var walk func(coef quantity.Ratio, f *Figure, in string)
	walk = func(coef quantity.Ratio, f *Figure, in string) {
		if f.Leaf == nil {
			for _, t := range f.Terms {
				walk(coef.Mul(t.Coef), t.Figure, f.Name)
			}
			return
		}
		if f.Leaf.Kind != LeafPiece {
			return
		}
		i := slices.IndexFunc(out, func(p placed) bool { return p.Figure.Leaf.Key == f.Leaf.Key && p.in == in })
		if i < 0 {
			out = append(out, placed{LeafTerm{Coef: coef, Figure: f}, in})
			return
		}
		out[i].Coef = out[i].Coef.Add(coef)
	}
	walk(quantity.Whole(1), f, f.Name)
	return slices.DeleteFunc(out, func(p placed) bool { return p.Coef.IsZero() })
}

// pieceSlips are the plausible blunders of one piece in one setup.
func (w *worker) pieceSlips(f *Figure) []slip {
	return append(w.otherPieces(f), slip{"it is counted once too often", f.Value.Neg(), 2}, slip{"it is counted once too few", f.Value, 2})
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

// pressRun are the presses of one run of repeats in a figure.
type pressRun []LeafTerm

// runsOf are the runs among leaves, in the order met.
func runsOf(leaves []LeafTerm) []pressRun {
	var out []pressRun
	at := map[string]int{}
	for _, t := range leaves {
		l := t.Figure.Leaf
		if l.Kind != LeafPress {
			continue
		}
		i, ok := at[l.Group]
		if !ok {
			i = len(out)
			at[l.Group] = i
			out = append(out, nil)
		}
		out[i] = append(out[i], t)
	}
	return out
}

func (r pressRun) name() string {
	if len(r) == 1 {
		return leafName(r[0].Figure)
	}
	return fmt.Sprintf("%s, all %d presses", r[0].Figure.Leaf.Group, len(r))
}

// wrongUnit reads all of a run in another unit: what that changes is with the
// coefficients of its presses.
func (r pressRun) wrongUnit() []slip {
	sums := map[string]slip{}
	count := map[string]int{}
	var order []string
	for _, t := range r {
		for _, s := range wrongUnit(t.Figure) {
			words := s.words
			if len(r) > 1 {
				_, unit, _ := strings.Cut(s.words, " was meant in ")
				words = "they were meant in " + unit
			}
			if count[words]++; count[words] == 1 {
				order = append(order, words)
			}
			sums[words] = slip{words, sums[words].change.Add(s.change.Times(t.Coef)), s.rare}
		}
	}
	var out []slip
	for _, words := range order {
		if count[words] == len(r) { // one already in that unit was meant so
			out = append(out, sums[words])
		}
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

// mostPieces is how many pieces are named that would bring a length where it is
// expected.
const mostPieces = 3

// whichPiece says which other certified pieces would bring a measured length
// where it is expected; "" when none would. Twins of one nominal are all named:
// no figure can tell them apart.
func (w *worker) whichPiece(f *Figure, low, high quantity.Exact) string {
	var out []string
	for _, t := range f.Leaves() {
		if t.Figure.Leaf.Kind != LeafPiece {
			continue
		}
		for _, s := range w.otherPieces(t.Figure) {
			v := f.Value.Add(s.change.Times(t.Coef))
			if !v.Less(low) && !high.Less(v) && len(out) < mostPieces {
				out = append(out, fmt.Sprintf("with %s, it would be %s", strings.TrimSuffix(s.words, ", stood there"), v.ShowUnit(w.sheet.Unit, w.sheet.Places)))
			}
		}
	}
	switch len(out) {
	case 0:
		return ""
	case 1:
		return "W" + strings.TrimPrefix(out[0], "w")
	}
	return "W" + strings.TrimPrefix(strings.Join(out, "; "), "w") + ": the figures do not tell these apart, so read the number on the piece"
}
