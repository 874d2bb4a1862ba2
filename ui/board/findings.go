package board

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"

	"github.com/shopspring/decimal"

	"shimwright/ingest/store"
	"shimwright/ui/draw"
)

// A Finding is one thing that goes wrong, and why: what a lead reads first.
type Finding struct {
	Shape string // beside the word
	Word  string
	Tone  draw.Tone
	Says  string
	Why   string
	Job   string // the job it is about; "" for none
	Bench string
	worth int   // more is read first
	at    int64 // when, in microseconds
	seq   int64 // its fact's number, among those of one time
}

// job is the job it is about.
func (f Finding) job() store.Job { return store.Job{Bench: f.Bench, ID: f.Job} }

// mostFindings are given out, the worst.
const mostFindings = 20

// findings are what goes wrong, the worst first.
func findings(m *Model) []Finding {
	var out []Finding
	for i := range m.Rows {
		if f, ok := m.jobFinding(&m.Rows[i]); ok {
			out = append(out, f)
		}
	}
	for _, s := range m.Series {
		out = append(out, s.findings()...)
	}
	for _, w := range m.Holds {
		out = append(out, Finding{Shape: "■", Word: "HOLD", Tone: draw.Warn, Says: m.whatHeld(w), Why: w.Says, Job: w.Job, Bench: w.Bench, worth: 60, at: w.At.UnixMicro(), seq: w.Seq})
	}
	for _, g := range m.due() {
		if g.Trouble != "" {
			says := g.Trouble
			if m.Shop {
				says = g.Bench + ": " + says
			}
			out = append(out, Finding{Shape: "!", Word: "GAUGE", Tone: draw.Warn, Says: says, Bench: g.Bench, worth: 40})
		}
	}
	for _, n := range m.Notes {
		f := Finding{Shape: "!", Word: "BAY", Tone: draw.Stop, Says: n.Bench + ": " + n.Says, Bench: n.Bench, worth: 110, at: n.Last.UnixMicro()}
		f.Why = n.when(m.At.Location())
		if !n.Still {
			f.Tone, f.worth = draw.Warn, 65
		}
		out = append(out, f)
	}
	slices.SortStableFunc(out, func(a, b Finding) int {
		return cmp.Or(cmp.Compare(b.worth, a.worth), cmp.Compare(b.at, a.at), cmp.Compare(b.seq, a.seq))
	})
	return out[:min(len(out), mostFindings)]
}

// when says since when a note is so, or when it was last.
func (n Note) when(zone *time.Location) string {
	switch {
	case n.At.IsZero():
		return ""
	case n.Still:
		return "Since " + when(n.At, zone) + "."
	}
	return "Not said again since " + when(n.Last, zone) + "."
}

// called is what a job is called: by its bay too where there are many.
func (m *Model) called(bench, id string) string {
	if m.Shop {
		return bench + " job " + id
	}
	return "job " + id
}

func (m *Model) whatHeld(w Wait) string {
	if w.Step == "" {
		return m.called(w.Bench, w.Job) + " is on hold"
	}
	return m.called(w.Bench, w.Job) + ", " + w.Step + ", is on hold"
}

// jobFinding is what is wrong with an open job. A job that is over is on the
// charts and no longer a thing to do.
func (m *Model) jobFinding(r *Row) (Finding, bool) {
	j := r.fault()
	if j == nil || r.Job.State != store.Open {
		return Finding{}, false
	}
	shape, tone := verdictMark(j.Verdict)
	f := Finding{Shape: shape, Word: verdictWord(j.Verdict), Tone: tone, Job: r.Job.ID, Bench: r.Job.Bench, worth: 80, at: j.At.UnixMicro(), seq: j.Seq}
	if worthOf(j.Verdict) == isClose {
		f.worth = 50
	}
	f.Says = fmt.Sprintf("%s, drive %s: %s", m.called(r.Job.Bench, r.Job.ID), r.Job.Serial, j.Words)
	f.Why = j.Advice
	if j == r.Ring && r.isRing {
		f.Says = fmt.Sprintf("%s, drive %s: backlash %s", m.called(r.Job.Bench, r.Job.ID), r.Job.Serial, r.ringFault())
		if r.wheel.wide() {
			f.Word, f.Shape, f.Tone, f.worth = "SPREAD", "↔", draw.Stop, 100
			f.Why = cmp.Or(r.why(), f.Why)
		}
	}
	if r.Job.Training {
		f.Word += " (training)"
		f.worth /= 2
	}
	return f, true
}

