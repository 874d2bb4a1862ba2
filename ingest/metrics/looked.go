package metrics

import (
	"slices"

	"github.com/prometheus/client_golang/prometheus"

	"shimwright/devices/port"
	"shimwright/ingest/bench"
	"shimwright/ingest/fact"
)

// looked is what is read off the bench's newest snapshot when it is asked for.
type looked struct {
	m *Metrics

	connected, battery, age, due, frames, bad, reconnects, trouble, room, shop, queue, lag *prometheus.Desc
}

func newLooked(m *Metrics) *looked {
	desc := func(name, help string, labels ...string) *prometheus.Desc {
		return prometheus.NewDesc("shimwright_"+name, help, labels, nil)
	}
	return &looked{
		m:          m,
		connected:  desc("connected", "1 while the gauge's port is open, 0 while it is not.", "gauge"),
		battery:    desc("battery_low", "1 where the gauge's last press said that its battery is low.", "gauge"),
		age:        desc("last_press_age_seconds", "How long ago the gauge's last good frame arrived, by the bench's clock.", "gauge"),
		due:        desc("calibration_due_seconds", "How long the gauge's certificate still holds; below nought since when it does not.", "gauge"),
		frames:     desc("frames_total", "Good frames from the gauge.", "gauge"),
		bad:        desc("bad_frames_total", "Bad frames from the gauge, by what was wrong.", "gauge", "reason"),
		reconnects: desc("reconnects_total", "How often the gauge's port was opened again.", "gauge"),
		trouble:    desc("bench_trouble", "1 while the last press or command could not be recorded or worked, as the bench's screen says."),
		room:       desc("journal_free_bytes", "Bytes that are free for the journal on its disk."),
		shop:       desc("relay_connected", "1 while the relay is connected to the shop."),
		queue:      desc("relay_queue_facts", "Facts that the relay has not shipped yet."),
		lag:        desc("relay_lag_seconds", "How old the oldest fact is that the relay has not shipped; 0 where there is none."),
	}
}

// Describe lists what may be collected.
func (l *looked) Describe(out chan<- *prometheus.Desc) {
	for _, d := range []*prometheus.Desc{l.connected, l.battery, l.age, l.due, l.frames, l.bad, l.reconnects, l.trouble, l.room, l.shop, l.queue, l.lag} {
		out <- d
	}
}

// Collect reads the newest snapshot.
func (l *looked) Collect(out chan<- prometheus.Metric) {
	if state := l.m.relay.Load(); state != nil {
		now := (*state)()
		out <- prometheus.MustNewConstMetric(l.shop, prometheus.GaugeValue, oneIf(now.Connected))
		out <- prometheus.MustNewConstMetric(l.queue, prometheus.GaugeValue, float64(now.Queue))
		out <- prometheus.MustNewConstMetric(l.lag, prometheus.GaugeValue, now.Lag.Seconds())
	}
	if free, err := l.m.cfg.Room(); err == nil {
		out <- prometheus.MustNewConstMetric(l.room, prometheus.GaugeValue, float64(free))
	}
	b := l.m.bench.Load()
	if b == nil {
		return
	}
	s := (*b).Snapshot()
	out <- prometheus.MustNewConstMetric(l.trouble, prometheus.GaugeValue, oneIf(s.Trouble != "" || s.Failing))
	for _, g := range s.Gauges {
		if l.m.gauges[g.ID] {
			l.gauge(out, g)
		}
	}
}

func (l *looked) gauge(out chan<- prometheus.Metric, g bench.GaugeState) {
	put := func(d *prometheus.Desc, kind prometheus.ValueType, v float64, more ...string) {
		out <- prometheus.MustNewConstMetric(d, kind, v, append([]string{g.ID}, more...)...)
	}
	open := []port.State{port.StateConnected, port.StateQuiet}
	put(l.connected, prometheus.GaugeValue, oneIf(slices.Contains(open, port.State(g.State))))
	put(l.battery, prometheus.GaugeValue, oneIf(g.Battery))
	now := l.m.cfg.Now()
	if age, ok := g.Counts.Age(now); ok {
		put(l.age, prometheus.GaugeValue, max(0, age.Seconds()))
	}
	if due, ok := l.m.dueAt(g.ID); ok {
		put(l.due, prometheus.GaugeValue, due.Sub(now).Seconds())
	}
	put(l.frames, prometheus.CounterValue, float64(g.Counts.Good))
	put(l.reconnects, prometheus.CounterValue, float64(g.Counts.Reconnects()))
	for reason, n := range l.badOf(g) {
		put(l.bad, prometheus.CounterValue, float64(n), reason)
	}
}

// badOf is a gauge's bad frames by their reason as a label, those that never came
// too.
func (l *looked) badOf(g bench.GaugeState) map[string]int {
	out := map[string]int{}
	for _, r := range fact.FrameReasons() {
		out[string(r)] = 0
	}
	for r, n := range g.Counts.Bad {
		out[frameReason(r)] += n
	}
	return out
}

func oneIf(yes bool) float64 {
	if yes {
		return 1
	}
	return 0
}
