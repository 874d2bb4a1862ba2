package budget

import (
	"fmt"
	"math"
	"sort"
	"strconv"

	"github.com/shopspring/decimal"

	"shimwright/calc/quantity"
	"shimwright/calc/stat"
)

// Digits is how many significant digits are kept of a figure that comes from a
// square root or a distribution.
const Digits = 12

func whole(n int64) quantity.Exact { return quantity.FromDecimal(decimal.NewFromInt(n)) }

// A Line is one source's part in a budget.
type Line struct {
	Name     string
	Kind     Kind
	Size     quantity.Exact // as given
	Coef     quantity.Ratio // of the thing over the whole figure: nought where it cancels
	Reach    quantity.Exact // Coef × By summed over all places: what one unit of Size does to the figure
	Standard quantity.Exact // standard uncertainty of the thing, in the unit of Size
	Part     quantity.Exact // standard uncertainty it gives the figure, without sign
	Share    quantity.Exact // of the figure's variance, from 0 to 1
	DF       float64        // +Inf where the size is taken as known outright

	source   Source
	part     float64
	variance float64
}

// A Budget is how sure a figure is, in the figure's base unit.
type Budget struct {
	Standard quantity.Exact // combined standard uncertainty u
	DF       float64        // effective degrees of freedom, not cut; +Inf where no source has any end to its own
	Expanded quantity.Exact // U = 2u
	T        quantity.Exact // Student's t at 95.45 % for DF cut down to a whole number
	Student  quantity.Exact // t·u
	Lines    []Line         // largest share first

	u float64
}

// Work combines sources into a budget. The order of sources does not matter.
// Errors are *stat.Problem: no source, one that can give no uncertainty, one
// thing given in two ways, or sources that leave no uncertainty at all.
func Work(sources []Source) (Budget, error) {
	if len(sources) == 0 {
		return Budget{}, problem(stat.TooFew, "sources", "at least one", "none")
	}
	if len(sources) > MaxSources {
		return Budget{}, problem(stat.TooMany, "sources", fmt.Sprintf("at most %d", MaxSources), "%d", len(sources))
	}
	lines, err := gather(sources)
	if err != nil {
		return Budget{}, err
	}
	sort.Slice(lines, func(i, j int) bool { return lines[i].before(lines[j]) })
	return total(lines)
}

// gather makes one line of each thing, its reach summed exactly.
func gather(sources []Source) ([]Line, error) {
	type key struct {
		name string
		kind Kind
	}
	at := make(map[key]int, len(sources))
	lines := make([]Line, 0, len(sources))
	for i, s := range sources {
		if err := s.check(i); err != nil {
			return nil, err
		}
		k := key{s.Name, s.Kind}
		n, met := at[k]
		if !met {
			at[k] = len(lines)
			lines = append(lines, Line{Name: s.Name, Kind: s.Kind, Size: s.Size, Coef: s.Coef, Reach: s.reach(), DF: s.dof(), source: s})
			continue
		}
		if err := same(lines[n].source, s, i); err != nil {
			return nil, err
		}
		lines[n].Coef = lines[n].Coef.Add(s.Coef)
		lines[n].Reach = lines[n].Reach.Add(s.reach())
	}
	for i := range lines {
		l := &lines[i]
		u := l.source.standard()
		l.part = math.Abs(l.Reach.Float()) * u
		l.variance = l.part * l.part
		l.Standard, l.Part = exact(u), exact(l.part)
	}
	return lines, nil
}

// before orders lines by their part as written, then by name and kind, which no
// two share: so sums come out alike whatever the order given, and the table
// does not hang on the last digits of float64.
func (l Line) before(m Line) bool {
	switch c := l.Part.Cmp(m.Part); {
	case c != 0:
		return c > 0
	case l.Name != m.Name:
		return l.Name < m.Name
	default:
		return l.Kind < m.Kind
	}
}

func total(lines []Line) (Budget, error) {
	sum := 0.0
	for _, l := range lines {
		sum += l.variance
	}
	if sum == 0 {
		return Budget{}, problem(stat.NoSpread, "sources", "some uncertainty: every measured figure has one", "none that is left after what cancels")
	}
	for i := range lines {
		lines[i].Share = exact(lines[i].variance / sum)
	}
	df, err := stat.EffectiveDF(terms(lines))
	if err != nil {
		return Budget{}, fmt.Errorf("effective degrees of freedom: %w", err)
	}
	b := Budget{DF: df, Lines: lines, u: math.Sqrt(sum)}
	b.Standard, b.Expanded = exact(b.u), exact(2*b.u)
	t, err := b.student(math.Erf(math.Sqrt2))
	if err != nil {
		return Budget{}, err
	}
	b.T, b.Student = exact(t), exact(t*b.u)
	return b, nil
}

// terms are the variances for the effective degrees of freedom. Lines that rest
// on one pooled standard deviation make one term.
func terms(lines []Line) []stat.Term {
	out := make([]stat.Term, 0, len(lines))
	pools := map[string]int{}
	for _, l := range lines {
		n, met := pools[l.source.Pool]
		if l.source.Pool == "" || !met {
			pools[l.source.Pool] = len(out)
			out = append(out, stat.Term{Variance: l.variance, DF: l.DF})
			continue
		}
		out[n].Variance += l.variance
		out[n].DF = math.Min(out[n].DF, l.DF)
	}
	return out
}

// student is Student's t for the budget's degrees of freedom cut down to a
// whole number.
func (b Budget) student(confidence float64) (float64, error) {
	const slack = 1e-9 // so that a sum a hair below a whole number is not cut by 1
	t, err := stat.StudentT(confidence, math.Max(1, math.Floor(b.DF+slack)))
	if err != nil {
		return 0, fmt.Errorf("expanded uncertainty: %w", err)
	}
	return t, nil
}

// ExpandedAt is t·u at another confidence, 0.5 to 0.9999, such as 0.99; the
// degrees of freedom are cut down to a whole number (GUM G.6.4).
func (b Budget) ExpandedAt(confidence float64) (quantity.Exact, error) {
	t, err := b.student(confidence)
	if err != nil {
		return quantity.Exact{}, err
	}
	return exact(t * b.u), nil
}

// exact is f as a decimal of Digits significant digits. f is finite: the limits
// on sources see to that.
func exact(f float64) quantity.Exact {
	d, err := decimal.NewFromString(strconv.FormatFloat(f, 'e', Digits-1, 64))
	if err != nil {
		return quantity.Exact{}
	}
	return quantity.FromDecimal(d)
}
