package draw

import (
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/shopspring/decimal"

	"shimwright/calc/overhaul"
	"shimwright/calc/quantity"
)

// stepIn is how far the terms of a term are set in.
const stepIn = 4

// Sum writes a figure's arithmetic: its terms as a signed column, each term's
// own terms set in below it down to leaves, the total, and one paragraph with
// every leaf and how often it counts.
func Sum(w io.Writer, p Page, f *overhaul.Figure) error {
	t := p.sheet()
	t.wrap("", stepIn, title(f)+", in "+p.unitOf(f).String())
	newSums(p, t).figure(f, 2)
	return t.to(w)
}

// title names a figure above its sum.
func title(f *overhaul.Figure) string {
	if f.Rule == "" || f.By != nil || isMean(f) {
		return f.Name
	}
	return f.Name + ", " + f.Rule
}

// sums writes sums to one text; a figure met again is not written out again.
type sums struct {
	Page
	t     *text
	shown map[*overhaul.Figure]bool
}

func newSums(p Page, t *text) *sums { return &sums{p, t, map[*overhaul.Figure]bool{}} }

// row is one line of a sum.
type row struct {
	sign, digits, words string
	below               *overhaul.Figure
}

// figure writes a whole figure: column, total, leaves.
func (s *sums) figure(f *overhaul.Figure, indent int) {
	u := s.unitOf(f)
	rows, shut := s.rows(f)
	shut = append(shut, s.total(f, u))
	s.column(rows, shut, indent)
	if slices.ContainsFunc(rows, func(r row) bool { return r.below != nil }) && !isTorque(f) {
		s.together(f, indent)
	}
}

// total is the last line: the figure in full, and as it is shown elsewhere.
func (s *sums) total(f *overhaul.Figure, u quantity.Unit) row {
	full := inFull(f.Value, u)
	places := s.places(u)
	out := row{sign: "=", digits: digits(full, places), words: u.String()}
	if full.Sign() < 0 {
		out.digits = "-" + out.digits
	}
	if short := f.Value.ShowUnit(u, places); short != out.digits+" "+u.String() {
		out.words += ", shown as " + short
	}
	return out
}

// rows are a figure's terms, and the lines that turn their sum into the figure:
// a division, an arm, a rounding.
func (s *sums) rows(f *overhaul.Figure) (rows, shut []row) {
	if f.Leaf != nil || isPlainMean(f) {
		return []row{s.alone(f)}, nil
	}
	u := s.unitOf(f)
	terms := f.Terms
	if f.By != nil {
		u = s.unitOf(f.Terms[0].Figure)
	} else if isMean(f) {
		terms = nil
		for _, t := range f.Terms {
			terms = append(terms, overhaul.Term{Coef: quantity.Whole(1), Figure: t.Figure})
		}
	}
	var adds decimal.Decimal
	for _, t := range terms {
		r, d := s.term(t, u)
		adds = adds.Add(d)
		rows = append(rows, r)
	}
	switch {
	case f.By != nil:
		return s.byArm(f, rows, adds, u)
	case isMean(f):
		n := decimal.NewFromInt(int64(len(terms)))
		shut = append(shut, row{sign: "/", digits: n.String(), words: f.Rule})
		adds = quantity.FromDecimal(adds).Times(share(len(terms))).Round(quantity.WorkPlaces)
		return rows, append(shut, rounding(inFull(f.Value, u).Sub(adds))...)
	}
	return append(rows, rounding(inFull(f.Value, u).Sub(adds))...), nil
}

func share(n int) quantity.Ratio {
	r, err := quantity.RatioOf(1, int64(n))
	if err != nil {
		return quantity.Ratio{}
	}
	return r
}

// rounding is the line that makes up what rounded terms leave; none where they
// leave nothing.
func rounding(left decimal.Decimal) []row {
	if left.IsZero() {
		return nil
	}
	return []row{{sign: signOf(left), digits: digits(left, 0), words: "rounding"}}
}

