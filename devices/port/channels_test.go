package port

import (
	"bytes"
	"errors"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"shimwright/devices"
	"shimwright/devices/text"
)

// byChannel reads a channel digit, then what the decoder below it reads; a
// channel with "x" behind it has no gauge.
type byChannel struct{ of devices.Decoder }

func (d byChannel) Push(at time.Time, p []byte, emit func(devices.Frame, error)) {
	for _, line := range bytes.SplitAfter(p, []byte("\r")) {
		switch {
		case len(line) > 1 && line[1] == 'x':
			emit(devices.Frame{Raw: line, At: at, Channel: string(line[:1])}, &devices.FrameError{Reason: devices.Absent, Raw: line})
		case len(line) > 0 && line[0] >= '0' && line[0] <= '9':
			d.of.Push(at, line[1:], func(f devices.Frame, err error) {
				f.Channel = string(line[:1])
				emit(f, err)
			})
		default:
			d.of.Push(at, line, emit)
		}
	}
}

func (d byChannel) Tick(at time.Time, emit func(devices.Frame, error)) { d.of.Tick(at, emit) }
func (d byChannel) Reset()                                             { d.of.Reset() }

// shared is a port with two gauges.
func shared(t *testing.T) Config {
	t.Helper()
	cfg := config(t, 0)
	below, err := text.New(cfg.Profile)
	if err != nil {
		t.Fatal(err)
	}
	cfg.Decoder = byChannel{below}
	cfg.Profile.Parts = append([]devices.Part{devices.Channel{Width: 1}}, cfg.Profile.Parts...)
	cfg.Gauge, cfg.Channels = "", map[string]string{"3": "D07", "1": "D09"}
	return cfg
}

func TestChannels(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		p := newFake()
		cfg := shared(t)
		b := start(t, cfg, one(p))
		for _, gauge := range []string{"D09", "D07"} { // in the order of channels
			if e := b.want("connected"); e.Gauge != gauge {
				t.Errorf("connected %s, want %s", e.Gauge, gauge)
			}
		}
		p.in <- "333.38\r110.01\r"
		if e := b.want("sample: D07 33.38 mm"); e.Gauge != "D07" || e.Sample.Channel != "3" {
			t.Errorf("got %+v", e)
		}
		b.want("sample: D09 10.01 mm")
		p.in <- "3-----\r"
		if e := b.want("bad frame: no number"); e.Gauge != "D07" || e.Sample.Gauge != "D07" {
			t.Errorf("got %+v", e)
		}
		// Strays are kept raw.
		for in, want := range map[string]string{
			"733.38\r": `stray: a press, channel "7", which has no gauge on this bench: lay that gauge aside, or give the channel its gauge (received "33.38\r")`,
			"7--\r":    `stray: a bad frame, channel "7", which has no gauge on this bench: not a line`,
			"\xff\r":   `stray: a frame from one of ["D09" "D07"] that does not say which: noise on the line`,
		} {
			p.in <- in
			e := b.want(want)
			if e.Gauge != "" || e.Sample.Gauge != "" || !strings.HasSuffix(in, string(e.Sample.Raw)) || len(e.Sample.Raw) == 0 {
				t.Errorf("%q: got %+v", in, e)
			}
		}
		// A channel without a gauge is no frame; a gauge that should be there is missed.
		p.in <- "7x999.99\r3x999.99\r"
		if e := b.want(`absent: gauge D07 is not in its socket, channel "3": plug it into the multiplexer`); e.Gauge != "D07" || len(e.Sample.Raw) > 0 {
			t.Errorf("got %+v", e)
		}
		close(p.in)
		b.want("gone")
		b.want("gone")
		b.stop()
		b.quiet()
	})
}

// Settling bytes are counted once for a port.
func TestChannelsSettle(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		p := newFake()
		cfg := shared(t)
		cfg.Profile.Settle = 300 * time.Millisecond
		b := start(t, cfg, one(p))
		b.want("connected")
		b.want("connected")
		p.in <- "733.38\r"
		total := Tally{}
		for range 2 {
			total.Add(b.want("settled"))
		}
		if n := total["D07"].Dropped + total["D09"].Dropped; n != 7 {
			t.Errorf("%d bytes were dropped, 7 sent", n)
		}
		b.stop()
	})
}

