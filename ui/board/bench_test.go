package board

import "testing"

// BenchmarkFrame draws the first page of a full list, as at each change.
func BenchmarkFrame(b *testing.B) {
	m, err := NewLoader(newMemory(b).many(MostJobs), now).Load(b.Context(), Query{}, nil)
	if err != nil {
		b.Fatal(err)
	}
	v := view{width: 132, height: 43, now: now()}
	v.take(m)
	b.ReportAllocs()
	for b.Loop() {
		if len(frame(&v)) == 0 {
			b.Fatal("nothing drawn")
		}
	}
}
