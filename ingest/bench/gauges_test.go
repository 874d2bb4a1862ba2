//go:build unix

package bench

import (
	"context"
	"errors"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"shimwright/calc/quantity"
	"shimwright/devices"
	"shimwright/devices/port"
	"shimwright/devices/virtual"
	"shimwright/ingest/fact"
)

// asking is a profile of a gauge that answers when asked.
func asking() devices.Profile {
	p := lettered("mm", quantity.MM)
	p.Kind, p.Ask = devices.AskedLine, devices.Asking{Prompt: "?\r", Timeout: 60 * time.Millisecond, Retries: 1}
	return p
}

// newSharedRig runs a bench whose gauges are all of one virtual gauge.
func newSharedRig(t *testing.T, p devices.Profile, gauges ...Gauge) (*rig, *virtual.Gauge) {
	t.Helper()
	checkLeaks(t)
	dir := t.TempDir()
	v, err := virtual.New(p, filepath.Join(dir, "shared"))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := v.Close(); err != nil {
			t.Error(err)
		}
	})
	for i := range gauges {
		gauges[i].Profile, gauges[i].Find = p, port.Find{Path: v.Path()}
	}
	r := &rig{t: t, path: filepath.Join(dir, "bay 2.journal"), clock: &clock{}, gauges: map[string]*virtual.Gauge{}}
	for _, g := range gauges {
		r.gauges[g.ID] = v
	}
	r.start(config(dir, r.clock.Now), func(c *Config) { c.Gauges = gauges })
	return r, v
}

// A fitter asks the gauge that the step wants: its answer is a press, and no
// answer is told in words.
func TestAskGauge(t *testing.T) {
	r, v := newSharedRig(t, asking(), Gauge{ID: "D07", Kind: "depth gauge"})
	ctx, stop := context.WithCancel(t.Context())
	answered := make(chan error, 1)
	go func() { answered <- v.Answer(ctx) }()
	defer func() {
		stop()
		if err := <-answered; err != nil {
			t.Error(err)
		}
	}()
	refused := func(c AskGauge, want string) {
		t.Helper()
		if _, err := r.Do(t.Context(), c); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%+v: %v, want %q", c, err, want)
		}
	}
	refused(AskGauge{}, "no job is open")
	refused(AskGauge{Gauge: "D99"}, `"D99" is no gauge of this bench`)
	r.at(recess)
	if err := v.Show("", figure("18.74 mm")); err != nil {
		t.Fatal(err)
	}
	for range 2 {
		r.clock.moveOn(double)
		if reply := r.do(AskGauge{}); reply.Words != "D07 is asked." || reply.Seq != 0 {
			t.Errorf("%+v", reply)
		}
		if p, _, s := r.nextPress(); p.Outcome != fact.Taken || p.Value.String() != "18.74 mm" || s.Gauges[0].Counts.NoReplies != 0 {
			t.Errorf("%+v", p)
		}
	}
	v.SetSilent(true)
	r.do(AskGauge{Gauge: "D07"})
	s := r.await("no reply", func(s *Snapshot) bool { return s.Gauges[0].Counts.NoReplies == 1 })
	if g := s.Gauges[0]; g.State != "connected" || !strings.Contains(g.Words, "no reply: off, asleep or busy") {
		t.Errorf("%+v", g)
	}
	v.SetSilent(false)
	if p, s := r.press("D07", "18.74 mm"); p.Outcome != fact.Taken || strings.Contains(s.Gauges[0].Words, "no reply") {
		t.Errorf("a press after that: %+v, %+v", p, s.Gauges[0])
	}
	r.do(ChooseStep{"pinion head"})
	refused(AskGauge{}, "no micrometer of this bench can be asked: press the gauge's button")
	r.do(ChooseStep{"pinion distance"})
	refused(AskGauge{}, "no step waits for a gauge")
	if err := v.Unplug(); err != nil {
		t.Fatal(err)
	}
	r.await("the gauge to go", func(s *Snapshot) bool { return s.Gauges[0].State == "gone" })
	refused(AskGauge{Gauge: "D07"}, "D07 is gone")
}

