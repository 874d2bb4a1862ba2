package port

import (
	"errors"
	"slices"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"shimwright/devices"
)

// patientPort is a fake port that waits as long as it is told, and counts its
// reads.
type patientPort struct {
	*fakePort
	mu    sync.Mutex
	waits time.Duration
	reads int
	fails bool
}

func newPatient() *patientPort { return &patientPort{fakePort: newFake(), waits: Tick} }

func (p *patientPort) Wait(quiet time.Duration) error {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.fails {
		return errors.New("it has no clock")
	}
	p.waits = quiet
	return nil
}

func (p *patientPort) Read(b []byte) (int, error) {
	p.mu.Lock()
	waits := p.waits
	p.reads++
	p.mu.Unlock()
	t := time.NewTimer(waits)
	defer t.Stop()
	select {
	case s, ok := <-p.in:
		if !ok {
			return 0, errors.New("hung up")
		}
		return copy(b, s), nil
	case <-t.C:
		return 0, nil
	}
}

// readsIn is how often the port was read in a time; reads at both its ends may count.
func (p *patientPort) readsIn(d time.Duration) int {
	p.mu.Lock()
	before := p.reads
	p.mu.Unlock()
	time.Sleep(d)
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.reads - before
}

func patient(p *patientPort) Opener {
	return func(Find, devices.Line) (Opened, error) {
		return Opened{Port: p, Path: "/dev/x", Source: devices.SourceGauge}, nil
	}
}

// stopWithin ends a run that may be at rest.
func (b *bench) stopWithin(most time.Duration) {
	b.t.Helper()
	began := time.Now()
	b.cancel()
	if err := <-b.done; err != nil {
		b.t.Errorf("Run returned %v", err)
	}
	if took := time.Since(began); took > most {
		b.t.Errorf("Run took %s to stop", took)
	}
}

// A line where nothing is under way is looked at every Rest. A press arrives at
// once all the same, an unplugging too, and half a line is given up as early as
// on a line that never rests.
func TestRest(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		p := newPatient()
		b := start(t, config(t, 100*time.Millisecond), patient(p))
		b.want("connected")
		b.want("settled")
		if n := p.readsIn(200 * time.Millisecond); n < 9 {
			t.Errorf("%d reads while a frame may be half in", n)
		}
		time.Sleep(time.Second)
		if n := p.readsIn(time.Minute); n > int(time.Minute/Rest)+1 { // at both ends of it
			t.Errorf("%d reads in a quiet minute", n)
		}
		sent := time.Now()
		p.in <- "33.38\r"
		if e := b.want("sample: D07 33.38 mm"); !e.At.Equal(sent) {
			t.Errorf("the press arrived after %s", e.At.Sub(sent))
		}
		time.Sleep(time.Minute)
		began := time.Now()
		p.in <- "33."
		e := b.want("bad frame: half a line")
		if took := e.At.Sub(began); took < 250*time.Millisecond || took > 250*time.Millisecond+3*Tick {
			t.Errorf("the half line was discarded after %s", took)
		}
		time.Sleep(time.Minute)
		began = time.Now()
		close(p.in)
		if e := b.want("gone"); !e.At.Equal(began) {
			t.Errorf("the unplugging was noticed after %s", e.At.Sub(began))
		}
		b.stop()
	})
}

// A run that rests ends within a Rest and a Tick.
func TestRestEnds(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		b := start(t, config(t, 0), patient(newPatient()))
		b.want("connected")
		time.Sleep(10*time.Second + Rest/2)
		b.stopWithin(Rest + Tick)
	})
}

// Quiet is said when it is due, not a Rest later.
func TestRestKeepsQuiet(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		cfg := config(t, 0)
		cfg.Quiet = 61*time.Second + 7*time.Millisecond
		b := start(t, cfg, patient(newPatient()))
		from := b.want("connected").At
		if late := b.want("quiet").At.Sub(from) - cfg.Quiet; late < 0 || late > Tick {
			t.Errorf("quiet was said %s late", late)
		}
		b.stopWithin(Rest + Tick)
	})
}

// A gauge that can be asked hears an ask within a Tick while it is in use, and
// within restAsked later; while it is being asked it is listened to every Tick.
func TestRestOfAsked(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		asks := make(chan Ask)
		p := newPatient()
		b := start(t, askable(t, asks), patient(p))
		b.want("connected")
		ask := func(most time.Duration) {
			t.Helper()
			began := time.Now()
			asks <- Ask{"D07"}
			synctest.Wait()
			if took := time.Since(began); took > most || len(p.sent()) == 0 {
				t.Errorf("the ask went out after %s, sent %q", took, p.sent())
			}
			if n := p.readsIn(200 * time.Millisecond); n < 9 {
				t.Errorf("%d reads while a reply is awaited", n)
			}
			p.in <- "33.38\r"
			if e := b.want("sample: D07 33.38 mm"); !e.Asked {
				t.Error("the reply does not answer")
			}
		}
		time.Sleep(inUse - time.Second)
		ask(Tick)
		time.Sleep(inUse - time.Second)
		ask(Tick)
		time.Sleep(2 * inUse)
		if n := p.readsIn(time.Minute); n > int(time.Minute/restAsked)+1 { // at both ends of it
			t.Errorf("%d reads in a quiet minute", n)
		}
		ask(restAsked)
		if want := slices.Repeat([]string{"R\r"}, 3); !slices.Equal(p.sent(), want) {
			t.Errorf("sent %q", p.sent())
		}
		b.stopWithin(Rest + Tick)
	})
}

// A port that refuses to wait is gone, and is opened again.
func TestRestRefused(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		p := newPatient()
		p.fails = true
		b := start(t, config(t, 0), patient(p))
		b.want("connected")
		b.want("gone: /dev/x is gone, plug the gauge in again: set how long to wait for it: it has no clock")
		b.want("connected")
		b.stop()
	})
}