// ringFault is what is wrong with a ring, in figures.
func (r *Row) ringFault() string {
	w := &r.wheel
	var parts []string
	if w.wide() {
		parts = append(parts, fmt.Sprintf("spread %s, %s allowed", r.showUnit(w.spread), r.showUnit(*w.spreadAllowed)))
	}
	var out []string
	for _, p := range w.points {
		if p.judged > 1 {
			out = append(out, p.spot)
		}
	}
	if w.band != nil && (len(out) > 0 || len(parts) == 0) {
		limits := fmt.Sprintf("limits %s .. %s", r.show(w.band.Low), r.showUnit(w.band.High))
		switch {
		case len(out) == len(w.points):
			parts = append(parts, fmt.Sprintf("mean %s, %s", r.showUnit(w.mean), limits))
		case len(out) > 0:
			parts = append(parts, fmt.Sprintf("at %s, %s", strings.Join(out, ", "), limits))
		default:
			parts = append(parts, fmt.Sprintf("lowest of the curve %s, %s", r.showUnit(w.fit.Low.Value), limits))
		}
	}
	return strings.Join(parts, "; ")
}

// why says what a wide spread looks like.
func (r *Row) why() string {
	w := &r.wheel
	if w.fit == nil {
		return ""
	}
	var out string
	switch {
	case w.once >= 2*w.twice && w.fit.Once.Low.Known:
		out = fmt.Sprintf("Once in a turn, lowest at %.0f deg: run-out, dirt or bolts under one side of the wheel.", w.fit.Once.Low.Degrees)
	case w.twice >= 2*w.once:
		out = "Twice in a turn: a bent or oval wheel, or two bolts."
	default:
		out = "Once and twice in a turn are alike: look at run-out and at bolts."
	}
	if w.window != nil && w.window.Empty() {
		out += " No shim can pass before that is found."
	}
	return out
}

// run is how many jobs in a row make a trend, and a shift of the centre. (Common
// practice, no source; from memory.)
const (
	risingRun = 6
	shiftRun  = 8
)

// findings are what the charts show at their end.
func (s *Series) findings() []Finding {
	var out []Finding
	add := func(worth int, word, says, why string) {
		last := s.Points[len(s.Points)-1]
		out = append(out, Finding{Shape: "↗", Word: word, Tone: draw.Warn, Says: s.name() + ": " + says, Why: why, Job: last.Job, Bench: last.Bench, worth: worth, at: s.changed})
	}
	if n := rising(s.Spread.points); n >= risingRun {
		last := s.Spread.points[len(s.Spread.points)-n:]
		add(90, "RISING", fmt.Sprintf("the spread rose over %d jobs in a row, from %s to %s", n, s.show(last[0]), s.show(last[n-1])),
			"Something changes from job to job: tooling, a gauge, how bolts are drawn up.")
	}
	for _, c := range []struct {
		what string
		of   control
	}{{"spread", s.Spread}, {"mean", s.Mean}} {
		n := len(c.of.points)
		if c.of.limits == nil || n < 20 {
			continue // limits from so few are a beginning only
		}
		if last := c.of.points[n-1]; last.GreaterThan(c.of.limits.Upper) || last.LessThan(c.of.limits.Lower) {
			add(85, "UNUSUAL", fmt.Sprintf("the %s of the last job, %s, is outside what its jobs usually do, %s .. %s",
				c.what, s.show(last), s.show(c.of.limits.Lower), s.show(c.of.limits.Upper)), "This job differs from the others: look at what was different.")
		}
		if k := oneSide(c.of.points, c.of.limits.Centre); k >= shiftRun {
			add(70, "SHIFTED", fmt.Sprintf("the %s of the last %d jobs lies on one side of its middle, %s", c.what, k, s.show(c.of.limits.Centre)),
				"Something has changed for good: a gauge, a piece, a batch of parts.")
		}
	}
	return out
}

func (s *Series) show(d decimal.Decimal) string {
	return d.StringFixedBank(s.places) + " " + s.unit.String()
}

// rising is how many of the last points each lie above the one before.
func rising(points []decimal.Decimal) int {
	n := min(len(points), 1)
	for i := len(points) - 1; i > 0 && points[i].GreaterThan(points[i-1]); i-- {
		n++
	}
	return n
}

// oneSide is how many of the last points lie on the same side of the centre.
func oneSide(points []decimal.Decimal, centre decimal.Decimal) int {
	n, side := 0, 0
	for _, p := range slices.Backward(points) {
		at := p.Cmp(centre)
		if at == 0 || side != 0 && at != side {
			break
		}
		side = at
		n++
	}
	return n
}
