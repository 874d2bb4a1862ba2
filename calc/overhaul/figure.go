package overhaul

import (
	"strings"

	"shimwright/calc/quantity"
)

// A Figure is a worked length (or force, or torque) in its base unit: a sum of
// terms, or a leaf.
type Figure struct {
	Name  string
	Value quantity.Exact
	Terms []Term          // none for a leaf
	By    *quantity.Exact // a factor on the whole sum: the arm of a torque, in m; nil for 1
	Rule  string          // how a figure that is no plain sum came about, as in "mean of 3 presses"
	Leaf  *Leaf           // of a leaf
}

// A Term is a figure with its coefficient in a sum.
type Term struct {
	Coef   quantity.Ratio
	Figure *Figure
}

// A Leaf is an actual thing that a figure rests on.
type Leaf struct {
	Key     string         // the same for the same thing wherever it is met
	Written quantity.Value // as sent, etched or certified
	Source  string         // in words: "piece S-31", "pressed on D07"
	Ref     string         // what the job calls the entry, where it has one
	Kind    LeafKind
	Gauge   string // of a press
	Group   string // of a press: the run of repeats it belongs to
	Small   bool   // of a press: the gauge was zeroed on a piece, so it reads a small part of its range
	Through bool   // of a piece: it carries the gauge, so it drops out when the gauge is zeroed through it

	alike  quantity.Exact // of a press: corrected, and brought to the pieces of the run it belongs to, so that repeats compare
	growth *growth        // of what temperature adds
}

// A LeafKind says what sort of thing a leaf is, and so what makes it unsure.
type LeafKind uint8

// The kinds of leaf.
const (
	LeafDrawing LeafKind = iota // a nominal of the drawing, or a figure the sheet wants: taken as it is
	LeafPress
	LeafPiece
	LeafMark
	LeafKeyed      // a figure typed by hand: a pack's measured thickness
	LeafShim       // a shim by the thickness written on it
	LeafCorrection // what a gauge's table adds to a press
	LeafGrowth     // what temperature adds to a length
)

// A LeafTerm is a leaf with its combined coefficient over a whole figure.
type LeafTerm struct {
	Coef   quantity.Ratio
	Figure *Figure
}

func leaf(name, key, source string, written quantity.Value) *Figure {
	return &Figure{Name: name, Value: written.Exact(), Leaf: &Leaf{Key: key, Written: written, Source: source}}
}

// sum makes a figure of its terms.
func sum(name string, terms ...Term) *Figure {
	f := &Figure{Name: name, Terms: terms}
	for _, t := range terms {
		f.Value = f.Value.Add(t.Figure.Value.Times(t.Coef))
	}
	return f
}

// mean makes the exact mean of figures: their sum over their count.
func mean(name, rule string, of []*Figure) *Figure {
	share, err := quantity.RatioOf(1, int64(len(of)))
	if err != nil {
		return &Figure{Name: name}
	}
	var terms []Term
	for _, f := range of {
		terms = append(terms, Term{share, f})
	}
	out := sum(name, terms...)
	out.Rule = rule
	return out
}

// Leaves are the figure's leaves with their combined coefficients, in the
// order met. A thing met twice is one leaf; one that cancels is left out.
func (f *Figure) Leaves() []LeafTerm {
	var order []string
	found := map[string]LeafTerm{}
	f.walk(quantity.Whole(1), func(coef quantity.Ratio, l *Figure) {
		t, ok := found[l.Leaf.Key]
		if !ok {
			order = append(order, l.Leaf.Key)
			t.Figure = l
		}
		t.Coef = t.Coef.Add(coef)
		found[l.Leaf.Key] = t
	})
	var out []LeafTerm
	for _, key := range order {
		if t := found[key]; !t.Coef.IsZero() {
			out = append(out, t)
		}
	}
	return out
}

func (f *Figure) walk(coef quantity.Ratio, visit func(quantity.Ratio, *Figure)) {
	if f.Leaf != nil {
		visit(coef, f)
		return
	}
	for _, t := range f.Terms {
		t.Figure.walk(coef.Mul(t.Coef), visit)
	}
}

// A Lack says why a figure is not there yet.
type Lack struct {
	For   string
	Steps []string // the steps it waits for
	Stop  string   // or what stopped it
}

// Error says what stopped it, or which steps it waits for.
func (l *Lack) Error() string {
	if l.Stop != "" {
		return l.Stop
	}
	return l.For + " waits for " + strings.Join(l.Steps, ", ")
}

func waits(name string, steps ...string) *Lack { return &Lack{For: name, Steps: steps} }
