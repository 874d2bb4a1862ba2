package board

import (
	"context"
	"errors"
	"fmt"
	"os"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"shimwright/calc/quantity"
	"shimwright/calc/ring"
	"shimwright/calc/sheet"
	"shimwright/devices"
	"shimwright/ingest/fact"
	"shimwright/ingest/job"
	"shimwright/ingest/register"
	"shimwright/ingest/store"
)

const sheetFile = "../../cmd/shimwright/sheets/fw3.yaml"

// now is an invented day.
func now() time.Time { return time.Date(2026, 3, 4, 14, 2, 11, 0, time.UTC) }

// memory is a source made of facts and their rows, as a journal has them.
type memory struct {
	t     testing.TB
	text  string
	sheet *sheet.Sheet

	mu        sync.Mutex
	seq       int64
	jobs      []store.Job
	judged    []store.Judgement
	facts     map[string][]numbered
	decisions []Decision
	changed   map[string]int64
	register  *register.Register
	regAt     int64
	fails     error
	shop      bool // of many benches
	notes     []Note
	block     chan struct{} // Used waits for it, or for its context
}

type numbered struct {
	seq  int64
	fact fact.Fact
}

func newMemory(t testing.TB) *memory {
	t.Helper()
	text, err := os.ReadFile(sheetFile)
	if err != nil {
		t.Fatal(err)
	}
	s, err := sheet.Read("fw3", text)
	if err != nil {
		t.Fatal(err)
	}
	return &memory{t: t, text: string(text), sheet: s, facts: map[string][]numbered{}, changed: map[string]int64{}, register: register.New()}
}

func (m *memory) benchOf(id string) string {
	for _, j := range m.jobs {
		if j.ID == id {
			return j.Bench
		}
	}
	return ""
}

func (m *memory) put(id string, f fact.Fact, at time.Time) int64 {
	m.seq++
	m.facts[id] = append(m.facts[id], numbered{m.seq, f})
	m.changed[id] = m.seq
	switch f.(type) {
	case fact.OnHold, fact.Lifted, fact.Conceded:
		m.decisions = append(m.decisions, Decision{m.benchOf(id), m.seq, id, at, f})
	case fact.Pressed:
		if f.(fact.Pressed).Keyed() {
			m.decisions = append(m.decisions, Decision{m.benchOf(id), m.seq, id, at, f})
		}
	}
	return m.seq
}

// open opens a job some hours before now.
func (m *memory) open(id, bay, serial string, hours int) {
	m.mu.Lock()
	defer m.mu.Unlock()
	at := now().Add(-time.Duration(hours) * time.Hour)
	head := fact.Opened{Drive: m.sheet.Title, Serial: serial, Sheet: "fw3", Issue: 1, Digest: "d1", Text: m.text}
	m.put(id, head, at)
	m.jobs = append(m.jobs, store.Job{Bench: bay, ID: id, Drive: head.Drive, Serial: serial, Sheet: "fw3", Issue: 1, Digest: "d1", Opened: at, State: store.Open})
}

func (m *memory) end(id string, as store.State) {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.seq++
	m.changed[id] = m.seq
	for i := range m.jobs {
		if m.jobs[i].ID == id {
			m.jobs[i].State, m.jobs[i].Ended = as, m.jobs[i].Opened.Add(3*time.Hour)
		}
	}
}

func (m *memory) training(id string) {
	for i := range m.jobs {
		if m.jobs[i].ID == id {
			m.jobs[i].Training = true
		}
	}
	for i := range m.judged {
		if m.judged[i].Job == id {
			m.judged[i].Training = true
		}
	}
}

// ring judges a ring of figures in mm, as the bench does.
func (m *memory) ring(id string, build int, figures ...string) {
	m.mu.Lock()
	defer m.mu.Unlock()
	limit := quantity.MustExact("0.05")
	in := ring.Input{Band: ring.Band{Low: quantity.MustExact("0.15"), High: quantity.MustExact("0.25")}, SpreadLimit: &limit, U: quantity.MustExact("0.01")}
	j := fact.Judged{Step: "backlash", What: sheet.Backlash, Low: "0.15", High: "0.25", Uncertainty: "0.01", Build: build}
	for i, f := range figures {
		angle := quantity.MustExact(fmt.Sprint(i * 90))
		in.Points = append(in.Points, ring.Point{Angle: angle, Repeats: []quantity.Exact{quantity.MustExact(f)}})
		j.Points = append(j.Points, fmt.Sprintf("%d deg %s", i*90, f))
	}
	res, err := ring.Judge(in)
	if err != nil {
		m.t.Fatal(err)
	}
	worst := res.SpreadVerdict
	for _, p := range res.Points {
		worst = max(worst, p.Verdict)
	}
	j.Verdict = worst.String()
	j.Mean, j.Spread = res.Mean.Value().String(), res.Spread.String()
	j.Words = fmt.Sprintf("normal backlash, mean %s, spread %s of 0.050 mm allowed: %s", res.Mean.Value().ShowUnit(quantity.MM, 3), res.Spread.ShowUnit(quantity.MM, 3), strings.ToUpper(j.Verdict))
	if worst > ring.Good {
		j.Advice = "wheel goes TOWARD the pinion by 0.130 mm: add 0.130 mm under the track, wheel-back side, take 0.130 mm from under the track, tooth side; setting unchanged."
	}
	m.judge(id, j)
}

