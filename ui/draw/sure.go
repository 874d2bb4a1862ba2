package draw

import (
	"fmt"
	"strings"

	"shimwright/calc/budget"
	"shimwright/calc/overhaul"
	"shimwright/calc/quantity"
)

// mostLines is how many parts of a budget are written; smaller ones are told
// by their number.
const mostLines = 6

// sure says how sure a step's figure is: one line, and in full the budget by
// share with what would halve it.
func (j job) sure(r *overhaul.Result) {
	b := r.Budget
	if b == nil {
		return
	}
	u, places := j.budgetUnit(r)
	if len(b.Lines) > 0 {
		j.more(fmt.Sprintf("How sure: U %s (k = 2); by Student's t %s.", b.Expanded.ShowUnit(u, places), b.Student.ShowUnit(u, places)))
	}
	if len(b.Unknown) > 0 {
		j.more("Not counted in it, for nothing says how sure: " + strings.Join(b.Unknown, "; ") + ".")
	}
	if j.detail != Full || len(b.Lines) == 0 {
		return
	}
	j.shares(b, u, places)
	j.halve(b, u, places)
}

// measured writes what is worth knowing of a step's readings: that they have
// not settled, and what temperature does to the length.
func (j job) measured(r *overhaul.Result) {
	for _, n := range r.Notes {
		j.more(n)
	}
	if e := r.Expansion; e != nil && (e.Matters || j.detail == Full) {
		j.more(e.Words)
	}
}

// budgetUnit is the unit of a step's figure, with one decimal more.
func (j job) budgetUnit(r *overhaul.Result) (quantity.Unit, int32) {
	if r.Step.Check != nil {
		u, places := j.r.Sheet.CheckShownIn(r.Step.Check)
		return u, places + 1
	}
	return j.Unit, j.Places + 1
}

// shares writes the parts of a budget, the largest first.
func (j job) shares(b *overhaul.Budget, u quantity.Unit, places int32) {
	hundred := quantity.Whole(100)
	var left quantity.Exact
	var lines []budget.Line
	for _, l := range b.Lines {
		if !l.Share.IsZero() {
			lines = append(lines, l)
		}
	}
	for i, l := range lines {
		if i >= mostLines {
			left = left.Add(l.Share)
			continue
		}
		counts := ""
		if c := l.Coef.String(); c != "1" && c != "-1" && l.Kind != budget.Temperature && l.Kind != budget.Expansion {
			counts = ", counts " + strings.TrimPrefix(c, "-")
		}
		head := strings.Repeat(" ", moreIn+2) + padLeft(l.Share.Times(hundred).Show(quantity.Bare, 0)+" %", 5) + "  " + l.Part.ShowUnit(u, places) + "  "
		j.t.wrap(strings.ReplaceAll(head, " ", hardBlank), columns(head), partWords(l)+counts)
	}
	if rest := len(lines) - mostLines; rest > 0 {
		j.t.line(fmt.Sprintf("%s%s  in %d smaller parts", strings.Repeat(" ", moreIn+2), padLeft(left.Times(hundred).Show(quantity.Bare, 0)+" %", 5), rest))
	}
}

// partWords names one part of a budget.
func partWords(l budget.Line) string {
	switch l.Kind {
	case budget.CertifiedPiece:
		return "the certificate of " + l.Name
	case budget.MarkRounding:
		return "the last digit of the mark, " + l.Name
	case budget.Resolution:
		return "the last digit shown, " + l.Name
	case budget.Repeats:
		return "how far the presses scatter, " + l.Name
	}
	return "the " + l.Kind.String() + " of " + l.Name
}

// halve writes what would halve the uncertainty, and that more presses do not.
func (j job) halve(b *overhaul.Budget, u quantity.Unit, places int32) {
	for _, g := range b.Halve() {
		if g.Means == budget.WithoutLargest || g.Means == budget.HalveLargest || (!g.Halves && g.Means != budget.MorePresses) {
			continue
		}
		j.more(g.Say(u, places))
	}
}

// closed says how a closure compares with its own uncertainty and, where it
// does not close, the likeliest slips.
func (j job) closed(c *overhaul.Closure) {
	if c.Budget != nil && len(c.Budget.Lines) > 0 {
		how := "within"
		if c.Budget.Expanded.Less(c.Value.Abs()) {
			how = "outside"
		}
		j.more(fmt.Sprintf("Apart is %s its own uncertainty, %s (k = 2).", how, c.Budget.Expanded.ShowUnit(j.Unit, j.Places)))
	}
	if len(c.Culprits) == 0 {
		return
	}
	j.more("What would explain it, likeliest first:")
	for _, k := range c.Culprits {
		left := "that closes it"
		if !k.Closes {
			left = "that leaves " + j.length(k.Left)
		}
		j.t.wrap(strings.Repeat(" ", moreIn+2), moreIn+4, fmt.Sprintf("%s: %s; %s.", k.Term, k.Slip, left))
	}
}
