package metrics

import (
	"context"
	"errors"
	"fmt"
	"runtime"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"time"
	"unicode/utf8"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/collectors"

	"shimwright/calc/sheet"
	"shimwright/devices"
	"shimwright/ingest/bench"
	"shimwright/ingest/fact"
	"shimwright/ingest/journal"
	"shimwright/ingest/register"
	"shimwright/ingest/store"
)

// Labels that stand for what the bench file does not have.
const (
	other    = "other"
	keyed    = "keyed"     // a figure that was typed
	notBegun = "not begun" // the stage of a job before its first step
)

// mostJobs is how many jobs are followed at once: more than a bench opens.
const mostJobs = 200

// A Config is what is measured. All of it is required.
type Config struct {
	Bay     string   // the bench's name
	Gauges  []string // their numbers
	Sheets  []*sheet.Sheet
	Program string // version
	Now     func() time.Time
	Journal *journal.Reader
	// Room is how many bytes are free for the journal; an error where it cannot be
	// written at all. See the function of that name.
	Room func() (int64, error)
}

// A Relay is how shipping facts to a shop stands.
type Relay struct {
	Connected bool
	Queue     int64         // facts not yet shipped
	Lag       time.Duration // how old the oldest of them is
}

// A Bench is what is looked at when figures are asked for.
type Bench interface {
	Snapshot() *bench.Snapshot
	// Answers returns once the bench's goroutine answered, or with an error.
	Answers(ctx context.Context) error
}

// Metrics counts for one bench.
type Metrics struct {
	cfg      Config
	registry *prometheus.Registry
	counted
	gauges map[string]bool
	sheets map[string]stages
	bench  atomic.Pointer[Bench]
	relay  atomic.Pointer[func() Relay]

	// What follows is of who calls Fact.
	jobs map[string]*work

	mu  sync.Mutex
	due map[string]time.Time // by gauge: the end of the last day that its certificate holds
}

// stages are the stage of each step of a sheet.
type stages map[string]string

// New readies the counting and reads where the open jobs stand. Call Fact for
// each fact from then on, and Watch once the bench is there.
func New(ctx context.Context, cfg Config) (*Metrics, error) {
	m := &Metrics{
		cfg: cfg, registry: prometheus.NewPedanticRegistry(), counted: newCounted(),
		gauges: map[string]bool{}, sheets: map[string]stages{}, jobs: map[string]*work{}, due: map[string]time.Time{},
	}
	for _, g := range cfg.Gauges {
		if !utf8.ValidString(g) {
			return nil, fmt.Errorf("the gauge's number %s is no text: correct the bench file", devices.Quote([]byte(g)))
		}
		m.gauges[g] = true
	}
	for _, s := range cfg.Sheets {
		steps := stages{}
		for _, stage := range s.Stages {
			for _, st := range stage.Steps {
				steps[st.Name] = stage.Name
			}
		}
		m.sheets[s.ID] = steps
		if width, ok := backlashBand(s); ok {
			m.band.WithLabelValues(s.ID).Set(width)
		}
	}
	if err := m.register(); err != nil {
		return nil, err
	}
	if err := m.loadDue(ctx); err != nil {
		return nil, err
	}
	if err := m.loadJobs(ctx); err != nil {
		return nil, err
	}
	m.zeros()
	return m, nil
}

// Watch says which bench is looked at when figures are asked for.
func (m *Metrics) Watch(b Bench) { m.bench.Store(&b) }

// WatchRelay says how the relay's state is asked for, where there is a relay.
func (m *Metrics) WatchRelay(state func() Relay) { m.relay.Store(&state) }

// Gatherer gives all figures as they stand.
func (m *Metrics) Gatherer() prometheus.Gatherer { return m.registry }

// register puts all figures under the bay's label, beside what the client library
// tells of the program itself.
func (m *Metrics) register() error {
	info := prometheus.NewGauge(prometheus.GaugeOpts{
		Name: "shimwright_build_info", Help: "1, with the program's version and the version of Go that built it.",
		ConstLabels: prometheus.Labels{"version": m.cfg.Program, "goversion": runtime.Version()},
	})
	info.Set(1)
	bay := prometheus.WrapRegistererWith(prometheus.Labels{"bay": m.cfg.Bay}, m.registry)
	var errs []error
	for _, c := range append(m.counted.all(), info, newLooked(m), collectors.NewGoCollector(),
		collectors.NewProcessCollector(collectors.ProcessCollectorOpts{})) {
		errs = append(errs, bay.Register(c))
	}
	return errors.Join(errs...)
}

