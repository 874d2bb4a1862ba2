package bench

import (
	"cmp"
	"time"

	"shimwright/calc/overhaul"
	"shimwright/devices/port"
	"shimwright/ingest/fact"
	"shimwright/ingest/job"
	"shimwright/ingest/register"
	"shimwright/ingest/store"
)

// A Snapshot is the bench as it stands. It is never changed once published.
type Snapshot struct {
	Bench   string
	Job     *job.Job          // nil while none is open
	Results *overhaul.Results // of the job
	Step    *overhaul.Result  // the open step; nil when all is done
	Number  int               // of the open step in the order of work, from 1
	Pieces  []string          // in use for the open step
	Missing string            // what must be said before a press can count
	Gauges  []GaugeState
	Last    *Said
	// Clock says that the computer's clock was set since the bench was started, or
	// back while it was not running; "" where it was not.
	Clock string
	// Differs says, a sentence each, where the bench file differs from the
	// register; the register counts.
	Differs []string
	Needs   []Need  // what a person must have said for the open step
	Doubted []int64 // presses that a lost zero put in doubt
	Trouble string  // why the last press or command was not recorded
	// Failing: the journal did not store the last facts that it was given, whoever
	// was told of that. It is so until it stores some.
	Failing bool
	Held    []job.Press
	Seq     int64 // of the last fact
	// Open are the open jobs, newest opened first, at most store.Most of them.
	Open []store.Job
	// Asks tells whether the bench has a list of people, so that it asks who does
	// what somebody answers for.
	Asks bool
	// Unfinished lists in words what keeps the job from being signed off, Wanted
	// whose signatures it still wants, in order.
	Unfinished []string
	Wanted     []fact.Role
	// Low are the leaves of which there are too few.
	Low []register.LowLeaf
}

// A GaugeState is how a gauge's port stands.
type GaugeState struct {
	ID, Kind string
	State    string // starting, connected, quiet, gone, refused
	Words    string // the port, or why not and what to do; why it did not answer
	Port     string // the resolved path while it is open
	Channel  string // where the port carries several gauges
	LastAt   time.Time
	Battery  bool
	// Next is what its next press is for, where it is no reading: "zero", or a
	// check piece by its number.
	Next string
	// Checked is when it was read on a check piece last; zero where it never was.
	Checked time.Time
	Counts  port.Counts // since the bench was started
}

// Said is what the last press came to.
type Said struct {
	Press fact.Pressed
	Seq   int64
}

// Snapshot is the newest one.
func (b *Bench) Snapshot() *Snapshot { return b.snap.Load() }

// Watch gives a channel that is woken whenever a new snapshot is there; stop
// ends it. Wakings are not queued: read the newest snapshot.
func (b *Bench) Watch() (woken <-chan struct{}, stop func()) {
	c := make(chan struct{}, 1)
	b.mu.Lock()
	b.watchers[c] = true
	b.mu.Unlock()
	return c, func() {
		b.mu.Lock()
		delete(b.watchers, c)
		b.mu.Unlock()
	}
}

// Stopped is closed when the bench has stopped.
func (b *Bench) Stopped() <-chan struct{} { return b.done }

func (b *Bench) publish() {
	s := &Snapshot{Bench: b.cfg.Name, Job: b.job, Results: b.results, Last: b.last, Trouble: b.trouble, Failing: b.failing, Seq: b.seq,
		Open: b.open, Asks: b.people.Asks(), Low: b.low, Differs: b.words, Clock: b.clock}
	for _, g := range b.cfg.Gauges {
		state := *b.gauges[g.ID]
		if n, ok := b.nexts[g.ID]; ok {
			state.Next = cmp.Or(n.piece, "zero")
		}
		if c, ok := b.register.LastCheck(g.ID); ok {
			state.Checked = c.At
		}
		s.Gauges = append(s.Gauges, state)
	}
	if b.job != nil {
		s.Held, s.Doubted = b.job.Held(), b.job.Doubted()
		s.Unfinished, s.Wanted = b.unfinished(), b.signaturesWanted()
		s.Step, s.Number = b.openStep()
		if s.Step != nil {
			s.Pieces, s.Missing = b.job.InUse(s.Step.Step)
			s.Needs = b.needs(s.Step.Step)
			if s.Missing == "" {
				s.Missing = b.unanswered(s.Step.Step)
			}
			if h, held := b.job.HoldOn(s.Step.Step.Name); held {
				s.Missing = holdWords(h)
			}
		}
	}
	b.snap.Store(s)
	b.mu.Lock()
	defer b.mu.Unlock()
	for c := range b.watchers {
		select {
		case c <- struct{}{}:
		default:
		}
	}
}

// openStep is the step that waits: the one a person chose, else the one last
// worked at while it is not done, else the next one in the order of work that
// is not, from there round. One on hold waits only where no other does.
func (b *Bench) openStep() (*overhaul.Result, int) {
	steps := b.results.Steps
	start := 0
	for i, r := range steps {
		if r.Step.Name == b.chosen {
			return r, i + 1
		}
		if r.Step.Name == b.at {
			start = i
		}
	}
	held := -1
	for n := range steps {
		i := (start + n) % len(steps)
		if settled(b.job, steps[i]) {
			continue
		}
		if _, on := b.job.HoldOn(steps[i].Step.Name); !on {
			return steps[i], i + 1
		}
		if held < 0 {
			held = i
		}
	}
	if held >= 0 {
		return steps[held], held + 1
	}
	return nil, len(steps)
}

// gaugeEvent takes in what a port said of a gauge. What a stray frame said is
// counted for every gauge of the port it came on.
func (b *Bench) gaugeEvent(e port.Event) {
	g, ok := b.gauges[e.Gauge]
	if !ok {
		for _, other := range b.gauges {
			if e.What == port.Stray && other.Port == e.Port {
				other.Counts = other.Counts.Add(e)
			}
		}
		return
	}
	g.Counts = g.Counts.Add(e)
	g.State = string(port.State(g.State).After(e))
	switch e.What {
	case port.Connected:
		g.Port, g.Words = e.Port, e.Port
	case port.Gone, port.Refused:
		if z := b.zeros[e.Gauge]; z != nil {
			z.Gone = true
		}
		g.Port, g.Words = "", e.Err.Error()
	case port.Sample:
		g.LastAt, g.Battery, g.Words = e.At, e.Sample.Battery, e.Port
	case port.BadFrame:
		g.LastAt = e.At
	case port.Quiet, port.NotSent, port.Absent, port.NoReply:
		g.Words = e.Err.Error()
	}
}
