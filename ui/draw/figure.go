package draw

import (
	"fmt"
	"slices"
	"strings"

	"github.com/shopspring/decimal"

	"shimwright/calc/overhaul"
	"shimwright/calc/quantity"
)

// unitOf is the page's unit for a figure.
func (p Page) unitOf(f *overhaul.Figure) quantity.Unit {
	switch dimension(f) {
	case quantity.Force:
		return or(p.Force, quantity.Newton)
	case quantity.Torque:
		if isTorque(f) {
			return p.torque()
		}
		return f.Leaves()[0].Figure.Leaf.Written.Unit()
	case quantity.Angle:
		return quantity.Degree
	}
	return p.Unit
}

func (p Page) torque() quantity.Unit { return or(p.Torque, quantity.NewtonMetre) }

func or(u, otherwise quantity.Unit) quantity.Unit {
	if u == quantity.Bare {
		return otherwise
	}
	return u
}

// dimension is told by the first leaf written with a unit; a pull times its
// arm is a torque.
func dimension(f *overhaul.Figure) quantity.Dimension {
	if isTorque(f) {
		return quantity.Torque
	}
	for _, l := range f.Leaves() {
		if u := l.Figure.Leaf.Written.Unit(); u != quantity.Bare {
			return u.Dimension()
		}
	}
	return quantity.Length
}

// isTorque tells of a pull times its arm, or such a torque less another.
func isTorque(f *overhaul.Figure) bool {
	return f.By != nil || slices.ContainsFunc(f.Terms, func(t overhaul.Term) bool { return t.Figure.By != nil })
}

// places is how many decimals a figure worked out has at least.
func (p Page) places(u quantity.Unit) int32 {
	switch {
	case u == p.Unit:
		return p.Places
	case u == quantity.NewtonMetre:
		return 4
	case u.Dimension() == quantity.Torque:
		return 3
	}
	return 2
}

// inFull is a figure in a unit as it is shown in a sum: every decimal it has,
// or rounded where it has more than anyone can use, or no end of them.
func inFull(x quantity.Exact, u quantity.Unit) decimal.Decimal {
	return x.In(u).Round(quantity.WorkPlaces)
}

// digits writes a decimal without its sign, with no fewer places than given.
func digits(d decimal.Decimal, least int32) string {
	d = d.Abs()
	whole, frac, _ := strings.Cut(d.StringFixed(max(-d.Exponent(), 0)), ".")
	frac = strings.TrimRight(frac, "0")
	for int32(len(frac)) < least {
		frac += "0"
	}
	if frac == "" {
		return whole
	}
	return whole + "." + frac
}

// signed writes a decimal with its sign in front, also a plus.
func signed(d decimal.Decimal, least int32) string {
	if d.Sign() < 0 {
		return "-" + digits(d, least)
	}
	return "+" + digits(d, least)
}

func (p Page) show(f *overhaul.Figure) string {
	u := p.unitOf(f)
	return f.Value.ShowUnit(u, p.places(u))
}

// length shows a length that is no figure of its own.
func (p Page) length(x quantity.Exact) string { return x.ShowUnit(p.Unit, p.Places) }

// isMean tells whether a figure is the plain mean of its terms.
func isMean(f *overhaul.Figure) bool {
	if len(f.Terms) < 2 {
		return false
	}
	share, err := quantity.RatioOf(1, int64(len(f.Terms)))
	if err != nil {
		return false
	}
	return !slices.ContainsFunc(f.Terms, func(t overhaul.Term) bool { return !t.Coef.Equal(share) })
}

// isPlainMean tells whether it is a mean of leaves, which fits on one line.
func isPlainMean(f *overhaul.Figure) bool {
	return isMean(f) && !slices.ContainsFunc(f.Terms, func(t overhaul.Term) bool { return t.Figure.Leaf == nil })
}

