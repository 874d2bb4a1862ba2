package metrics

import (
	"maps"
	"math"
	"slices"
	"strconv"
	"time"

	"github.com/prometheus/client_golang/prometheus"

	"shimwright/calc/ring"
	"shimwright/calc/sheet"
	"shimwright/ingest/fact"
	"shimwright/ingest/journal"
	"shimwright/ingest/store"
)

// work is an open job as far as it is counted by.
type work struct {
	sheet    string // as a label
	steps    stages // of its sheet; nil where that is not of this bench
	opened   time.Time
	training bool
	stage    string    // as a label
	since    time.Time // when it came to the stage
	fitted   map[string]bool
	rings    map[string]int      // by step: the build state last judged
	holds    map[int64]time.Time // when each was placed
}

// stageOf is a step's stage as a label.
func (w *work) stageOf(step string) string {
	if s, ok := w.steps[step]; ok {
		return s
	}
	return other
}

func (w *work) label() string {
	if w.training {
		return "yes"
	}
	return "no"
}

// ofJob counts a fact of a job.
func (m *Metrics) ofJob(id string, s journal.Stored, f fact.Fact) {
	if f, ok := f.(fact.Opened); ok {
		m.begin(id, s.UTC, f)
		return
	}
	w := m.jobs[id]
	if w == nil {
		return
	}
	if step := workedAt(f); step != "" {
		m.moveTo(w, w.stageOf(step), s.UTC)
	}
	switch f := f.(type) {
	case fact.Pressed:
		w.training = w.training || f.Virtual()
	case fact.Fitted:
		m.fit(w, f.Step)
	case fact.Judged:
		w.training = w.training || f.Training
		m.ring(w, f)
	case fact.OnHold:
		if len(w.holds) < mostJobs {
			w.holds[s.Seq] = s.UTC
			m.held(w.sheet)
		}
	case fact.Lifted:
		delete(w.holds, f.Hold)
		m.held(w.sheet)
	case fact.Signed:
		if f.Ends {
			m.end(id, w, store.Signed, s.UTC)
		}
	case fact.Finished:
		m.end(id, w, store.Finished, s.UTC)
	case fact.Abandoned:
		m.end(id, w, store.Abandoned, s.UTC)
	}
}

func (m *Metrics) begin(id string, at time.Time, f fact.Opened) {
	w := &work{sheet: other, opened: at, training: f.Training, stage: notBegun,
		fitted: map[string]bool{}, rings: map[string]int{}, holds: map[int64]time.Time{}}
	if steps, ok := m.sheets[f.Sheet]; ok {
		w.sheet, w.steps = f.Sheet, steps
	}
	m.opened.WithLabelValues(w.sheet, w.label()).Inc()
	if m.jobs[id] != nil || len(m.jobs) >= mostJobs {
		return
	}
	m.jobs[id] = w
	m.open.WithLabelValues(w.sheet, w.stage).Inc()
}

// moveTo goes on to a stage, and tells how long the job was at the one before.
func (m *Metrics) moveTo(w *work, stage string, at time.Time) {
	if stage == w.stage {
		return
	}
	m.leave(w, at)
	w.stage, w.since = stage, at
	m.open.WithLabelValues(w.sheet, stage).Inc()
}

func (m *Metrics) leave(w *work, at time.Time) {
	m.open.WithLabelValues(w.sheet, w.stage).Dec()
	if w.stage != notBegun {
		observe(m.stageTime, at.Sub(w.since).Seconds(), w.sheet, w.stage)
	}
}

// held counts a sheet's open holds anew.
func (m *Metrics) held(label string) {
	n, oldest := 0, time.Time{}
	for _, w := range m.jobs {
		if w.sheet != label {
			continue
		}
		n += len(w.holds)
		for _, at := range w.holds {
			if oldest.IsZero() || at.Before(oldest) {
				oldest = at
			}
		}
	}
	m.holds.WithLabelValues(label).Set(float64(n))
	if n == 0 {
		m.oldest.DeleteLabelValues(label)
		return
	}
	m.oldest.WithLabelValues(label).Set(float64(oldest.UnixMilli()) / 1000)
}

