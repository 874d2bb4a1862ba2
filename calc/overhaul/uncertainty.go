package overhaul

import (
	"errors"

	"github.com/shopspring/decimal"

	"shimwright/calc/budget"
	"shimwright/calc/quantity"
	"shimwright/calc/sheet"
	"shimwright/calc/stat"
)

// A Budget is how sure a figure is.
type Budget struct {
	budget.Budget
	// Guard is the guard band that verdicts draw limits in by: the expanded
	// uncertainty by the sheet's factor, nought where the shop accepts simply.
	Guard quantity.Exact
	// Unknown are the things in the figure that nothing says how sure they are
	// of; while there are any, the budget is a part of the truth.
	Unknown []string
}

// smallRange is the part of a gauge's limit of error that stays when it is
// zeroed on a piece and reads a small part of its range (common practice, no
// source).
const smallRange = 10

// sources gathers what makes a figure unsure.
type sources struct {
	w       *worker
	by      *quantity.Exact
	list    []budget.Source
	unknown []string
	runs    map[string]*run
	order   []string
}

// run is one run of repeats in a figure.
type run struct {
	name     string
	gauge    string
	coef     quantity.Ratio // of the whole run
	readings []decimal.Decimal
	seen     map[string]bool // presses met, for one may be met twice
	step     quantity.Exact  // coarsest last digit
}

// budget works how sure a figure is, from what gauges, pieces and marks say of
// themselves: a limit of error counts as rectangular and is common to all
// readings of one gauge in the job, so it adds up with its signs; where the
// gauge has a correction table that says how sure it is, that stands in the
// place of its limit of error; the
// resolution does not average away; repeats count by their scatter. It is nil
// where no gauge of the job has a limit of error and no piece an uncertainty.
func (w *worker) budget(f *Figure) *Budget {
	if f == nil || !w.knowsUncertainty() {
		return nil
	}
	s := &sources{w: w, by: f.By, runs: map[string]*run{}}
	f.walk(quantity.Whole(1), s.leaf)
	for _, name := range s.order {
		s.repeats(s.runs[name])
	}
	if len(s.list) == 0 {
		return nil
	}
	b, err := budget.Work(s.list)
	var wrong *stat.Problem
	switch {
	case errors.As(err, &wrong) && wrong.Kind == stat.NoSpread:
		return nil // nothing in the figure is unsure: all of it cancels
	case err != nil:
		return &Budget{Unknown: append(s.unknown, "how sure it is, which cannot be worked: "+err.Error())}
	}
	out := &Budget{Budget: b, Unknown: s.unknown}
	if out.Guard, err = w.guard().Band(b); err != nil {
		out.Unknown = append(out.Unknown, "the guard band, which cannot be worked: "+err.Error())
	}
	return out
}

func (w *worker) knowsUncertainty() bool {
	for _, g := range w.entries.Gauges {
		if g.Limit != nil || g.Corrections != nil && g.Corrections.Uncertainty != nil {
			return true
		}
	}
	for _, p := range w.entries.Pieces {
		if p.Uncertainty != nil {
			return true
		}
	}
	return false
}

func (w *worker) guard() budget.Guard {
	switch {
	case w.entries.Simple:
		return budget.Guard{Way: budget.Simple}
	case w.sheet.Guard.Student:
		return budget.Guard{Way: budget.Student}
	}
	return budget.Guard{K: w.sheet.Guard.K}
}

func (s *sources) add(src budget.Source) {
	if src.Coef.IsZero() {
		return
	}
	switch {
	case src.By == nil:
		src.By = s.by
	case s.by != nil:
		by := src.By.Mul(*s.by)
		src.By = &by
	}
	s.list = append(s.list, src)
}

func (s *sources) missing(what string) {
	for _, u := range s.unknown {
		if u == what {
			return
		}
	}
	s.unknown = append(s.unknown, what)
}

