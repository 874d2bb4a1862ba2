package journal

import (
	"fmt"
	"runtime"
	"testing"

	"shimwright/ingest/store"
)

// Making rows anew holds no more the more rows there are.
func TestRebuildHoldsLittle(t *testing.T) {
	const batches = 300
	last := int64(batches * MaxRecords)
	used := func() int64 {
		runtime.GC()
		var m runtime.MemStats
		runtime.ReadMemStats(&m)
		return int64(m.HeapAlloc)
	}
	var began, ended int64
	o := options()
	o.Rows = store.Rule[Stored]{Version: 1, Of: func(s Stored) (store.Change, error) {
		switch s.Seq {
		case pageFacts:
			began = used()
		case last:
			ended = used()
		}
		return store.Change{Judged: &store.Judgement{Job: fmt.Sprint(s.Seq)}}, nil
	}}
	j := create(t)
	for range batches {
		put(t, j, presses(MaxRecords)...)
	}
	path := j.Path()
	if err := j.Close(); err != nil {
		t.Fatal(err)
	}
	open(t, path, o)
	if each := (ended - began) / last; each > 50 {
		t.Errorf("%d bytes are held for each row", each)
	}
}