// byArm turns a pull into a torque.
func (s *sums) byArm(f *overhaul.Figure, rows []row, adds decimal.Decimal, u quantity.Unit) ([]row, []row) {
	for i := range rows {
		rows[i].words = u.String() + "  " + rows[i].words
	}
	arm := f.By.Decimal()
	shut := []row{{sign: "×", digits: digits(arm, 0), words: "m  arm: " + f.Rule}}
	product := adds.Mul(arm).RoundBank(quantity.WorkPlaces)
	return rows, append(shut, rounding(inFull(f.Value, s.unitOf(f)).Sub(product))...)
}

// alone is the line of a figure that is one leaf or a mean of leaves.
func (s *sums) alone(f *overhaul.Figure) row {
	u := s.unitOf(f)
	full := inFull(f.Value, u)
	least := s.places(u)
	if f.Leaf != nil && f.Leaf.Written.Unit() == u {
		least = f.Leaf.Written.Places()
	}
	say, _ := words(f, u)
	return row{sign: signOf(full), digits: digits(full, least), words: say}
}

func signOf(d decimal.Decimal) string {
	if d.Sign() < 0 {
		return "-"
	}
	return "+"
}

// term is one term's line: what it adds, and, where it counts other than once
// or lies below nought and is taken off, its coefficient and its own figure.
func (s *sums) term(t overhaul.Term, u quantity.Unit) (row, decimal.Decimal) {
	adds := inFull(t.Figure.Value.Times(t.Coef), u)
	least := s.places(u)
	own := digits(inFull(t.Figure.Value, u), least)
	if l := t.Figure.Leaf; l != nil && l.Written.Unit() == u {
		own = l.Written.Digits()
		own = strings.TrimPrefix(own, "-")
		least = l.Written.Places()
	}
	if t.Figure.Value.Sign() < 0 {
		own = "-" + own
	}
	say, below := words(t.Figure, u)
	if s.saysCoef(t, below) {
		say = fmt.Sprintf("%s × %s  %s", t.Coef.Signed(), own, say)
	}
	return row{sign: signOf(adds), digits: digits(adds, least), words: say, below: below}, adds
}

// saysCoef tells whether a term's line must say how often it counts: where that
// is other than once, and where the sign alone would not tell whether the
// figure itself is below nought.
func (s *sums) saysCoef(t overhaul.Term, below *overhaul.Figure) bool {
	switch {
	case t.Coef.Equal(quantity.Whole(1)):
		return t.Figure.Value.Sign() < 0 && below != nil
	case t.Coef.Equal(quantity.Whole(-1)):
		return t.Figure.Value.Sign() < 0
	}
	return true
}

// column writes rows with their points under each other, the terms of a term
// set in below it, then the lines under the stroke.
func (s *sums) column(rows, shut []row, indent int) {
	all := append(append([]row{}, rows...), shut...)
	whole, frac := widths(all)
	for _, r := range rows {
		s.row(r, whole, frac, indent)
		s.below(r, indent)
	}
	for i, r := range shut {
		if i == 0 {
			s.t.line(strings.Repeat(" ", indent) + strings.Repeat("-", 2+whole+frac))
		}
		s.row(r, whole, frac, indent)
	}
}

func (s *sums) below(r row, indent int) {
	if r.below == nil || s.shown[r.below] {
		return
	}
	s.shown[r.below] = true
	rows, shut := s.rows(r.below)
	s.column(rows, shut, indent+stepIn)
}

func (s *sums) row(r row, whole, frac, indent int) {
	if r.below != nil && s.shown[r.below] {
		r.words += "; worked out above"
	}
	left, right := split(r.digits)
	prefix := strings.Repeat(" ", indent) + r.sign + " " + padLeft(left, whole) + pad(right, frac) + "  "
	s.t.wrap(prefix, -1, r.words)
}

// split cuts digits at the point, which stays with the decimals.
func split(digits string) (left, right string) {
	i := strings.IndexByte(digits, '.')
	if i < 0 {
		return digits, ""
	}
	return digits[:i], digits[i:]
}

func widths(rows []row) (whole, frac int) {
	for _, r := range rows {
		left, right := split(r.digits)
		whole, frac = max(whole, len(left)), max(frac, len(right))
	}
	return whole, frac
}
