//go:build unix

package metrics_test

import (
	"context"
	"errors"
	"io"
	"net/http"
	"net/http/httptest"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"github.com/prometheus/client_golang/prometheus/promhttp"

	"shimwright/calc/quantity"
	"shimwright/calc/sheet"
	"shimwright/devices"
	"shimwright/devices/port"
	"shimwright/devices/virtual"
	"shimwright/ingest/bench"
	"shimwright/ingest/fact"
	"shimwright/ingest/journal"
	"shimwright/ingest/metrics"
)

// A pressed bench has one virtual gauge behind a pseudo-terminal, and tells when
// a press is durable.
type pressedBench struct {
	*bench.Bench
	metrics *metrics.Metrics
	gauge   *virtual.Gauge
	durable chan struct{}
}

func runBench(b *testing.B, counted bool) *pressedBench {
	b.Helper()
	dir := b.TempDir()
	profile := devices.Defaults()
	profile.Settle, profile.Assume = 0, quantity.MM
	profile.Parts = []devices.Part{devices.Sign{}, devices.Figure{}}
	p := &pressedBench{durable: make(chan struct{}, 1)}
	var err error
	if p.gauge, err = virtual.New(profile, filepath.Join(dir, "D07")); err != nil {
		b.Fatal(err)
	}
	b.Cleanup(func() { _ = p.gauge.Close() })
	j, err := journal.Open(filepath.Join(dir, "a.journal"), journal.Options{Bench: "bay 2", Run: "r1", Now: time.Now, Rows: fact.Rows()})
	if err != nil {
		b.Fatal(err)
	}
	b.Cleanup(func() { _ = j.Close() })
	p.metrics, err = metrics.New(b.Context(), metrics.Config{Bay: "bay 2", Gauges: []string{"D07"}, Sheets: []*sheet.Sheet{fw3(b)},
		Program: "test", Now: time.Now, Journal: j.Reader, Room: func() (int64, error) { return metrics.Room(j.Path()) }})
	if err != nil {
		b.Fatal(err)
	}
	onFact := func(r bench.Recorded) {
		if counted {
			p.metrics.Fact(r)
		}
		if _, ok := r.Fact.(fact.Pressed); ok {
			p.durable <- struct{}{}
		}
	}
	p.Bench, err = bench.Open(b.Context(), j, bench.Config{Name: "bay 2", Now: time.Now, OnFact: onFact,
		Gauges: []bench.Gauge{{ID: "D07", Kind: "depth gauge", Profile: profile, Find: port.Find{Path: filepath.Join(dir, "D07")}}},
		Ports:  port.System(func() ([]port.Listed, error) { return nil, nil }),
		Sheets: func(string) ([]byte, error) { return nil, errors.New("none") }})
	if err != nil {
		b.Fatal(err)
	}
	p.metrics.Watch(p.Bench)
	ctx, stop := context.WithCancel(context.Background())
	done := make(chan error, 1)
	go func() { done <- p.Run(ctx) }()
	b.Cleanup(func() {
		stop()
		if err := <-done; err != nil {
			b.Error(err)
		}
	})
	woken, end := p.Bench.Watch()
	defer end()
	for p.Snapshot().Gauges[0].State != string(port.StateConnected) {
		<-woken
	}
	return p
}

// BenchmarkPress is a press from the button to being durable and counted:
// without metrics, with them, and with a scraper that asks ten times a second.
func BenchmarkPress(b *testing.B) {
	for name, counted := range map[string]bool{"without": false, "with": true, "scraped": true} {
		b.Run(name, func(b *testing.B) {
			p := runBench(b, counted)
			v, err := quantity.ParseWithUnit("31.90 mm")
			if err != nil {
				b.Fatal(err)
			}
			stop := make(chan struct{})
			stopped := make(chan struct{})
			go func() {
				defer close(stopped)
				h := promhttp.HandlerFor(p.metrics.Gatherer(), promhttp.HandlerOpts{})
				every := time.NewTicker(100 * time.Millisecond)
				defer every.Stop()
				for {
					select {
					case <-stop:
						return
					case <-every.C:
						if name != "scraped" {
							continue
						}
						h.ServeHTTP(discard{}, &http.Request{Method: "GET", Header: http.Header{}})
					}
				}
			}()
			for b.Loop() {
				if err := p.gauge.Press(v); err != nil {
					b.Fatal(err)
				}
				<-p.durable
			}
			close(stop)
			<-stopped
		})
	}
}

// BenchmarkScrapeUnderPresses is one answer over a connection of its own while the
// bench's gauge is pressed again as soon as a press is durable. Wanted: under 20 ms.
func BenchmarkScrapeUnderPresses(b *testing.B) {
	p := runBench(b, true)
	v, err := quantity.ParseWithUnit("31.90 mm")
	if err != nil {
		b.Fatal(err)
	}
	ctx, stop := context.WithCancel(b.Context())
	pressed, presses := make(chan error, 1), 0
	go func() {
		for ctx.Err() == nil {
			if err := p.gauge.Press(v); err != nil {
				pressed <- err
				return
			}
			<-p.durable
			presses++
		}
		pressed <- nil
	}()
	srv := httptest.NewServer(p.metrics.Handler())
	defer srv.Close()
	c := &http.Client{Transport: &http.Transport{DisableKeepAlives: true}}
	var took []time.Duration
	began := time.Now()
	for b.Loop() {
		at := time.Now()
		resp, err := c.Get(srv.URL + "/metrics")
		if err != nil {
			b.Fatal(err)
		}
		n, err := io.Copy(io.Discard, resp.Body)
		_ = resp.Body.Close()
		if err != nil || resp.StatusCode != http.StatusOK {
			b.Fatal(resp.Status, err)
		}
		b.SetBytes(n)
		took = append(took, time.Since(at))
	}
	all := time.Since(began)
	stop()
	if err := <-pressed; err != nil {
		b.Fatal(err)
	}
	slices.Sort(took)
	b.ReportMetric(float64(took[len(took)*99/100].Microseconds())/1000, "ms-p99")
	b.ReportMetric(float64(took[len(took)-1].Microseconds())/1000, "ms-most")
	b.ReportMetric(float64(presses)/all.Seconds(), "presses/s")
}

// discard takes an answer and throws it away.
type discard struct{}

func (discard) Header() http.Header         { return http.Header{} }
func (discard) WriteHeader(int)             {}
func (discard) Write(b []byte) (int, error) { return io.Discard.Write(b) }

// BenchmarkFact is what counting one press takes on the bench's goroutine.
func BenchmarkFact(b *testing.B) {
	r := newRig(b)
	r.tell("job/0001", opened(false))
	f := bench.Recorded{Stored: journal.Stored{Record: journal.Record{Subject: "job/0001", Kind: "pressed"}},
		Fact: pressed("D07", "wheel pack", fact.Held, "31.90 mm from D07 misses 1 mm .. 2 mm, which the step \"wheel pack\" wants.")}
	for b.Loop() {
		f.Stored.UTC = f.Stored.UTC.Add(time.Microsecond)
		r.Fact(f)
	}
}

// BenchmarkScrape is one answer to a scraper, of a bench after a full day.
func BenchmarkScrape(b *testing.B) {
	r := newRig(b)
	r.aDay()
	h := promhttp.HandlerFor(r.Gatherer(), promhttp.HandlerOpts{})
	for b.Loop() {
		h.ServeHTTP(discard{}, &http.Request{Method: "GET", Header: http.Header{}})
	}
}
