package correct

import (
	"strings"

	"shimwright/calc/quantity"
	"shimwright/calc/stat"
)

// A Material is what a part is made of.
type Material struct {
	Name   string         // as its source has it
	Word   string         // as a sheet writes it
	PerK   quantity.Exact // linear expansion coefficient, per K
	Within quantity.Exact // how far PerK may be off either way; nought is a tenth of it
	Source string
}

// Doubt is how far the coefficient may be off either way, per K: what is said,
// else a tenth of it. Alloys of one name differ by several per cent, and a
// casting is seldom known better (common practice, no source).
func (m Material) Doubt() quantity.Exact {
	if m.Within.Sign() > 0 {
		return m.Within
	}
	return m.PerK.Mul(quantity.MustExact("0.1"))
}

// String is the material's word, or its name where it has none.
func (m Material) String() string {
	if m.Word != "" {
		return m.Word
	}
	return m.Name
}

// Materials are the materials known, near room temperature. Alloys of one name
// differ by several per cent; a sheet may give its own coefficient.
//
// Source of all rows but one, seen: Callister, Fundamentals of Materials
// Science and Engineering, 3rd edition, table B.6. The gauge-block steel is
// that of GUM annex H.1, seen.
func Materials() []Material {
	const callister, gum = "Callister, Fundamentals of Materials Science and Engineering, 3rd ed., table B.6", "GUM H.1"
	m := func(word, name, perK, source string) Material {
		return Material{Name: name, Word: word, PerK: quantity.MustExact(perK), Source: source}
	}
	return []Material{
		m("steel 1020", "steel A36 / 1020", "0.0000117", callister),
		m("steel 1040", "steel 1040", "0.0000113", callister),
		m("steel 4140", "steel 4140, 4340", "0.0000123", callister),
		m("grey iron", "grey iron G1800/G3000/G4000", "0.0000114", callister),
		m("ductile iron 60-40-18", "ductile iron 60-40-18", "0.0000112", callister),
		m("ductile iron 80-55-06", "ductile iron 80-55-06", "0.0000106", callister),
		m("cast aluminium 356", "aluminium 356.0 (cast)", "0.0000215", callister),
		m("aluminium 6061", "aluminium 6061, 1100", "0.0000236", callister),
		m("aluminium 2024", "aluminium 2024", "0.0000229", callister),
		m("aluminium 7075", "aluminium 7075", "0.0000234", callister),
		m("gauge-block steel", "gauge-block steel (nominal, GUM H.1)", "0.0000115", gum),
		m("cast magnesium AZ91D", "AZ91D magnesium", "0.0000260", callister),
	}
}

// MaterialNamed is the material of that word or name, exactly as Materials
// writes it. The error lists the words.
func MaterialNamed(name string) (Material, error) {
	var names []string
	for _, m := range Materials() {
		if m.Name == name || m.Word == name {
			return m, nil
		}
		names = append(names, m.Word)
	}
	return Material{}, problem(stat.OutOfRange, "material", "one of "+strings.Join(names, "; ")+"; or a coefficient of its own", "%.60q", name)
}

// Check refuses a material with a coefficient that no metal has.
func (m Material) Check() error { return m.check("material") }

// check refuses a coefficient that no metal of a bench has: diamond has 1, and
// zinc 40, in a million per K (from memory); a nought is one left out.
func (m Material) check(field string) error {
	if err := bounded(field+": expansion", m.PerK); err != nil {
		return err
	}
	if m.PerK.Sign() <= 0 || quantity.MustExact("0.0001").Less(m.PerK) {
		return problem(stat.OutOfRange, field+": expansion", "above nought and at most 0.0001 per K, such as 0.0000117 for steel", "%s", m.PerK)
	}
	if err := bounded(field+": doubt of the expansion", m.Within); err != nil {
		return err
	}
	if m.Within.Sign() < 0 || m.PerK.Less(m.Within) {
		return problem(stat.OutOfRange, field+": doubt of the expansion", "from nought up to the expansion itself", "%s", m.Within)
	}
	return nil
}
