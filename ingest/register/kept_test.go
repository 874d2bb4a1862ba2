package register

import (
	"context"
	"database/sql"
	"encoding/json"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"shimwright/calc/quantity"
	"shimwright/devices"
	"shimwright/ingest/fact"
	"shimwright/ingest/journal"
)

func whole() []cmp.Option {
	return []cmp.Option{
		cmp.AllowUnexported(Register{}, span[fact.Certified]{}, span[fact.GaugeCertified]{}, gauge{}, Leaf{}, fact.Day{}),
		cmp.Comparer(func(a, b quantity.Value) bool { return a.String() == b.String() }),
	}
}

// A register loaded from what was kept and the facts since is the one loaded from
// all facts.
func TestKept(t *testing.T) {
	now := time.Date(2026, 3, 4, 5, 6, 7, 8000, time.UTC)
	j := open(t, filepath.Join(t.TempDir(), "a.journal"), &now)
	facts := func() {
		now = now.Add(time.Hour)
		keep(t, j, "piece/S-31", fact.Certified{Standard: "tall post", Size: figure("75.004 mm"), Uncertainty: pointer("0.002 mm"), K: pointer("2"),
			Certificate: fact.Certificate{Number: "C", Due: fact.DayOf(now)}})
		keep(t, j, "piece/E-02", fact.Certified{Size: figure("12.006 mm"), FromFile: true}, fact.Withdrawn{Reason: "dropped"})
		keep(t, j, "gauge/D07", fact.GaugeCertified{GaugeKind: "depth gauge", Limit: pointer("0.02 mm")},
			fact.Checked{Piece: "S-31", Size: figure("75.004 mm"), Reading: figure("75.01 mm"), Raw: []byte{1, 255}, Arrived: now, Source: devices.SourceGauge},
			fact.ZeroChecked{Reading: figure("0.00 mm"), Arrived: now, Source: devices.SourceGauge})
		keep(t, j, "stock/shims", fact.Counted{Leaves: []fact.Heap{{Size: figure("0.30 mm"), Measured: pointer("0.298 mm"), Count: 12}}, FromFile: true},
			fact.LowLimit{Size: figure("0.30 mm"), Count: 4}, fact.TakenOut{Job: "1", Step: "x", Leaves: []fact.Heap{{Size: figure("0.30 mm"), Count: 3}}})
		keep(t, j, "sheet/fw3", fact.Approved{Issue: 1, Digest: strings.Repeat("ab", 32), Day: fact.DayOf(now), By: fact.Signature{Initials: "RK", By: fact.ByPIN}})
	}
	facts()
	first, read, err := load(context.Background(), j.Reader)
	if err != nil || read != 10 {
		t.Fatal(read, err)
	}
	state, err := json.Marshal(first.pack())
	if err != nil {
		t.Fatal(err)
	}
	last, _, err := j.Last(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	facts()
	want, _, err := load(context.Background(), j.Reader)
	if err != nil {
		t.Fatal(err)
	}
	kept := journal.Kept{Name: keptName, Version: keptVersion, Seq: last.Seq, State: state}
	if err := j.Keep(context.Background(), kept); err != nil {
		t.Fatal(err)
	}
	got, read, err := load(context.Background(), j.Reader)
	if err != nil || read != 10 {
		t.Fatalf("%d facts read: %v", read, err)
	}
	if diff := cmp.Diff(want, got, whole()...); diff != "" {
		t.Error(diff)
	}
	kept.State = []byte("not it")
	if err := j.Keep(context.Background(), kept); err != nil {
		t.Fatal(err)
	}
	if got, read, err = load(context.Background(), j.Reader); err != nil || read != 20 || cmp.Diff(want, got, whole()...) != "" {
		t.Errorf("%d facts read where what was kept is rubbish: %v", read, err)
	}
}

// LoadAndKeep keeps the register once many facts had to be read.
func TestLoadAndKeep(t *testing.T) {
	now := time.Date(2026, 3, 4, 5, 6, 7, 0, time.UTC)
	j := open(t, filepath.Join(t.TempDir(), "a.journal"), &now)
	var group []journal.Record
	for range journal.MaxRecords {
		group = append(group, encode(t, "stock/shims", fact.Received{Leaves: []fact.Heap{{Size: figure("0.30 mm"), Count: 1}}}))
	}
	for range keepAfter/journal.MaxRecords + 1 {
		if _, err := j.Append(context.Background(), group...); err != nil {
			t.Fatal(err)
		}
	}
	want, err := LoadAndKeep(context.Background(), j)
	if err != nil {
		t.Fatal(err)
	}
	got, read, err := load(context.Background(), j.Reader)
	if err != nil || read != 0 {
		t.Errorf("%d facts read again: %v", read, err)
	}
	if diff := cmp.Diff(want, got, whole()...); diff != "" {
		t.Error(diff)
	}
}

// What is kept has every field that the register has: one more is to be kept too,
// and keptVersion goes up.
func TestKeptHasAll(t *testing.T) {
	for of, fields := range map[reflect.Type]int{
		reflect.TypeFor[Register](): 4, reflect.TypeFor[gauge](): 3, reflect.TypeFor[Leaf](): 5, reflect.TypeFor[Approval](): 3,
		reflect.TypeFor[span[int]](): 3, reflect.TypeFor[Check](): 2, reflect.TypeFor[Zero](): 2,
	} {
		if of.NumField() != fields {
			t.Errorf("%s has %d fields, and %d are kept (kept.go)", of, of.NumField(), fields)
		}
	}
}

// Fold, over all facts in their order, comes to what is kept of a register, also of
// one that was loaded from what was kept before.
func TestFoldComesToWhatIsKept(t *testing.T) {
	now := time.Date(2026, 3, 4, 5, 6, 7, 8000, time.UTC)
	j := open(t, filepath.Join(t.TempDir(), "a.journal"), &now)
	facts := func() {
		now = now.Add(time.Hour)
		keep(t, j, "stock/shims", fact.Counted{Leaves: []fact.Heap{{Size: figure("0.30 mm"), Measured: pointer("0.298 mm"), Count: 12}}, FromFile: true})
		keep(t, j, "sheet/fw3", fact.Approved{Issue: 1, Digest: strings.Repeat("ab", 32), Day: fact.DayOf(now), By: fact.Signature{Initials: "RK", By: fact.ByPIN}})
		keep(t, j, "piece/S-31", fact.Certified{Standard: "tall post", Size: figure("75.004 mm"), Certificate: fact.Certificate{Number: "C", Due: fact.DayOf(now)}})
		keep(t, j, "piece/E-02", fact.Certified{Size: figure("12.006 mm")}, fact.Withdrawn{Reason: "dropped"})
		keep(t, j, "gauge/D07", fact.GaugeCertified{GaugeKind: "depth gauge", Limit: pointer("0.02 mm")},
			fact.Checked{Piece: "S-31", Size: figure("75.004 mm"), Reading: figure("75.01 mm"), Arrived: now, Source: devices.SourceGauge})
		keep(t, j, "gauge/D08", fact.ZeroChecked{Reading: figure("0.00 mm"), Raw: []byte{}, Arrived: now, Source: devices.SourceGauge})
	}
	for round := range 3 {
		facts()
		r, err := Load(context.Background(), j.Reader)
		if err != nil {
			t.Fatal(err)
		}
		state, err := json.Marshal(r.pack())
		if err != nil {
			t.Fatal(err)
		}
		last, _, err := j.Last(context.Background())
		if err != nil {
			t.Fatal(err)
		}
		if err := j.Keep(context.Background(), journal.Kept{Name: keptName, Version: keptVersion, Seq: last.Seq, State: state}); err != nil {
			t.Fatal(err)
		}
		keep(t, j, "bench", fact.Approved{Issue: 9}) // is none of its facts
		f, err := j.VerifyAll(context.Background(), journal.Following{Folds: []journal.Fold{Fold()}}, nil)
		if err != nil || f.Differences() != 0 || len(f.Kept) != 1 {
			t.Errorf("round %d: %+v, %v", round, f, err)
		}
	}
	db, err := sql.Open("sqlite", j.Path())
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	if _, err := db.Exec(`UPDATE kept SET state = CAST(replace(CAST(state AS TEXT), '75.004', '75.104') AS BLOB)`); err != nil {
		t.Fatal(err)
	}
	f, err := j.VerifyAll(context.Background(), journal.Following{Folds: []journal.Fold{Fold()}}, nil)
	if err != nil || f.Differences() != 1 || !strings.Contains(f.Differs[0], "75.104") {
		t.Errorf("a size that was changed in what is kept: %+v, %v", f, err)
	}
}
