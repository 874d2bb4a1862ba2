package fact

import (
	"testing"
	"time"

	"shimwright/devices"
	"shimwright/ingest/journal"
)

// BenchmarkDecode reads back a press, the fact that a journal has most of.
func BenchmarkDecode(b *testing.B) {
	at, v := time.Date(2026, 2, 3, 9, 0, 0, 0, time.UTC), figure("33.38 mm")
	r, err := Encode("job/2041", Pressed{Gauge: "D07", Raw: []byte("+33.38mm\r"), Arrived: at, Source: devices.SourceGauge,
		Value: &v, Step: "pinion distance", Outcome: Taken, Sentence: "33.38 mm taken."})
	if err != nil {
		b.Fatal(err)
	}
	s := journal.Stored{Record: r, Seq: 1}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Decode(s); err != nil {
			b.Fatal(err)
		}
	}
}
