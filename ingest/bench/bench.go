package bench

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"shimwright/calc/overhaul"
	"shimwright/calc/quantity"
	"shimwright/calc/ring"
	"shimwright/calc/sheet"
	"shimwright/devices"
	"shimwright/devices/port"
	"shimwright/ingest/fact"
	"shimwright/ingest/guard"
	"shimwright/ingest/job"
	"shimwright/ingest/journal"
	"shimwright/ingest/people"
	"shimwright/ingest/register"
	"shimwright/ingest/store"
)

// queue is how many samples may wait for the bench's goroutine.
const queue = 64

// A Gauge is one gauge of the bench.
type Gauge struct {
	ID       string
	Kind     string
	CountsIn bool
	Limit    *quantity.Value // of error; nil where it is not known
	// Corrections is the table of its certificate; nil where it has none.
	Corrections *sheet.Corrections
	Profile     devices.Profile
	Find        port.Find
	// Channel is the gauge's channel where its port carries several; else empty.
	Channel string
}

// A Piece is a certified piece of the bench.
type Piece struct {
	ID   string
	Size quantity.Value
	// Of its certificate; nil where they are not known.
	Uncertainty, K *quantity.Value
}

// A Config is what a bench is. The clock, the opener of ports and the sheets
// are given, so that tests and the demonstration give their own.
type Config struct {
	Name    string
	Gauges  []Gauge
	Pieces  []Piece
	Trays   map[string][]fact.Leaf
	Sheets  func(name string) (text []byte, err error)
	Ports   port.Opener
	Now     func() time.Time
	Windows guard.Windows
	// Quiet is how long an open port may say nothing before its gauges are
	// called quiet; 0 is for ever.
	Quiet   time.Duration
	Rule    ring.Rule // how uncertainty counts in a verdict
	Program string    // version, written beside each judgement
	// Through, which may be nil, changes how a port is run before any is: what
	// records its bytes, or plays others in its place.
	Through func(port.Config, port.Opener) (port.Config, port.Opener, error)
	// OnFact, which may be nil, is called on the bench's goroutine for each
	// fact once it is durable.
	OnFact func(Recorded)
}

// Recorded is a fact as it was stored.
type Recorded struct {
	Stored journal.Stored
	Fact   fact.Fact
	// Took is how long its transaction took until it was durable; said with the
	// first of its facts, and nought with the others.
	Took time.Duration
}

// A Bench is a running bench.
type Bench struct {
	cfg     Config
	journal *journal.Journal
	events  chan port.Event
	asks    chan ask
	done    chan struct{}
	snap    atomic.Pointer[Snapshot]
	// questions lead to the ports of the gauges that can be asked; made in Run.
	questions map[string]chan<- port.Ask

	mu       sync.Mutex
	watchers map[chan struct{}]bool

	// What follows is the goroutine's own.
	job      *job.Job
	results  *overhaul.Results
	at       string      // the step last worked at
	chosen   string      // the step that a person chose and nothing was put in at since
	jobs     int         // ever opened
	open     []store.Job // newest opened first
	who      *By         // in whose name a command is carried out, while it is
	people   people.People
	tries    people.Tries
	register *register.Register
	low      []register.LowLeaf // of the register as it is
	seq      int64
	gauges   map[string]*GaugeState
	taught   map[string]Taught  // by gauge
	arrived  map[string]arrival // by gauge: its last press that was not set aside
	zeros    map[string]*zero   // by gauge, since the bench was started
	nexts    map[string]next    // by gauge: what its next press is for, where it is no reading
	stored   journal.Stored     // the last fact
	clock    string             // that the computer's clock was set, in words
	words    []string           // where the bench file differs from the register
	told     map[int64]string   // by held press: what a person was told who wanted it to count
	last     *Said
	trouble  string
	failing  bool // the journal did not store the last facts that it was given
}

// arrival is when a press came, by this run's clock.
type arrival struct {
	seq int64
	at  time.Time
}

