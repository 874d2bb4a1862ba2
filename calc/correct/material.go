package correct

import (
	"strings"

	"shimwright/calc/quantity"
	"shimwright/calc/stat"
)

// A Material is what a part is made of.
type Material struct {
	Name   string
	PerK   quantity.Exact // linear expansion coefficient, per K
	Source string
}

// Materials are the materials known, near room temperature. Alloys of one name
// differ by several per cent; a sheet may give its own coefficient.
//
// Source of all rows but one, seen: Callister, Fundamentals of Materials
// Science and Engineering, 3rd edition, table B.6. The gauge-block steel is
// that of GUM annex H.1, seen.
func Materials() []Material {
	const callister, gum = "Callister, Fundamentals of Materials Science and Engineering, 3rd ed., table B.6", "GUM H.1"
	m := func(name, perK, source string) Material {
		return Material{Name: name, PerK: quantity.MustExact(perK), Source: source}
	}
	return []Material{
		m("steel A36 / 1020", "0.0000117", callister),
		m("steel 1040", "0.0000113", callister),
		m("steel 4140, 4340", "0.0000123", callister),
		m("grey iron G1800/G3000/G4000", "0.0000114", callister),
		m("ductile iron 60-40-18", "0.0000112", callister),
		m("ductile iron 80-55-06", "0.0000106", callister),
		m("aluminium 356.0 (cast)", "0.0000215", callister),
		m("aluminium 6061, 1100", "0.0000236", callister),
		m("aluminium 2024", "0.0000229", callister),
		m("aluminium 7075", "0.0000234", callister),
		m("gauge-block steel (nominal, GUM H.1)", "0.0000115", gum),
		m("AZ91D magnesium", "0.0000260", callister),
	}
}

// MaterialNamed is the material of that name, exactly as Materials writes it.
// The error lists the names.
func MaterialNamed(name string) (Material, error) {
	var names []string
	for _, m := range Materials() {
		if m.Name == name {
			return m, nil
		}
		names = append(names, m.Name)
	}
	return Material{}, problem(stat.OutOfRange, "material", "one of "+strings.Join(names, "; ")+"; or a coefficient of its own", "%.60q", name)
}

// check refuses a coefficient that no metal of a bench has: diamond has 1, and
// zinc 40, in a million per K (from memory); a nought is one left out.
func (m Material) check(field string) error {
	if err := bounded(field+": expansion", m.PerK); err != nil {
		return err
	}
	if m.PerK.Sign() <= 0 || quantity.MustExact("0.0001").Less(m.PerK) {
		return problem(stat.OutOfRange, field+": expansion", "above nought and at most 0.0001 per K, such as 0.0000117 for steel", "%s", m.PerK)
	}
	return nil
}
