//go:build unix

package capture

import (
	"bytes"
	"context"
	"flag"
	"os"
	"path/filepath"
	"testing"
	"time"

	"shimwright/calc/quantity"
	"shimwright/devices/kinds"
	"shimwright/devices/port"
	"shimwright/devices/virtual"
)

var remake = flag.Bool("remake", false, "record the captures anew from virtual gauges; -update afterwards")

// A maker plays a gauge for a recording.
type maker struct {
	t      *testing.T
	g      *virtual.Gauge
	asks   chan port.Ask
	events chan port.Event
}

func (m maker) ok(err error) {
	m.t.Helper()
	if err != nil {
		m.t.Fatal(err)
	}
}

func (m maker) wait(what port.What) {
	m.t.Helper()
	for {
		select {
		case e := <-m.events:
			if e.What == what {
				return
			}
		case <-time.After(10 * time.Second):
			m.t.Fatalf("waited 10 s for %s", what)
		}
	}
}

// say sends bytes and leaves time behind them, as a hand does.
func (m maker) say(texts ...string) {
	m.t.Helper()
	for _, s := range texts {
		m.ok(m.g.SendRaw([]byte(s)))
		time.Sleep(120 * time.Millisecond)
	}
}

// press presses on a gauge with one channel or none.
func (m maker) press(values ...string) {
	m.t.Helper()
	for _, s := range values {
		v, err := quantity.ParseWithUnit(s)
		m.ok(err)
		m.ok(m.g.Press(v))
		time.Sleep(120 * time.Millisecond)
	}
}

func (m maker) unplug() {
	m.t.Helper()
	m.ok(m.g.Drained(m.t.Context()))
	m.ok(m.g.Unplug())
	m.wait(port.Gone)
}

// TestRemake is no test: with -remake it records the captures in testdata.
func TestRemake(t *testing.T) {
	if !*remake {
		t.Skip("the captures are kept; -remake records them anew")
	}
	for name, c := range map[string]struct {
		profile  string
		channels map[string]string
		story    func(maker)
	}{
		"presses": {"bare figure", nil, func(m maker) {
			m.say("\xff\x00", "1.0") // as an interface that gets its power
			m.say("0\r")
			m.wait(port.Settled)
			m.press("33.38 mm", "33.39 mm")
			m.say("33.40\r33.40\r", "-0.07\r\n")
		}},
		"noise": {"noughts", nil, func(m maker) {
			m.wait(port.Settled)
			m.press("33.38 mm")
			m.say("+00\xb3\xfe33.38\r\n", "\x80\x81\x82", "+0033.40\r\n")
			m.press("33.41 mm")
			m.say("+9999.99\r\n", "-----\r\n", "\x1b[2J\r\n", "+033.42\r\n")
			m.press("33.43 mm")
		}},
		"half-lines": {"bare figure", nil, func(m maker) {
			m.wait(port.Settled)
			m.say("33", ".", "38\r") // in pieces, and in time
			m.say("33.")
			m.wait(port.BadFrame) // left lying
			m.press("33.38 mm")
			m.say("33.39\n") // another end than the profile's
			m.wait(port.BadFrame)
			m.press("33.40 mm")
		}},
		"unplugged": {"bare figure", nil, func(m maker) {
			m.wait(port.Settled)
			m.press("33.38 mm")
			m.say("33.")
			m.unplug() // in the middle of a line
			time.Sleep(150 * time.Millisecond)
			m.ok(m.g.Replug())
			m.wait(port.Connected)
			m.say("\x00\xfe")
			m.unplug() // while it settles
			m.ok(m.g.Replug())
			m.wait(port.Settled)
			m.press("33.39 mm")
		}},
		"multiplexer": {"multiplexer", map[string]string{"3": "D07", "4": "D08"}, func(m maker) {
			m.wait(port.Settled)
			m.say("3QR +000033.38\r\n", "4QR -000000.07\r\n")
			// A pedal that sends every channel: 5 is nobody's, 6 is empty, and so is 4.
			m.say("3QR +000033.39\r\n4QX +999999.99\r\n5QR +000001.00\r\n6QX +999999.99\r\n")
			m.say("4\xff\r\n")
		}},
		"asked": {asked, nil, func(m maker) {
			m.wait(port.Settled)
			m.asks <- port.Ask{Gauge: "D07"}
			_, err := m.g.Heard(time.Second)
			m.ok(err)
			m.say("33.38\r")
			m.asks <- port.Ask{Gauge: "D07"}
			m.wait(port.NoReply)
			m.say("33.39\r") // pressed by hand
		}},
	} {
		t.Run(name, func(t *testing.T) { record(t, name, c.profile, c.channels, c.story) })
	}
}

func record(t *testing.T, name, profile string, channels map[string]string, story func(maker)) {
	p := profiles()[profile]
	d, err := kinds.Decoder(p)
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	g, err := virtual.New(p, filepath.Join(dir, "gauge"))
	if err != nil {
		t.Fatal(err)
	}
	defer g.Close()
	m := maker{t, g, make(chan port.Ask), make(chan port.Event, 1000)}
	cfg := port.Config{Gauge: "D07", Find: port.Find{Path: g.Path()}, Profile: p, Decoder: d, Now: time.Now, Asks: m.asks}
	if channels != nil {
		cfg.Gauge, cfg.Channels = "", channels
	}
	var file bytes.Buffer
	r, err := Record(&file, HeadOf(cfg, profile), DefaultLimit, time.Now)
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(t.Context())
	done := make(chan error, 1)
	open := r.Opener(port.System(func() ([]port.Listed, error) { return nil, nil }))
	go func() { done <- port.Run(ctx, cfg, open, func(e port.Event) { m.events <- e }) }()
	story(m)
	time.Sleep(400 * time.Millisecond)
	cancel()
	if err := <-done; err != nil {
		t.Fatal(err)
	}
	if err := r.Close(); err != nil {
		t.Fatal(err)
	}
	text := bytes.ReplaceAll(file.Bytes(), []byte(dir), []byte("/bench"))
	if err := os.WriteFile(filepath.Join(folder, name+".capture"), text, 0o644); err != nil {
		t.Fatal(err)
	}
}
