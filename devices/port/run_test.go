package port

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"testing/synctest"
	"time"

	"shimwright/devices"
	"shimwright/devices/decodertest"
	"shimwright/devices/text"
)

// fakePort is a port on fake time.
type fakePort struct {
	in     chan string // what the gauge says; closing it unplugs
	mu     sync.Mutex
	out    []string
	full   atomic.Bool
	closed int
}

func newFake() *fakePort { return &fakePort{in: make(chan string, 16)} }

func (p *fakePort) Read(b []byte) (int, error) {
	t := time.NewTimer(Tick)
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

func (p *fakePort) Write(b []byte) (int, error) {
	if p.full.Load() {
		return 0, errors.New("full")
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	p.out = append(p.out, string(b))
	return len(b), nil
}

// sent is what was written to the gauge so far.
func (p *fakePort) sent() []string {
	p.mu.Lock()
	defer p.mu.Unlock()
	return slices.Clone(p.out)
}

func (p *fakePort) Close() error { p.closed++; return nil }

func config(t *testing.T, settle time.Duration) Config {
	t.Helper()
	p := decodertest.Forms()[0].Profile
	p.Settle = settle
	d, err := text.New(p)
	if err != nil {
		t.Fatal(err)
	}
	return Config{Gauge: "D07", Find: Find{Path: byPath + "x"}, Profile: p, Decoder: d, Now: time.Now}
}

// bench runs one port on fake time; stop ends it and waits.
type bench struct {
	t      *testing.T
	events chan Event
	cancel context.CancelFunc
	done   chan error
}

func start(t *testing.T, cfg Config, open Opener) *bench {
	ctx, cancel := context.WithCancel(t.Context())
	b := &bench{t: t, events: make(chan Event, 1000), cancel: cancel, done: make(chan error, 1)}
	go func() { b.done <- Run(ctx, cfg, open, func(e Event) { b.events <- e }) }()
	return b
}

func (b *bench) stop() {
	b.t.Helper()
	began := time.Now()
	b.cancel()
	if err := <-b.done; err != nil {
		b.t.Errorf("Run returned %v", err)
	}
	if took := time.Since(began); took > 2*Tick {
		b.t.Errorf("Run took %s to stop", took)
	}
}

// want takes the next event and holds it against "what" or "what: words".
func (b *bench) want(want string) Event {
	b.t.Helper()
	e := <-b.events
	if got := describe(e); !strings.HasPrefix(got, want) {
		b.t.Errorf("want event %q, got %q", want, got)
	}
	return e
}

func describe(e Event) string {
	switch {
	case e.Err != nil:
		return fmt.Sprintf("%s: %v", e.What, e.Err)
	case e.What == Sample:
		return fmt.Sprintf("%s: %s %s from %s", e.What, e.Sample.Gauge, e.Sample.Value, e.Sample.Source)
	}
	return e.What.String()
}

func (b *bench) quiet() {
	b.t.Helper()
	select {
	case e := <-b.events:
		b.t.Errorf("unwanted event %q", describe(e))
	default:
	}
}

func one(p *fakePort) Opener {
	return func(Find, devices.Line) (Opened, error) {
		return Opened{Port: p, Path: "/dev/x", Source: devices.SourceGauge}, nil
	}
}

func TestSamples(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		p := newFake()
		b := start(t, config(t, 0), one(p))
		b.want("connected")
		p.in <- "33."
		p.in <- "38\r"
		b.want("sample: D07 33.38 mm from gauge")
		p.in <- "33.38\r33.38\r" // doubled: both come through
		b.want("sample: D07 33.38 mm")
		b.want("sample: D07 33.38 mm")
		p.in <- "-----\r"
		e := b.want("bad frame: no number")
		if string(e.Sample.Raw) != "-----\r" || e.Sample.Gauge != "D07" || e.Sample.Source != devices.SourceGauge {
			t.Errorf("got %+v", e.Sample)
		}
		b.stop()
		b.quiet()
		if p.closed != 1 {
			t.Errorf("closed %d times", p.closed)
		}
	})
}

// The arrival time is that of the read that completed the frame.
func TestArrival(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		p := newFake()
		b := start(t, config(t, 0), one(p))
		b.want("connected")
		time.Sleep(70 * time.Millisecond)
		sent := time.Now()
		p.in <- "33.38\r"
		e := b.want("sample")
		if !e.At.Equal(sent) || !e.Sample.At.Equal(sent) {
			t.Errorf("sent at %v, arrived at %v", sent, e.At)
		}
		b.stop()
	})
}

func TestSilence(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		p := newFake()
		b := start(t, config(t, 0), one(p))
		b.want("connected")
		time.Sleep(time.Hour)
		synctest.Wait()
		b.quiet()
		p.in <- "33."
		began := time.Now()
		b.want("bad frame: half a line")
		if took := time.Since(began); took < 250*time.Millisecond || took > 250*time.Millisecond+3*Tick {
			t.Errorf("the half line was discarded after %s", took)
		}
		p.in <- "33.38\r"
		b.want("sample")
		b.stop()
	})
}

