package fitter

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"
)

// BenchmarkFrame draws the fullest screen.
func BenchmarkFrame(b *testing.B) {
	v := worked(b, "backlash").ring("0.34", "0.33", "0.35", "0.34").view(132, 43)
	b.ReportAllocs()
	for b.Loop() {
		frame(v)
	}
}

// BenchmarkSnapshotToDrawn is the time from a snapshot with a new press, which a
// bench publishes once the press is durable, to the screen that shows it. The
// presses come 25 ms apart, as a hand's never do.
func BenchmarkSnapshotToDrawn(b *testing.B) {
	s := worked(b, "pinion face height").pieces("tall post", "S-31", "75.004", "straightedge", "E-02", "12.006")
	snap := s.press("D07", "33.38 mm").snapshot()
	st := newStand(snap)
	g := newGlass(80, 24)
	ctx, stop := context.WithCancel(b.Context())
	ended := make(chan error, 1)
	go func() { ended <- Run(ctx, st, Options{Screen: g}) }()
	shows := func(words string) {
		for !strings.Contains(g.now(), words) {
			<-g.shown
		}
	}
	shows("PINION FACE HEIGHT")
	var took []time.Duration
	for n := 0; b.Loop(); n++ {
		next := *snap
		last := *snap.Last
		last.Press.Gauge = fmt.Sprintf("D%05d", n)
		last.Seq += int64(n) + 1
		next.Last = &last
		time.Sleep(25 * time.Millisecond)
		began := time.Now()
		st.show(&next)
		shows("from " + last.Press.Gauge)
		took = append(took, time.Since(began))
	}
	slices.Sort(took)
	b.ReportMetric(float64(took[len(took)/2].Microseconds()), "p50-us")
	b.ReportMetric(float64(took[len(took)*99/100].Microseconds()), "p99-us")
	stop()
	if err := <-ended; err != nil {
		b.Fatal(err)
	}
}

// BenchmarkFirstFrame is the time from the start of a screen to its first frame.
func BenchmarkFirstFrame(b *testing.B) {
	st := newStand(worked(b, "backlash").ring("0.34", "0.33", "0.35", "0.34").snapshot())
	for b.Loop() {
		g := newGlass(80, 24)
		ctx, stop := context.WithCancel(b.Context())
		ended := make(chan error, 1)
		go func() { ended <- Run(ctx, st, Options{Screen: g}) }()
		for !strings.Contains(g.now(), "BACKLASH") {
			<-g.shown
		}
		stop()
		if err := <-ended; err != nil {
			b.Fatal(err)
		}
	}
}
