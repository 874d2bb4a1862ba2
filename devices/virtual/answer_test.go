//go:build unix

package virtual_test

import (
	"context"
	"errors"
	"path/filepath"
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

// askedProfile is a gauge that sends its line when asked with ? and CR.
func askedProfile(parts ...devices.Part) devices.Profile {
	p := devices.Defaults()
	p.Kind, p.Assume, p.Settle, p.HalfLine = devices.AskedLine, quantity.MM, 0, 40*time.Millisecond
	p.Ask = devices.Asking{Prompt: "?\r", Timeout: 60 * time.Millisecond, Retries: 1}
	p.Parts = append(parts, devices.Sign{}, devices.Figure{Places: new(2)})
	return p
}

// asks runs a virtual gauge that answers, with the real driver asking it.
func asks(t *testing.T, p devices.Profile, channels map[string]string) (*wire, chan<- port.Ask) {
	t.Helper()
	g, err := virtual.New(p, filepath.Join(t.TempDir(), "gauge"))
	if err != nil {
		t.Fatal(err)
	}
	d, err := kinds.Decoder(p)
	if err != nil {
		t.Fatal(err)
	}
	w := &wire{Gauge: g, t: t, events: make(chan port.Event, 1000)}
	questions := make(chan port.Ask)
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan error, 2)
	answer := func(ctx context.Context) error {
		if p.Ask.Prompt == "" {
			return nil
		}
		return g.Answer(ctx)
	}
	cfg := port.Config{Find: port.Find{Path: g.Path()}, Profile: p, Decoder: d, Now: time.Now, Asks: questions, Channels: channels}
	if channels == nil {
		cfg.Gauge = "D07"
	}
	go func() { done <- port.Run(ctx, cfg, port.System(noPorts), func(e port.Event) { w.events <- e }) }()
	go func() { done <- answer(ctx) }()
	t.Cleanup(func() {
		cancel()
		if err := errors.Join(<-done, <-done, g.Close()); err != nil {
			t.Error(err)
		}
	})
	w.next(port.Connected)
	return w, questions
}

// A gauge that is asked answers with what it shows, through silence and
// unplugging; its button works as well.
func TestAnswers(t *testing.T) {
	w, questions := asks(t, askedProfile(), nil)
	ask := port.Ask{Gauge: "D07"}
	questions <- ask // it shows nothing yet
	if e := w.next(port.NoReply); !strings.Contains(e.Err.Error(), "off, asleep or busy") {
		t.Error(e.Err)
	}
	show := func(s string) {
		t.Helper()
		if err := w.Show("", value(t, s)); err != nil {
			t.Fatal(err)
		}
	}
	show("33.38 mm")
	for range 3 {
		questions <- ask
		if e := w.next(port.Sample); !e.Asked || told(e) != "33.38 mm" {
			t.Errorf("asked %v: %s", e.Asked, told(e))
		}
	}
	if err := w.Press(value(t, "33.39 mm")); err != nil {
		t.Fatal(err)
	}
	if e := w.next(port.Sample); e.Asked || told(e) != "33.39 mm" {
		t.Errorf("its button: asked %v, %s", e.Asked, told(e))
	}
	w.SetSilent(true)
	questions <- ask
	w.next(port.NoReply)
	w.SetSilent(false)
	if err := w.Unplug(); err != nil {
		t.Fatal(err)
	}
	w.next(port.Gone)
	if err := w.Replug(); err != nil {
		t.Fatal(err)
	}
	w.next(port.Connected)
	show("33.40 mm")
	questions <- ask
	if got := told(w.next(port.Sample)); got != "33.40 mm" {
		t.Errorf("plugged in again: %s", got)
	}
}

// Closing ends the answering.
func TestAnswerEnds(t *testing.T) {
	g, err := virtual.New(askedProfile(), filepath.Join(t.TempDir(), "gauge"))
	if err != nil {
		t.Fatal(err)
	}
	done := make(chan error, 1)
	go func() { done <- g.Answer(context.Background()) }()
	if err := errors.Join(g.Unplug(), g.Close(), <-done); err != nil {
		t.Error(err)
	}
	plain := plug(t, decodertest.Forms()[0].Profile)
	for what, err := range map[string]error{"no prompt": plain.Answer(t.Context()), "shows nothing": plain.Pedal(),
		"no channels": plain.PressOn("3", value(t, "33.38 mm")), "no channels ": plain.Absent("3"), "cannot say": plain.Show("", value(t, "9999 mm"))} {
		if err == nil || !strings.Contains(err.Error(), strings.TrimSpace(what)) && what != "no prompt" {
			t.Errorf("%s: %v", what, err)
		}
	}
}

// muxed is a multiplexer's line: channel, code, sign, figure.
func muxed() []devices.Part {
	return []devices.Part{devices.Channel{Width: 1},
		devices.Code{Words: map[string]devices.CodeMeaning{"QR": devices.CodeReading, "QZ": devices.CodeAbsent}},
		devices.Sign{Required: true}, devices.Figure{Digits: 8, Places: new(2)}}
}

// A multiplexer: one button, a pedal that sends all, an absent gauge whose
// figure is plausible, a gauge nobody knows.
func TestMultiplexer(t *testing.T) {
	p := devices.Defaults()
	p.Assume, p.Settle, p.Parts = quantity.MM, 0, muxed()
	w, _ := asks(t, p, map[string]string{"1": "D07", "2": "I03", "3": "F05"})
	want := func(what port.What, gauge, said string) {
		t.Helper()
		e := w.next(what)
		if got := told(e); what != port.Absent && (e.Gauge != gauge || got != said) || e.Gauge != gauge {
			t.Errorf("%s of %q says %s, want %q %s", e.What, e.Gauge, got, gauge, said)
		}
	}
	if err := w.PressOn("2", value(t, "0.21 mm")); err != nil {
		t.Fatal(err)
	}
	want(port.Sample, "I03", "0.21 mm")
	err := errors.Join(w.Show("1", value(t, "33.38 mm")), w.Show("2", value(t, "0.22 mm")), w.Absent("3"), w.Show("4", value(t, "7.00 mm")), w.Pedal())
	if err != nil {
		t.Fatal(err)
	}
	want(port.Sample, "D07", "33.38 mm")
	want(port.Sample, "I03", "0.22 mm")
	want(port.Absent, "F05", "")
	want(port.Stray, "", "7.00 mm")
	for what, err := range map[string]error{"no channel": w.PressOn("33", value(t, "1.00 mm")), "a press without a channel": w.Press(value(t, "1.00 mm"))} {
		if err == nil {
			t.Errorf("%s was sent", what)
		}
	}
}

// A multiplexer that is asked sends every channel; one of them answers.
func TestMultiplexerAsked(t *testing.T) {
	p := askedProfile()
	p.Parts = muxed()
	w, questions := asks(t, p, map[string]string{"1": "D07", "2": "I03"})
	if err := errors.Join(w.Show("1", value(t, "33.38 mm")), w.Show("2", value(t, "0.22 mm"))); err != nil {
		t.Fatal(err)
	}
	questions <- port.Ask{Gauge: "I03"}
	if e := w.next(port.Sample); e.Gauge != "D07" || e.Asked {
		t.Errorf("%+v", e)
	}
	if e := w.next(port.Sample); e.Gauge != "I03" || !e.Asked {
		t.Errorf("%+v", e)
	}
}
