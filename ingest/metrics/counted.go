package metrics

import (
	"time"

	"github.com/prometheus/client_golang/prometheus"
)

// counted is what grows with facts.
type counted struct {
	presses, opened, ended, reshims, rings *prometheus.CounterVec
	open, holds, oldest, band              *prometheus.GaugeVec
	jobTime, stageTime, mean, spread       *prometheus.HistogramVec
	commits                                prometheus.Histogram
}

func newCounted() counted {
	counter := func(name, help string, labels ...string) *prometheus.CounterVec {
		return prometheus.NewCounterVec(prometheus.CounterOpts{Name: "shimwright_" + name, Help: help}, labels)
	}
	gauge := func(name, help string, labels ...string) *prometheus.GaugeVec {
		return prometheus.NewGaugeVec(prometheus.GaugeOpts{Name: "shimwright_" + name, Help: help}, labels)
	}
	histogram := func(name, help string, buckets []float64, labels ...string) *prometheus.HistogramVec {
		return prometheus.NewHistogramVec(both(name, help, buckets), labels)
	}
	return counted{
		presses: counter("presses_total", "Presses recorded, by what they came to at once and why they did not count.", "gauge", "outcome", "reason"),
		opened:  counter("jobs_opened_total", "Jobs opened.", "sheet", "training"),
		ended:   counter("jobs_ended_total", "Jobs ended: signed, finished as training, or abandoned.", "sheet", "how"),
		reshims: counter("reshims_total", "Packs fitted anew in a job in which they had been fitted before.", "sheet", "training"),
		rings: counter("rings_total", "Backlash rings judged, one a build state, by whether it was the job's first and by its first verdict.",
			"sheet", "training", "pass", "verdict"),
		open:  gauge("jobs_open", "Open jobs, by the stage last worked at.", "sheet", "stage"),
		holds: gauge("holds_open", "Holds of steps and of whole jobs that are not lifted.", "sheet"),
		oldest: gauge("oldest_hold_timestamp_seconds", "When the oldest hold was placed that is not lifted, by the bench's clock; none where none is open.",
			"sheet"),
		band: gauge("backlash_band_width_meters", "Width of the narrowest band that the sheet judges backlash by.", "sheet"),
		jobTime: histogram("job_duration_seconds", "From opening a job to signing or finishing it, nights included.",
			times(10*time.Minute, 30*time.Minute, time.Hour, 2*time.Hour, 4*time.Hour, 8*time.Hour, 16*time.Hour, 24*time.Hour, 48*time.Hour, 7*24*time.Hour),
			"sheet", "training"),
		stageTime: histogram("stage_duration_seconds", "From the first entry at a stage to the first at another or the job's end; each return counts anew.",
			times(30*time.Second, 2*time.Minute, 5*time.Minute, 10*time.Minute, 20*time.Minute, 40*time.Minute, time.Hour, 2*time.Hour, 4*time.Hour, 24*time.Hour),
			"sheet", "stage"),
		// From a fine pair's backlash to a worn one's (chosen, no source).
		mean: histogram("backlash_mean_meters", "Mean backlash of each ring judged.",
			[]float64{25e-6, 50e-6, 100e-6, 150e-6, 200e-6, 250e-6, 300e-6, 400e-6, 600e-6, 1e-3}, "sheet", "training"),
		spread: histogram("backlash_spread_meters", "Spread of backlash round each ring judged, most less least.",
			[]float64{5e-6, 10e-6, 20e-6, 30e-6, 50e-6, 75e-6, 100e-6, 150e-6, 200e-6, 400e-6}, "sheet", "training"),
		// A commit is an fsync: 0.1 ms on a good disk, a hundred times that on a poor one.
		commits: prometheus.NewHistogram(both("commit_duration_seconds", "From giving the journal a transaction to having it durable.",
			[]float64{50e-6, 100e-6, 250e-6, 500e-6, 1e-3, 2.5e-3, 5e-3, 10e-3, 25e-3, 100e-3, 1})),
	}
}

// both is a histogram with fixed buckets for every scraper, and with the finer
// ones that those who ask for the protocol-buffer form get.
func both(name, help string, buckets []float64) prometheus.HistogramOpts {
	return prometheus.HistogramOpts{Name: "shimwright_" + name, Help: help, Buckets: buckets,
		NativeHistogramBucketFactor: 1.1, NativeHistogramMaxBucketNumber: 100, NativeHistogramMinResetDuration: time.Hour}
}

// times are bucket bounds in seconds.
func times(all ...time.Duration) []float64 {
	var out []float64
	for _, d := range all {
		out = append(out, d.Seconds())
	}
	return out
}

func (c counted) all() []prometheus.Collector {
	return []prometheus.Collector{c.presses, c.opened, c.ended, c.reshims, c.rings, c.open, c.holds, c.oldest, c.band,
		c.jobTime, c.stageTime, c.mean, c.spread, c.commits}
}

// reset forgets all but how things stand.
func (c counted) reset() {
	for _, v := range []*prometheus.CounterVec{c.presses, c.opened, c.ended, c.reshims, c.rings} {
		v.Reset()
	}
	for _, v := range []*prometheus.HistogramVec{c.jobTime, c.stageTime, c.mean, c.spread} {
		v.Reset()
	}
}
