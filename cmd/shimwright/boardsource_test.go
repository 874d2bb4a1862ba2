package main

import (
	"context"
	"errors"
	"fmt"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"shimwright/calc/quantity"
	"shimwright/calc/sheet"
	"shimwright/devices"
	"shimwright/ingest/bench"
	"shimwright/ingest/fact"
	"shimwright/ingest/journal"
	"shimwright/ingest/relay"
	"shimwright/ingest/relay/shop"
	"shimwright/ingest/relay/shop/shoptest"
	"shimwright/ingest/store"
	"shimwright/ui/board"
)

// alone is a shop that has one bench, called as its journal is: what the board
// makes of both must then be the same.
type alone struct {
	*shopSource
	bench string
}

func (a alone) Name() string { return a.bench }
func (a alone) Shop() bool   { return false }

// A pair is one bench's journal and the shop that it ships to, as the board looks
// at both.
type pair struct {
	t        *testing.T
	j        *journal.Journal
	here     *journalSource
	there    alone
	from, to *board.Loader
	at       time.Time
	relay    *relay.Relay
	woken    chan struct{}
	told     chan struct{}
}

func newPair(t *testing.T, j *journal.Journal) *pair {
	s := shoptest.New(t)
	a := s.Bench(t, j.Bench(), "bay")
	reader := s.Role(t, "lead")
	if err := shop.PutBoard(t.Context(), s.Owner, reader); err != nil {
		t.Fatal(err)
	}
	here, err := openSource(t.Context(), j.Path())
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = here.Close() })
	p := &pair{t: t, j: j, here: here, at: time.Date(2026, 6, 1, 8, 0, 0, 0, time.UTC), woken: make(chan struct{}, 1), told: make(chan struct{}, 1)}
	p.ship(a)
	src, err := openShop(t.Context(), s.As(reader), false)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(src.Close)
	p.there = alone{src, j.Bench()}
	now := func() time.Time { return p.at }
	p.from, p.to = board.NewLoader(here, now), board.NewLoader(p.there, now)
	return p
}

// ship runs a relay until the test ends, and waits until nothing waits.
func (p *pair) ship(a shop.Address) {
	ctx, stop := context.WithCancel(context.Background())
	p.relay = relay.New(relay.Config{Source: p.j.Reader, Rule: fact.Rows(), Dial: relay.Dial(a, p.j.Bench()), Now: time.Now, Chance: func() float64 { return 0 }, Woken: p.woken,
		Told: func(relay.State) {
			select {
			case p.told <- struct{}{}:
			default:
			}
		}})
	done := make(chan struct{})
	go func() { p.relay.Run(ctx); close(done) }()
	p.t.Cleanup(func() { stop(); <-done })
	p.shipped()
}

func (p *pair) shipped() {
	p.t.Helper()
	last, _, err := p.j.Last(p.t.Context())
	if err != nil {
		p.t.Fatal(err)
	}
	late := time.After(reached)
	for p.relay.State().Sent != last.Seq {
		select {
		case p.woken <- struct{}{}:
		default:
		}
		select {
		case <-p.told:
		case <-late:
			p.t.Fatalf("never shipped: %+v", p.relay.State())
		}
	}
}

// put stores facts and has them shipped.
func (p *pair) put(id string, facts ...fact.Fact) {
	p.t.Helper()
	var records []journal.Record
	for _, f := range facts {
		records = append(records, encoded(p.t, id, f))
	}
	if _, err := p.j.Append(p.t.Context(), records...); err != nil {
		p.t.Fatal(err)
	}
	p.shipped()
}

