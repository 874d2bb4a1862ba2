package port

import (
	"errors"
	"math/rand/v2"
	"testing"
	"testing/synctest"
	"time"

	"github.com/google/go-cmp/cmp"

	"shimwright/devices"
)

func bad(r devices.Reason) error { return &devices.FrameError{Reason: r} }

func TestCounts(t *testing.T) {
	at := time.Unix(1000, 0)
	var before, c Counts
	if _, ok := c.Age(at); ok {
		t.Error("a gauge that was never pressed has a last press")
	}
	for i, e := range []Event{
		{What: Gone}, {What: Connected}, {What: Settled, Dropped: 3},
		{What: Sample, At: at}, {What: Sample, At: at.Add(time.Second)},
		{What: BadFrame, Err: bad(devices.Noise), At: at.Add(2 * time.Second)}, {What: BadFrame, Err: bad(devices.Noise)},
		{What: BadFrame, Err: bad(devices.HalfLine)}, {What: BadFrame, Err: errors.New("another")},
		{What: Stray}, {What: Quiet}, {What: Absent}, {What: NoReply}, {What: NotSent}, {What: Refused},
		{What: Gone}, {What: Connected}, {What: Gone, Dropped: 2}, {What: Connected},
	} {
		if i == 6 {
			before = c
		}
		c = c.Add(e)
	}
	want := Counts{Good: 2, Bad: map[devices.Reason]int{devices.Noise: 2, devices.HalfLine: 1, devices.BadShape: 1},
		Strays: 1, Connects: 3, Dropped: 5, NotSent: 1, NoReplies: 1, LastGood: at.Add(time.Second)}
	if d := cmp.Diff(want, c); d != "" {
		t.Error(d)
	}
	if c.Reconnects() != 2 || c.AllBad() != 4 || (Counts{}).Reconnects() != 0 {
		t.Errorf("%d reconnects, %d bad", c.Reconnects(), c.AllBad())
	}
	if age, ok := c.Age(at.Add(time.Minute)); !ok || age != 59*time.Second {
		t.Errorf("age %s", age)
	}
	if before.Bad[devices.Noise] != 1 || len(before.Bad) != 1 {
		t.Errorf("counts taken before have changed: %v", before.Bad)
	}
}

// A tally of all events is the gauges' own counts, in whatever order gauges
// take turns.
func TestTally(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	total, alone := Tally{}, map[string]Counts{}
	for range 2000 {
		e := Event{Gauge: []string{"D07", "D08", ""}[r.IntN(3)], What: What(r.IntN(int(NoReply) + 2)), Dropped: r.IntN(3),
			Err: bad([]devices.Reason{devices.Noise, devices.TooLong}[r.IntN(2)])}
		total.Add(e)
		alone[e.Gauge] = alone[e.Gauge].Add(e)
	}
	if d := cmp.Diff(map[string]Counts(total), alone); d != "" {
		t.Error(d)
	}
}

// The states as a port goes through them.
func TestStates(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		p, tries := newFake(), 0
		cfg := config(t, 0)
		cfg.Quiet = time.Minute
		b := start(t, cfg, func(f Find, l devices.Line) (Opened, error) {
			tries++
			switch tries {
			case 1:
				return Opened{}, &RefusedError{Port: "/dev/x", Problem: "is in use", Fix: "close the other program"}
			case 2:
				return one(p)(f, l)
			}
			return Opened{}, &AbsentError{Port: "/dev/x"}
		})
		state := StateStarting
		next := func(want State, words string) Event {
			t.Helper()
			e := b.want(words)
			if state = state.After(e); state != want {
				t.Errorf("after %s: %s, want %s", words, state, want)
			}
			return e
		}
		next(StateRefused, "refused: /dev/x is in use: close the other program")
		opened := next(StateConnected, "connected").At
		e := next(StateQuiet, "quiet: nothing was heard on /dev/x for 1m0s: press the gauge's button")
		if after := e.At.Sub(opened); after < time.Minute || after > time.Minute+2*Tick {
			t.Errorf("quiet after %s", after)
		}
		time.Sleep(time.Hour)
		synctest.Wait()
		b.quiet() // it is said once
		p.in <- "33.38\r"
		pressed := next(StateConnected, "sample").At
		if e := next(StateQuiet, "quiet"); e.At.Sub(pressed) < time.Minute {
			t.Errorf("quiet %s after a press", e.At.Sub(pressed))
		}
		close(p.in)
		next(StateGone, "gone")
		next(StateGone, "gone")
		b.stop()
		for _, w := range []What{Stray, NotSent, NoReply} {
			if got := StateQuiet.After(Event{What: w}); got != StateQuiet {
				t.Errorf("%s changes the state to %s", w, got)
			}
		}
		if got := StateConnected.After(Event{What: Absent}); got != StateGone {
			t.Errorf("a gauge that is not on its channel is %s", got)
		}
	})
}

// The waits are data.
func TestWaits(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		var tries []time.Duration
		began := time.Now()
		cfg := config(t, 0)
		cfg.Waits = Waits{First: 100 * time.Millisecond, Last: 250 * time.Millisecond}
		b := start(t, cfg, func(Find, devices.Line) (Opened, error) {
			tries = append(tries, time.Since(began))
			return Opened{}, &AbsentError{}
		})
		time.Sleep(800 * time.Millisecond)
		b.stop()
		const ms = time.Millisecond
		if d := cmp.Diff([]time.Duration{0, 100 * ms, 300 * ms, 550 * ms, 800 * ms}[:4], tries[:4]); d != "" {
			t.Error(d)
		}
	})
}

func TestWords(t *testing.T) {
	seen := map[string]bool{}
	for w := Connected; w <= NoReply; w++ {
		if s := w.String(); s == "unknown" || seen[s] {
			t.Errorf("event %d is called %q", w, s)
		}
		seen[w.String()] = true
	}
	if What(0).String() != "unknown" || (NoReply+1).String() != "unknown" {
		t.Error("an unknown event has a word")
	}
}