// only is the one figure that a figure is just another name for; nil where it
// is a sum of its own.
func only(f *overhaul.Figure) *overhaul.Figure {
	if len(f.Terms) != 1 || f.By != nil || !f.Terms[0].Coef.Equal(quantity.Whole(1)) {
		return nil
	}
	return f.Terms[0].Figure
}

// words says what a figure is and where it comes from, in a sum shown in unit
// u, and which figure's terms are still to be shown below it.
func words(f *overhaul.Figure, u quantity.Unit) (say string, below *overhaul.Figure) {
	if f.Leaf != nil {
		return leafWords(f, u), nil
	}
	say = f.Name
	if f.Rule != "" && !isMean(f) {
		say += ", " + f.Rule
	}
	if inner := only(f); inner != nil {
		switch {
		case inner.Leaf != nil && f.Rule == "":
			return join(say, sourceWords(inner, u)), nil
		case inner.Leaf != nil:
			return say + refWords(inner.Leaf.Ref), nil
		case isPlainMean(inner):
			return join(say, meanWords(inner, u)), nil
		case inner.Name == f.Name:
			return say, inner
		}
		return say, f
	}
	if isPlainMean(f) {
		return join(say, meanWords(f, u)), nil
	}
	if isMean(f) {
		say = join(say, f.Rule)
	}
	return say, f
}

func join(a, b string) string {
	if b == "" {
		return a
	}
	return a + ", " + b
}

// leafWords names a leaf and its source, once where they say the same.
func leafWords(f *overhaul.Figure, u quantity.Unit) string {
	if strings.Contains(f.Leaf.Source, f.Name) {
		return sourceWords(f, u)
	}
	if strings.HasPrefix(f.Leaf.Source, "of ") {
		return f.Name + " " + strings.TrimPrefix(sourceWords(f, u), f.Name+" ")
	}
	return join(f.Name, sourceWords(f, u))
}

func sourceWords(f *overhaul.Figure, u quantity.Unit) string {
	l := f.Leaf
	say := l.Source
	if strings.HasPrefix(say, "of ") {
		say = f.Name + " " + say
	}
	switch w := l.Written; w.Unit() {
	case quantity.Hundredth, quantity.Thou, quantity.Micron:
		say += fmt.Sprintf(", %s in steps of %s", signed(decimal.RequireFromString(w.Digits()), w.Places()), w.Unit())
	case u, quantity.Bare:
	default:
		say += ", written " + w.String()
	}
	return say + refWords(l.Ref)
}

func refWords(ref string) string {
	if ref == "" {
		return ""
	}
	return " (" + ref + ")"
}

// meanWords lists the figures of a mean: "mean of 3 presses, pressed on D07:
// 33.38 33.38 33.39, together 100.15, divided by 3".
func meanWords(f *overhaul.Figure, u quantity.Unit) string {
	say := f.Rule
	first := f.Terms[0].Figure.Leaf
	alike := !slices.ContainsFunc(f.Terms, func(t overhaul.Term) bool { return t.Figure.Leaf.Source != first.Source })
	if alike && first.Source != "pressed" && first.Source != "pack as measured" {
		say += ", " + first.Source
	}
	say += ":"
	var total quantity.Exact
	var places int32
	for _, t := range f.Terms {
		l := t.Figure.Leaf
		total = total.Add(t.Figure.Value)
		places = max(places, l.Written.Places())
		if l.Kind == overhaul.LeafCorrection {
			say += " " + signed(inFull(t.Figure.Value, u), 0)
			places = max(places, -inFull(t.Figure.Value, u).Exponent())
		} else {
			say += " " + l.Written.Digits()
		}
		if l.Written.Unit() != u && l.Written.Unit() != quantity.Bare {
			say += " " + l.Written.Unit().String()
		}
		if !alike {
			say += " " + l.Source + ","
		}
		say += refWords(l.Ref)
	}
	say = strings.TrimSuffix(say, ",")
	if !f.Value.In(u).IsDecimal() {
		say += fmt.Sprintf(", together %s, divided by %d", digits(inFull(total, u), places), len(f.Terms))
	}
	return say
}