func (m *memory) judge(id string, j fact.Judged) {
	i := slices.IndexFunc(m.jobs, func(o store.Job) bool { return o.ID == id })
	o := m.jobs[i]
	at := o.Opened.Add(time.Hour)
	seq := m.put(id, j, at)
	m.judged = append(m.judged, store.Judgement{Bench: o.Bench, Seq: seq, Job: id, Sheet: o.Sheet, Step: j.Step, What: j.What, Verdict: j.Verdict, Words: j.Words, Advice: j.Advice,
		Value: j.Value, Low: j.Low, High: j.High, Uncertainty: j.Uncertainty, Mean: j.Mean, Spread: j.Spread, Points: j.Points, Build: j.Build, At: at})
}

// many opens and judges jobs whose spread and mean wander a little, the newest
// an hour ago.
func (m *memory) many(n int) *memory {
	for i := range n {
		id := fmt.Sprintf("%04d", i+1)
		m.open(id, "bay 2", fmt.Sprintf("S-%d", 100+i), 1+(n-i)*5)
		a, b := (i*7)%5, (i*11)%7
		m.ring(id, 1, fmt.Sprintf("0.%d", 190+a*2), fmt.Sprintf("0.%d", 195+b*2), fmt.Sprintf("0.%d", 205+a), fmt.Sprintf("0.%d", 200+b))
		if i < n-3 {
			m.end(id, store.Signed)
		}
	}
	return m
}

func (m *memory) tell(subject string, f fact.Fact) {
	next, err := m.register.Then(subject, now().AddDate(-1, 0, 0), f)
	if err != nil {
		m.t.Fatal(err)
	}
	m.seq++
	m.register, m.regAt = next, m.seq
}

func (m *memory) Name() string { return "bay 2" }
func (m *memory) Shop() bool   { return m.shop }

func (m *memory) Jobs(_ context.Context, q store.JobQuery) ([]store.Job, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	var out []store.Job
	for _, j := range m.jobs {
		switch {
		case q.State != "" && j.State != q.State, q.Sheet != "" && j.Sheet != q.Sheet, j.Opened.Before(q.From):
		case q.Before != nil && !j.Opened.Before(q.Before.Opened):
		default:
			out = append(out, j)
		}
	}
	slices.SortStableFunc(out, func(a, b store.Job) int { return b.Opened.Compare(a.Opened) })
	return out[:min(len(out), store.Bounded(q.Limit))], m.fails
}

func (m *memory) Judgements(_ context.Context, q store.JudgementQuery) ([]store.Judgement, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	var out []store.Judgement
	for _, j := range slices.Backward(m.judged) {
		if (q.Job == "" || j.Job == q.Job) && (q.Sheet == "" || j.Sheet == q.Sheet) && (q.What == "" || j.What == q.What) {
			out = append(out, j)
		}
	}
	return out[:min(len(out), store.Bounded(q.Limit))], nil
}

func (m *memory) Since(_ context.Context, after int64) (Since, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	out := Since{Newest: m.seq, Register: m.regAt > after}
	for id, at := range m.changed {
		if at > after {
			out.Jobs = append(out.Jobs, store.Job{Bench: m.benchOf(id), ID: id})
		}
	}
	return out, m.fails
}

func (m *memory) Decisions(_ context.Context, after int64) ([]Decision, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	var out []Decision
	for _, d := range slices.Backward(m.decisions) {
		if d.Seq > after {
			out = append(out, d)
		}
	}
	return out, nil
}

func (m *memory) Registers(context.Context) ([]Registered, bool, error) {
	return []Registered{{"bay 2", m.register}}, m.shop, nil
}

func (m *memory) Notes(context.Context) ([]Note, error) { return m.notes, nil }