// leaf adds what one leaf brings.
func (s *sources) leaf(coef quantity.Ratio, f *Figure) {
	switch l := f.Leaf; l.Kind {
	case LeafPress:
		s.press(coef, f)
	case LeafPiece:
		id := l.Key[len("piece:"):]
		p := s.w.entries.Pieces[id]
		if p.Uncertainty == nil {
			s.missing("the certificate of piece " + id)
			return
		}
		s.add(budget.Source{Name: id, Kind: budget.CertifiedPiece, Size: p.Uncertainty.Exact(), K: p.K.Exact(), Coef: coef, Through: l.Through})
	case LeafMark:
		s.add(budget.Source{Name: l.Key[len("mark:"):], Kind: budget.MarkRounding, Size: l.Written.Resolution(), Coef: coef})
	case LeafKeyed:
		s.add(budget.Source{Name: f.Name + " by hand, " + l.Key, Kind: budget.Resolution, Size: l.Written.Resolution(), Coef: coef})
		s.missing("the gauge behind a figure keyed by hand")
	case LeafCorrection:
		s.table(coef, l)
	case LeafGrowth:
		s.growth(coef, l.growth)
	case LeafShim:
		s.missing("the true thickness of leaves taken by their marking")
	}
}

// table adds what a gauge's correction table is sure to, which is common to
// all that it corrected.
func (s *sources) table(coef quantity.Ratio, l *Leaf) {
	c := s.w.entries.Gauges[l.Gauge].Corrections
	if c == nil || c.Uncertainty == nil {
		return
	}
	s.add(budget.Source{Name: l.Gauge + "'s correction table", Kind: budget.CertifiedPiece, Size: c.Uncertainty.Exact(), K: c.K.Exact(), Coef: coef})
}

// press adds a press to its run and its gauge's error to the gauge's.
func (s *sources) press(coef quantity.Ratio, f *Figure) {
	l := f.Leaf
	s.notCorrected(l.Group)
	r, ok := s.runs[l.Group]
	if !ok {
		r = &run{name: l.Group, gauge: l.Gauge, seen: map[string]bool{}}
		s.runs[l.Group] = r
		s.order = append(s.order, l.Group)
	}
	r.coef = r.coef.Add(coef)
	if !r.seen[l.Key] {
		r.seen[l.Key] = true
		r.readings = append(r.readings, l.alike.Decimal())
	}
	if step := l.Written.Resolution(); r.step.Less(step) {
		r.step = step
	}
	g, known := s.w.entries.Gauges[l.Gauge]
	if known && g.Corrections != nil && g.Corrections.Uncertainty != nil && !l.Small {
		return // its error is what the table leaves
	}
	if !known || g.Limit == nil {
		s.missing("the limit of error of " + orGauge(l.Gauge))
		return
	}
	src := budget.Source{Name: l.Gauge, Kind: budget.LimitOfError, Size: g.Limit.Exact(), Coef: coef, Gauge: l.Gauge}
	if l.Small {
		tenth, err := quantity.RatioOf(1, smallRange)
		if err != nil {
			return
		}
		src.Name, src.Size, src.Gauge = l.Gauge+" over a small range", src.Size.Times(tenth), ""
	}
	s.add(src)
}

func orGauge(id string) string {
	if id == "" {
		return "a gauge that is not named"
	}
	return id
}

// repeats adds the resolution of a run and its scatter, that of the corrected
// presses: on pieces of different size it is the lengths found that scatter.
func (s *sources) repeats(r *run) {
	s.add(budget.Source{Name: r.name, Kind: budget.Resolution, Size: r.step, Coef: r.coef, Gauge: r.gauge})
	if len(r.readings) < 2 {
		return
	}
	sum, err := stat.Summarise(r.readings)
	if err != nil {
		return
	}
	sd, err := sum.SD()
	if err != nil || sd.IsZero() {
		return
	}
	s.add(budget.Source{Name: r.name, Kind: budget.Repeats, Size: quantity.FromDecimal(sd), N: len(r.readings), Coef: r.coef, Gauge: r.gauge})
}

// guardOf is the guard band of a check's figure: what the sheet states, else
// what its budget says.
func (w *worker) guardOf(c *sheet.Check, f *Figure) (quantity.Exact, *Budget) {
	b := w.budget(f)
	switch {
	case w.entries.Simple:
		return quantity.Exact{}, b
	case c.Uncertainty.Exact().Sign() > 0:
		return c.Uncertainty.Exact(), b
	case b != nil:
		return b.Guard, b
	}
	return quantity.Exact{}, b
}
