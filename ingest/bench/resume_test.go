//go:build unix

package bench

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"path/filepath"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"shimwright/devices"
	"shimwright/devices/port"
	"shimwright/devices/text"
	"shimwright/ingest/fact"
)

// again stops the rig's bench and opens another one over the same journal.
func (r *rig) again() {
	r.t.Helper()
	r.stop()
	r.start(config(filepath.Dir(r.path), r.clock.Now))
}

// A bench opened over the same journal goes on where it was.
func TestReopened(t *testing.T) {
	r := newRig(t)
	workPinionPack(r)
	steps := []func(){
		func() { r.press("M02", "1.35 mm") },
		func() { r.press("M02", "1.39 mm") }, // they do not agree
		func() { r.do(Strike{Reason: "a burr"}) },
		func() { r.press("M02", "1.35 mm") },
		func() { r.do(Fit{Step: "pinion pack"}) },
		func() { r.press("I03", "0.52 mm") },
		func() { r.pressAtOnce("I03", "0.53 mm") }, // both held
		func() { r.do(Take{r.Snapshot().Held[0].Seq, "seen"}) },
		func() { r.raw("I03", "-----\r") },
		func() { r.do(Retake{"pinion head", "dirt"}) },
		func() { r.do(Strike{r.Snapshot().Job.Presses[2].Seq, "an earlier step's"}) },
		func() { r.do(OpenJob{Sheet: "fw3", Serial: "18"}) },
		func() { r.do(Record{"pinion bearings", "used"}) },
	}
	for i, step := range steps {
		step()
		before := r.Snapshot()
		r.again()
		if diff := cmp.Diff(picture(before), picture(r.Snapshot())); diff != "" {
			t.Errorf("after step %d a new start shows:\n%s", i, diff)
		}
	}
	r.do(ChooseStep{recess})
	if p, _ := r.press("D07", "18.74 mm"); p.Outcome != fact.Taken {
		t.Errorf("%+v", p)
	}
}

// A press doubled across a new start is known by the times in the journal.
func TestDoubledAcrossAStart(t *testing.T) {
	r := newRig(t)
	r.at(recess)
	r.press("D07", "18.74 mm")
	r.again()
	if p, _ := r.pressAtOnce("D07", "18.74 mm"); p.Outcome != fact.Aside {
		t.Errorf("%s: %s", p.Outcome, p.Sentence)
	}
}

