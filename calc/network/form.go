package network

import (
	"slices"

	"shimwright/calc/quantity"
)

// A Term is one length or one shaft's setting with its coefficient.
type Term struct {
	Name string
	Coef quantity.Ratio
}

// A Form is a sum: lengths in the order walked, then settings by shaft.
type Form struct {
	Lengths  []Term
	Settings []Term // Name is the shaft's
}

func add(terms []Term, name string, coef quantity.Ratio) []Term {
	i := slices.IndexFunc(terms, func(t Term) bool { return t.Name == name })
	if i < 0 {
		if coef.IsZero() {
			return terms
		}
		return append(terms, Term{name, coef})
	}
	terms[i].Coef = terms[i].Coef.Add(coef)
	if terms[i].Coef.IsZero() {
		return slices.Delete(terms, i, i+1)
	}
	return terms
}

func find(terms []Term, name string) quantity.Ratio {
	for _, t := range terms {
		if t.Name == name {
			return t.Coef
		}
	}
	return quantity.Ratio{}
}

// Of is the coefficient of a length in the form; nought where it has none.
func (f Form) Of(length string) quantity.Ratio { return find(f.Lengths, length) }

// OfSetting is the coefficient of a shaft's setting in the form.
func (f Form) OfSetting(shaft string) quantity.Ratio { return find(f.Settings, shaft) }

// plus is f + k·g.
func (f Form) plus(g Form, k quantity.Ratio) Form {
	out := Form{slices.Clone(f.Lengths), slices.Clone(f.Settings)}
	for _, t := range g.Lengths {
		out.Lengths = add(out.Lengths, t.Name, t.Coef.Mul(k))
	}
	for _, t := range g.Settings {
		out.Settings = add(out.Settings, t.Name, t.Coef.Mul(k))
	}
	return out
}

// Names are the lengths of the form, in order.
func (f Form) Names() []string {
	names := make([]string, len(f.Lengths))
	for i, t := range f.Lengths {
		names[i] = t.Name
	}
	return names
}
