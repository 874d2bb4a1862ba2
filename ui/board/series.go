package board

import (
	"cmp"
	"errors"
	"fmt"
	"slices"
	"time"

	"github.com/shopspring/decimal"

	"shimwright/calc/quantity"
	"shimwright/calc/sheet"
	"shimwright/calc/stat"
	"shimwright/ingest/store"
)

// confidence is that of the limits of a capability.
const confidence = 0.95

// A Series is one ring of one sheet, job after job.
type Series struct {
	Sheet, Step string
	Points      []Point // oldest first, one a job: its ring as it was last judged
	Training    int     // training jobs among them, or left out
	Cut         bool    // older jobs are left out

	Spread, Mean control
	Capability   *stat.Capability // of the mean against the ring's limits; nil where it is refused
	Refused      string           // why
	FirstPass    int              // jobs whose ring was good when it was first judged
	Loops        int              // re-shims over all jobs

	unit    quantity.Unit
	places  int32
	allowed *quantity.Exact
	band    *[2]quantity.Exact
	changed int64 // when the newest judgement taken in was made, in microseconds
}

// A Point is one job on a chart.
type Point struct {
	Bench        string
	Job          string
	At           time.Time
	Verdict      string
	Mean, Spread quantity.Exact // mm
	First        string
	Builds       int // build states in which its ring was judged
	Training     bool

	build int
}

// A control is one control chart: its points, and its limits where there are.
type control struct {
	points []decimal.Decimal // in the series' unit
	limits *stat.Limits
	none   string // why there are no limits
}

// name is the series in words.
func (s *Series) name() string { return s.Sheet + ", " + s.Step }

// seriesOf makes the series of one sheet from its rings' judgements, newest
// first: one for each step. Training jobs count where they are asked for.
func seriesOf(all []store.Judgement, cut, training bool, sheetOf func(store.Judgement) *sheet.Sheet) []*Series {
	byStep := map[string]*Series{}
	var order []string
	points := map[[2]string]*Point{}
	for i := range slices.Backward(all) {
		j := all[i]
		mean, ok := exact(j.Mean)
		spread, ok2 := exact(j.Spread)
		if !ok || !ok2 || j.Low == "" {
			continue
		}
		s := byStep[j.Step]
		if s == nil {
			s = &Series{Sheet: j.Sheet, Step: j.Step, Cut: cut}
			byStep[j.Step] = s
			order = append(order, j.Step)
		}
		s.changed = j.At.UnixMicro()
		key := [2]string{j.Step, j.Bench + "\n" + j.Job}
		p := points[key]
		if p == nil {
			p = &Point{Bench: j.Bench, Job: j.Job, First: j.Verdict, Builds: 1, build: j.Build}
			points[key] = p
		} else if j.Build != p.build {
			p.Builds++
		}
		p.At, p.Verdict, p.Mean, p.Spread, p.build = j.At, j.Verdict, mean, spread, j.Build
		p.Training = p.Training || j.Training
	}
	var out []*Series
	for _, step := range order {
		s := byStep[step]
		s.take(all, points, training)
		s.work(all, sheetOf)
		out = append(out, s)
	}
	slices.SortFunc(out, func(a, b *Series) int { return cmp.Compare(b.changed, a.changed) })
	return out
}

// take puts the points in the order of the jobs' last rings.
func (s *Series) take(all []store.Judgement, points map[[2]string]*Point, training bool) {
	seen := map[string]bool{}
	for _, j := range all {
		id := j.Bench + "\n" + j.Job
		p := points[[2]string{s.Step, id}]
		if j.Step != s.Step || seen[id] || p == nil {
			continue
		}
		seen[id] = true
		if p.Training {
			if s.Training++; !training {
				continue
			}
		}
		s.Points = append(s.Points, *p)
	}
	slices.Reverse(s.Points)
	if s.Cut && len(s.Points) > 1 {
		s.Points = s.Points[1:] // its first rings may lie before what was read
	}
}

