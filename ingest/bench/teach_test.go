//go:build unix

package bench

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"shimwright/calc/quantity"
	"shimwright/devices"
	"shimwright/devices/port"
	"shimwright/devices/virtual"
	"shimwright/ingest/fact"
)

func unresolved(string) (string, error) { return "", os.ErrNotExist }

// Which ports a gauge may be taught on, and how each is named.
func TestCandidates(t *testing.T) {
	const s1, s2 = "/dev/serial/by-path/one", "/dev/serial/by-path/two"
	usb := func(name, serial, socket string) port.Listed {
		return port.Listed{Name: name, USB: true, USBSerial: serial, Socket: socket}
	}
	plain := lettered("mm", quantity.MM)
	several := plain
	several.Parts = append([]devices.Part{devices.Channel{Width: 1}}, plain.Parts...)
	d07 := Gauge{ID: "D07", Profile: plain, Find: port.Find{USBSerial: "A1"}}
	mux := Gauge{ID: "D07", Profile: several, Find: port.Find{USBSerial: "A1"}}
	on := func(id, channel string, f port.Find) Gauge {
		return Gauge{ID: id, Channel: channel, Find: f, Profile: several}
	}
	other := on("D09", "2", port.Find{USBSerial: "B2"})
	other.Profile = plain
	for _, c := range []struct {
		name   string
		gauge  Gauge
		others []Gauge
		swap   string
		listed []port.Listed
		want   string
		over   string
	}{
		{"by serial", d07, nil, "", []port.Listed{usb("u0", "B2", s1), usb("u1", "A1", s2)}, "B2 A1", ""},
		{"two cables of one serial, by socket", d07, nil, "", []port.Listed{usb("u0", "B2", s1), usb("u1", "B2", s2)}, s1 + " " + s2 + " A1", ""},
		{"no serial, by socket", d07, nil, "", []port.Listed{usb("u0", "", s1)}, s1 + " A1", ""},
		{"neither", d07, nil, "", []port.Listed{usb("u0", "", ""), {Name: "S0"}}, "A1", "u0 has neither a serial number of its own nor a socket's name, S0 has neither a serial number of its own nor a socket's name"},
		{"another gauge's cable", d07, []Gauge{d07, on("D09", "", port.Find{USBSerial: "B2"})}, "", []port.Listed{usb("u0", "B2", s1), usb("u1", "A1", "")}, "A1", "u0 is D09's"},
		{"another gauge's socket", d07, []Gauge{on("D09", "", port.Find{Path: s1})}, "", []port.Listed{usb("u0", "B2", s1)}, "A1", "u0 is D09's"},
		{"shared, of a gauge without channel", d07, []Gauge{on("D09", "2", port.Find{USBSerial: "B2"})}, "", []port.Listed{usb("u0", "B2", s1)}, "A1", "u0 is D09's"},
		{"shared, of one with a channel", mux, []Gauge{on("D09", "2", port.Find{USBSerial: "B2"})}, "", []port.Listed{usb("u0", "B2", s1)}, "B2(2 D09) A1", ""},
		{"shared, of one with another profile", mux, []Gauge{other}, "", []port.Listed{usb("u0", "B2", s1)}, "A1", "u0 is D09's"},
		{"another gauge's cable, to be swapped", d07, []Gauge{on("D09", "", port.Find{USBSerial: "B2"})}, "D09", []port.Listed{usb("u0", "B2", s1)}, "B2<D09> A1", ""},
		{"the same, neither plugged in", d07, []Gauge{on("D09", "", port.Find{USBSerial: "B2"})}, "D09", nil, "A1 B2<D09>", ""},
		{"its own, held by another", d07, []Gauge{on("D09", "", port.Find{USBSerial: "A1"})}, "", nil, "", ""},
	} {
		got, over := Candidates(c.gauge, c.others, c.swap, c.listed, unresolved)
		var names []string
		for _, g := range got {
			name := g.Find.Path + g.Find.USBSerial
			if g.Holder != "" {
				name += "<" + g.Holder + ">"
			}
			for ch, id := range g.Taken {
				name += "(" + ch + " " + id + ")"
			}
			names = append(names, name)
		}
		if strings.Join(names, " ") != c.want || strings.Join(over, ", ") != c.over {
			t.Errorf("%s: %q, passed over %q", c.name, names, over)
		}
	}
}

// lesson is a lesson on a virtual gauge that the lister shows as a USB cable.
type lesson struct {
	gauge *virtual.Gauge
	list  port.Lister
	Lesson
	told chan string
}

func newLesson(t *testing.T, presses int) *lesson {
	t.Helper()
	p := lettered("mm", quantity.MM)
	v, err := virtual.New(p, filepath.Join(t.TempDir(), "cable"))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = v.Close() })
	now, err := filepath.EvalSymlinks(v.Path())
	if err != nil {
		t.Fatal(err)
	}
	l := &lesson{gauge: v, told: make(chan string, 100)}
	l.list = func() ([]port.Listed, error) {
		return []port.Listed{{Name: now, USB: true, USBSerial: "A10K3"}}, nil
	}
	g := Gauge{ID: "D07", Kind: "depth gauge", Profile: p, Find: port.Find{Path: filepath.Join(t.TempDir(), "nowhere")}}
	listed, _ := l.list()
	l.Lesson = Lesson{Gauge: g, Open: port.System(l.list), Now: time.Now, Presses: presses, Told: func(s string) { l.told <- s }}
	l.On, _ = Candidates(g, nil, "", listed, filepath.EvalSymlinks)
	return l
}

