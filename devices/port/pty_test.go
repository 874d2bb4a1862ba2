//go:build unix

package port_test

import (
	"context"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"

	"shimwright/calc/quantity"
	"shimwright/devices"
	"shimwright/devices/decodertest"
	"shimwright/devices/kinds"
	"shimwright/devices/port"
	"shimwright/devices/virtual"
)

// rig is a virtual gauge read by the real driver.
type rig struct {
	t      *testing.T
	gauge  *virtual.Gauge
	asks   chan port.Ask
	events chan port.Event
	gap    chan struct{}
	cancel context.CancelFunc
	done   chan error
}

func noPorts() ([]port.Listed, error) { return nil, nil }

func plug(t *testing.T, p devices.Profile) *rig {
	t.Helper()
	checkLeaks(t)
	p.Settle = 0
	g, err := virtual.New(p, filepath.Join(t.TempDir(), "gauge"))
	if err != nil {
		t.Fatal(err)
	}
	d, err := kinds.Decoder(p)
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	r := &rig{t: t, gauge: g, asks: make(chan port.Ask), events: make(chan port.Event, 100), gap: make(chan struct{}, 1), cancel: cancel, done: make(chan error, 1)}
	cfg := port.Config{Gauge: "D07", Find: port.Find{Path: g.Path()}, Profile: p,
		Decoder: &gapped{Decoder: d, after: p.Gap, gap: r.gap}, Now: time.Now, Asks: r.asks}
	go func() { r.done <- port.Run(ctx, cfg, port.System(noPorts), func(e port.Event) { r.events <- e }) }()
	t.Cleanup(r.stop)
	return r
}

func (r *rig) stop() {
	r.cancel()
	if err := <-r.done; err != nil {
		r.t.Error(err)
	}
	if err := r.gauge.Close(); err != nil {
		r.t.Error(err)
	}
}

func (r *rig) want(what port.What, words string) port.Event {
	r.t.Helper()
	select {
	case e := <-r.events:
		said := ""
		if e.Err != nil {
			said = e.Err.Error()
		}
		if e.What != what || !strings.Contains(said, words) {
			r.t.Fatalf("want %s %q, got %s %q", what, words, e.What, said)
		}
		return e
	case <-time.After(20 * time.Second):
		r.t.Fatalf("waited 20 s for %s", what)
	}
	return port.Event{}
}

func (r *rig) press(s string) {
	r.t.Helper()
	v, err := quantity.ParseWithUnit(s + " mm")
	if err != nil {
		r.t.Fatal(err)
	}
	if err := r.gauge.Press(v); err != nil {
		r.t.Fatal(err)
	}
	e := r.want(port.Sample, "")
	if got := e.Sample.Value.String(); got != s+" mm" || e.Sample.Gauge != "D07" {
		r.t.Fatalf("pressed %s, got %s of %s", s, got, e.Sample.Gauge)
	}
	if !strings.Contains(e.At.String(), "m=") || e.At != e.Sample.At {
		r.t.Fatalf("arrived at %v and %v, without the monotonic clock", e.At, e.Sample.At)
	}
	if e.Sample.Source != devices.SourceVirtual {
		r.t.Fatalf("a pseudo-terminal's sample is from %s", e.Sample.Source)
	}
}

func (r *rig) send(s string) {
	r.t.Helper()
	if err := r.gauge.SendRaw([]byte(s)); err != nil {
		r.t.Fatal(err)
	}
}