// Open readies a bench over a journal, which keeps its rows, and takes up the job
// last used, where it was.
func Open(ctx context.Context, j *journal.Journal, cfg Config) (*Bench, error) {
	b := &Bench{
		cfg: cfg, journal: j,
		events:   make(chan port.Event, queue),
		asks:     make(chan ask),
		done:     make(chan struct{}),
		watchers: map[chan struct{}]bool{},
		gauges:   map[string]*GaugeState{},
		arrived:  map[string]arrival{},
		zeros:    map[string]*zero{},
		nexts:    map[string]next{},
		told:     map[int64]string{},
	}
	if err := b.taughtGauges(ctx); err != nil {
		return nil, err
	}
	var err error
	if b.people, err = people.Load(ctx, j.Reader); err != nil {
		return nil, err
	}
	b.tries = people.NewTries(people.Usual())
	if b.register, err = register.LoadAndKeep(ctx, j); err != nil {
		return nil, err
	}
	b.low = b.register.Low()
	for _, g := range b.cfg.Gauges {
		b.gauges[g.ID] = &GaugeState{ID: g.ID, Kind: g.Kind, State: string(port.StateStarting), Channel: g.Channel}
	}
	if err := b.takeUp(ctx); err != nil {
		return nil, err
	}
	if err := b.fromFile(ctx); err != nil {
		return nil, err
	}
	b.publish()
	return b, nil
}

// Run runs the bench's ports and its goroutine until ctx is done, then stops
// the ports, takes in what they still had, and returns.
func (b *Bench) Run(ctx context.Context) error {
	defer close(b.done)
	ports, stop := context.WithCancel(ctx)
	defer stop()
	var running sync.WaitGroup
	failed := make(chan error, len(b.cfg.Gauges))
	runs, err := b.runs()
	if err != nil {
		return err
	}
	for _, r := range runs {
		running.Go(func() {
			if err := port.Run(ports, r.cfg, r.open, func(e port.Event) { b.events <- e }); err != nil {
				failed <- err
			}
		})
	}
	err = b.loop(ctx, failed)
	stop()
	b.drain(ctx, &running)
	return err
}

func (b *Bench) loop(ctx context.Context, failed <-chan error) error {
	// What was taken in is carried out, though the bench is told to stop
	// meanwhile: a press half recorded would be a press lost.
	whole := context.WithoutCancel(ctx)
	for {
		select {
		case <-ctx.Done():
			return nil
		case err := <-failed:
			return err
		case e := <-b.events:
			b.event(whole, e)
		case a := <-b.asks:
			if a.command == nil { // who asked wanted an answer and nothing else
				a.reply <- answer{}
				continue
			}
			reply, err := b.apply(whole, a.command)
			b.publish() // so that who is answered sees what he did
			a.reply <- answer{reply, err}
			continue
		}
		b.publish()
	}
}

// drain takes in what the ports had read when they were stopped.
func (b *Bench) drain(ctx context.Context, running *sync.WaitGroup) {
	stopped := make(chan struct{})
	go func() { running.Wait(); close(stopped) }()
	ctx = context.WithoutCancel(ctx)
	for {
		select {
		case e := <-b.events:
			b.event(ctx, e)
		case <-stopped:
			for {
				select {
				case e := <-b.events:
					b.event(ctx, e)
				default:
					b.publish()
					return
				}
			}
		}
	}
}

// record makes facts of the open job durable in one transaction, together with
// the judgements that follow from them, and works the job anew. Facts that the
// job cannot be worked with are refused.
func (b *Bench) record(ctx context.Context, facts ...fact.Fact) error {
	return b.recordBeside(ctx, nil, facts...)
}

// recordBeside records facts of the open job, and others beside them in the same
// transaction.
func (b *Bench) recordBeside(ctx context.Context, beside []about, facts ...fact.Fact) error {
	if err := b.onHold(facts); err != nil {
		return err
	}
	next, err := b.after(b.seq, facts)
	if err != nil {
		return err
	}
	res, err := next.Work()
	if err != nil {
		return err
	}
	judged := following(next, res, b.cfg.Program)
	room := max(0, journal.MaxRecords-len(facts)-len(beside))
	more := len(judged) > room
	judged = judged[:min(len(judged), room)]
	for i, f := range judged {
		if next, err = next.Then(b.seq+int64(len(facts)+i+1), f); err != nil {
			return err
		}
	}
	facts = append(slices.Clone(facts), judged...)
	if err := b.store(ctx, append(of("job/"+next.ID, facts...), beside...)); err != nil {
		return err
	}
	b.now(next, facts)
	b.results = res
	if more { // than one transaction holds
		return b.settle(ctx)
	}
	return nil
}

// keep makes facts of the open job durable first, and folds and works the job
// after that: a press is told of as soon as it is safe, however long the job, and
// none is lost because the job cannot be worked. The judgements that follow are a
// transaction of their own; where the bench is stopped before it, taking the job
// up stores them. The error is of the storing alone.
func (b *Bench) keep(ctx context.Context, beside []about, facts ...fact.Fact) error {
	last := b.seq
	if err := b.store(ctx, append(of("job/"+b.job.ID, facts...), beside...)); err != nil {
		return err
	}
	b.trouble = ""
	next, err := b.after(last, facts)
	if err == nil {
		b.now(next, facts)
		err = b.settle(ctx)
	}
	if err != nil {
		b.trouble = "The press is kept. " + err.Error()
	}
	return nil
}

