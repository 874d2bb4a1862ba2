package capture

import (
	"context"
	"path/filepath"
	"testing"
	"time"

	"shimwright/devices"
	"shimwright/devices/port"
	"shimwright/ingest/bench"
	"shimwright/ingest/fact"
	"shimwright/ingest/journal"
)

// A capture is played into a bench: every frame becomes a fact, and each says
// that it came from a virtual gauge.
func TestIntoBench(t *testing.T) {
	for name, want := range map[string]struct{ presses, good int }{"noise": {9, 3}, "unplugged": {2, 2}, "presses": {5, 5}} {
		t.Run(name, func(t *testing.T) {
			facts := intoBench(t, name)
			good := 0
			for _, f := range facts {
				if f.Source != devices.SourceVirtual {
					t.Errorf("a press of a capture is from %s", f.Source)
				}
				if f.Value != nil {
					good++
				}
			}
			if len(facts) != want.presses || good != want.good {
				t.Errorf("%d presses recorded, %d of them good; want %+v", len(facts), good, want)
			}
		})
	}
}

// intoBench runs a bench on a capture until all was played, at once and on the
// player's clock, so that no load of the machine changes what is heard.
func intoBench(t *testing.T, name string) (facts []fact.Pressed) {
	c, err := Load(filepath.Join(folder, name+".capture"))
	if err != nil {
		t.Fatal(err)
	}
	p, err := NewPlayer(c, AtOnce, time.Now)
	if err != nil {
		t.Fatal(err)
	}
	j, err := journal.Open(filepath.Join(t.TempDir(), "journal"), journal.Options{Rows: fact.Rows(), Bench: "bay 2", Run: "run", Now: time.Now})
	if err != nil {
		t.Fatal(err)
	}
	defer j.Close()
	const path = "/captures/one"
	gauge := bench.Gauge{ID: "D07", Kind: "depth gauge", Profile: profiles()[c.Profile], Find: port.Find{Path: path}}
	b, err := bench.Open(t.Context(), j, bench.Config{Name: "bay 2", Gauges: []bench.Gauge{gauge}, Ports: Ports(map[string]*Player{path: p}), Now: p.Now,
		OnFact: func(r bench.Recorded) {
			if f, ok := r.Fact.(fact.Pressed); ok {
				facts = append(facts, f)
			}
		}})
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(t.Context())
	done := make(chan error, 1)
	go func() { done <- b.Run(ctx) }()
	<-p.Done()
	cancel()
	if err := <-done; err != nil {
		t.Fatal(err)
	}
	return facts
}