// same loads both boards for a query and holds one to the other: the models field
// by field, and the lines.
func (p *pair) same(what string, q board.Query) *board.Model {
	p.t.Helper()
	a, err := p.from.Load(p.t.Context(), q, nil)
	if err != nil {
		p.t.Fatal(err)
	}
	b, err := p.to.Load(p.t.Context(), q, nil)
	if err != nil {
		p.t.Fatal(err)
	}
	var here, there strings.Builder
	if err := board.Plain(&here, a, closuresOf(p.t, p.here, a), true); err != nil {
		p.t.Fatal(err)
	}
	if err := board.Plain(&there, b, closuresOf(p.t, p.there, b), true); err != nil {
		p.t.Fatal(err)
	}
	if d := cmp.Diff(here.String(), there.String()); d != "" {
		p.t.Errorf("%s: %s", what, d)
	}
	// a source may say of few changes that they are many, and lists them in any order
	x, y := *a, *b
	x.Fresh, y.Fresh = nil, nil
	if b.Fresh != nil && !slices.Equal(sortedJobs(a.Fresh), sortedJobs(b.Fresh)) {
		p.t.Errorf("%s: fresh are %v and %v", what, a.Fresh, b.Fresh)
	}
	if !reflect.DeepEqual(x, y) {
		p.t.Errorf("%s: the models differ, and their lines do not say where", what)
	}
	return b
}

func sortedJobs(jobs []store.Job) []string {
	var out []string
	for _, j := range jobs {
		out = append(out, j.Bench+" "+j.ID)
	}
	slices.Sort(out)
	return out
}

func closuresOf(t *testing.T, src board.Source, m *board.Model) map[string]*board.Closures {
	t.Helper()
	out := map[string]*board.Closures{}
	for _, s := range m.Series {
		c, err := board.NewFolder(src).Closures(t.Context(), m, s, nil)
		if err != nil {
			t.Fatal(err)
		}
		out[s.Sheet] = c
	}
	return out
}

// job holds a job's pages, down to the bytes, to each other.
func (p *pair) job(id string) {
	p.t.Helper()
	var texts [2]strings.Builder
	for i, src := range []board.Source{p.here, p.there} {
		j, err := src.Job(p.t.Context(), store.Job{Bench: p.j.Bench(), ID: id})
		if err != nil {
			p.t.Fatal(err)
		}
		if err := board.PlainJob(&texts[i], "", j, time.UTC, true); err != nil {
			p.t.Fatal(err)
		}
	}
	if d := cmp.Diff(texts[0].String(), texts[1].String()); d != "" {
		p.t.Error(d)
	}
}

func (p *pair) trace(name string, want int) {
	p.t.Helper()
	a, err := p.here.Used(p.t.Context(), name, time.Time{}, p.at)
	if err != nil {
		p.t.Fatal(err)
	}
	b, err := p.there.Used(p.t.Context(), name, time.Time{}, p.at)
	if err != nil {
		p.t.Fatal(err)
	}
	for i, c := range a.Checks { // a shop's board says whose gauge it is
		a.Checks[i] = c + " of " + p.j.Bench()
	}
	if d := cmp.Diff(a, b); d != "" || len(a.Jobs) != want {
		p.t.Errorf("%s: %d jobs, %s", name, len(a.Jobs), d)
	}
}

