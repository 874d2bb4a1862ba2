package main

import (
	"slices"

	"shimwright/calc/overhaul"
	"shimwright/calc/quantity"
)

// Figures with their arithmetic, down to leaves.

type jsonFigure struct {
	Name     string        `json:"name"`
	Value    string        `json:"value"`
	Exact    string        `json:"exact,omitempty"`
	Rule     string        `json:"rule,omitempty"`
	Arm      string        `json:"arm,omitempty"`
	Terms    []jsonTerm    `json:"terms,omitempty"`
	Together []jsonCounted `json:"together,omitempty"`
	Written  string        `json:"written,omitempty"`
	Source   string        `json:"source,omitempty"`
	Ref      string        `json:"ref,omitempty"`
}

type jsonTerm struct {
	Coef   string      `json:"coef"`
	Figure *jsonFigure `json:"figure"`
}

// A jsonCounted is a leaf with its coefficient over a whole figure.
type jsonCounted struct {
	Coef   string `json:"coef"`
	Name   string `json:"name"`
	Of     string `json:"of,omitempty"`
	Value  string `json:"value"`
	Source string `json:"source,omitempty"`
	Ref    string `json:"ref,omitempty"`
}

// wholeFigureJSON is a figure with each of its leaves and how often it counts,
// where terms have terms of their own.
func wholeFigureJSON(f *overhaul.Figure) *jsonFigure {
	out := figureJSON(f)
	if out == nil || f.By != nil || !deep(f) {
		return out
	}
	for _, l := range f.Leaves() {
		leaf := l.Figure.Leaf
		out.Together = append(out.Together, jsonCounted{
			Coef: l.Coef.Signed(), Name: l.Figure.Name, Of: leaf.Group, Value: unitText(l.Figure.Value, baseUnit(l.Figure)),
			Source: leaf.Source, Ref: leaf.Ref,
		})
	}
	return out
}

// deep tells whether a term of a figure has terms.
func deep(f *overhaul.Figure) bool {
	for _, t := range f.Terms {
		if len(t.Figure.Terms) > 0 {
			return true
		}
	}
	return false
}

func figureJSON(f *overhaul.Figure) *jsonFigure {
	if f == nil {
		return nil
	}
	u := baseUnit(f)
	out := &jsonFigure{Name: f.Name, Value: unitText(f.Value, u), Rule: f.Rule}
	if !f.Value.IsDecimal() {
		out.Exact = f.Value.String() + " " + u.String()
	}
	if f.By != nil {
		out.Arm = f.By.Decimal().String() + " m"
	}
	for _, t := range f.Terms {
		out.Terms = append(out.Terms, jsonTerm{t.Coef.Signed(), figureJSON(t.Figure)})
	}
	if f.Leaf != nil {
		out.Source, out.Ref = f.Leaf.Source, f.Leaf.Ref
		if f.Leaf.Written.Unit() != quantity.Bare {
			out.Written = f.Leaf.Written.String()
		}
	}
	return out
}

// baseUnit is the unit in which a figure's value is kept: told by the first
// leaf written with a unit; a pull times its arm is a torque.
func baseUnit(f *overhaul.Figure) quantity.Unit {
	if f.By != nil || slices.ContainsFunc(f.Terms, func(t overhaul.Term) bool { return t.Figure.By != nil }) {
		return quantity.NewtonMetre
	}
	for _, l := range f.Leaves() {
		switch l.Figure.Leaf.Written.Unit().Dimension() {
		case quantity.Force:
			return quantity.Newton
		case quantity.Torque:
			return quantity.NewtonMetre
		case quantity.Length:
			return quantity.MM
		}
	}
	return quantity.MM
}

func lengthText(x quantity.Exact) string { return unitText(x, quantity.MM) }

// unitText is a figure in its base unit with every decimal it has; one without
// an end is rounded half to even at quantity.WorkPlaces.
func unitText(x quantity.Exact, u quantity.Unit) string {
	return x.Decimal().String() + " " + u.String()
}
