package main

import (
	"fmt"
	"math/rand/v2"
	"path/filepath"
	"reflect"
	"testing"
	"time"

	"shimwright/calc/quantity"
	"shimwright/devices"
	"shimwright/ingest/fact"
	"shimwright/ingest/journal"
	"shimwright/ingest/relay/shop/shoptest"
	"shimwright/ui/board"
)

// Three bays record by clocks of their own and ship when they can, old facts
// after new ones. However they come in, a board that took them in as they came is
// the same as one that is read anew.
func TestBoardAsTheyCome(t *testing.T) {
	s := shoptest.New(t)
	text, _ := embeddedSheet("fw3")
	chance := rand.New(rand.NewPCG(11, 5))
	at := time.Date(2026, 3, 2, 7, 0, 0, 0, time.UTC)
	now := func() time.Time { return at.AddDate(0, 1, 0) }
	var bays []*pair
	for n := range 3 {
		name := fmt.Sprintf("bay %d", n+1)
		clock := at.Add(time.Duration(n) * 7 * time.Minute)
		j, err := journal.Open(filepath.Join(t.TempDir(), "a.journal"), journal.Options{Bench: name, Run: "r", Rows: fact.Rows(),
			Now: func() time.Time { clock = clock.Add(11 * time.Minute); return clock }})
		if err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() { _ = j.Close() })
		p := &pair{t: t, j: j, woken: make(chan struct{}, 1), told: make(chan struct{}, 1)}
		p.ship(s.Bench(t, name, fmt.Sprintf("bay%d", n+1)))
		bays = append(bays, p)
	}
	src, err := openShop(t.Context(), s.As("app"), false)
	if err != nil {
		t.Fatal(err)
	}
	defer src.Close()
	kept := board.NewLoader(src, now)
	jobs, waiting := make([]int, 3), make([][]journal.Record, 3)
	for round := range 60 {
		n := chance.IntN(3)
		for range 1 + chance.IntN(6) {
			waiting[n] = append(waiting[n], something(t, chance, &jobs[n], string(text)))
		}
		if chance.IntN(3) > 0 { // else it is away and goes on recording
			for _, r := range waiting[n] {
				if _, err := bays[n].j.Append(t.Context(), r); err != nil {
					t.Fatal(err)
				}
			}
			waiting[n] = nil
			bays[n].shipped()
		}
		q := board.Query{Training: round%2 == 0}
		got, err := kept.Load(t.Context(), q, nil)
		if err != nil {
			t.Fatal(err)
		}
		anew, err := openShop(t.Context(), s.As("app"), false)
		if err != nil {
			t.Fatal(err)
		}
		want, err := board.NewLoader(anew, now).Load(t.Context(), q, nil)
		anew.Close()
		if err != nil {
			t.Fatal(err)
		}
		x, y := *got, *want
		x.Fresh, y.Fresh, x.Newest, y.Newest = nil, nil, 0, 0
		if !reflect.DeepEqual(x, y) {
			t.Fatalf("after %d rounds the board differs from one read anew:\n%d jobs, %d held, %d keyed, %d found and\n%d jobs, %d held, %d keyed, %d found", round+1,
				len(x.Rows), len(x.Holds), len(x.Keyed), len(x.Findings), len(y.Rows), len(y.Holds), len(y.Keyed), len(y.Findings))
		}
	}
	if jobs[0] < 3 || jobs[1] < 3 || jobs[2] < 3 {
		t.Errorf("too little happened: %v jobs", jobs)
	}
}

// something is the next fact of a bay that has so many jobs.
func something(t *testing.T, chance *rand.Rand, jobs *int, text string) journal.Record {
	t.Helper()
	v, err := quantity.ParseWithUnit("33.38 mm")
	if err != nil {
		t.Fatal(err)
	}
	of := fmt.Sprintf("job/%04d", 1+chance.IntN(max(1, *jobs)))
	ab := fact.Signature{Initials: "AB", By: fact.ByPIN}
	switch k := chance.IntN(12); {
	case *jobs == 0 || k == 0:
		*jobs++
		return encoded(t, fmt.Sprintf("job/%04d", *jobs), fact.Opened{Drive: "Harrow FW3", Serial: fmt.Sprint(*jobs), Sheet: "fw3", Issue: 1, Digest: "d1", Text: text, Rule: "guarded"})
	case k == 1:
		return encoded(t, of, fact.OnHold{Reason: "wait", By: ab})
	case k == 2:
		return encoded(t, of, fact.Pressed{Step: "pinion head", Gauge: "keyed", Value: &v, Source: devices.SourceKeyed, Outcome: fact.Taken, Reason: "cable"})
	case k == 3:
		return encoded(t, fmt.Sprintf("gauge/D%02d", chance.IntN(4)), fact.GaugeCertified{GaugeKind: "depth gauge", Certificate: fact.Certificate{Number: "C", Due: fact.Day{}}})
	case k == 4:
		return encoded(t, of, fact.Conceded{Step: "backlash", What: "backlash", Found: "x", Reason: "agreed", By: ab})
	}
	return encoded(t, of, judgedRing(1+chance.IntN(3), chance.IntN(50)))
}
