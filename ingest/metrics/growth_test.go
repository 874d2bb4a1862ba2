//go:build unix

package metrics_test

import (
	"net/http"
	"runtime"
	"testing"
)

// Many scrapes leave nothing behind.
func TestSoakScrapesLeaveNothing(t *testing.T) {
	r := newRig(t)
	r.aDay()
	h := r.Handler()
	used := func() uint64 {
		var m runtime.MemStats
		runtime.GC()
		runtime.ReadMemStats(&m)
		return m.HeapAlloc
	}
	scrape := func(n int) {
		for range n {
			req, err := http.NewRequestWithContext(t.Context(), "GET", "/metrics", nil)
			if err != nil {
				t.Fatal(err)
			}
			h.ServeHTTP(discard{}, req)
		}
	}
	scrape(100)
	before, goroutines := used(), runtime.NumGoroutine()
	scrape(rounds())
	after := used()
	t.Logf("%d bytes before, %d after %d scrapes", before, after, rounds())
	if after > before+256<<10 {
		t.Error("it grows")
	}
	if n := runtime.NumGoroutine(); n > goroutines+2 {
		t.Errorf("%d goroutines before, %d after", goroutines, n)
	}
}
