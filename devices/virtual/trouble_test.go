//go:build unix

package virtual_test

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"path/filepath"
	"slices"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"shimwright/calc/quantity"
	"shimwright/devices"
	"shimwright/devices/decodertest"
	"shimwright/devices/kinds"
	"shimwright/devices/port"
	"shimwright/devices/virtual"
)

func noPorts() ([]port.Listed, error) { return nil, nil }

func value(t *testing.T, s string) quantity.Value {
	t.Helper()
	v, err := quantity.ParseWithUnit(s)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// A wire is a virtual gauge read by the real serial driver.
type wire struct {
	*virtual.Gauge
	t       *testing.T
	events  chan port.Event
	channel string // empty for one gauge
	clock   clock
}

// clock is what the driver reads: it stands still, so that a slow machine makes
// no half line of a whole one, or goes on by a tenth of a second at each look.
type clock struct {
	on   atomic.Int64
	goes atomic.Bool
}

func (c *clock) Now() time.Time {
	if c.goes.Load() {
		c.on.Add(int64(100 * time.Millisecond))
	}
	return time.Unix(1_770_000_000, c.on.Load())
}

// channelOf is a channel that the part can say.
func channelOf(c devices.Channel) string {
	if c.Letters {
		return strings.Repeat("B", c.Width)
	}
	return strings.Repeat("3", c.Width)
}

func plug(t *testing.T, p devices.Profile) *wire {
	t.Helper()
	p.Settle = 0
	g, err := virtual.New(p, filepath.Join(t.TempDir(), "gauge"))
	if err != nil {
		t.Fatal(err)
	}
	d, err := kinds.Decoder(p)
	if err != nil {
		t.Fatal(err)
	}
	w := &wire{Gauge: g, t: t, events: make(chan port.Event, 1000)}
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan error, 1)
	cfg := port.Config{Gauge: "D07", Find: port.Find{Path: g.Path()}, Profile: p, Decoder: d, Now: w.clock.Now}
	if c, ok := p.Channel(); ok {
		w.channel = channelOf(c)
		cfg.Gauge, cfg.Channels = "", map[string]string{w.channel: "D07"}
	}
	go func() { done <- port.Run(ctx, cfg, port.System(noPorts), func(e port.Event) { w.events <- e }) }()
	t.Cleanup(func() {
		cancel()
		if err := errors.Join(<-done, g.Close()); err != nil {
			t.Error(err)
		}
	})
	w.next(port.Connected)
	return w
}

// next waits for the next event of a sort, passing over what ports say of
// themselves.
func (w *wire) next(what ...port.What) port.Event {
	w.t.Helper()
	late := time.After(20 * time.Second)
	for {
		select {
		case e := <-w.events:
			if slices.Contains(what, e.What) {
				return e
			}
			if e.What == port.Sample || e.What == port.BadFrame || e.What == port.Stray {
				w.t.Fatalf("want %v, got %s", what, told(e))
			}
		case <-late:
			w.t.Fatalf("waited 20 s for %v", what)
		}
	}
}

// told is a frame in a word: its figure, or the reason why it is bad.
func told(e port.Event) string {
	var bad *devices.FrameError
	if errors.As(e.Err, &bad) {
		return string(bad.Reason)
	}
	return e.Sample.Value.String()
}

// frames waits for so many frames and tells them.
func (w *wire) frames(n int) string {
	w.t.Helper()
	var out []string
	for range n {
		out = append(out, told(w.next(port.Sample, port.BadFrame, port.Stray)))
	}
	return strings.Join(out, ", ")
}

// mishap is a press that goes wrong; its pieces come apart, because each is read
// before the next is sent.
func (w *wire) mishap(v quantity.Value, trouble virtual.Trouble, seed uint64) {
	w.t.Helper()
	pace := func() error { return w.Drained(w.t.Context()) }
	err := w.PressBadly(v, virtual.Mishap{Trouble: trouble, Channel: w.channel,
		Rand: rand.New(rand.NewPCG(seed, 1)), Pace: pace})
	if err != nil {
		w.t.Fatal(err)
	}
}

// one is a value that a virtual gauge of the form can press.
func one(t *testing.T, f decodertest.Form) (quantity.Value, bool) {
	t.Helper()
	enc, err := kinds.Encoder(f.Profile)
	if err != nil {
		t.Fatal(err)
	}
	for _, g := range f.Good {
		v := value(t, g.Value)
		_, err := enc.Encode(v, false)
		if c, ok := f.Profile.Channel(); ok {
			_, err = enc.(devices.ChannelEncoder).EncodeChannel(channelOf(c), v, false)
		}
		if err == nil && len(strings.Trim(v.Digits(), "-")) > 4 {
			return v, true
		}
	}
	return quantity.Value{}, false
}

