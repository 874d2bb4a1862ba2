package board

import (
	"context"
	"slices"
	"time"

	"shimwright/calc/sheet"
	"shimwright/ingest/store"
)

// A Model is the board as it stands. It is never changed once it is given out.
type Model struct {
	Name   string
	Query  Query
	At     time.Time   // when it was read
	Shop   bool        // it is of many benches
	Newest int64       // the source's mark
	Fresh  []store.Job // that have new facts since the model before; nil where all may
	Rows   []Row       // newest opened first
	More   bool        // there are older jobs behind them
	Series []*Series   // by their newest ring

	Holds, Concessions, Keyed []Wait
	ManyDecided               bool // older ones than MostDecisions are left out
	Gauges                    []Gauge
	Pieces                    []Gauge
	ManyBenches               bool // gauges and pieces of some benches are left out
	Notes                     []Note
	Findings                  []Finding
}

// Progress is told how far a long reading is; total is 0 where it is not known.
type Progress func(what string, done, total int)

// A Loader reads models from a source, and keeps what does not change between
// them. It belongs to one goroutine.
type Loader struct {
	src Source
	now func() time.Time

	sheets    map[string]*sheet.Sheet      // by digest; nil where it cannot be read
	rows      map[string]Row               // by job, of the last list
	series    map[string][]*Series         // by sheet
	rings     map[string][]store.Judgement // by sheet, newest first
	decisions []Decision
	decided   int64 // the mark up to which decisions were looked at
	many      bool
	ended     map[string]bool // jobs on hold that are not on the list, by key
	reg       registered
	last      *Model
}

// NewLoader makes a loader; now is the clock.
func NewLoader(src Source, now func() time.Time) *Loader {
	return &Loader{src: src, now: now, sheets: map[string]*sheet.Sheet{}, rows: map[string]Row{}, series: map[string][]*Series{}, rings: map[string][]store.Judgement{}, ended: map[string]bool{}}
}

// Load reads the board for a query. Where the source did not change since the
// last time and the query neither, it gives the model of then. A stop by ctx
// leaves the loader as it was, but for what it keeps. told may be nil.
func (l *Loader) Load(ctx context.Context, q Query, told Progress) (*Model, error) {
	if told == nil {
		told = func(string, int, int) {}
	}
	after, same := int64(0), false
	if l.last != nil {
		after, same = l.last.Newest, l.last.Query == q
	}
	since, err := l.src.Since(ctx, after)
	if err != nil {
		return nil, err
	}
	if same && since.Newest == after && l.now().Sub(l.last.At) < time.Hour {
		return l.last, nil // an hour on, another day may have begun for what is due
	}
	l.forget(since)
	m := &Model{Name: l.src.Name(), Shop: l.src.Shop(), Query: q, At: l.now(), Newest: since.Newest}
	if !since.Many {
		m.Fresh = append([]store.Job{}, since.Jobs...)
	}
	if err := l.jobs(ctx, m, told); err != nil {
		return nil, err
	}
	if err := l.charts(ctx, m, told); err != nil {
		return nil, err
	}
	if err := l.waits(ctx, m); err != nil {
		return nil, err
	}
	if err := l.register(ctx, m, since); err != nil {
		return nil, err
	}
	if m.Notes, err = l.src.Notes(ctx); err != nil {
		return nil, err
	}
	m.Findings = findings(m)
	l.last = m
	return m, nil
}

// forget drops what changed from what is kept.
func (l *Loader) forget(s Since) {
	if s.Many {
		clear(l.rows)
		clear(l.series)
		clear(l.rings)
		clear(l.ended)
		l.decisions, l.decided, l.many = nil, 0, false
		return
	}
	for _, j := range s.Jobs {
		at := key(j)
		delete(l.ended, at)
		r, known := l.rows[at]
		if !known {
			clear(l.series) // which sheet's it is cannot be told
			continue
		}
		delete(l.rows, at)
		delete(l.series, r.Job.Sheet)
	}
}

func key(j store.Job) string { return j.Bench + "\n" + j.ID }