// still is a bench over a real journal that does not run: the test does what
// its goroutine would.
func still(t *testing.T) *Bench {
	t.Helper()
	dir := t.TempDir()
	cfg := config(dir, time.Now)
	cfg.Windows.Double = 0
	j := openJournal(t, filepath.Join(dir, "t.journal"), time.Now)
	t.Cleanup(func() {
		if err := errors.Join(j.Verify(context.Background(), nil), j.Close()); err != nil {
			t.Error(err)
		}
	})
	cfg.Ports = func(f port.Find, _ devices.Line) (port.Opened, error) {
		return port.Opened{}, &port.AbsentError{Port: f.Path}
	}
	b, err := Open(t.Context(), j, cfg)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func sample(gauge, value string) port.Event {
	s := devices.Sample{Gauge: gauge, Source: devices.SourceVirtual}
	s.Value, s.UnitStated, s.At = figure(value), true, time.Now()
	return port.Event{Gauge: gauge, What: port.Sample, At: s.At, Sample: s}
}

// What waits in the queue when the bench is told to stop is recorded.
func TestQueueAtStop(t *testing.T) {
	for range 20 {
		b := still(t)
		if _, err := b.apply(t.Context(), OpenJob{Sheet: "fw3", Serial: "17"}); err != nil {
			t.Fatal(err)
		}
		if _, err := b.apply(t.Context(), ChooseStep{recess}); err != nil {
			t.Fatal(err)
		}
		for range 10 {
			b.events <- sample("D07", "18.74 mm")
		}
		ctx, cancel := context.WithCancel(t.Context())
		cancel()
		if err := b.Run(ctx); err != nil {
			t.Fatal(err)
		}
		if s := b.Snapshot(); len(s.Job.Presses) != 10 || s.Trouble != "" {
			t.Fatalf("%d presses of 10, trouble %q", len(s.Job.Presses), s.Trouble)
		}
	}
}

// A command at stop is carried out and answered, or not carried out and said
// to be so.
func TestCommandAtStop(t *testing.T) {
	carried := 0
	for range 30 {
		b := still(t)
		ctx, cancel := context.WithCancel(t.Context())
		done := make(chan error, 1)
		go func() { done <- b.Run(ctx) }()
		go cancel()
		_, err := b.Do(t.Context(), OpenJob{Sheet: "fw3", Serial: "17"})
		if err := <-done; err != nil {
			t.Fatal(err)
		}
		switch opened := b.Snapshot().Job != nil; {
		case err == nil && opened:
			carried++
		case errors.Is(err, ErrStopped) && !opened:
		default:
			t.Errorf("job open: %v, answered %v", opened, err)
		}
	}
	t.Logf("%d of 30 were carried out", carried)
}

// A profile that cannot be used is told before any port runs.
func TestBadProfile(t *testing.T) {
	checkLeaks(t)
	b := still(t)
	b.cfg.Gauges[5].Profile.Parts = nil
	if err := b.Run(t.Context()); err == nil {
		t.Error("a gauge of no parts runs")
	}
	if _, err := text.New(b.cfg.Gauges[5].Profile); err == nil {
		t.Error("the test's profile is good after all")
	}
	if _, err := b.Do(t.Context(), ChooseStep{recess}); !errors.Is(err, ErrStopped) {
		t.Errorf("a bench that did not start takes commands: %v", err)
	}
}

// A port that can never work stops the bench with the reason.
func TestBadPort(t *testing.T) {
	checkLeaks(t)
	b := still(t)
	b.cfg.Gauges[0].Find.Path = ""
	if err := b.Run(t.Context()); err == nil {
		t.Error("a gauge without a port runs")
	}
}

// Stopped while presses are on their way: every fact that was acknowledged is
// in the journal, and nothing else is.
func TestStopInFlight(t *testing.T) {
	for round := range 8 {
		t.Run(fmt.Sprint(round), func(t *testing.T) {
			r := newRig(t, func(c *Config) { c.Windows.Double = 0 })
			r.at(recess)
			for i := range 20 {
				if err := r.gauges["D07"].Press(figure(fmt.Sprintf("18.%02d mm", 50+i))); err != nil {
					t.Fatal(err)
				}
				if i == 2*round {
					r.nextPress()
				}
			}
			r.stop()
			close(r.recorded)
			for f := range r.recorded {
				r.acked = append(r.acked, f)
			}
			stored := r.stored()
			if len(stored) != len(r.acked) {
				t.Fatalf("%d facts stored, %d acknowledged", len(stored), len(r.acked))
			}
			for i, s := range stored {
				if s.Hash != r.acked[i].Stored.Hash {
					t.Errorf("fact %d is not the one acknowledged", s.Seq)
				}
			}
			t.Logf("%d of 20 presses were in", len(r.Snapshot().Job.Presses))
		})
	}
}

// anything is a press or command at random that means something at some step.
func anything(chance *rand.Rand, b *Bench) func(context.Context) {
	pick := func(from ...string) string { return from[chance.IntN(len(from))] }
	steps := b.job.Sheet.Steps()
	st := steps[chance.IntN(len(steps))]
	reason, press := "at random", int64(1)
	if n := len(b.job.Presses); n > 0 {
		press = b.job.Presses[chance.IntN(n)].Seq
	}
	value := pick("33.38 mm", "18.74 mm", "26.99 mm", "31.48 mm", "0.21 mm", "1.35 mm", "42.37 mm", "38.0 N", "48.2 N.m", "-0.07 mm", "0.7378 in", "0.000000001 mm", "999999999 mm")
	commands := []Command{
		ChooseStep{st.Name}, Mark{Step: st.Name, Digits: pick("+8", "-3", "0", "99999")}, Mark{Step: st.Name, Absent: true},
		Record{st.Name, pick("new", "used", "P-1", "P-2", "7")}, Confirm{st.Name},
		Keyed{st.Name, "", value, reason}, Keyed{st.Name, pick("90 deg", "push", "180 deg"), value, reason},
		Fit{st.Name, []string{"1.00 mm", "0.30 mm"}, nil}, Fit{st.Name, nil, []string{pick("1.35 mm", "0 mm", "9.46 mm", "1.80 mm")}}, Fit{Step: st.Name},
		Metal{st.Name, []string{pick("pinion pack", "wheel pack", "pinion spacer", "casing depth")}, reason},
		See{st.Name, map[string]string{"drive": pick("central", "high"), "coast": pick("central", "low")}},
		Move{st.Name, pick("pinion", "wheel"), pick("IN", "OUT", "TOWARD", "AWAY"), "0.05 mm"},
		Take{press, reason}, Strike{press, reason}, Strike{0, reason}, Retake{st.Name, reason},
		DrawPiece{pick("tall post", "long post", "overall post", "straightedge"), pick("S-31", "S-32", "S-41", "S-51", "E-02")},
		SayIn{st.Name, "wheel pack", chance.IntN(2) == 0},
		CheckZero{Gauge: pick("D07", "D09", "M02")}, CheckZero{Gauge: "D07", Cancel: true}, Knocked{pick("D07", "M02")}, SayNeed{}, SayNeed{Step: st.Name},
		CheckPiece{Gauge: pick("D07", "I03"), Piece: "S-31"}, Temperatures{Part: pick("20 °C", "28.0 °C ± 1.0 °C"), Standards: "21 °C"},
		Seal{st.Name, "40.0 N", "36.0 N"}, KeepBacklash{Step: st.Name, Preload: "0.12 mm"},
	}
	if chance.IntN(2) == 0 {
		gauge := pick("D07", "D09", "M02", "I03", "F05", "T01", "nobody's")
		if r, _ := b.openStep(); r != nil { // mostly the right gauge and a figure that fits
			if w, ok := r.Step.Window(); ok && chance.IntN(3) > 0 {
				value = w.Low.String()
			}
			for _, g := range b.cfg.Gauges {
				if g.Kind == r.Step.Gauge && chance.IntN(4) > 0 {
					gauge = g.ID
				}
			}
		}
		return func(ctx context.Context) { b.event(ctx, sample(gauge, value)) }
	}
	c := commands[chance.IntN(len(commands))]
	return func(ctx context.Context) { _, _ = b.apply(ctx, c) } // most are refused at most steps
}

// Whatever people do in whatever order, the bench goes on, and its job folded
// from the journal is the job it has.
func TestAnyOrder(t *testing.T) {
	seed := uint64(time.Now().UnixNano())
	t.Logf("seed %d", seed)
	chance := rand.New(rand.NewPCG(seed, 0))
	taken := 0
	for range 8 {
		b := still(t)
		needing(t, "needs: [zero, bearings rolled]", face, depth)(&b.cfg)
		b.cfg.Windows.Double = time.Duration(chance.IntN(2)) * time.Millisecond
		if _, err := b.apply(t.Context(), OpenJob{Sheet: "fw3", Serial: "17"}); err != nil {
			t.Fatal(err)
		}
		for n := range 150 {
			anything(chance, b)(t.Context())
			b.publish()
			if b.trouble != "" {
				t.Fatalf("step %d: %s", n, b.trouble)
			}
			if n%30 != 29 {
				continue
			}
			b.chosen = "" // choosing a step records nothing
			b.publish()
			other := &Bench{cfg: b.cfg, journal: b.journal, gauges: b.gauges, register: b.register}
			if err := other.takeUp(t.Context()); err != nil {
				t.Fatal(err)
			}
			other.publish()
			// Where the bench is may have been chosen too.
			got, want := *other.Snapshot(), *b.Snapshot()
			got.Step, want.Step, got.Number, want.Number = nil, nil, 0, 0
			if diff := cmp.Diff(picture(&want), picture(&got)); diff != "" {
				t.Fatalf("live (-), from the journal (+):\n%s", diff)
			}
		}
		for _, p := range b.job.Presses {
			if p.Now == fact.Taken {
				taken++
			}
		}
	}
	if taken == 0 {
		t.Error("no press was ever taken: the test tries nothing")
	}
}
