package board

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"time"

	"shimwright/ingest/fact"
	"shimwright/ingest/store"
)

// A Wait is something that a lead decides on, or should know of.
type Wait struct {
	Bench string
	Job   string
	Step  string // "" is the whole job
	Seq   int64
	At    time.Time
	Says  string
	By    string // who; shown only where names are asked for
}

// waits brings the decisions up to date and sorts them.
func (l *Loader) waits(ctx context.Context, m *Model) error {
	more, err := l.src.Decisions(ctx, l.decided)
	if err != nil {
		return err
	}
	lifted := l.decide(more)
	l.decided = m.Newest
	m.ManyDecided = l.many
	for _, d := range l.decisions {
		w := Wait{Bench: d.Bench, Job: d.Job, Seq: d.Seq, At: d.At}
		switch f := d.Fact.(type) {
		case fact.OnHold:
			if lifted[numberedBy{d.Bench, d.Seq}] {
				continue
			}
			over, err := l.over(ctx, m, d.job())
			if err != nil {
				return err
			}
			if over {
				continue
			}
			w.Step, w.Says, w.By = f.Step, f.Reason, f.By.String()
			m.Holds = append(m.Holds, w)
		case fact.Conceded:
			w.Step, w.By = f.Step, f.By.String()
			w.Says = fmt.Sprintf("%s, limits %s: %s", f.Found, cmp.Or(f.Limit, "none"), f.Reason)
			m.Concessions = append(m.Concessions, w)
		case fact.Pressed:
			w.Step, w.Says = f.Step, string(f.Outcome)
			if f.Value != nil {
				w.Says = f.Value.String() + ", " + w.Says
			}
			w.Says += ": " + cmp.Or(f.Reason, "no reason was written")
			m.Keyed = append(m.Keyed, w)
		}
	}
	return nil
}

// A numberedBy is a fact by whose number it has.
type numberedBy struct {
	bench string
	seq   int64
}

// decide takes in what was newly decided, newest first, and gives the holds that
// were lifted. What a bench that was away brings may be older than what is known.
func (l *Loader) decide(more []Decision) (lifted map[numberedBy]bool) {
	many := len(more) == MostDecisions
	known := map[numberedBy]bool{}
	for _, d := range l.decisions {
		known[numberedBy{d.Bench, d.Seq}] = true
	}
	late := false
	more = slices.DeleteFunc(slices.Clone(more), func(d Decision) bool { return known[numberedBy{d.Bench, d.Seq}] })
	if n := len(more); n > 0 && len(l.decisions) > 0 {
		late = l.src.Shop() && more[n-1].At.Before(l.decisions[0].At)
	}
	l.decisions = append(slices.Clip(more), l.decisions...)
	if late {
		slices.SortStableFunc(l.decisions, func(a, b Decision) int { return b.At.Compare(a.At) })
	}
	if many || len(l.decisions) > MostDecisions {
		l.many = true
		l.decisions = l.decisions[:min(len(l.decisions), MostDecisions)]
	}
	lifted = map[numberedBy]bool{}
	for _, d := range l.decisions {
		if f, ok := d.Fact.(fact.Lifted); ok {
			lifted[numberedBy{d.Bench, f.Hold}] = true
		}
	}
	return lifted
}

// over tells whether a job has ended; of one that is not on the list the source is
// asked, once while nothing happens to it.
func (l *Loader) over(ctx context.Context, m *Model, of store.Job) (bool, error) {
	at := key(of)
	for i := range m.Rows {
		if key(m.Rows[i].Job) == at {
			return m.Rows[i].Job.State != store.Open, nil
		}
	}
	if over, known := l.ended[at]; known {
		return over, nil
	}
	over, err := l.src.Over(ctx, of)
	if err == nil {
		l.ended[at] = over
	}
	return over, err
}

// A Gauge is a gauge or a certified piece of the bench with what is due.
type Gauge struct {
	Bench    string
	ID, Kind string
	Due      fact.Day
	Trouble  string // why it may not be used today; "" where it may
	Days     int    // until it is due; below nought when it was; 0 also where no day is known
	Piece    bool
}

// soon is how many days before its day a gauge is called due.
const soon = 30

// isDue tells whether it wants a lead's eye.
func (g Gauge) isDue() bool { return g.Trouble != "" || !g.Due.IsZero() && g.Days <= soon }

// says is how it stands, in words.
func (g Gauge) says() string {
	switch {
	case g.Trouble != "":
		return g.Trouble
	case g.Due.IsZero():
		return "no due day is set"
	case g.Days == 0:
		return "due today"
	}
	return fmt.Sprintf("due in %d days, on %s", g.Days, g.Due)
}

// registered is the register as it was last read.
type registered struct {
	is   []Registered
	many bool
}

// register reads what is due.
func (l *Loader) register(ctx context.Context, m *Model, s Since) error {
	if l.reg.is == nil || s.Register || s.Many {
		all, many, err := l.src.Registers(ctx)
		if err != nil {
			return err
		}
		l.reg = registered{all, many}
	}
	m.ManyBenches = l.reg.many
	for _, r := range l.reg.is {
		for _, g := range r.Gauges(m.At) {
			x := gaugeOf(g.ID, g.GaugeKind, g.Certificate.Due, g.Usable(m.At), m.At)
			x.Bench = r.Bench
			m.Gauges = append(m.Gauges, x)
		}
		for _, p := range r.Pieces(m.At) {
			x := gaugeOf(p.ID, p.Size.String(), p.Certificate.Due, p.Usable(m.At), m.At)
			x.Bench, x.Piece = r.Bench, true
			m.Pieces = append(m.Pieces, x)
		}
	}
	return nil
}

func gaugeOf(id, kind string, due fact.Day, trouble error, at time.Time) Gauge {
	g := Gauge{ID: id, Kind: kind, Due: due}
	if trouble != nil {
		g.Trouble = trouble.Error()
	}
	if !due.IsZero() {
		today := fact.DayOf(at).Start(time.UTC)
		g.Days = int(due.Start(time.UTC).Sub(today).Hours() / 24)
	}
	return g
}

// due are the gauges and pieces that are, or soon are.
func (m *Model) due() []Gauge {
	var out []Gauge
	for _, g := range slices.Concat(m.Gauges, m.Pieces) {
		if g.isDue() {
			out = append(out, g)
		}
	}
	slices.SortStableFunc(out, func(a, b Gauge) int { return cmp.Compare(a.Days, b.Days) })
	return out
}
