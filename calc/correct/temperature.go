package correct

import (
	"fmt"

	"shimwright/calc/quantity"
	"shimwright/calc/stat"
)

// Temperatures in °C.
const (
	Reference = 20  // where lengths are what they are: ISO 1 (from memory; used in GUM H.1, seen)
	Coldest   = -40 // outside these no one measures a drive
	Hottest   = 150
)

// A Body is what a length is made of and how warm it is.
type Body struct {
	Material Material
	At       quantity.Exact // °C
}

func (b Body) check(field string) error {
	if err := b.Material.check(field); err != nil {
		return err
	}
	if err := bounded(field+": temperature", b.At); err != nil {
		return err
	}
	if b.At.Less(whole(Coldest)) || whole(Hottest).Less(b.At) {
		return problem(stat.OutOfRange, field+": temperature", fmt.Sprintf("from %d to %d °C", Coldest, Hottest), "%s °C", b.At.Round(3))
	}
	return nil
}

// growth is α·(T − 20 °C), a bare number.
func (b Body) growth() quantity.Exact {
	return b.Material.PerK.Mul(b.At.Sub(whole(Reference)))
}

// Growth is how much longer a length is at the body's temperature than at
// 20 °C: L·α·(T − 20 °C), in the unit of L, exact.
func Growth(length quantity.Exact, b Body) (quantity.Exact, error) {
	if err := bounded("length", length); err != nil {
		return quantity.Exact{}, err
	}
	if err := b.check("body"); err != nil {
		return quantity.Exact{}, err
	}
	return length.Mul(b.growth()), nil
}

// PerKelvin is what one kelvin does to a length: L·α. It is what a
// temperature's uncertainty counts by in a budget.
func PerKelvin(length quantity.Exact, m Material) (quantity.Exact, error) {
	if err := bounded("length", length); err != nil {
		return quantity.Exact{}, err
	}
	if err := m.check("material"); err != nil {
		return quantity.Exact{}, err
	}
	return length.Mul(m.PerK), nil
}

// A Length is a standard, straightedge or gauge reading that a part was
// measured by, as it stands in the sum.
type Length struct {
	Name  string
	Value quantity.Exact // with its sign in the sum: certified at 20 °C, or read
	Body  Body
}

// A Brought is a measured length brought to 20 °C. All in the unit given.
type Brought struct {
	Measured   quantity.Exact // Σ of the lengths as written
	Against    quantity.Exact // how much the standards and gauge had grown, with their signs
	Part       quantity.Exact // how much the part had grown
	Correction quantity.Exact // Against − Part, to be added to Measured
	Value      quantity.Exact // the part's length at 20 °C
	At         quantity.Exact // °C, the part's
}

// At20 brings a part, measured as a signed sum of lengths, to 20 °C:
//
//	L20 = Σ Lᵢ·(1 + αᵢ·(Tᵢ − 20)) − αp·(Tp − 20)·Σ Lᵢ
//
// It is first order (the model of GUM H.1): what is left out is α²·ΔT²·L, a
// hundredth of a micrometre for 200 mm of aluminium 10 K off. The product and
// sum are exact.
func At20(part Body, sum []Length) (Brought, error) {
	if err := part.check("part"); err != nil {
		return Brought{}, err
	}
	if err := counted("lengths", len(sum), 1); err != nil {
		return Brought{}, err
	}
	out := Brought{At: part.At}
	for i, l := range sum {
		field := fmt.Sprintf("length %d (%.40s)", i+1, l.Name)
		if err := bounded(field, l.Value); err != nil {
			return Brought{}, err
		}
		if err := l.Body.check(field); err != nil {
			return Brought{}, err
		}
		out.Measured = out.Measured.Add(l.Value)
		out.Against = out.Against.Add(l.Value.Mul(l.Body.growth()))
	}
	out.Part = out.Measured.Mul(part.growth())
	out.Correction = out.Against.Sub(out.Part)
	out.Value = out.Measured.Add(out.Correction)
	return out, nil
}

// Matters tells whether the correction is a tenth of the tolerance or more
// (common practice, no source). The tolerance is the whole width of the band.
func (b Brought) Matters(tolerance quantity.Exact) (bool, error) {
	if err := bounded("tolerance", tolerance); err != nil {
		return false, err
	}
	if tolerance.Sign() <= 0 {
		return false, problem(stat.UpsideDown, "tolerance", "the width of the band, above nought", "%s", tolerance)
	}
	return b.Correction.Abs().Times(quantity.Whole(10)).Cmp(tolerance) >= 0, nil
}

// Say is what temperature does to the length in one sentence, against a
// tolerance, in unit u.
func (b Brought) Say(tolerance quantity.Exact, u quantity.Unit, places int32) (string, error) {
	matters, err := b.Matters(tolerance)
	if err != nil {
		return "", err
	}
	way := "longer"
	if b.Correction.Sign() > 0 {
		way = "shorter"
	}
	effect := fmt.Sprintf("Measured at %s °C it shows %s %s than it is at %d °C", b.At.Decimal(),
		b.Correction.Abs().ShowUnit(u, places), way, Reference)
	switch {
	case b.Correction.IsZero():
		return fmt.Sprintf("Measured at %s °C temperature changes nothing.", b.At.Decimal()), nil
	case matters:
		return fmt.Sprintf("%s: a tenth or more of the %s allowed. Correct for it, or let all come to one temperature and measure again.",
			effect, tolerance.ShowUnit(u, places)), nil
	default:
		return fmt.Sprintf("%s: less than a tenth of the %s allowed.", effect, tolerance.ShowUnit(u, places)), nil
	}
}