// What the bench sees of each trouble, form by form: how many frames, and that
// none is a figure that nobody pressed.
func TestTroubles(t *testing.T) {
	for _, f := range decodertest.All() {
		t.Run(f.Name, func(t *testing.T) {
			v, ok := one(t, f)
			if !ok {
				t.Fatal("no value that its virtual gauge can press")
			}
			w := plug(t, f.Profile)
			// Noise in a frame that nothing ends is told by the decoders' own
			// tests: how many bad frames it makes depends on where it falls.
			ended := f.Profile.End != devices.NoEnd
			words := f.Profile.Kind != devices.PackedDecimal
			for seed := range uint64(8) {
				for _, c := range []struct {
					trouble virtual.Trouble
					want    string // "" for any bad frame
					can     bool
				}{
					{virtual.Split, v.String(), true},
					{virtual.Doubled, v.String() + ", " + v.String(), true},
					{virtual.Truncated, string(devices.HalfLine), true},
					{virtual.Noise, "", ended},
					{virtual.OverRange, string(devices.NoNumber), words},
					{virtual.ErrorSign, "", words},
				} {
					if c.can {
						w.goesWrong(v, c.trouble, seed, c.want)
					}
				}
			}
		})
	}
}

// goesWrong has a press go wrong, and holds what came of it; the press behind it
// is whole, so nothing else came of it.
func (w *wire) goesWrong(v quantity.Value, trouble virtual.Trouble, seed uint64, want string) {
	w.t.Helper()
	w.mishap(v, trouble, seed)
	w.clock.goes.Store(want == string(devices.HalfLine) || want == "")
	got := w.frames(1 + strings.Count(want, ","))
	w.clock.goes.Store(false)
	if want != "" && got != want || want == "" && got == v.String() {
		w.t.Errorf("%s, seed %d: %s, want %s", trouble, seed, got, want)
	}
	err := w.Press(v)
	if w.channel != "" {
		err = w.PressOn(w.channel, v)
	}
	if err != nil {
		w.t.Fatal(err)
	}
	if got := w.frames(1); got != v.String() {
		w.t.Errorf("%s, seed %d: the press behind it was read as %s", trouble, seed, got)
	}
}

// fixed is a gauge whose figure has its fixed places and digits.
func fixed() devices.Profile {
	p := devices.Defaults()
	p.Parts = []devices.Part{devices.Sign{Required: true}, devices.Figure{Digits: 6, Places: new(2)},
		devices.UnitWord{Words: map[string]quantity.Unit{"mm": quantity.MM, "in": quantity.Inch}}}
	return p
}

// A lost byte is always seen where the digits are fixed. Where they are not, a
// lost digit cannot be told from a figure: that is what fixing them is for.
func TestLostByte(t *testing.T) {
	w := plug(t, fixed())
	v := value(t, "33.38 mm")
	for seed := range uint64(40) {
		w.mishap(v, virtual.Lost, seed)
		if got := w.frames(1); got != string(devices.BadShape) {
			t.Errorf("seed %d: %s", seed, got)
		}
	}
	loose := plug(t, decodertest.Forms()[0].Profile)
	short := 0
	for seed := range uint64(40) {
		loose.mishap(v, virtual.Lost, seed)
		if got := loose.frames(1); got != string(devices.BadShape) && got != v.String() {
			short++
		}
	}
	if short == 0 {
		t.Error("a bare figure without fixed digits is said here to hide a lost digit, and it did not")
	}
}

// A flipped bit is a bad frame, but where it makes one digit or sign of another:
// parity would catch it, and a pseudo-terminal has none.
func TestFlippedBit(t *testing.T) {
	w := plug(t, fixed())
	v := value(t, "33.38 mm")
	const line = "+0033.38mm\r"
	seen := map[string]int{}
	for seed := range uint64(400) {
		w.mishap(v, virtual.Flipped, seed)
		e := w.next(port.Sample, port.BadFrame)
		raw := string(e.Sample.Raw)
		differ := 0
		for i := range min(len(raw), len(line)) {
			if raw[i] != line[i] {
				differ = i
			}
		}
		digit := len(raw) == len(line) && raw[differ] >= '0' && raw[differ] <= '9' && line[differ] >= '0' && line[differ] <= '9'
		if (e.What == port.Sample) != digit {
			t.Errorf("%q was read as %s", raw, told(e))
		}
		seen[e.What.String()]++
		if !strings.HasSuffix(raw, "\r") { // the flip made an end of line; what is behind it is a frame too
			t.Errorf("%q does not end", raw)
		}
	}
	if seen["sample"] == 0 || seen["bad frame"] == 0 {
		t.Errorf("%v: one of them was never tried", seen)
	}
}

