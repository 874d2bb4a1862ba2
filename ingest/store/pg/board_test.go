package pg_test

import (
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"shimwright/devices"
	"shimwright/ingest/fact"
	"shimwright/ingest/journal"
	"shimwright/ingest/relay"
	"shimwright/ingest/relay/shop"
	"shimwright/ingest/relay/shop/shoptest"
	"shimwright/ingest/store"
	"shimwright/ingest/store/pg"
)

// bench is a journal that ships to a shop.
type bench struct {
	*journal.Journal
	a   shop.Address
	now time.Time
}

func newBench(t *testing.T, s *shoptest.Shop, name string, at time.Time) *bench {
	t.Helper()
	b := &bench{a: s.Bench(t, name, strings.ReplaceAll(name, " ", "")), now: at}
	j, err := journal.Open(filepath.Join(t.TempDir(), "a.journal"), journal.Options{Bench: name, Run: "r", Rows: fact.Rows(),
		Now: func() time.Time { b.now = b.now.Add(time.Second); return b.now }})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = j.Close() })
	b.Journal = j
	return b
}

// put stores facts of a subject and ships them.
func (b *bench) put(t *testing.T, subject string, facts ...fact.Fact) {
	t.Helper()
	for _, f := range facts {
		r, err := fact.Encode(subject, f)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := b.Append(t.Context(), r); err != nil {
			t.Fatal(err)
		}
	}
	ship(t, b.Journal, relay.Dial(b.a, b.Bench()))
}

func opened(serial string) fact.Fact {
	return fact.Opened{Drive: "RD3", Serial: serial, Sheet: "rd3", Issue: 2, Text: "sheet: rd3\n", Rule: "guarded"}
}

func since(t *testing.T, b *pg.Board, after int64) pg.Since {
	t.Helper()
	s, err := b.Since(t.Context(), after)
	if err != nil {
		t.Fatal(err)
	}
	slices.SortFunc(s.Jobs, func(a, b pg.Subject) int { return strings.Compare(a.Bench+a.ID, b.Bench+b.ID) })
	return s
}

