package record

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"shimwright/calc/quantity"
	"shimwright/calc/ring"
	"shimwright/calc/sheet"
	"shimwright/devices"
	"shimwright/ingest/carried"
	"shimwright/ingest/fact"
	"shimwright/ingest/journal"
)

// A maker makes a job's facts in a real journal, on a clock of its own.
type maker struct {
	t       testing.TB
	journal *journal.Journal
	at      time.Time
	id      string
	sheet   *sheet.Sheet
	source  devices.Source
	drawn   map[string]bool
	known   map[string]bool   // gauges that the job was told of
	judged  map[string]string // by step, in words
	pressed int64             // the last press
}

func read(t testing.TB, path ...string) []byte {
	t.Helper()
	b, err := os.ReadFile(filepath.Join(path...))
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func newMaker(t testing.TB, id string, source devices.Source, head fact.Opened) *maker {
	t.Helper()
	m := &maker{t: t, id: id, source: source, drawn: map[string]bool{}, known: map[string]bool{}, judged: map[string]string{}, at: time.Date(2026, 2, 3, 8, 30, 0, 0, time.UTC)}
	s, err := sheet.Read(head.Sheet, []byte(head.Text))
	if err != nil {
		t.Fatal(err)
	}
	m.sheet = s
	sum := sha256.Sum256([]byte(head.Text))
	head.Sheet, head.Issue, head.Digest = s.ID, s.Issue, hex.EncodeToString(sum[:])
	if head.Drive == "" {
		head.Drive = s.Title
	}
	path := filepath.Join(t.TempDir(), "bay.journal")
	m.journal, err = journal.Open(path, journal.Options{Bench: "bay 2", Run: "run-1", Now: func() time.Time { return m.at }})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = m.journal.Close() })
	m.add(head)
	return m
}

func (m *maker) about(subject string, f fact.Fact) int64 {
	m.t.Helper()
	m.at = m.at.Add(7 * time.Second)
	r, err := fact.Encode(subject, f)
	if err != nil {
		m.t.Fatal(err)
	}
	got, err := m.journal.Append(context.Background(), r)
	if err != nil {
		m.t.Fatal(err)
	}
	if _, ok := f.(fact.Pressed); ok {
		m.pressed = got[0].Seq
	}
	return got[0].Seq
}

func (m *maker) add(f fact.Fact) int64 { m.t.Helper(); return m.about("job/"+m.id, f) }

func (m *maker) job() carried.Job {
	m.t.Helper()
	j, err := carried.Load(context.Background(), m.journal.Reader, m.id)
	if err != nil {
		m.t.Fatal(err)
	}
	return j
}

// press is one press as a gauge sends it.
func (m *maker) press(step, spot, gauge, kind, value string, pieces ...string) fact.Pressed {
	m.t.Helper()
	v, err := quantity.ParseWithUnit(value)
	if err != nil {
		m.t.Fatal(err)
	}
	return fact.Pressed{Step: step, Spot: spot, Gauge: gauge, GaugeKind: kind, Value: &v, UnitStated: true,
		Raw: []byte("+" + strings.ReplaceAll(value, " ", "") + "\r"), Arrived: m.at.Add(6 * time.Second), Source: m.source,
		Pieces: pieces, Outcome: fact.Taken, Sentence: fmt.Sprintf("%s from %s at %s.", value, gauge, step)}
}

// knows tells the job of a gauge, once, as a bench does with its first press:
// its certificate, and the form of its bytes.
func (m *maker) knows(gauge string) {
	m.t.Helper()
	if m.known[gauge] {
		return
	}
	m.known[gauge] = true
	form := plainForm()
	f := fact.GaugeKnown{Gauge: gauge, Form: &form}
	if gauge != "F05" { // it has none
		f.Certificate = paperDue(m.t, "G-"+gauge, "2027-03-01")
	}
	m.add(f)
}

// plainForm is how the gauges here send: sign, figure, unit, carriage return.
func plainForm() fact.Form {
	p := devices.Defaults()
	p.Parts = []devices.Part{devices.Sign{}, devices.Figure{}, devices.UnitWord{Words: map[string]quantity.Unit{
		"mm": quantity.MM, "N": quantity.Newton, "N.m": quantity.NewtonMetre}}}
	return fact.FormOf(p, "")
}

func paperDue(t testing.TB, number, due string) fact.Certificate {
	t.Helper()
	d, err := fact.ParseDay(due)
	if err != nil {
		t.Fatal(err)
	}
	return fact.Certificate{Number: number, Due: d}
}

// send is a press that a gauge sent, of which the job knows.
func (m *maker) send(p fact.Pressed) int64 { m.t.Helper(); m.knows(p.Gauge); return m.add(p) }