// observe leaves out what cannot be: a time below nought, where the clock was
// set back; a figure that is no number.
func observe(h *prometheus.HistogramVec, v float64, labels ...string) {
	if v >= 0 && !math.IsInf(v, 0) {
		h.WithLabelValues(labels...).Observe(v)
	}
}

func (m *Metrics) fit(w *work, step string) {
	if w.steps[step] == "" {
		return
	}
	if w.fitted[step] {
		m.reshims.WithLabelValues(w.sheet, w.label()).Inc()
	}
	w.fitted[step] = true
}

// ring counts a backlash ring that was judged against limits. One build state
// counts once, by its first verdict: what is measured again without metal changed
// is no new ring.
func (m *Metrics) ring(w *work, f fact.Judged) {
	if f.What != sheet.Backlash || f.Mean == "" || w.steps[f.Step] == "" {
		return
	}
	verdict := verdictOf(f.Verdict)
	if verdict == "" {
		return
	}
	build, before := w.rings[f.Step]
	if before && build == f.Build {
		return
	}
	w.rings[f.Step] = f.Build
	pass := firstRing
	if before {
		pass = laterRing
	}
	m.rings.WithLabelValues(w.sheet, w.label(), pass, verdict).Inc()
	observe(m.mean, meters(f.Mean), w.sheet, w.label())
	observe(m.spread, meters(f.Spread), w.sheet, w.label())
}

// A ring's pass as a label.
const (
	firstRing = "first"
	laterRing = "again"
)

// verdicts are those against limits.
func verdicts() []ring.Verdict {
	return []ring.Verdict{ring.Good, ring.TooClose, ring.OutLow, ring.OutHigh, ring.NotGood}
}

// verdictOf is a verdict against limits as a label; "" for any other.
func verdictOf(word string) string {
	for _, v := range verdicts() {
		if word == v.String() {
			return word
		}
	}
	return ""
}

// meters reads a judgement's length, a decimal in millimetres; no number where it
// is none.
func meters(mm string) float64 {
	v, err := strconv.ParseFloat(mm, 64)
	if err != nil {
		return math.NaN()
	}
	return v / 1000
}

func (m *Metrics) end(id string, w *work, how store.State, at time.Time) {
	m.ended.WithLabelValues(w.sheet, string(how)).Inc()
	if how != store.Abandoned {
		observe(m.jobTime, at.Sub(w.opened).Seconds(), w.sheet, w.label())
		if w.stage != notBegun {
			observe(m.stageTime, at.Sub(w.since).Seconds(), w.sheet, w.stage)
		}
	}
	m.forget(id)
}

// forget follows a job no more.
func (m *Metrics) forget(id string) {
	w := m.jobs[id]
	if w == nil {
		return
	}
	delete(m.jobs, id)
	m.open.WithLabelValues(w.sheet, w.stage).Dec()
	m.held(w.sheet)
}

// workedAt is the step that a fact shows to be worked at: what is put in, and the
// zero checked or the bearings rolled before it is.
func workedAt(f fact.Fact) string {
	switch f := f.(type) {
	case fact.Zeroed:
		return f.Step
	case fact.NeedSaid:
		return f.Step
	}
	return fact.StepOf(f)
}

// backlashBand is the width in metres of the narrowest band that a sheet judges
// backlash by; false where it judges none by a band of its own.
func backlashBand(s *sheet.Sheet) (meters float64, ok bool) {
	for _, stage := range s.Stages {
		for _, st := range stage.Steps {
			if st.Check == nil || st.Check.What != sheet.Backlash || st.Check.Band == nil {
				continue
			}
			bands := slices.Collect(maps.Values(st.Check.Band.ByAnswer))
			if b := st.Check.Band.Fixed; b != nil {
				bands = append(bands, *b)
			}
			for _, b := range bands {
				if width := b.High.Exact().Sub(b.Low.Exact()).Float() / 1000; !ok || width < meters {
					meters, ok = width, true
				}
			}
		}
	}
	return meters, ok
}