// What is new is told by bench and job; a shop that was put back is read anew; a
// bench's word of itself is something new.
func TestSince(t *testing.T) {
	s := shoptest.New(t)
	at := time.Date(2026, 3, 2, 7, 0, 0, 0, time.UTC)
	one, two := newBench(t, s, "bay 1", at), newBench(t, s, "bay 2", at.Add(time.Hour))
	b := pg.NewBoard(pg.New(s.As("app")), time.Now)
	defer b.Close()
	if got := since(t, b, 0); got.Mark != 0 || got.Many {
		t.Errorf("an empty shop: %+v", got)
	}
	one.put(t, "job/0001", opened("A"), fact.OnHold{Reason: "wait"})
	two.put(t, "job/0001", opened("B"))
	first := since(t, b, 0)
	if first.Mark != 3 || !first.Many {
		t.Errorf("the first facts: %+v", first)
	}
	two.put(t, "job/0001", fact.OnHold{Reason: "wait too"})
	two.put(t, "job/0002", opened("C"))
	one.put(t, "gauge/D07", fact.GaugeCertified{GaugeKind: "dial"})
	next := since(t, b, first.Mark)
	if fmt.Sprint(next.Jobs) != "[{bay 2 0001} {bay 2 0002}]" || !next.Gauge || next.Many || next.Mark != 6 {
		t.Errorf("what is new: %+v", next)
	}
	if got := since(t, b, next.Mark); len(got.Jobs) > 0 || got.Mark != next.Mark || got.Gauge {
		t.Errorf("nothing is new: %+v", got)
	}
	for after, want := range map[int64]string{first.Mark: "bay 2/2", 0: "bay 2/2 bay 1/2", next.Mark: ""} {
		got, err := b.Decided(t.Context(), after, 10)
		if err != nil {
			t.Fatal(err)
		}
		var have []string
		for _, d := range got {
			have = append(have, fmt.Sprintf("%s/%d", d.Bench, d.Seq))
		}
		if strings.Join(have, " ") != want {
			t.Errorf("decided after %d: %v, want %s", after, have, want)
		}
	}

	putBack := func() {
		shoptest.Exec(t, s.Owner, `DELETE FROM shimwright.fact WHERE bench = 'bay 2' AND seq > 1`)
		shoptest.Exec(t, s.Owner, `UPDATE shimwright.bench_head h SET last_seq = 1, rows_seq = 1, last_hash = f.hash FROM shimwright.fact f WHERE f.bench = h.bench AND f.seq = 1 AND h.bench = 'bay 2'`)
	}
	putBack()
	back := since(t, b, next.Mark)
	if !back.Many || back.Mark <= next.Mark {
		t.Errorf("a shop put back: %+v", back)
	}
	two.put(t, "job/0002") // what is missing is sent again
	again := since(t, b, back.Mark)
	if again.Many || fmt.Sprint(again.Jobs) != "[{bay 2 0001} {bay 2 0002}]" {
		t.Errorf("sent again: %+v", again)
	}
	putBack()
	two.put(t, "job/0002") // before anybody looked
	if back = since(t, b, again.Mark); !back.Many {
		t.Errorf("put back and sent again between two looks: %+v", back)
	}
	l, err := relay.Dial(one.a, "bay 1")(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	if err := l.Say(t.Context(), "copied", "it is a copy"); err != nil {
		t.Fatal(err)
	}
	if got := since(t, b, back.Mark); got.Mark <= back.Mark || got.Many || len(got.Jobs) > 0 {
		t.Errorf("a word of a bench: %+v", got)
	}
	if n := b.Notes(); len(n) != 1 || n[0].Bench != "bay 1" || n[0].Words != "it is a copy" || !n[0].Still {
		t.Errorf("%+v", n)
	}
	if err := l.Say(t.Context(), "nonsense", "x"); err == nil {
		t.Error("a kind that nobody knows is taken")
	}
}

// A bench may say what is wrong of itself alone, and a board may say nothing.
func TestWhoMaySay(t *testing.T) {
	s := shoptest.New(t)
	a := s.Bench(t, "bay 1", "bay1")
	s.Bench(t, "bay 2", "bay2")
	l, err := relay.Dial(a, "bay 2")(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	if err := l.Say(t.Context(), "copied", "it is"); !errors.Is(err, shop.ErrUnknown) {
		t.Error(err)
	}
	reader := s.Role(t, "lead")
	if err := shop.PutBoard(t.Context(), s.Owner, reader); err != nil {
		t.Fatal(err)
	}
	c, err := shop.Connect(t.Context(), s.As(reader), "test")
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = c.Close(context.Background()) }()
	for _, q := range []string{`SELECT shimwright.say('bay 1', 'copied', 'x')`, `DELETE FROM shimwright.said`, `INSERT INTO shimwright.said VALUES ('bay 1', 'copied', 'x', now(), now())`,
		`CREATE TABLE shimwright.x ()`, `DROP TABLE shimwright.said`, `TRUNCATE shimwright.fact`} {
		if _, err := c.Exec(t.Context(), q); err == nil {
			t.Errorf("a board's role may: %s", q)
		}
	}
	if _, err := c.Exec(t.Context(), `SELECT * FROM shimwright.said`); err != nil {
		t.Error(err)
	}
}

// Even as the role that owns the tables a board only reads.
func TestOwnersBoardReads(t *testing.T) {
	s := shoptest.New(t)
	b, err := pg.Open(t.Context(), s.As("app"))
	if err != nil {
		t.Fatal(err)
	}
	defer b.Close()
	if err := pg.Try(t.Context(), b, `DELETE FROM shimwright.form`); !errors.Is(err, shop.ErrReadOnly) {
		t.Error(err)
	}
}

// A role that was let in before the newest form may read and say what it brought.
func TestRightsGoOn(t *testing.T) {
	s := shoptest.Bare(t, shoptest.DSN(t))
	if err := shop.PrepareTo(t.Context(), s.Owner, 2); err != nil {
		t.Fatal(err)
	}
	role := s.Role(t, "bay1")
	shoptest.Exec(t, s.Owner, `INSERT INTO shimwright.bench_head (bench, role) VALUES ('bay 1', $1)`, role)
	for _, r := range []string{`GRANT USAGE ON SCHEMA shimwright TO `, `GRANT SELECT ON shimwright.form TO `, `GRANT EXECUTE ON FUNCTION shimwright.head, shimwright.kept, shimwright.take, shimwright.anew, shimwright.follow TO `} {
		shoptest.Exec(t, s.Owner, r+role)
	}
	reader := s.Role(t, "lead")
	if err := shop.PutBoard(t.Context(), s.Owner, reader); err != nil {
		t.Fatal(err)
	}
	if err := shop.Prepare(t.Context(), s.Owner); err != nil {
		t.Fatal(err)
	}
	l, err := relay.Dial(s.As(role), "bay 1")(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	if err := l.Say(t.Context(), "lost", "it lost some"); err != nil {
		t.Error(err)
	}
	b := pg.NewBoard(pg.New(s.As(reader)), time.Now)
	defer b.Close()
	since(t, b, 0)
	if n := b.Notes(); len(n) != 1 {
		t.Errorf("%+v", n)
	}
}

// A gauge is traced over all benches; what is cut is said.
func TestTraceOverBenches(t *testing.T) {
	s := shoptest.New(t)
	at := time.Date(2026, 3, 2, 7, 0, 0, 0, time.UTC)
	for n, name := range []string{"bay 1", "bay 2", "bay 3"} {
		b := newBench(t, s, name, at.AddDate(0, 0, n))
		gauge := "D07"
		if n == 2 {
			gauge = "D08"
		}
		b.put(t, "job/0001", opened(name), fact.Pressed{Step: "a", Gauge: gauge, GaugeKind: "dial", Outcome: fact.Held, Source: devices.SourceVirtual, Pieces: []string{"S-1"}})
		b.put(t, "gauge/"+gauge, fact.Checked{Piece: "S-1", Source: devices.SourceVirtual})
	}
	b := pg.NewBoard(pg.New(s.As("app")), time.Now)
	defer b.Close()
	for name, want := range map[string]string{"D07": "bay 1 bay 2", "D08": "bay 3", "S-1": "bay 1 bay 2 bay 3", "D0": ""} {
		got, err := b.Used(t.Context(), name, time.Time{}, at.AddDate(1, 0, 0))
		if err != nil {
			t.Fatal(err)
		}
		var bays []string
		for _, u := range got.Jobs {
			bays = append(bays, u.Job.Serial)
			if u.Job.Bench != u.Job.Serial || u.Presses != 1 {
				t.Errorf("%s: %+v", name, u)
			}
		}
		if strings.Join(bays, " ") != want || got.Cut != "" {
			t.Errorf("%s was used at %v; %s", name, bays, got.Cut)
		}
		if name == "S-1" && strings.Join(got.Checks, ", ") != "D07 of bay 1, D07 of bay 2, D08 of bay 3" {
			t.Error(got.Checks)
		}
	}
	got, err := b.Used(t.Context(), "S-1", at.AddDate(0, 0, 1), at.AddDate(0, 0, 2))
	if err != nil || len(got.Jobs) != 1 || got.Jobs[0].Job.Bench != "bay 2" {
		t.Errorf("%v %+v", err, got)
	}
	shoptest.Exec(t, s.Owner, `INSERT INTO shimwright.fact SELECT bench, seq + n, utc_us + n, since_ns, run, subject, kind, version, payload, hash
		FROM shimwright.fact, generate_series(1, 1000) n WHERE bench = 'bay 1' AND kind = 'checked'`)
	got, err = b.Used(t.Context(), "S-1", time.Time{}, at.AddDate(1, 0, 0))
	if err != nil || !strings.Contains(got.Cut, "Only 1000 of the readings on it") {
		t.Errorf("%v, of 1003 readings on a piece: %q", err, got.Cut)
	}
	shoptest.Exec(t, s.Owner, `INSERT INTO shimwright.job SELECT 'bay 9', n::text, '', '', '', 1, '', $1::bigint + n, 'open', NULL, false FROM generate_series(1, 5001) n`, at.AddDate(0, 1, 0).UnixMicro())
	got, err = b.Used(t.Context(), "D07", time.Time{}, at.AddDate(1, 0, 0))
	if err != nil || !strings.Contains(got.Cut, "Only the newest 5000 jobs") || !strings.Contains(got.Cut, "back to 2026-04-02") || len(got.Jobs) != 0 {
		t.Errorf("%v %+v", err, got)
	}
}

// Gauges are folded on from what is known of them. A fact that cannot be read is
// told as such and not as a server that is away, and what was folded stays.
func TestRegisters(t *testing.T) {
	s := shoptest.New(t)
	one := newBench(t, s, "bay 1", time.Date(2026, 3, 2, 7, 0, 0, 0, time.UTC))
	b := pg.NewBoard(pg.New(s.As("app")), time.Now)
	defer b.Close()
	mark := int64(0)
	numbers := func() (string, error) {
		mark = since(t, b, mark).Mark
		all, _, err := b.Registers(t.Context())
		words := ""
		for _, r := range all {
			for _, g := range r.Gauges(one.now) {
				words += fmt.Sprintf("%s %s %s; ", r.Bench, g.ID, g.Certificate.Number)
			}
		}
		return words, err
	}
	certified := func(number string) fact.Fact {
		return fact.GaugeCertified{GaugeKind: "dial", Certificate: fact.Certificate{Number: number}}
	}
	one.put(t, "gauge/D07", certified("G-1"))
	if got, err := numbers(); err != nil || got != "bay 1 D07 G-1; " {
		t.Errorf("%q, %v", got, err)
	}
	one.put(t, "gauge/D08", certified("G-2"))
	one.put(t, "gauge/D07", certified("G-3"))
	shoptest.Exec(t, s.Owner, `UPDATE shimwright.fact SET version = 99 WHERE seq = 3`)
	if got, err := numbers(); !errors.Is(err, fact.ErrNewer) || errors.Is(err, shop.ErrGone) || !strings.Contains(err.Error(), "bench bay 1, fact 3") {
		t.Errorf("%q, %v", got, err)
	}
	shoptest.Exec(t, s.Owner, `UPDATE shimwright.fact SET version = 1 WHERE seq = 3`)
	if got, err := numbers(); err != nil || got != "bay 1 D07 G-3; bay 1 D08 G-2; " {
		t.Errorf("%q, %v", got, err)
	}

	// rows made anew, of whatever bench, are no reason to fold gauges again
	shoptest.Exec(t, s.Owner, `UPDATE shimwright.fact SET version = 99`)
	shoptest.Exec(t, s.Owner, `UPDATE shimwright.bench_head SET rule = rule + 1, rows_seq = 0`)
	before := mark
	if got, err := numbers(); err != nil || got != "bay 1 D07 G-3; bay 1 D08 G-2; " || !since(t, b, before).Many {
		t.Errorf("%q, %v", got, err)
	}
	// facts that went are
	shoptest.Exec(t, s.Owner, `DELETE FROM shimwright.fact WHERE seq > 1`)
	shoptest.Exec(t, s.Owner, `UPDATE shimwright.fact SET version = 1`)
	shoptest.Exec(t, s.Owner, `UPDATE shimwright.bench_head SET last_seq = 1`)
	if got, err := numbers(); err != nil || got != "bay 1 D07 G-1; " {
		t.Errorf("%q, %v", got, err)
	}
}

// A row that cannot be read is told with its bench, and not as a server that does
// not answer.
func TestRowThatCannotBeRead(t *testing.T) {
	s := shoptest.New(t)
	one := newBench(t, s, "bay 1", time.Date(2026, 3, 2, 7, 0, 0, 0, time.UTC))
	one.put(t, "job/0001", opened("A"), fact.Judged{Step: "pinion pack", What: "pack", Verdict: "good", Words: "w"})
	b := pg.NewBoard(pg.New(s.As("app")), time.Now)
	defer b.Close()
	for _, column := range []string{"points", "leaves"} {
		shoptest.Exec(t, s.Owner, `UPDATE shimwright.judgement SET points = '[]', leaves = '[]'`)
		shoptest.Exec(t, s.Owner, `UPDATE shimwright.judgement SET `+column+` = 'x'`)
		_, err := b.Judgements(t.Context(), store.JudgementQuery{})
		if !errors.Is(err, shop.ErrRow) || errors.Is(err, shop.ErrGone) || !strings.Contains(err.Error(), "judgement 2 of bench bay 1: its "+column) {
			t.Error(err)
		}
	}
}