// play makes the facts of a readings file's entries.
func (m *maker) play(e sheet.Entries) {
	m.t.Helper()
	trays := map[string][]fact.Leaf{}
	for name, leaves := range e.Trays {
		for _, l := range leaves {
			trays[name] = append(trays[name], fact.Leaf{Size: l.Size, Count: l.Count})
		}
	}
	m.add(fact.Offered{Trays: trays})
	for i, x := range e.List {
		m.enter(e, x)
		if i+1 == len(e.List) || e.List[i+1].Step != x.Step {
			m.judge(x.Step)
		}
	}
}

// judge stores a check's verdict as a bench does, where it is a new one.
func (m *maker) judge(step string) {
	m.t.Helper()
	st, _ := m.sheet.Step(step)
	if st == nil || st.Check == nil {
		return
	}
	w, err := walk(m.job())
	if err != nil {
		m.t.Fatal(err)
	}
	res, err := w.job.Work()
	if err != nil {
		m.t.Fatal(err)
	}
	c := res.Of(step).Check
	if c == nil || c.Verdict == ring.NotJudged || m.judged[step] == c.Words {
		return
	}
	m.judged[step] = c.Words
	f := fact.Judged{Step: step, What: st.Check.What, Verdict: c.Verdict.String(), Words: c.Words, Advice: c.Advice,
		Build: res.Build, Training: m.source == devices.SourceVirtual, Program: "test"}
	if c.Figure != nil {
		f.Value = c.Figure.Value.String()
	}
	m.add(f)
}

func (m *maker) enter(e sheet.Entries, x sheet.Entry) {
	m.t.Helper()
	switch x.Kind {
	case sheet.EntryPress:
		for _, id := range x.Pieces {
			if !m.drawn[id] {
				m.drawn[id] = true
				p := e.Pieces[id]
				f := fact.Drew{Standard: p.Standard, Piece: id, Size: p.Size, Uncertainty: p.Uncertainty, K: p.K}
				switch id {
				case "S-31":
					f.Certificate = paperDue(m.t, "2291-04", "2027-03-01")
				case "S-41":
					f.Certificate = fact.Certificate{Number: "2291-07"}
				case "E-02":
					f.Certificate = paperDue(m.t, "E 118", "2026-11-30")
				}
				m.add(f)
			}
		}
		g := e.Gauges[x.Gauge]
		p := m.press(x.Step, x.Spot, x.Gauge, g.Kind, x.Value.String(), x.Pieces...)
		p.CountsIn, p.Limit = g.CountsIn, g.Limit
		m.send(p)
	case sheet.EntryIn:
		m.add(fact.PacksIn{Step: x.Step, In: x.In})
	case sheet.EntryDigits:
		v := x.Value
		m.add(fact.Marked{Step: x.Step, Digits: &v})
	case sheet.EntryFigure:
		v := x.Value
		m.add(fact.Marked{Step: x.Step, Figure: &v})
	case sheet.EntryAbsent:
		m.add(fact.Marked{Step: x.Step, Absent: true})
	case sheet.EntryFit:
		m.add(fact.Fitted{Step: x.Step, Leaves: x.Leaves, Measured: x.Measured})
	case sheet.EntryAnswer:
		m.add(fact.Answered{Step: x.Step, Answer: x.Text})
	case sheet.EntryDone:
		m.add(fact.Confirmed{Step: x.Step})
	case sheet.EntryAgain:
		m.add(fact.Again{Step: x.Step, Reason: x.Text})
	case sheet.EntryMetal:
		m.add(fact.Changed{Step: x.Step, Lengths: x.Lengths, Reason: x.Text})
	case sheet.EntrySeen:
		m.add(fact.Seen{Step: x.Step, Marks: x.Seen})
	case sheet.EntryMove:
		m.add(fact.MoveWanted{Step: x.Step, Gear: x.Gear, By: x.Value})
	default:
		m.t.Fatalf("entry of kind %d", x.Kind)
	}
}