// While one gauge of a port is asked the other waits; a press of the other does
// not answer.
func TestChannelsAsked(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		p := newFake()
		cfg, asks := shared(t), make(chan Ask)
		cfg.Profile.Kind, cfg.Profile.Ask, cfg.Asks = devices.AskedLine, devices.DefaultAsking(), asks
		cfg.Profile.Ask.Prompt = "S"
		b := start(t, cfg, one(p))
		b.want("connected")
		b.want("connected")
		asks <- Ask{"D07"}
		asks <- Ask{"D09"}
		if e := b.want("not sent: gauge D07 on the same port is being asked"); e.Gauge != "D09" {
			t.Errorf("got %+v", e)
		}
		p.in <- "110.01\r333.38\r"
		if e := b.want("sample: D09"); e.Asked {
			t.Error("another gauge answered")
		}
		if e := b.want("sample: D07"); !e.Asked {
			t.Error("the gauge did not answer")
		}
		b.stop()
	})
}

func TestChannelsRefused(t *testing.T) {
	for want, spoil := range map[string]func(*Config){
		"the gauge has no name":                        func(c *Config) { c.Channels = nil },
		`channel "1" has a gauge without`:              func(c *Config) { c.Channels = map[string]string{"1": ""} },
		"gauge D07 is on two channels":                 func(c *Config) { c.Channels = map[string]string{"1": "D07", "2": "D07"} },
		`gauge D07: "A" is no channel of this profile`: func(c *Config) { c.Channels = map[string]string{"A": "D07"} },
		`gauge D07: "12" is no channel`:                func(c *Config) { c.Channels = map[string]string{"12": "D07"} },
	} {
		c := shared(t)
		spoil(&c)
		if err := Run(t.Context(), c, nil, nil); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("want %q, got %v", want, err)
		}
	}
}

// Control bytes of a gauge never reach a terminal by an event's words.
func TestWordsArePrintable(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		p := newFake()
		b := start(t, shared(t), one(p))
		b.want("connected")
		b.want("connected")
		for _, in := range []string{"7\x1b[2J\r", "733.38\x07\r", "\x1b]0;x\x07\r", "3\x00\r"} {
			p.in <- in
			e := <-b.events
			if e.Err == nil || strings.ContainsFunc(e.Err.Error(), func(r rune) bool { return r < ' ' || r > '~' }) {
				t.Errorf("%q: %v", in, e.Err)
			}
		}
		b.stop()
	})
}

// A lost port's Gone tells what was dropped where it had not settled.
func TestGoneWhileSettling(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		p := newFake()
		b := start(t, config(t, 300*time.Millisecond), one(p))
		b.want("connected")
		p.in <- "\xff\x00"
		time.Sleep(2 * Tick)
		close(p.in)
		if e := b.want("gone"); e.Dropped != 2 {
			t.Errorf("%d bytes were dropped, 2 sent", e.Dropped)
		}
		b.stop()
	})
}

// raised is a port with lines that power an interface.
type raised struct {
	*fakePort
	dtr, rts, fail bool
}

func (p *raised) Raise(dtr, rts bool) error {
	if p.fail {
		return errors.New("torn off")
	}
	p.dtr, p.rts = dtr, rts
	return nil
}

func TestRaise(t *testing.T) {
	for _, want := range []struct{ dtr, rts bool }{{true, true}, {true, false}, {false, false}} {
		synctest.Test(t, func(t *testing.T) {
			p := &raised{fakePort: newFake()}
			cfg := config(t, 0)
			cfg.Profile.RaiseDTR, cfg.Profile.RaiseRTS = want.dtr, want.rts
			open := func(Find, devices.Line) (Opened, error) {
				return Opened{Port: p, Path: "/dev/x", Source: devices.SourceGauge}, nil
			}
			b := start(t, cfg, open)
			b.want("connected")
			synctest.Wait()
			b.stop()
			if p.dtr != want.dtr || p.rts != want.rts {
				t.Errorf("raised %t %t, want %v", p.dtr, p.rts, want)
			}
			p.fail = true
			b = start(t, cfg, open)
			b.want("connected")
			b.want("gone: /dev/x is gone, plug the gauge in again: raise its lines: torn off")
			b.stop()
		})
	}
}