func (l *lesson) learn(t *testing.T, values ...string) Learnt {
	t.Helper()
	type lessonEnd struct {
		learnt Learnt
		err    error
	}
	end := make(chan lessonEnd, 1)
	go func() {
		f, err := l.Learn(t.Context())
		end <- lessonEnd{f, err}
	}()
	for _, v := range values {
		if err := l.gauge.Press(figure(v)); err != nil {
			t.Fatal(err)
		}
	}
	got := <-end
	if got.err != nil {
		t.Fatal(got.err)
	}
	return got.learnt
}

// A press teaches the cable and the look; several teach the range as well.
func TestLearn(t *testing.T) {
	checkLeaks(t)
	l := newLesson(t, 3)
	if err := l.gauge.SendRaw([]byte("\xff\r")); err != nil {
		t.Fatal(err)
	}
	got := l.learn(t, "0.00 mm", "150.00 mm", "5.9055 in").Facts
	bound, ok := got[0].(fact.Bound)
	if !ok || bound.USBSerial != "A10K3" || bound.Path != "" || string(bound.Raw) != "+0.00mm\r" || bound.Source != devices.SourceVirtual {
		t.Errorf("%+v", got[0])
	}
	low, high := figure("0.00 mm"), figure("150.00 mm")
	want := []fact.Fact{fact.Looked{Unit: "in", Stated: true, Places: 4}, fact.Looked{Unit: "mm", Stated: true, Places: 2, Low: &low, High: &high}}
	if diff := cmp.Diff(want, got[1:], cmp.Comparer(func(a, b quantity.Value) bool { return a.String() == b.String() })); diff != "" {
		t.Error(diff)
	}
	close(l.told)
	var told []string
	for s := range l.told {
		told = append(told, s)
	}
	if all := strings.Join(told, "\n"); !strings.Contains(all, "noise") || !strings.Contains(all, "150.00 mm (2 of 3)") {
		t.Error(all)
	}
}

func TestLearnNothing(t *testing.T) {
	checkLeaks(t)
	l := newLesson(t, 1)
	ctx, stop := context.WithCancelCause(t.Context())
	stop(errors.New("nobody pressed"))
	if _, err := l.Learn(ctx); err == nil || !strings.Contains(err.Error(), "0 of 1 presses came from D07: nobody pressed") {
		t.Error(err)
	}
	l.On = nil
	if _, err := l.Learn(t.Context()); err == nil || !strings.Contains(err.Error(), "plug its cable in") {
		t.Error(err)
	}
}

// A bench goes by what was taught, asks when a press looks otherwise, and
// believes who says that it is the same gauge: after a restart too.
func TestTaughtBench(t *testing.T) {
	l := newLesson(t, 1)
	learnt := l.learn(t, "0.00 mm")
	dir := t.TempDir()
	r := &rig{t: t, path: filepath.Join(dir, "bay 2.journal"), clock: &clock{}}
	j := openJournal(t, r.path, time.Now)
	if err := errors.Join(Teach(t.Context(), j, l.Gauge, learnt), j.Close()); err != nil {
		t.Fatal(err)
	}
	taught := func(c *Config) {
		c.Gauges = c.Gauges[:1] // D07, which the bench file has elsewhere
		c.Ports = port.System(l.list)
	}
	cfg := config(dir, r.clock.Now)
	r.start(cfg, taught)
	r.gauges = map[string]*virtual.Gauge{"D07": l.gauge}
	r.at(recess)
	if p, _ := r.press("D07", "18.74 mm"); p.Outcome != fact.Taken {
		t.Errorf("as taught: %+v", p)
	}
	p, s := r.press("D07", "18.741 mm")
	if p.Outcome != fact.Held || !strings.Contains(p.Sentence, "sent mm with 2 decimals when it was taught: is this still D07?") {
		t.Fatalf("not as taught: %+v", p)
	}
	reply := r.do(Take{Press: s.Held[0].Seq, Reason: "the fine scale was switched on"})
	if !strings.Contains(reply.Words, "It is still D07") {
		t.Error(reply.Words)
	}
	if s := r.Snapshot(); s.Seq != reply.Seq || s.Results.Of(recess).Left != 1 {
		t.Errorf("fact %d, reply of %d, %d left", s.Seq, reply.Seq, s.Results.Of(recess).Left)
	}
	stored := r.stored()
	if last := stored[len(stored)-1]; last.Subject != "gauge/D07" || last.Kind != "looked" {
		t.Errorf("%+v", last)
	}
	r.stop()
	r.start(cfg, taught)
	if p, _ := r.press("D07", "18.742 mm"); p.Outcome != fact.Taken {
		t.Errorf("as confirmed: %+v", p)
	}
	if r.Snapshot().Gauges[0].Counts.Good != 1 {
		t.Errorf("%+v", r.Snapshot().Gauges[0])
	}
	last, err := LastPresses(t.Context(), r.journal.Reader)
	if err != nil || last["D07"].Value.String() != "18.742 mm" {
		t.Errorf("%+v, %v", last, err)
	}
}

