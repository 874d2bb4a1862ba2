package board

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"time"

	"shimwright/ingest/fact"
	"shimwright/ingest/register"
	"shimwright/ingest/store"
)

// A Wait is something that a lead decides on, or should know of.
type Wait struct {
	Job  string
	Step string // "" is the whole job
	Seq  int64
	At   time.Time
	Says string
	By   string // who; shown only where names are asked for
}

// waits brings the decisions up to date and sorts them.
func (l *Loader) waits(ctx context.Context, m *Model) error {
	more, err := l.src.Decisions(ctx, l.decided)
	if err != nil {
		return err
	}
	l.decisions = append(slices.Clip(more), l.decisions...)
	if len(more) == MostDecisions || len(l.decisions) > MostDecisions {
		l.many = true
		l.decisions = l.decisions[:MostDecisions]
	}
	if len(more) > 0 {
		l.decided = more[0].Seq
	}
	m.ManyDecided = l.many
	lifted := map[int64]bool{}
	for _, d := range l.decisions {
		w := Wait{Job: d.Job, Seq: d.Seq, At: d.At}
		switch f := d.Fact.(type) {
		case fact.Lifted:
			lifted[f.Hold] = true
		case fact.OnHold:
			if lifted[d.Seq] {
				continue
			}
			over, err := l.over(ctx, m, d.Job)
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

// over tells whether a job has ended; one that is not on the list is folded for
// it, once while nothing happens to it.
func (l *Loader) over(ctx context.Context, m *Model, id string) (bool, error) {
	for _, r := range m.Rows {
		if r.Job.ID == id {
			return r.Job.State != store.Open, nil
		}
	}
	if over, known := l.ended[id]; known {
		return over, nil
	}
	j, err := l.src.Job(ctx, store.Job{ID: id})
	if err != nil {
		return false, err
	}
	l.ended[id] = j.Ended() != ""
	return l.ended[id], nil
}

// A Gauge is a gauge or a certified piece of the bench with what is due.
type Gauge struct {
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
		return "no day is set on which it is due"
	case g.Days == 0:
		return "due today"
	}
	return fmt.Sprintf("due in %d days, on %s", g.Days, g.Due)
}

// registered is the register as it was last read.
type registered struct {
	is *register.Register
}

// register reads what is due.
func (l *Loader) register(ctx context.Context, m *Model, s Since) error {
	if l.reg.is == nil || s.Register || s.Many {
		r, err := l.src.Register(ctx)
		if err != nil {
			return err
		}
		l.reg.is = r
	}
	for _, g := range l.reg.is.Gauges(m.At) {
		m.Gauges = append(m.Gauges, gaugeOf(g.ID, g.GaugeKind, g.Certificate.Due, g.Usable(m.At), m.At))
	}
	for _, p := range l.reg.is.Pieces(m.At) {
		x := gaugeOf(p.ID, p.Size.String(), p.Certificate.Due, p.Usable(m.At), m.At)
		x.Piece = true
		m.Pieces = append(m.Pieces, x)
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