func fw3(t testing.TB) (string, sheet.Entries) {
	t.Helper()
	text := read(t, "..", "..", "cmd", "shimwright", "sheets", "fw3.yaml")
	s, err := sheet.Read("fw3.yaml", text)
	if err != nil {
		t.Fatal(err)
	}
	e, err := sheet.ReadEntries(s, "fw3.readings.yaml", read(t, "..", "..", "cmd", "shimwright", "demo", "fw3.readings.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	return string(text), e
}

// made keeps each job once made: a journal flushes every fact to the disk.
var made = struct {
	sync.Mutex
	jobs map[string]carried.Job
}{jobs: map[string]carried.Job{}}

func once(t testing.TB, name string, make func(testing.TB) carried.Job) carried.Job {
	t.Helper()
	made.Lock()
	defer made.Unlock()
	c, ok := made.jobs[name]
	if !ok {
		c = make(t)
		made.jobs[name] = c
	}
	c.Facts = slices.Clone(c.Facts)
	return c
}

// headOf opens a job on the small sheet.
func headOf(t testing.TB) fact.Opened {
	return fact.Opened{Serial: "C-77", Text: string(read(t, "..", "..", "testdata", "sheets", "gk1.yaml")), Rule: "simple"}
}

// smallest is a job that was only opened.
func smallest(t testing.TB) carried.Job { t.Helper(); return once(t, "smallest", makeSmallest) }

func makeSmallest(t testing.TB) carried.Job {
	return newMaker(t, "0001", devices.SourceGauge, headOf(t)).job()
}

// demo is the demonstration's job, with its slips.
func demo(t testing.TB) carried.Job { t.Helper(); return once(t, "demo", makeDemo) }

func makeDemo(t testing.TB) carried.Job {
	text, e := fw3(t)
	m := newMaker(t, "0001", devices.SourceVirtual, fact.Opened{Serial: "T-0417", Text: text, Rule: "guarded"})
	slip := m.press("pinion head", "", "D07", "depth gauge", "42.37 mm")
	slip.Outcome, slip.Sentence = fact.Aside, `That was D07, a depth gauge; the step "pinion head" wants a micrometer.`
	m.send(slip)
	no := m.press("pinion face height", "", "D07", "depth gauge", "1 mm")
	no.Value, no.Raw, no.Outcome = nil, []byte("-----\r"), fact.Aside
	no.Sentence = `From D07: no number: the gauge shows "---".`
	m.send(no)
	held := m.press("pinion face height", "", "D07", "depth gauge", "3.38 mm")
	held.Outcome, held.Sentence = fact.Held, "3.38 mm misses 31.90 mm .. 34.90 mm."
	m.add(fact.Struck{Press: m.send(held), Reason: "the foot was not on the face"})
	m.about("stock/shims", fact.LowLimit{Size: quantity.Value{}, Count: 2})
	m.play(e)
	return m.job()
}

// name300 is a name of 300 characters in three scripts, with what must not be
// let through.
func name300() string {
	s := "Ångström-Σωκράτης-Иванович \u202eEVIL\u202c \x1b[31m 漢字 "
	for len([]rune(s)) < 300 {
		s += "Überlängenwellenlagergehäusé "
	}
	return string([]rune(s)[:300])
}

// crowded is a released job with 40 superseded presses, names of 300 characters,
// a hold, a concession, a second look and three signatures.
func crowded(t testing.TB) carried.Job { t.Helper(); return once(t, "crowded", makeCrowded) }

func makeCrowded(t testing.TB) carried.Job {
	text, e := fw3(t)
	long := name300()
	m := newMaker(t, "2041", devices.SourceGauge, fact.Opened{Drive: long, Serial: long, Text: text, Rule: "guarded"})
	ab := fact.Signature{Initials: "AB", By: fact.ByPIN}
	cd := fact.Signature{Initials: "CD", By: fact.ByInitials}
	m.add(fact.AtWork{By: ab})
	for i := range 40 {
		p := m.press("pinion face height", "", "D07", "depth gauge", fmt.Sprintf("33.%02d mm", 30+i))
		switch i % 4 {
		case 0:
			p.Outcome, p.Sentence = fact.Aside, "One press counted. Lift, reseat, press again."
			m.send(p)
		case 1:
			p.Outcome, p.Sentence = fact.Held, long
			m.send(p)
		default:
			m.add(fact.Struck{Press: m.send(p), Reason: []string{"bounced", long}[i%2]})
		}
	}
	hold := m.add(fact.OnHold{Step: "backlash", Reason: "waits for the second dial", By: ab})
	m.add(fact.Lifted{Hold: hold, Reason: "the dial came", By: cd})
	m.add(fact.Again{Step: "pinion face height", Reason: "the post was not on the flange"})
	m.play(e)
	m.add(fact.LookedOver{Press: m.pressed, By: cd})
	m.add(fact.Conceded{Step: "backlash", What: "backlash", Limit: "0.15 .. 0.25", Found: "0.26 mm at 90 deg", Reason: long, By: cd})
	m.add(fact.Signed{As: fact.Fitter, By: ab})
	m.add(fact.Confirmed{Step: "turned by hand"})
	for _, s := range []fact.Signed{{As: fact.Fitter, By: ab}, {As: fact.SecondPerson, By: cd}, {As: fact.Lead, By: cd, Ends: true}} {
		m.add(s)
	}
	return m.job()
}

func recordOf(t testing.TB, c carried.Job) *Record {
	t.Helper()
	r, err := From(c)
	if err != nil {
		t.Fatal(err)
	}
	return r
}
