package correct

import (
	"fmt"

	"shimwright/calc/quantity"
	"shimwright/calc/stat"
)

// A Check is one reading of a gauge on a certified piece, in the base unit.
type Check struct{ Read, Certified quantity.Exact }

// A State is how a gauge stands with its check piece.
type State uint8

// The states.
const (
	Within  State = iota + 1 // the last error is within the limit
	Nearing                  // within it, but the trend carries the next check beyond it
	Beyond                   // the last error is larger than the limit
)

// String is the state in words.
func (s State) String() string {
	switch s {
	case Within:
		return "within its limit"
	case Nearing:
		return "nearing its limit"
	case Beyond:
		return "larger than its limit"
	default:
		return fmt.Sprintf("state %d", uint8(s))
	}
}

// A Drift is a series of checks of one gauge, oldest first.
type Drift struct {
	Errors   []quantity.Exact // read − certified
	Last     quantity.Exact   // the last error
	Moved    quantity.Exact   // last error − first error
	PerCheck quantity.Exact   // slope of the least-squares line through the errors, per check; nought for one check
	Limit    quantity.Exact
	State    State
	LastGood int // index from 0 of the last check within the limit; −1 for none. Readings after it are in doubt while State is Beyond
}

// Watch looks at a series of checks, oldest first, against the limit of the
// error. Checks count by their order, not by the days between them. The trend
//
//	b = Σ (2i − n − 1)·eᵢ · 6/(n·(n² − 1)),  i = 1…n
//
// is the least-squares slope for evenly spaced checks (textbook, from memory),
// exact; it foretells only with three checks or more. It needs one check and a
// limit above nought.
func Watch(checks []Check, limit quantity.Exact) (Drift, error) {
	if err := counted("checks", len(checks), 1); err != nil {
		return Drift{}, err
	}
	if err := bounded("limit", limit); err != nil {
		return Drift{}, err
	}
	if limit.Sign() <= 0 {
		return Drift{}, problem(stat.OutOfRange, "limit", "above nought", "%s", limit)
	}
	d := Drift{Limit: limit, LastGood: -1}
	for i, c := range checks {
		field := fmt.Sprintf("check %d", i+1)
		if err := bounded(field+": reading", c.Read); err != nil {
			return Drift{}, err
		}
		if err := bounded(field+": certified size", c.Certified); err != nil {
			return Drift{}, err
		}
		e := c.Read.Sub(c.Certified)
		d.Errors = append(d.Errors, e)
		if !limit.Less(e.Abs()) {
			d.LastGood = i
		}
	}
	n := len(d.Errors)
	d.Last = d.Errors[n-1]
	d.Moved = d.Last.Sub(d.Errors[0])
	d.PerCheck = slope(d.Errors)
	d.State = d.state()
	return d, nil
}

func (d Drift) state() State {
	const foretells = 3
	switch {
	case d.Limit.Less(d.Last.Abs()):
		return Beyond
	case len(d.Errors) >= foretells && d.Limit.Less(d.Last.Add(d.PerCheck).Abs()):
		return Nearing
	default:
		return Within
	}
}

// slope is the least-squares slope of errors against 1, 2, 3 …
func slope(errors []quantity.Exact) quantity.Exact {
	n := int64(len(errors))
	if n < 2 {
		return quantity.Exact{}
	}
	var sum quantity.Exact
	for i, e := range errors {
		sum = sum.Add(e.Times(quantity.Whole(2*int64(i+1) - n - 1)))
	}
	share, err := quantity.RatioOf(6, n*(n*n-1)) // n is at most MaxPoints: no overflow
	if err != nil {
		return quantity.Exact{}
	}
	return sum.Times(share)
}

// Say is the drift in one sentence, in unit u.
func (d Drift) Say(u quantity.Unit, places int32) string {
	last, limit := signed(d.Last, u, places), d.Limit.ShowUnit(u, places)
	n := len(d.Errors)
	switch {
	case d.State == Beyond && d.LastGood >= 0:
		return fmt.Sprintf("Check %d is off by %s, larger than its limit of %s: readings since check %d, the last good one, are in doubt.",
			n, last, limit, d.LastGood+1)
	case d.State == Beyond:
		return fmt.Sprintf("Check %d is off by %s, larger than its limit of %s, and no check was good: do not use this gauge.", n, last, limit)
	case d.State == Nearing:
		return fmt.Sprintf("Check %d is off by %s, within its limit of %s, but it moves %s a check: the next would be beyond it.",
			n, last, limit, signed(d.PerCheck, u, places+1))
	default:
		return fmt.Sprintf("Check %d is off by %s, within its limit of %s.", n, last, limit)
	}
}

func signed(e quantity.Exact, u quantity.Unit, places int32) string {
	if e.Sign() > 0 {
		return "+" + e.ShowUnit(u, places)
	}
	return e.ShowUnit(u, places)
}