// While nothing is there the waits double from 10 ms to 5 s, the trouble is
// said once, and a port that could be read begins the waits anew.
func TestBackoff(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		var tries []time.Duration
		began := time.Now()
		p := newFake()
		open := func(Find, devices.Line) (Opened, error) {
			tries = append(tries, time.Since(began))
			switch {
			case len(tries) <= 12:
				return Opened{}, &AbsentError{Port: "/dev/x"}
			case len(tries) == 13:
				return Opened{}, &RefusedError{Port: "/dev/x", Problem: "is in use", Fix: "close the other program"}
			case len(tries) == 14:
				return Opened{Port: p, Path: "/dev/x", Source: devices.SourceGauge}, nil
			}
			return Opened{}, &AbsentError{Port: "/dev/x"}
		}
		b := start(t, config(t, 0), open)
		b.want("gone: /dev/x is not there")
		b.want("refused: /dev/x is in use: close the other program")
		b.want("connected")
		time.Sleep(time.Second)
		close(p.in)
		b.want("gone: /dev/x is gone")
		lost := time.Since(began)
		b.want("gone: /dev/x is not there")
		var waits []time.Duration
		for i := 1; i < 14; i++ {
			waits = append(waits, tries[i]-tries[i-1])
		}
		const ms = time.Millisecond
		want := []time.Duration{10 * ms, 20 * ms, 40 * ms, 80 * ms, 160 * ms, 320 * ms, 640 * ms, 1280 * ms, 2560 * ms, 5000 * ms, 5000 * ms, 5000 * ms, 5000 * ms}
		if !slices.Equal(waits, want) {
			t.Errorf("waited %v, want %v", waits, want)
		}
		if again := tries[14] - lost; again != 10*ms {
			t.Errorf("first try after the loss came after %s", again)
		}
		b.stop()
	})
}

// A port that opens and fails at once is not tried ever faster.
func TestFlapping(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		opened := 0
		open := func(Find, devices.Line) (Opened, error) {
			opened++
			p := newFake()
			close(p.in)
			return Opened{Port: p, Path: "/dev/x", Source: devices.SourceGauge}, nil
		}
		b := start(t, config(t, 0), open)
		time.Sleep(time.Minute)
		b.stop()
		if opened > 25 {
			t.Errorf("opened %d times in a minute", opened)
		}
	})
}

func TestReconnectForgetsHalf(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		ports := []*fakePort{newFake(), newFake()}
		i := 0
		b := start(t, config(t, 0), func(Find, devices.Line) (Opened, error) {
			i++
			return Opened{Port: ports[min(i, 2)-1], Path: "/dev/x", Source: devices.SourceGauge}, nil
		})
		b.want("connected")
		ports[0].in <- "1"
		synctest.Wait()
		close(ports[0].in)
		b.want("gone")
		b.want("connected")
		ports[1].in <- "33.38\r"
		b.want("sample: D07 33.38 mm")
		b.stop()
	})
}

func TestSettling(t *testing.T) {
	for _, c := range []struct {
		name          string
		before, after []string
		want          []string
	}{
		{"frames dropped", []string{"1.00\r", "-----\r", "\xff\x00"}, []string{}, nil},
		{"junk then a line", []string{"\xff\x00"}, []string{"33.38\r"}, []string{"bad frame: noise", "sample: D07 34.00 mm"}},
		{"line across", []string{"\xff\r33"}, []string{".38\r"}, []string{"bad frame: began before the port had settled: press again", "sample: D07 34.00 mm"}},
		{"end across", []string{"1.00\r"}, []string{"\n33.38\r"}, []string{"sample: D07 33.38 mm", "sample: D07 34.00 mm"}},
		{"two at once", []string{"1.00\r"}, []string{"33.38\r33.39\r"}, []string{"sample: D07 33.38 mm", "sample: D07 33.39 mm", "sample: D07 34.00 mm"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				p := newFake()
				b := start(t, config(t, 300*time.Millisecond), one(p))
				b.want("connected")
				sent := 0
				time.Sleep(290 * time.Millisecond)
				for _, s := range c.before {
					p.in <- s
					sent += len(s)
				}
				time.Sleep(15 * time.Millisecond)
				for _, s := range c.after {
					p.in <- s
				}
				time.Sleep(time.Second)
				if len(c.want) > 0 {
					p.in <- "34.00\r"
				}
				if e := b.want("settled"); e.Dropped != sent {
					t.Errorf("%d bytes were dropped, %d sent", e.Dropped, sent)
				}
				for _, w := range c.want {
					b.want(w)
				}
				synctest.Wait()
				b.quiet()
				b.stop()
			})
		})
	}
}

func TestCancelAtOnce(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		b := start(t, config(t, 0), func(Find, devices.Line) (Opened, error) { return Opened{}, &AbsentError{} })
		time.Sleep(time.Minute) // in the middle of a wait of 5 s
		b.stop()
	})
}

func TestRunRefuses(t *testing.T) {
	ok := config(t, 0)
	for want, spoil := range map[string]func(*Config){
		"has no name":      func(c *Config) { c.Gauge = "" },
		"cannot be kept":   func(c *Config) { c.Waits = Waits{First: time.Second, Last: time.Millisecond} },
		"quiet for -1s":    func(c *Config) { c.Quiet = -time.Second },
		"no channel: add":  func(c *Config) { c.Gauge, c.Channels = "", map[string]string{"1": "D07"} },
		"and channels too": func(c *Config) { c.Channels = map[string]string{"1": "D08"} },
		"no decoder":       func(c *Config) { c.Decoder = nil },
		"or no clock":      func(c *Config) { c.Now = nil },
		"no port is given": func(c *Config) { c.Find = Find{} },
		"half line":        func(c *Config) { c.Profile.HalfLine = 0 },
	} {
		c := ok
		spoil(&c)
		err := Run(t.Context(), c, nil, nil)
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("want %q, got %v", want, err)
		}
	}
}