func ok(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

// checkLeaks compares goroutines and open files at the end with those now.
func checkLeaks(t *testing.T) {
	// The first pipe makes the runtime open files of its own, which stay.
	if r, w, err := os.Pipe(); err == nil {
		r.Close()
		w.Close()
	}
	routines, files := runtime.NumGoroutine(), openFiles()
	t.Cleanup(func() {
		// A goroutine that has sent its last word may still be on its way out.
		for until := time.Now().Add(5 * time.Second); runtime.NumGoroutine() > routines && time.Now().Before(until); {
			runtime.Gosched()
		}
		if n := runtime.NumGoroutine(); n > routines {
			t.Errorf("%d goroutines, %d before", n, routines)
		}
		if n := openFiles(); n > files {
			t.Errorf("%d open files, %d before", n, files)
		}
	})
}

func openFiles() int {
	fds, err := os.ReadDir("/proc/self/fd")
	if err != nil {
		return 0 // not on this system
	}
	return len(fds)
}

// Every form: plug, press, partial frame, garbage, unplug, replug, press.
func TestThroughRealDriver(t *testing.T) {
	for _, f := range decodertest.All() {
		t.Run(f.Name, func(t *testing.T) {
			r := plug(t, f.Profile)
			r.want(port.Connected, "")
			r.pressGood(f.Good[0])
			for _, g := range f.Good {
				r.send(g.Bytes)
				r.good(g)
			}
			r.send(f.Half)
			r.want(port.BadFrame, "half a line")
			for _, b := range f.Bad {
				r.send(b.Bytes)
				if b.Reason == devices.Absent {
					r.want(port.Absent, "is not in its socket")
				} else {
					r.want(port.BadFrame, string(b.Reason))
				}
				r.apart(f.Profile)
			}
			r.send("\xff\x00\x1b[2J" + string(f.Profile.End.Bytes()))
			r.want(port.BadFrame, "") // noise, or half a line of it where nothing ends one
			for range 3 {
				ok(t, r.gauge.Unplug())
				r.want(port.Gone, "is gone, plug the gauge in again")
				r.want(port.Gone, "is not there")
				ok(t, r.gauge.Replug())
				r.want(port.Connected, "")
				r.pressGood(f.Good[0])
			}
		})
	}
}

// apart waits for the gap behind a frame that nothing ends: what a decoder passes
// over ends with it.
func (r *rig) apart(p devices.Profile) {
	r.t.Helper()
	if p.End != devices.NoEnd {
		return
	}
	select {
	case <-r.gap:
	case <-time.After(20 * time.Second):
		r.t.Fatal("waited 20 s for a gap")
	}
}

// gapped is a decoder that tells of the first gap behind the last push, as the
// decoder itself finds it.
type gapped struct {
	devices.Decoder
	after       time.Duration
	from        time.Time
	quiet, told bool
	gap         chan struct{} // of one
}

func (d *gapped) Push(at time.Time, p []byte, emit func(devices.Frame, error)) {
	d.quiet, d.told = false, false
	select {
	case <-d.gap:
	default:
	}
	d.Decoder.Push(at, p, emit)
}

func (d *gapped) Tick(at time.Time, emit func(devices.Frame, error)) {
	d.Decoder.Tick(at, emit)
	switch {
	case !d.quiet:
		d.quiet, d.from = true, at
	case !d.told && at.Sub(d.from) >= d.after:
		d.told = true
		d.gap <- struct{}{}
	}
}

// pressGood presses the button for a form's frame, on its channel.
func (r *rig) pressGood(g decodertest.Good) {
	r.t.Helper()
	v, err := quantity.ParseWithUnit(g.Value)
	ok(r.t, err)
	if g.Channel != "" {
		ok(r.t, r.gauge.PressOn(g.Channel, v))
	} else {
		ok(r.t, r.gauge.Press(v))
	}
	r.good(g)
}

func (r *rig) good(g decodertest.Good) {
	r.t.Helper()
	s := r.want(port.Sample, "").Sample
	if s.Value.String() != g.Value || s.Channel != g.Channel || s.Source != devices.SourceVirtual {
		r.t.Errorf("%q was read as %s, channel %q, from %s", g.Bytes, s.Value, s.Channel, s.Source)
	}
}

// Drained is enough to lose nothing at an unplugging.
func TestDrainedThenUnplug(t *testing.T) {
	r := plug(t, decodertest.Forms()[0].Profile)
	r.want(port.Connected, "")
	for range 20 {
		r.send("33.38\r")
		ok(t, r.gauge.Drained(t.Context()))
		ok(t, r.gauge.Unplug())
		r.want(port.Sample, "")
		r.want(port.Gone, "")
		r.want(port.Gone, "")
		ok(t, r.gauge.Replug())
		r.want(port.Connected, "")
	}
}

func TestHalfLineAtUnplug(t *testing.T) {
	r := plug(t, decodertest.Forms()[0].Profile)
	r.want(port.Connected, "")
	r.send("1")
	ok(t, r.gauge.Drained(t.Context()))
	ok(t, r.gauge.Unplug())
	r.want(port.Gone, "")
	r.want(port.Gone, "")
	ok(t, r.gauge.Replug())
	r.want(port.Connected, "")
	r.press("33.38")
}

func TestAskThroughRealDriver(t *testing.T) {
	p := decodertest.Forms()[0].Profile
	p.Kind, p.Ask = devices.AskedLine, devices.DefaultAsking()
	p.Ask.Prompt = "?\r"
	r := plug(t, p)
	r.want(port.Connected, "")
	r.asks <- port.Ask{Gauge: "D07"}
	got, err := r.gauge.Heard(10 * time.Second)
	if err != nil || string(got) != "?\r" {
		t.Errorf("the gauge heard %q, %v", got, err)
	}
	r.send("33.38\r")
	if e := r.want(port.Sample, ""); !e.Asked {
		t.Error("the reply does not answer")
	}
	r.press("33.39")
	r.asks <- port.Ask{Gauge: "D07"}
	if _, err := r.gauge.Heard(10 * time.Second); err != nil {
		t.Error(err)
	}
	ok(t, r.gauge.Unplug())
	r.want(port.NoReply, "unplugged")
	r.want(port.Gone, "")
}

// A port that would get a file descriptor too high for select is refused.
func TestTooManyFiles(t *testing.T) {
	checkLeaks(t)
	g, err := virtual.New(decodertest.Forms()[0].Profile, filepath.Join(t.TempDir(), "gauge"))
	ok(t, err)
	defer g.Close()
	for {
		f, err := os.Open(os.DevNull)
		if err != nil {
			t.Skipf("fewer than 1000 files may be open here: %v", err)
		}
		defer f.Close()
		if f.Fd() >= 999 {
			break
		}
	}
	_, err = port.System(noPorts)(port.Find{Path: g.Path()}, devices.Defaults().Line)
	if err == nil || !strings.Contains(err.Error(), "too many files are open") {
		t.Errorf("got %v", err)
	}
}

// TestBusy needs a user whom exclusive opening binds.
func TestBusy(t *testing.T) {
	if os.Getuid() == 0 {
		t.Skip("the superuser may open a port twice")
	}
	r := plug(t, decodertest.Forms()[0].Profile)
	r.want(port.Connected, "")
	_, err := port.System(noPorts)(port.Find{Path: r.gauge.Path()}, devices.Defaults().Line)
	if err == nil || !strings.Contains(err.Error(), "is in use") {
		t.Errorf("got %v", err)
	}
}

// Every line setting opens; a pseudo-terminal cannot show that it is applied.
func TestLineSettings(t *testing.T) {
	g, err := virtual.New(decodertest.Forms()[0].Profile, filepath.Join(t.TempDir(), "gauge"))
	ok(t, err)
	defer g.Close()
	for _, s := range []string{"4800 7E1", "4800 7E2", "9600 8N1", "19200 8N1", "38400 8N1", "1200 7O1"} {
		l, err := devices.ParseLine(s)
		ok(t, err)
		o, err := port.System(noPorts)(port.Find{Path: g.Path()}, l)
		if err != nil {
			t.Errorf("%s: %v", s, err)
			continue
		}
		if o.Source != devices.SourceVirtual || !strings.HasPrefix(o.Path, "/dev/") {
			t.Errorf("%s: opened %s as %s", s, o.Path, o.Source)
		}
		ok(t, o.Port.Close())
	}
}