func (m *memory) Over(_ context.Context, of store.Job) (bool, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	for _, j := range m.jobs {
		if j.ID == of.ID {
			return j.State != store.Open, nil
		}
	}
	return false, errors.New("there is no job " + of.ID)
}

func (m *memory) Opened(_ context.Context, of store.Job) (fact.Opened, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	if all := m.facts[of.ID]; len(all) > 0 {
		return all[0].fact.(fact.Opened), nil
	}
	return fact.Opened{}, errors.New("there is no job " + of.ID)
}

func (m *memory) Job(_ context.Context, of store.Job) (*job.Job, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	all := m.facts[of.ID]
	if len(all) == 0 {
		return nil, errors.New("there is no job " + of.ID)
	}
	j, err := job.Begin(of.ID, all[0].seq, all[0].fact.(fact.Opened))
	for _, f := range all[1:] {
		if err != nil {
			break
		}
		j, err = j.Then(f.seq, f.fact)
	}
	return j, err
}

func (m *memory) Used(ctx context.Context, name string, from, _ time.Time) (register.Trace, error) {
	if m.block != nil {
		select {
		case <-m.block:
		case <-ctx.Done():
			return register.Trace{}, ctx.Err()
		}
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	var out register.Trace
	for _, j := range m.jobs {
		u := register.Use{Job: j, First: j.Opened}
		for _, f := range m.facts[j.ID] {
			if p, ok := f.fact.(fact.Pressed); ok && p.Gauge == name && !j.Opened.Before(from) {
				u.Presses++
			}
		}
		if u.Presses > 0 {
			out.Jobs = append(out.Jobs, u)
		}
	}
	return out, nil
}

// press is a press on a gauge at a step, or a keyed one.
func (m *memory) press(id, step, gauge, kind, value, raw string) {
	m.mu.Lock()
	defer m.mu.Unlock()
	v, err := quantity.ParseWithUnit(value)
	if err != nil {
		m.t.Fatal(err)
	}
	f := fact.Pressed{Step: step, Gauge: gauge, GaugeKind: kind, Value: &v, UnitStated: true, Raw: []byte(raw), Arrived: now().Add(-time.Hour), Source: devices.SourceGauge, Outcome: fact.Taken,
		Sentence: value + " from " + gauge + " at " + step + "."}
	if gauge == "keyed" {
		f.Source, f.Raw, f.Reason = devices.SourceKeyed, nil, "the cable is broken"
	}
	m.put(id, f, now().Add(-time.Hour))
}

// shop is a shop with a bit of everything: what the goldens show.
func shop(t testing.TB) *memory {
	m := newMemory(t).many(30)
	m.open("0041", "bay 3", "T-0417", 3)
	m.ring("0041", 4, "0.16", "0.22", "0.30", "0.24")
	m.open("0042", "bay 2", "T-0420", 2)
	m.ring("0042", 2, "0.34", "0.33", "0.35", "0.34")
	m.open("0043", "bay 1", "T-0421", 1)
	m.ring("0043", 2, "0.34", "0.33", "0.35", "0.34")
	m.ring("0043", 3, "0.21", "0.20", "0.22", "0.21")
	m.open("0044", "bay 1", "T-0422", 0)
	m.press("0044", "pinion face height", "D07", "depth gauge", "33.38 mm", "+33.38mm\r")
	m.press("0044", "pinion head", "keyed", "", "42.37 mm", "")
	m.mu.Lock()
	defer m.mu.Unlock()
	ab := fact.Signature{Initials: "AB", By: fact.ByPIN}
	m.put("0044", fact.AtWork{By: ab}, now())
	m.put("0042", fact.OnHold{Step: "backlash", Reason: "wheel looks burnt, lead to see it", By: ab}, now().Add(-time.Hour))
	m.put("0043", fact.Conceded{Step: "backlash", What: sheet.Backlash, Limit: "0.15 .. 0.25", Found: "mean 0.340 mm", Reason: "agreed with the owner", By: ab}, now().Add(-time.Hour))
	due := func(days int) fact.Certificate {
		return fact.Certificate{Number: "C-1", Due: fact.DayOf(now().AddDate(0, 0, days))}
	}
	m.tell("gauge/D07", fact.GaugeCertified{GaugeKind: "depth gauge", Certificate: due(4)})
	m.tell("gauge/I03", fact.GaugeCertified{GaugeKind: "dial indicator", Certificate: due(200)})
	m.tell("gauge/M02", fact.GaugeCertified{GaugeKind: "micrometer", Certificate: due(-3)})
	return m
}