// jobs reads the list.
func (l *Loader) jobs(ctx context.Context, m *Model, told Progress) error {
	q := m.Query.jobs(m.At)
	rows := map[string]Row{}
	for page := range mostPages {
		if m.Query.Text != "" {
			told("looking through jobs", page*MostJobs, 0)
		}
		jobs, err := l.src.Jobs(ctx, q)
		if err != nil {
			return err
		}
		for i, j := range jobs {
			if i%50 == 0 && len(jobs) > 50 && m.Query.Text == "" {
				told("reading jobs", i, len(jobs))
			}
			if err := l.add(ctx, m, rows, j); err != nil {
				return err
			}
			if len(m.Rows) == MostJobs {
				m.More = i < len(jobs)-1 || len(jobs) == MostJobs
				l.rows = rows
				return nil
			}
		}
		if len(jobs) < MostJobs {
			break
		}
		m.More = page == mostPages-1
		q.Before = &jobs[len(jobs)-1]
	}
	l.rows = rows
	return nil
}

// add adds a job to the list where it matches.
func (l *Loader) add(ctx context.Context, m *Model, rows map[string]Row, j store.Job) error {
	if !holds(j, m.Query.Text) {
		return nil
	}
	r, kept := l.rows[key(j)]
	if r.Job = j; !kept {
		all, err := l.src.Judgements(ctx, store.JudgementQuery{Bench: j.Bench, Job: j.ID})
		if err != nil {
			return err
		}
		s, err := l.sheet(ctx, j)
		if err != nil {
			return err
		}
		r.judgedFrom(all, s)
	}
	rows[key(j)] = r
	m.Rows = append(m.Rows, r)
	return nil
}

// sheet is the sheet as it was frozen when a job was opened; nil where that
// cannot be read: the list then shows millimetres and steps.
func (l *Loader) sheet(ctx context.Context, j store.Job) (*sheet.Sheet, error) {
	if s, ok := l.sheets[j.Digest]; ok {
		return s, nil
	}
	head, err := l.src.Opened(ctx, j)
	if err != nil {
		if stopped := ctx.Err(); stopped != nil {
			return nil, stopped
		}
		return nil, err
	}
	s, err := sheet.Read(head.Sheet, []byte(head.Text))
	if err != nil {
		s = nil
	}
	if len(l.sheets) >= mostSheets {
		clear(l.sheets)
	}
	l.sheets[j.Digest] = s
	return s, nil
}

// charts reads the rings of the sheets on the list.
func (l *Loader) charts(ctx context.Context, m *Model, told Progress) error {
	if l.last != nil && l.last.Query.Training != m.Query.Training {
		clear(l.series)
	}
	var sheets []string
	of := map[string]store.Job{}
	for _, r := range m.Rows {
		if _, ok := of[r.Job.Sheet]; !ok && len(sheets) < mostSeries {
			of[r.Job.Sheet] = r.Job
			sheets = append(sheets, r.Job.Sheet)
		}
	}
	for i, name := range sheets {
		told("reading rings", i, len(sheets))
		if _, kept := l.series[name]; !kept {
			all, err := l.ringsOf(ctx, name)
			if err != nil {
				return err
			}
			s, err := l.sheet(ctx, of[name])
			if err != nil {
				return err
			}
			l.series[name] = seriesOf(all, len(all) == store.Most, m.Query.Training, func(store.Judgement) *sheet.Sheet { return s })
		}
		m.Series = append(m.Series, l.series[name]...)
	}
	slices.SortStableFunc(m.Series, func(a, b *Series) int {
		switch {
		case a.changed > b.changed:
			return -1
		case a.changed < b.changed:
			return 1
		}
		return 0
	})
	return nil
}

// aFew is how many judgements are read first where most are known already.
const aFew = 20

// ringsOf are a sheet's judged rings, newest first; of those known before only
// the newer ones are read. In a shop a bench that was away brings older ones.
func (l *Loader) ringsOf(ctx context.Context, name string) ([]store.Judgement, error) {
	q := store.JudgementQuery{Sheet: name, What: backlash}
	if known := l.rings[name]; len(known) > 0 && !l.src.Shop() {
		few := q
		few.Limit = aFew
		newer, err := l.src.Judgements(ctx, few)
		if err != nil {
			return nil, err
		}
		if i := slices.IndexFunc(newer, func(j store.Judgement) bool { return j.Seq <= known[0].Seq }); i >= 0 {
			all := append(newer[:i:i], known...)
			l.rings[name] = all[:min(len(all), store.Most)]
			return l.rings[name], nil
		}
	}
	all, err := l.src.Judgements(ctx, q)
	if err == nil {
		l.rings[name] = all
	}
	return all, err
}