// after is the open job after more facts, numbered on from the last one.
func (b *Bench) after(last int64, facts []fact.Fact) (*job.Job, error) {
	next := b.job
	var err error
	for i, f := range facts {
		if next, err = next.Then(last+int64(i+1), f); err != nil {
			return nil, err
		}
	}
	return next, nil
}

// now makes a job with its newest facts the open one as it stands.
func (b *Bench) now(next *job.Job, facts []fact.Fact) {
	b.job = next
	for _, f := range facts {
		if step := fact.StepOf(f); step != "" {
			b.at, b.chosen = step, ""
		}
	}
}

// settle works the open job and stores the judgements that follow and are not
// there yet.
func (b *Bench) settle(ctx context.Context) error {
	res, err := b.job.Work()
	if err != nil {
		return fmt.Errorf("job %s cannot be worked: %w", b.job.ID, err)
	}
	b.results = res
	for group := range slices.Chunk(following(b.job, res, b.cfg.Program), journal.MaxRecords) {
		next, err := b.after(b.seq, group)
		if err != nil {
			return err
		}
		if err := b.store(ctx, of("job/"+next.ID, group...)); err != nil {
			return fmt.Errorf("what follows from it in job %s is %w", next.ID, err)
		}
		b.job = next
	}
	return nil
}

// about is a fact and whom it is about.
type about struct {
	subject string
	fact    fact.Fact
}

func of(subject string, facts ...fact.Fact) []about {
	var out []about
	for _, f := range facts {
		out = append(out, about{subject, f})
	}
	return out
}

// store appends facts, takes in those about gauges, and tells of them all once
// they are durable.
func (b *Bench) store(ctx context.Context, facts []about) error {
	var records []journal.Record
	for _, f := range facts {
		r, err := fact.Encode(f.subject, f.fact)
		if err != nil {
			return err
		}
		records = append(records, r)
	}
	began := b.cfg.Now()
	stored, err := b.journal.Append(ctx, records...)
	took := b.cfg.Now().Sub(began)
	b.failing = err != nil && !errors.Is(err, journal.ErrRefused)
	if err != nil {
		return fmt.Errorf("not recorded: %w", err)
	}
	before := b.stored
	b.stored = stored[len(stored)-1]
	for i, s := range stored {
		if want := b.seq + 1; s.Seq != want {
			return fmt.Errorf("the journal gave number %d where %d was due: another program wrote to it; stop and run verify", s.Seq, want)
		}
		b.seq = s.Seq
		if id, ok := strings.CutPrefix(s.Subject, gaugeSubject("")); ok {
			b.taught[id] = b.taught[id].then(facts[i].fact)
		}
		if err := b.takeIn(s, facts[i].fact); err != nil {
			b.trouble = err.Error()
		}
		if b.cfg.OnFact != nil {
			b.cfg.OnFact(Recorded{s, facts[i].fact, took})
			took = 0
		}
	}
	return b.clockSet(ctx, before, stored[0])
}

// clockStep is by how much a clock must be set for it to be told: less is its
// daily setting by the network.
const clockStep = time.Minute

// clockSet tells as a fact that the computer's clock was set between two facts.
func (b *Bench) clockSet(ctx context.Context, before, after journal.Stored) error {
	if before.Seq == 0 {
		return nil
	}
	by := journal.ClockStep(before, after)
	if by.Abs() < clockStep {
		return nil
	}
	way := "forward"
	if by < 0 {
		way = "back"
	}
	b.clock = fmt.Sprintf("The computer's clock was set %s by %s after fact %d: what is due and how long ago things were is judged by it. Facts keep their order.",
		way, by.Abs().Round(time.Second), before.Seq)
	return b.store(ctx, of("bench", fact.ClockSet{After: before.Seq, By: by.String()}))
}

// takeIn folds a stored fact of people, pieces, gauges, stock or sheets.
func (b *Bench) takeIn(s journal.Stored, f fact.Fact) (err error) {
	if strings.HasPrefix(s.Subject, "job/") || s.Subject == "bench" {
		return nil
	}
	if b.people, err = b.people.Then(s.Subject, f); err != nil {
		return err
	}
	b.register, err = b.register.Then(s.Subject, s.UTC, f)
	b.low = b.register.Low()
	return err
}