// A gauge with only a button cannot be asked.
func TestAskButton(t *testing.T) {
	r := newRig(t)
	if _, err := r.Do(t.Context(), AskGauge{Gauge: "D07"}); err == nil || !strings.Contains(err.Error(), "press its button") {
		t.Error(err)
	}
}

// What came of each port is counted: good frames, bad ones by reason, how often
// it was plugged in again.
func TestCounts(t *testing.T) {
	r := newRig(t)
	r.press("D07", "18.74 mm")
	r.raw("D07", "18\xff.74mm\r")
	r.raw("D07", "-----\r")
	r.raw("D07", "-----\r")
	if err := r.gauges["D07"].Unplug(); err != nil {
		t.Fatal(err)
	}
	r.await("the gauge to go", func(s *Snapshot) bool { return s.Gauges[0].State == "gone" })
	if err := r.gauges["D07"].Replug(); err != nil {
		t.Fatal(err)
	}
	g := r.await("the gauge to come again", func(s *Snapshot) bool { return s.Gauges[0].State == "connected" }).Gauges[0]
	c := g.Counts
	if c.Good != 1 || c.Bad[devices.Noise] != 1 || c.Bad[devices.NoNumber] != 2 || c.AllBad() != 3 || c.Reconnects() != 1 || c.LastGood.IsZero() {
		t.Errorf("%+v", c)
	}
}

// A multiplexer's gauges are one port. A pedal sends them all: the gauge that
// the step wants lands, those that lie about are set aside in words, an absent
// one's figure is none.
func TestMultiplexer(t *testing.T) {
	p := devices.Defaults()
	p.Assume, p.Settle = quantity.MM, 0
	p.Parts = []devices.Part{devices.Channel{Width: 1},
		devices.Code{Words: map[string]devices.CodeMeaning{"QR": devices.CodeReading, "QZ": devices.CodeAbsent}},
		devices.Sign{Required: true}, devices.Figure{Digits: 6, Places: new(2)}}
	r, v := newSharedRig(t, p, Gauge{ID: "D07", Kind: "depth gauge", Channel: "1"}, Gauge{ID: "I03", Kind: "dial indicator", Channel: "2"},
		Gauge{ID: "M02", Kind: "micrometer", Channel: "3"})
	r.at(recess)
	err := errors.Join(v.Show("1", figure("18.74 mm")), v.Show("2", figure("0.21 mm")), v.Absent("3"), v.Show("4", figure("7.00 mm")), v.Pedal())
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []struct {
		gauge   string
		outcome fact.Outcome
		words   string
	}{
		{"D07", fact.Taken, "18.74 mm from D07 at cover recess."},
		{"I03", fact.Aside, "That was I03, a dial indicator"},
		{"channel 4", fact.Aside, "7.00 mm came on channel 4, which has no gauge on this bench."},
	} {
		if p, _, _ := r.nextPress(); p.Gauge != want.gauge || p.Outcome != want.outcome || !strings.HasPrefix(p.Sentence, want.words) {
			t.Errorf("%+v, want %+v", p, want)
		}
	}
	s := r.Snapshot()
	if got := s.Results.Of(recess).Left; got != 2 || len(s.Job.Presses) != 3 {
		t.Errorf("%d left, %d presses", got, len(s.Job.Presses))
	}
	if g := s.Gauges[2]; g.Counts.Good != 0 || !strings.Contains(g.Words, "gauge M02 is not in its socket") {
		t.Errorf("the absent one: %+v", g)
	}
	for _, g := range s.Gauges {
		if want := map[bool]string{true: "gone", false: "connected"}[g.ID == "M02"]; g.Counts.Strays != 1 || g.State != want {
			t.Errorf("%+v", g)
		}
	}
	if err := v.SendRaw([]byte("\xff\r")); err != nil {
		t.Fatal(err)
	}
	if p, _, _ := r.nextPress(); p.Gauge != "a shared port" || p.Outcome != fact.Aside || !strings.HasPrefix(p.Sentence, "From a shared port: ") {
		t.Errorf("%+v", p)
	}
}
