package capture

import (
	"context"
	"path/filepath"
	"testing"
	"time"

	"shimwright/calc/quantity"
	"shimwright/devices"
	"shimwright/devices/port"
	"shimwright/ingest/bench"
	"shimwright/ingest/fact"
	"shimwright/ingest/journal"
)

// Captures are played into a bench: every frame becomes a fact, and each says
// that it came from a virtual gauge.
func TestIntoBench(t *testing.T) {
	players, gauges := map[string]*Player{}, []bench.Gauge{}
	for id, name := range map[string]string{"D07": "noise", "D08": "unplugged"} {
		c, err := Load(filepath.Join(folder, name+".capture"))
		if err != nil {
			t.Fatal(err)
		}
		p, err := NewPlayer(c, 1, time.Now)
		if err != nil {
			t.Fatal(err)
		}
		path := filepath.Join("/captures", name)
		players[path] = p
		gauges = append(gauges, bench.Gauge{ID: id, Kind: "depth gauge", Profile: profiles()[c.Profile], Find: port.Find{Path: path}})
	}
	j, err := journal.Open(filepath.Join(t.TempDir(), "journal"), journal.Options{Bench: "bay 2", Run: "run", Now: time.Now})
	if err != nil {
		t.Fatal(err)
	}
	defer j.Close()
	var facts []fact.Pressed
	b, err := bench.Open(t.Context(), j, bench.Config{Name: "bay 2", Gauges: gauges, Ports: Ports(players), Now: time.Now,
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
	for _, p := range players {
		<-p.Done()
	}
	cancel()
	if err := <-done; err != nil {
		t.Fatal(err)
	}
	good := map[string]int{}
	for _, f := range facts {
		if f.Source != devices.SourceVirtual {
			t.Errorf("a press of a capture is from %s", f.Source)
		}
		if f.Value != nil && f.Value.Unit() == quantity.MM {
			good[f.Gauge]++
		}
	}
	if len(facts) != 11 || good["D07"] != 3 || good["D08"] != 2 {
		t.Errorf("%d presses recorded, good ones %v", len(facts), good)
	}
}