func TestUnitKey(t *testing.T) {
	w := plug(t, func() devices.Profile { // states its unit, decimals not fixed
		p := fixed()
		p.Parts[1] = devices.Figure{}
		return p
	}())
	bare := plug(t, decodertest.Forms()[1].Profile) // six digits of which two decimals, no unit
	v := value(t, "33.38 mm")
	for _, c := range []struct{ stated, bare string }{{"1.3142 in", string(devices.BadShape)}, {"33.38 mm", "33.38 mm"}} {
		for w, want := range map[*wire]string{w: c.stated, bare: c.bare} {
			if err := errors.Join(w.UnitKey(), w.Press(v)); err != nil {
				t.Fatal(err)
			}
			if got := w.frames(1); got != want {
				t.Errorf("read as %s, want %s", got, want)
			}
		}
	}
	force := devices.Defaults()
	force.Assume, force.Parts = quantity.Newton, []devices.Part{devices.Figure{}}
	f := plug(t, force)
	if err := errors.Join(f.UnitKey(), f.Press(value(t, "8.5 N"))); err == nil || !strings.Contains(err.Error(), "no unit key") {
		t.Errorf("a force gauge's unit key: %v", err)
	}
}

// What lasts: a low battery, silence, a flood, unplugging.
func TestLasting(t *testing.T) {
	p := fixed()
	p.Parts = append(p.Parts, devices.Flags{Letters: map[string]devices.Flag{"B": devices.FlagBattery}})
	w := plug(t, p)
	v := value(t, "33.38 mm")
	press := func() {
		t.Helper()
		if err := w.Press(v); err != nil {
			t.Fatal(err)
		}
	}
	w.SetBattery(true)
	press()
	if e := w.next(port.Sample, port.BadFrame); !e.Sample.Battery || told(e) != v.String() {
		t.Errorf("low battery: %s, %+v", told(e), e.Sample)
	}
	w.SetBattery(false)
	w.SetSilent(true)
	press() // nothing comes of it
	w.SetSilent(false)
	w.mishap(v, virtual.Truncated, 1)
	if err := errors.Join(w.Drained(t.Context()), w.Unplug()); err != nil {
		t.Fatal(err)
	}
	w.next(port.Gone)
	if err := w.Replug(); err != nil {
		t.Fatal(err)
	}
	press() // half a line lay before the plug was pulled, and is forgotten
	if got := w.frames(1); got != v.String() {
		t.Errorf("after silence, half a line and a replug: %s", got)
	}
	const many = 2000
	flooded := make(chan error, 1)
	go func() { flooded <- w.Flood(v, many) }()
	for i := range many {
		if got := w.frames(1); got != v.String() {
			t.Fatalf("frame %d of a flood was read as %s", i, got)
		}
	}
	if err := <-flooded; err != nil {
		t.Error(err)
	}
	press()
	if got := w.frames(1); got != v.String() {
		t.Errorf("the press behind the flood: %s", got)
	}
}

func TestMishapRefuses(t *testing.T) {
	w := plug(t, decodertest.Forms()[0].Profile)
	r := rand.New(rand.NewPCG(1, 1))
	none := devices.Defaults()
	none.NoNumber, none.Assume, none.Parts = nil, quantity.MM, []devices.Part{devices.Figure{}}
	silent := plug(t, none)
	for _, c := range []struct {
		w    *wire
		v    string
		m    virtual.Mishap
		want string
	}{
		{w, "33.38 mm", virtual.Mishap{Trouble: "gremlins", Rand: r}, "no trouble"},
		{w, "33.38 mm", virtual.Mishap{Trouble: virtual.Split}, "no randomness"},
		{w, "3.3 mm", virtual.Mishap{Trouble: virtual.OverRange, Rand: r}, "no over-range sign"},
		{w, "9999 mm", virtual.Mishap{Trouble: virtual.Split, Rand: r}, "cannot say"},
		{silent, "33.38 mm", virtual.Mishap{Trouble: virtual.ErrorSign, Rand: r}, "no sign for an error"},
		{w, "33.38 mm", virtual.Mishap{Trouble: virtual.Split, Rand: r, Pace: func() error { return errors.New("paced out") }}, "paced out"},
	} {
		if err := c.w.PressBadly(value(t, c.v), c.m); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v, want %q", c.m.Trouble, err, c.want)
		}
	}
	for _, n := range []int{0, -1, 1 << 30} {
		if err := w.Flood(value(t, "1 mm"), n); err == nil {
			t.Error(fmt.Sprint("a flood of ", n, " was begun"))
		}
	}
}
