//go:build unix

package bench

import (
	"path/filepath"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"shimwright/calc/quantity"
	"shimwright/devices"
	"shimwright/ingest/fact"
	"shimwright/ingest/journal"
)

// What is known of gauges is kept once many facts had to be read, and is the
// same from there on.
func TestTaughtKept(t *testing.T) {
	j := openJournal(t, filepath.Join(t.TempDir(), "t.journal"), time.Now)
	defer j.Close()
	low := figure("-0.02 mm")
	arrived := time.Date(2026, 3, 4, 5, 6, 7, 89, time.UTC)
	put(t, j, of(gaugeSubject("D07"), fact.Bound{USBSerial: "A1", Raw: []byte{255, 13}, Arrived: arrived, Source: devices.SourceGauge},
		fact.Looked{Unit: "mm", Stated: true, Places: 2, Low: &low})...)
	zero := fact.ZeroChecked{Reading: figure("0.00 mm"), Arrived: arrived, Source: devices.SourceGauge}
	for range keepAfter/64 + 1 {
		var group []fact.Fact
		for range 64 {
			group = append(group, zero)
		}
		put(t, j, of(gaugeSubject("D07"), group...)...)
	}
	want, err := loadAndKeepGauges(t.Context(), j)
	if err != nil {
		t.Fatal(err)
	}
	got, read, err := loadGauges(t.Context(), j.Reader)
	if err != nil || read != 0 {
		t.Errorf("%d facts read again: %v", read, err)
	}
	same := cmp.Comparer(func(a, b quantity.Value) bool { return a.String() == b.String() })
	if diff := cmp.Diff(want, got, same); diff != "" {
		t.Error(diff)
	}
	put(t, j, of(gaugeSubject("D07"), fact.Looked{Unit: "in", Places: 4})...)
	f, err := j.VerifyAll(t.Context(), journal.Following{Folds: []journal.Fold{FoldOfGauges()}}, nil)
	if err != nil || f.Differences() != 0 || len(f.Kept) != 1 {
		t.Errorf("what is kept, held to the facts: %+v, %v", f, err)
	}
	if got, read, err = loadGauges(t.Context(), j.Reader); err != nil || read != 1 || len(got["D07"].Looks) != 2 {
		t.Errorf("%d read, %+v: %v", read, got["D07"], err)
	}
}