// work works the charts, the capability and the shares.
func (s *Series) work(all []store.Judgement, sheetOf func(store.Judgement) *sheet.Sheet) {
	s.unit, s.places = quantity.MM, 3
	i := slices.IndexFunc(all, func(j store.Judgement) bool { return j.Step == s.Step && j.Low != "" })
	newest := all[i]
	if sh := sheetOf(newest); sh != nil {
		s.unit, s.places = sh.Unit, sh.Places
		s.allowed = allowed(sh, &newest)
	}
	low, ok := exact(newest.Low)
	high, ok2 := exact(newest.High)
	if ok && ok2 {
		s.band = &[2]quantity.Exact{low, high}
	}
	for _, p := range s.Points {
		s.Spread.points = append(s.Spread.points, s.in(p.Spread))
		s.Mean.points = append(s.Mean.points, s.in(p.Mean))
		s.Loops += p.Builds - 1
		if worthOf(p.First) == isGood {
			s.FirstPass++
		}
	}
	s.Spread.limit()
	if l := s.Spread.limits; l != nil && l.Lower.Sign() < 0 {
		l.Lower = decimal.Decimal{} // no spread lies below nought
	}
	s.Mean.limit()
	s.capable()
}

// in is a figure in the series' unit, to a thousandth of what is shown.
func (s *Series) in(x quantity.Exact) decimal.Decimal { return x.In(s.unit).Round(s.places + 3) }

// limit works a chart's limits from its points.
func (c *control) limit() {
	chart, err := stat.Individuals(c.points)
	var why *stat.Problem
	switch {
	case err == nil:
		c.limits = &chart.Middle
	case len(c.points) < 2:
		c.none = fmt.Sprintf("limits want 2 jobs at least, and there %s", are(len(c.points)))
	case errors.As(err, &why) && why.Kind == stat.NoSpread:
		c.none = "limits want jobs that differ, and none does"
	default:
		c.none = err.Error()
	}
}

func are(n int) string {
	switch n {
	case 0:
		return "is none"
	case 1:
		return "is 1"
	}
	return fmt.Sprintf("are %d", n)
}

// capable works the capability of the mean against the ring's limits.
func (s *Series) capable() {
	if n := len(s.Points); n < stat.MinCapability {
		s.Refused = fmt.Sprintf("not given: n = %d, at least %d are wanted", n, stat.MinCapability)
		return
	}
	if s.band == nil {
		s.Refused = "not given: the ring has no limits"
		return
	}
	c, err := stat.CapabilityOf(s.Mean.points, stat.Within(s.in(s.band[0]), s.in(s.band[1])), confidence)
	if err != nil {
		s.Refused = "not given: " + err.Error()
		return
	}
	s.Capability = &c
}

// capabilityWords are the capability in one line.
func (s *Series) capabilityWords() string {
	c := s.Capability
	if c == nil {
		return s.Refused
	}
	words := fmt.Sprintf("Cpk %s (%s to %s), n = %d", c.Indices.Cpk.StringFixed(2), c.Cpk.Low.StringFixed(2), c.Cpk.High.StringFixed(2), c.Summary.N)
	if c.Few {
		words += fmt.Sprintf(", fewer than the %d advised", stat.AdvisedCapability)
	}
	return words
}

// fewForShare is how many jobs a percentage is made of at least: below it one job
// more or less would move it by more than a tenth.
const fewForShare = 10

// share is how many of some jobs, as a percentage where they are enough for one.
func share(n, of int) string {
	if of < fewForShare {
		return fmt.Sprintf("%d of %s", n, count(of, "job"))
	}
	return fmt.Sprintf("%d %% of %s", (100*n+of/2)/of, count(of, "job"))
}

// perJob is a count over the jobs, to a tenth.
func perJob(n, jobs int) string {
	if jobs == 0 {
		return "–"
	}
	return decimal.NewFromInt(int64(n)).DivRound(decimal.NewFromInt(int64(jobs)), 1).StringFixed(1)
}