// A range is widened by the figure that a person lets count.
func TestRangeWidened(t *testing.T) {
	low, high := figure("0.00 mm"), figure("100.00 mm")
	b := &Bench{taught: map[string]Taught{"D07": {Looks: []fact.Looked{{Unit: "mm", Stated: true, Places: 2, Low: &low, High: &high}}}}}
	for v, want := range map[string]string{"-20.00 mm": "-20.00 mm 100.00 mm", "120.00 mm": "0.00 mm 120.00 mm", "50.00 mm": "", "109.00 mm": ""} {
		x := figure(v)
		f, anew := b.knownAnew(fact.Pressed{Gauge: "D07", Value: &x, UnitStated: true, Source: devices.SourceGauge}, 9, "so")
		got := ""
		if anew {
			got = f.Low.String() + " " + f.High.String()
		}
		if got != want {
			t.Errorf("%s: %q, want %q", v, got, want)
		}
	}
	var t8 Taught
	for i := range int32(12) {
		t8 = t8.then(fact.Looked{Unit: "mm", Places: i})
	}
	if len(t8.Looks) != maxLooks || t8.Looks[0].Places != 4 {
		t.Errorf("%+v", t8.Looks)
	}
}

func boundTo(path, channel string) Learnt {
	return Learnt{Facts: []fact.Fact{fact.Bound{Path: path, Channel: channel, Raw: []byte("1"), Source: devices.SourceGauge}}}
}

// Two gauges that changed cables are set right by a press on one of them; the
// other keeps its looks.
func TestSwapped(t *testing.T) {
	dir := t.TempDir()
	cfg := config(dir, time.Now)
	j := openJournal(t, filepath.Join(dir, "bay 2.journal"), time.Now)
	defer j.Close()
	d07, d09 := cfg.Gauges[0], cfg.Gauges[1]
	look := fact.Looked{Unit: "mm", Places: 2}
	first := boundTo(d09.Find.Path, "")
	first.Facts = append(first.Facts, look)
	if err := Teach(t.Context(), j, d09, first); err != nil {
		t.Fatal(err)
	}
	on, _ := Candidates(d07, cfg.Gauges, "D09", nil, unresolved)
	if len(on) != 2 || on[1].Holder != "D09" {
		t.Fatalf("%+v", on)
	}
	if err := Teach(t.Context(), j, d07, Learnt{on[1], boundTo(d09.Find.Path, "").Facts}); err != nil {
		t.Fatal(err)
	}
	known, err := LoadGauges(t.Context(), j.Reader)
	if err != nil {
		t.Fatal(err)
	}
	if known["D07"].On(d07).Find != d09.Find || known["D09"].On(d09).Find != d07.Find || len(known["D09"].Looks) != 1 {
		t.Errorf("%+v", known)
	}
	if _, err := Open(t.Context(), j, cfg); err != nil {
		t.Error(err)
	}
	d07.Find = port.Find{}
	if err := Teach(t.Context(), j, d07, Learnt{on[1], first.Facts}); err == nil || !strings.Contains(err.Error(), "teach D07 alone") {
		t.Error(err)
	}
}

// Two gauges on one port without channels are refused before anything runs.
func TestOnePortTwice(t *testing.T) {
	dir := t.TempDir()
	cfg := config(dir, time.Now)
	j := openJournal(t, filepath.Join(dir, "bay 2.journal"), time.Now)
	defer j.Close()
	if err := Teach(t.Context(), j, cfg.Gauges[1], boundTo(cfg.Gauges[0].Find.Path, "")); err != nil {
		t.Fatal(err)
	}
	if _, err := Open(t.Context(), j, cfg); err == nil || !strings.Contains(err.Error(), "D07 and D09 are on one port, the port "+cfg.Gauges[0].Find.Path+": teach one of them anew") {
		t.Error(err)
	}
	two, d09 := cfg, cfg.Gauges[1]
	two.Gauges = cfg.Gauges[1:3]
	two.Gauges[0].Channel, two.Gauges[1].Channel = "1", "2"
	two.Gauges[1].Find = cfg.Gauges[0].Find
	if err := Teach(t.Context(), j, d09, boundTo(cfg.Gauges[0].Find.Path, "1")); err != nil {
		t.Fatal(err)
	}
	if _, err := Open(t.Context(), j, two); err == nil || !strings.Contains(err.Error(), "have different profiles") {
		t.Error(err)
	}
	// What the journal says of a gauge that the bench no longer has is no matter.
	cfg.Gauges = cfg.Gauges[2:]
	if _, err := Open(t.Context(), j, cfg); err != nil {
		t.Error(err)
	}
}
