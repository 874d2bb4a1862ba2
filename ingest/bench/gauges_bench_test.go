//go:build unix

package bench

import (
	"fmt"
	"path/filepath"
	"testing"
	"time"

	"shimwright/calc/quantity"
	"shimwright/devices/port"
	"shimwright/devices/virtual"
)

// BenchmarkGauges presses the button of every one of n gauges at once, and waits
// until all the presses are durable: an open job, a pseudo-terminal and the real
// driver for each gauge, the real journal. 64 is the most gauges that the soaks
// put on one bench. A job has at most 64 presses. The time is that of all the
// presses of one go.
func BenchmarkGauges(b *testing.B) {
	for n := 1; n <= 64; n *= 2 {
		b.Run(fmt.Sprint("n=", n), func(b *testing.B) { allPressed(b, n) })
	}
}

func allPressed(b *testing.B, n int) {
	told := make(chan time.Time, n)
	var gauges map[string]*virtual.Gauge
	r := newRig(b, func(c *Config) {
		var more Config
		dir := b.TempDir()
		for i := range n {
			id := fmt.Sprintf("X%02d", i)
			more.Gauges = append(more.Gauges, Gauge{ID: id, Kind: "depth gauge", Profile: lettered("mm", quantity.MM), Find: port.Find{Path: filepath.Join(dir, id)}})
		}
		gauges = plug(b, more)
		c.Gauges = append(c.Gauges, more.Gauges...)
		c.OnFact = func(f Recorded) {
			if f.Stored.Kind == "pressed" {
				told <- time.Now()
			}
		}
	})
	var took time.Duration
	presses := 0
	for b.Loop() {
		if presses%64 == 0 {
			if presses > 0 {
				r.do(Abandon{Reason: "the next one"})
			}
			r.at(recess)
		}
		r.clock.moveOn(double)
		start := time.Now()
		for _, g := range gauges {
			if err := g.SendRaw([]byte(line + last)); err != nil {
				b.Fatal(err)
			}
		}
		var end time.Time
		for range n {
			end = <-told
		}
		took += end.Sub(start)
		presses += n
	}
	b.ReportMetric(float64(took.Nanoseconds())/float64(b.N), "ns/op")
}
