//go:build soak && linux

package port_test

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"shimwright/calc/quantity"
	"shimwright/devices/decodertest"
	"shimwright/devices/kinds"
	"shimwright/devices/port"
	"shimwright/devices/virtual"
)

// TestSoakUnplugging: 1,000 times unplugged and plugged in again, over 8 gauges
// at once. Every frame sent after settling and read before the plug is pulled
// arrives exactly once and in order; half lines and the noise of plugging in
// become no figures; no goroutine and no open file is left over.
func TestSoakUnplugging(t *testing.T) {
	const gauges = 8
	cycles := 125
	if short() {
		cycles = 4
	}
	checkLeaks(t)
	began := time.Now()
	before := heap()
	var all sync.WaitGroup
	var mu sync.Mutex
	sent := 0
	for i := range gauges {
		all.Go(func() {
			n, err := unplugging(t, i, cycles)
			mu.Lock()
			defer mu.Unlock()
			if sent += n; err != nil {
				t.Errorf("gauge %d: %v", i, err)
			}
		})
	}
	all.Wait()
	t.Logf("%d times plugged in and out, %d frames, each arrived once, in %s; heap %d kB before, %d kB after",
		gauges*cycles, sent, time.Since(began).Round(time.Second), before>>10, heap()>>10)
}

// unplugging plays one gauge and its port for some cycles and tells how many
// frames it sent.
func unplugging(t *testing.T, seed, cycles int) (sent int, err error) {
	r := rand.New(rand.NewPCG(1, uint64(seed)))
	p := decodertest.Named("bare figure").Profile // settles 300 ms
	g, err := virtual.New(p, filepath.Join(t.TempDir(), "gauge"))
	if err != nil {
		return 0, err
	}
	defer g.Close()
	d, err := kinds.Decoder(p)
	if err != nil {
		return 0, err
	}
	events, done := make(chan port.Event, 100), make(chan error, 1)
	ctx, cancel := context.WithCancel(t.Context())
	cfg := port.Config{Gauge: "D07", Find: port.Find{Path: g.Path()}, Profile: p, Decoder: d, Now: time.Now}
	go func() { done <- port.Run(ctx, cfg, port.System(noPorts), func(e port.Event) { events <- e }) }()
	defer func() {
		cancel()
		// The sink may wait for room while nobody takes events.
		for {
			select {
			case <-events:
			case ended := <-done:
				err = errors.Join(err, ended)
				return
			}
		}
	}()
	counts := port.Counts{}
	for n := range cycles {
		k, err := oneCycle(t.Context(), r, g, events, &counts, sent)
		if err != nil {
			return sent, fmt.Errorf("cycle %d: %w", n, err)
		}
		if sent += k; n+1 < cycles {
			if err := g.Replug(); err != nil {
				return sent, err
			}
		}
	}
	if counts.Good != sent || counts.Reconnects() != cycles-1 {
		return sent, fmt.Errorf("%d frames sent, counted %+v", sent, counts)
	}
	return sent, nil
}

// oneCycle presses a plugged-in gauge a few times and pulls the plug.
func oneCycle(ctx context.Context, r *rand.Rand, g *virtual.Gauge, events <-chan port.Event, counts *port.Counts, first int) (int, error) {
	if err := until(events, port.Connected, counts, nil); err != nil {
		return 0, err
	}
	if r.IntN(2) == 0 { // the noise of plugging in
		if err := g.SendRaw([]byte("\x00\xfe\r")); err != nil {
			return 0, err
		}
	}
	if err := until(events, port.Settled, counts, nil); err != nil {
		return 0, err
	}
	var want []string
	for n := range 1 + r.IntN(5) {
		want = append(want, numbered(0, (first+n)%apartBy))
		v, err := quantity.ParseWithUnit(want[n])
		if err != nil {
			return 0, err
		}
		if err := g.Press(v); err != nil {
			return 0, err
		}
		time.Sleep(time.Duration(r.IntN(15)) * time.Millisecond)
	}
	if r.IntN(3) == 0 {
		if err := g.SendRaw([]byte("33.3")); err != nil {
			return 0, err
		}
	}
	if err := g.Drained(ctx); err != nil {
		return 0, err
	}
	if err := g.Unplug(); err != nil {
		return 0, err
	}
	sent := len(want)
	if err := until(events, port.Gone, counts, &want); err != nil {
		return 0, err
	}
	if len(want) > 0 {
		return 0, fmt.Errorf("%q were sent and read, and never arrived", want)
	}
	return sent, nil
}

// until takes events up to one of a sort; samples must be the next of those
// wanted.
func until(events <-chan port.Event, what port.What, counts *port.Counts, want *[]string) error {
	patience := time.After(30 * time.Second)
	for {
		var e port.Event
		select {
		case e = <-events:
		case <-patience:
			return fmt.Errorf("waited 30 s for %s", what)
		}
		*counts = counts.Add(e)
		switch {
		case e.What == what:
			return nil
		case e.What == port.Sample && (want == nil || len(*want) == 0):
			return fmt.Errorf("%s was never sent", e.Sample.Value)
		case e.What == port.Sample && e.Sample.Value.String() != (*want)[0]:
			return fmt.Errorf("%s was sent, %s arrived", (*want)[0], e.Sample.Value)
		case e.What == port.Sample:
			*want = (*want)[1:]
		}
	}
}
