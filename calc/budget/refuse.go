package budget

import (
	"fmt"
	"math"

	"shimwright/calc/quantity"
	"shimwright/calc/stat"
)

// Limits on what comes in. They are far beyond any workshop's figures, and keep
// squares and sums within float64.
const (
	MaxSources = 10_000
	MaxSize    = 1_000_000     // of Size, in its own unit
	MaxBy      = 1_000_000_000 // of By, and of Coef
	MaxK       = 100           // of a coverage factor
	MaxN       = 1_000_000     // readings in a mean
	maxPower   = 60            // of ten, up or down, in a decimal
	maxBits    = 400           // of a decimal's digits: about 120 of them
)

func problem(k stat.Kind, field, wanted, found string, args ...any) error {
	return &stat.Problem{Kind: k, Field: field, Found: fmt.Sprintf(found, args...), Wanted: wanted}
}

// check refuses a source that can give no uncertainty.
func (s Source) check(i int) error {
	where := fmt.Sprintf("source %d", i+1)
	if s.Name == "" {
		return problem(stat.OutOfRange, where+": name", "the name of a thing, the same wherever it is met", "none")
	}
	where = fmt.Sprintf("source %d (%s)", i+1, clip(s.Name))
	if s.Kind == 0 || s.Kind >= kindEnd {
		return problem(stat.OutOfRange, where+": kind", "one of the kinds of this package", "%d", uint8(s.Kind))
	}
	if err := bounded(where+": size", s.Size, MaxSize); err != nil {
		return err
	}
	if s.Size.Sign() < 0 {
		return problem(stat.OutOfRange, where+": size", "a "+s.Kind.String()+" not below nought, it has no sign", "%s", s.Size)
	}
	if s.Coef.IsZero() {
		return problem(stat.OutOfRange, where+": coefficient", "how often the thing counts; leave out what cancels", "0")
	}
	if f := math.Abs(s.Coef.Float()); !(f <= MaxBy) {
		return problem(stat.OutOfRange, where+": coefficient", fmt.Sprintf("at most %d either way", MaxBy), "%.3g", s.Coef.Float())
	}
	return s.checkKind(where)
}

// checkKind looks at what only some kinds have.
func (s Source) checkKind(where string) error {
	switch {
	case s.By != nil:
		if err := bounded(where+": by", *s.By, MaxBy); err != nil {
			return err
		}
	case s.Kind == GaugeScale:
		return problem(stat.OutOfRange, where+": by", "the summed reading that the scale error counts on", "nothing")
	case s.Kind == Temperature:
		return problem(stat.OutOfRange, where+": by", "length × expansion coefficient, per K", "nothing")
	case s.Kind == Expansion:
		return problem(stat.OutOfRange, where+": by", "length × degrees from 20 °C", "nothing")
	}
	if s.Kind == CertifiedPiece {
		if err := bounded(where+": coverage factor", s.K, MaxK); err != nil {
			return err
		}
		if s.K.Less(whole(1)) {
			return problem(stat.OutOfRange, where+": coverage factor", "the k of the certificate, 1 or more", "%s", s.K)
		}
	}
	if s.Kind == Repeats && (s.N < 1 || s.N > MaxN) {
		return problem(stat.OutOfRange, where+": readings", fmt.Sprintf("1 to %d readings in the mean", MaxN), "%d", s.N)
	}
	return s.checkDF(where)
}

func (s Source) checkDF(where string) error {
	if s.Kind == Repeats && s.DF == 0 && s.N == 1 {
		return problem(stat.TooFew, where+": degrees of freedom", "two readings or more, or the degrees of freedom of a pooled standard deviation",
			"none: one reading shows no spread")
	}
	if s.Pool != "" && s.DF == 0 {
		return problem(stat.TooFew, where+": degrees of freedom", "those of the pooled standard deviation", "none")
	}
	if d := s.dof(); !(d >= 1) { // NaN is not
		return problem(stat.OutOfRange, where+": degrees of freedom", "1 or more, or nought for the usual", "%g", d)
	}
	return nil
}

// bounded refuses a figure whose size or digits no workshop has.
func bounded(field string, e quantity.Exact, most int64) error {
	wanted := fmt.Sprintf("at most %d, with at most %d places", most, maxPower)
	if e.IsDecimal() {
		d := e.Decimal()
		if x := d.Exponent(); x < -maxPower || x > maxPower {
			return problem(stat.OutOfRange, field, wanted, "a power of ten of %d", x)
		}
		if n := d.Coefficient().BitLen(); n > maxBits {
			return problem(stat.OutOfRange, field, wanted, "a figure of about %d digits", n*3/10)
		}
	}
	if e.Abs().Cmp(whole(most)) > 0 {
		return problem(stat.OutOfRange, field, wanted, "%s", e.Round(3))
	}
	return nil
}

// clip keeps a name short enough for a sentence.
func clip(name string) string {
	const most = 40
	if r := []rune(name); len(r) > most {
		return string(r[:most]) + "…"
	}
	return name
}

// same refuses two sources of one name and kind that are not one thing.
func same(a, b Source, i int) error {
	field := ""
	switch {
	case !a.Size.Equal(b.Size):
		field = "size"
	case a.Kind == CertifiedPiece && !a.K.Equal(b.K):
		field = "coverage factor"
	case a.Kind == Repeats && a.N != b.N:
		field = "readings"
	case a.dof() != b.dof():
		field = "degrees of freedom"
	case a.Pool != b.Pool:
		field = "pool"
	case a.Gauge != b.Gauge || a.Through != b.Through:
		field = "gauge"
	default:
		return nil
	}
	return problem(stat.Unbalanced, fmt.Sprintf("source %d (%s): %s", i+1, clip(b.Name), field),
		"the same wherever one thing is met, or another name for another thing", "it differs from where the %s was met before", a.Kind)
}