// zeros makes the series whose first increase would go unseen if they began with
// it.
func (m *Metrics) zeros() {
	for g := range m.gauges {
		m.presses.WithLabelValues(g, string(fact.Taken), "")
	}
	m.presses.WithLabelValues(keyed, string(fact.Taken), "")
	for s, steps := range m.sheets {
		for _, training := range []string{"yes", "no"} {
			m.opened.WithLabelValues(s, training)
			m.reshims.WithLabelValues(s, training)
			m.jobTime.WithLabelValues(s, training)
			m.mean.WithLabelValues(s, training)
			m.spread.WithLabelValues(s, training)
			for _, v := range verdicts() {
				m.rings.WithLabelValues(s, training, firstRing, v.String())
				m.rings.WithLabelValues(s, training, laterRing, v.String())
			}
		}
		for _, how := range []store.State{store.Signed, store.Finished, store.Abandoned} {
			m.ended.WithLabelValues(s, string(how))
		}
		m.holds.WithLabelValues(s)
		m.open.WithLabelValues(s, notBegun)
		for _, stage := range steps {
			m.open.WithLabelValues(s, stage)
			m.stageTime.WithLabelValues(s, stage)
		}
	}
}

// loadJobs folds the open jobs, and forgets what that counted. A job that cannot
// be read is not followed: whether it can be worked is the bench's to say.
func (m *Metrics) loadJobs(ctx context.Context) error {
	open, err := m.cfg.Journal.Jobs(ctx, store.JobQuery{State: store.Open, Limit: mostJobs})
	if err != nil {
		return err
	}
	slices.Reverse(open)
	for _, o := range open {
		err := m.cfg.Journal.Read(ctx, "job/"+o.ID, 0, func(s journal.Stored) error {
			f, err := fact.Decode(s)
			if err != nil {
				return err
			}
			m.ofJob(o.ID, s, f)
			return nil
		})
		if ctx.Err() != nil {
			return ctx.Err()
		}
		if err != nil {
			m.forget(o.ID)
		}
	}
	m.counted.reset()
	return nil
}

func (m *Metrics) loadDue(ctx context.Context) error {
	r, err := register.Load(ctx, m.cfg.Journal)
	if err != nil {
		return err
	}
	for _, g := range r.Gauges(m.cfg.Now()) {
		if g.Withdrawn == "" {
			m.certified(g.ID, g.Certificate.Due)
		}
	}
	return nil
}

// certified notes until when a gauge's certificate holds.
func (m *Metrics) certified(id string, due fact.Day) {
	m.mu.Lock()
	defer m.mu.Unlock()
	delete(m.due, id)
	if m.gauges[id] && !due.IsZero() {
		m.due[id] = due.Next().Start(m.cfg.Now().Location())
	}
}

// dueAt is when the gauge's certificate ends; false where nobody knows.
func (m *Metrics) dueAt(id string) (time.Time, bool) {
	m.mu.Lock()
	defer m.mu.Unlock()
	t, ok := m.due[id]
	return t, ok
}

// Fact counts one fact that is durable. It is called by one goroutine at a time,
// in the order of facts.
func (m *Metrics) Fact(r bench.Recorded) {
	if r.Took > 0 {
		m.commits.Observe(r.Took.Seconds())
	}
	if f, ok := r.Fact.(fact.Pressed); ok {
		m.presses.WithLabelValues(m.gaugeOf(f), outcomeOf(f), string(f.Why())).Inc()
	}
	switch kind, id, _ := strings.Cut(r.Stored.Subject, "/"); kind {
	case "job":
		m.ofJob(id, r.Stored, r.Fact)
	case "gauge":
		switch f := r.Fact.(type) {
		case fact.GaugeCertified:
			m.certified(id, f.Certificate.Due)
		case fact.Withdrawn:
			m.certified(id, fact.Day{})
		}
	}
}

// gaugeOf is a press's gauge as a label.
func (m *Metrics) gaugeOf(f fact.Pressed) string {
	switch {
	case f.Keyed():
		return keyed
	case m.gauges[f.Gauge]:
		return f.Gauge
	}
	return other
}