// The same facts in a journal and in PostgreSQL give the same board, from the
// beginning and as facts come.
func TestBoardSources(t *testing.T) {
	text, _ := embeddedSheet("fw3")
	j := boardJournal(t, 60, string(text))
	p := newPair(t, j)
	p.same("sixty jobs", board.Query{})
	p.put("job/0061", fact.Opened{Drive: "Harrow FW3", Serial: "N-1", Sheet: "fw3", Issue: 1, Digest: "d1", Text: string(text), Rule: "guarded"})
	p.same("a job opened", board.Query{})
	bad := judgedRing(1, 3)
	bad.Verdict, bad.Points[0] = "out high", "0 deg 0.320"
	p.put("job/0061", bad)
	if m := p.same("a ring out", board.Query{}); len(m.Fresh) != 1 || m.Fresh[0].ID != "0061" {
		t.Errorf("what is fresh: %+v", m.Fresh)
	}
	v, err := quantity.ParseWithUnit("33.38 mm")
	if err != nil {
		t.Fatal(err)
	}
	ab := fact.Signature{Initials: "AB", By: fact.ByPIN}
	p.put("job/0060", fact.Pressed{Step: "pinion face height", Gauge: "D07", GaugeKind: "depth gauge", Value: &v, UnitStated: true,
		Raw: []byte("+33.38mm\r\x00\xff"), Arrived: p.at, Source: devices.SourceGauge, Outcome: fact.Taken, Sentence: `33.38 mm, "source":"keyed" in words`, Pieces: []string{"S-31"}})
	p.put("job/0059", fact.Pressed{Step: "pinion head", Gauge: "keyed", Value: &v, Source: devices.SourceKeyed, Outcome: fact.Taken, Reason: "the cable is broken", Arrived: p.at},
		fact.Drew{Standard: "tall post", Piece: "S-31", Size: v})
	p.put("job/0058", fact.OnHold{Step: "backlash", Reason: "wait for the lead", By: ab}, fact.Conceded{Step: "backlash", What: sheet.Backlash, Found: "mean 0.340 mm", Reason: "agreed", By: ab})
	p.put("job/0057", fact.OnHold{Reason: "burnt", By: ab})
	m := p.same("decided", board.Query{})
	if len(m.Holds) != 2 || len(m.Concessions) != 1 || len(m.Keyed) != 1 {
		t.Errorf("%d holds, %d concessions, %d keyed", len(m.Holds), len(m.Concessions), len(m.Keyed))
	}
	p.put("job/0057", fact.Lifted{Hold: m.Holds[0].Seq, Reason: "it is not", By: ab})
	p.put("job/0058", fact.Abandoned{Reason: "scrap"})
	if m := p.same("lifted and abandoned", board.Query{}); len(m.Holds) != 0 {
		t.Errorf("%+v", m.Holds)
	}
	p.put("gauge/D07", fact.GaugeCertified{GaugeKind: "depth gauge", Certificate: fact.Certificate{Number: "C-1", Due: fact.DayOf(p.at.AddDate(0, 0, 5))}})
	p.put("piece/S-31", fact.Certified{Size: v, Certificate: fact.Certificate{Number: "C-2", Due: fact.DayOf(p.at.AddDate(0, 0, -5))}})
	if m := p.same("certified", board.Query{}); len(m.Gauges) != 1 || len(m.Pieces) != 1 || m.Pieces[0].Trouble == "" {
		t.Errorf("%+v %+v", m.Gauges, m.Pieces)
	}
	p.put("gauge/D07", fact.Withdrawn{Reason: "dropped"})
	p.same("withdrawn", board.Query{})
	for _, q := range []board.Query{{State: store.Open}, {Sheet: "fw3"}, {Sheet: "none"}, {Text: "S-1"}, {Period: board.Fortnight}, {Training: true}, {Before: &m.Rows[20].Job}} {
		p.same(fmt.Sprintf("%+v", q), q)
	}
	for _, id := range []string{"0001", "0057", "0058", "0059", "0060", "0061"} {
		p.job(id)
	}
	p.trace("D07", 1)
	p.trace("S-31", 2)
	p.trace("none", 0)
}

// A whole job of the demonstration, worked on virtual gauges, folds from the shop
// as from its journal.
func TestBoardSourcesDemo(t *testing.T) {
	shoptest.DSN(t)
	d := demoChoice{sheet: "fw3", plain: true, fast: true}
	st, err := setStage(d)
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = st.strike() }()
	st.file.Windows.Double = 4 * time.Millisecond
	b, err := openBench(t.Context(), st.file, st.folder, st.wires, func(bench.Recorded) {})
	if err != nil {
		t.Fatal(err)
	}
	ctx, stop := context.WithCancel(t.Context())
	ran := make(chan error, 1)
	go func() { ran <- b.Run(ctx) }()
	err = st.fitter(b, d).Work(ctx)
	stop()
	if err := errors.Join(err, <-ran, b.close()); err != nil {
		t.Fatal(err)
	}
	j, err := journal.Open(b.journal.Path(), journal.Options{Bench: b.journal.Bench(), Run: "look", Now: time.Now, Rows: fact.Rows()})
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = j.Close() }()
	p := newPair(t, j)
	p.at = time.Now()
	p.same("the demonstration", board.Query{Training: true})
	p.job("0001")
	p.trace("D07", 1)
}
