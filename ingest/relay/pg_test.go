package relay_test

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/jackc/pgx/v5"

	"shimwright/ingest/journal"
	"shimwright/ingest/relay"
	"shimwright/ingest/relay/shop"
	"shimwright/ingest/relay/shop/shoptest"
	"shimwright/ingest/store"
	"shimwright/ingest/store/pg"
)

// Facts reach the shop as they are, in batches, and new ones as they come; a
// relay started anew goes on where the shop is.
func TestShips(t *testing.T) {
	s := shoptest.New(t)
	a := s.Bench(t, "bay 1", "bay1")
	j := newJournal(t, "bay 1")
	r := run(t, j, a, nil)
	r.await(t, "connected", func(s relay.State) bool { return s.Connected })
	write(t, j, 2345)
	r.woken <- struct{}{}
	r.sent(t, 2345)
	whole(t, s, j)
	r.stop()
	write(t, j, 55)
	r = run(t, j, a, nil)
	r.sent(t, 2400)
	whole(t, s, j)
	if w := r.State().Words(began()); w != "Shop: connected, no fact waits." {
		t.Error(w)
	}
}

// Rows made by another version of the rule are made anew, and come out the same.
func TestRowsAnew(t *testing.T) {
	s := shoptest.New(t)
	a := s.Bench(t, "bay 1", "bay1")
	j := newJournal(t, "bay 1")
	write(t, j, 3100)
	r := run(t, j, a, func(c *relay.Config) {
		c.Rule.Version = 1
		c.Rule.Of = func(journal.Stored) (store.Change, error) { return store.Change{}, nil }
	})
	r.sent(t, 3100)
	r.stop()
	if n := shoptest.Count(t, s.Owner, `SELECT count(*) FROM shimwright.judgement`); n != 0 {
		t.Fatal(n)
	}
	write(t, j, 10)
	r = run(t, j, a, nil)
	r.sent(t, 3110)
	whole(t, s, j)
}

// A second bench of one name, a copied disk, and a journal older than the shop
// are each told as what they are, and nothing of them gets in.
func TestApart(t *testing.T) {
	s := shoptest.New(t)
	a := s.Bench(t, "bay 1", "bay1")
	j := newJournal(t, "bay 1")
	write(t, j, 120)
	r := run(t, j, a, nil)
	r.sent(t, 120)
	r.stop()
	copied := filepath.Join(t.TempDir(), "copy.journal")
	if _, err := j.Backup(t.Context(), copied, nil); err != nil {
		t.Fatal(err)
	}
	write(t, j, 30)
	r = run(t, j, a, nil)
	r.sent(t, 150)
	r.stop()

	clone := openJournal(t, copied, "bay 1")
	refused(t, run(t, clone, a, nil), "older than what the shop has", "ends at fact 120 and the shop has 150")
	write(t, clone, 1)
	refused(t, run(t, clone, a, nil), "a copy of this bench's journal", "from fact 121 on")
	write(t, clone, 200)
	refused(t, run(t, clone, a, nil), "a copy of this bench's journal", "from fact 121 on")
	other := newOther(t)
	write(t, other, 7)
	refused(t, run(t, other, a, nil), "another bench of the same name", `named "bay 1"`)
	whole(t, s, j)
}

func newOther(t *testing.T) *journal.Journal {
	j, err := journal.Open(filepath.Join(t.TempDir(), "other.journal"), journal.Options{Bench: "bay 1", Run: "other", Now: began})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = j.Close() })
	return j
}

func refused(t *testing.T, r *running, words ...string) {
	t.Helper()
	st := r.await(t, "refused", func(s relay.State) bool { return s.Trouble != "" })
	for _, w := range words {
		if !strings.Contains(st.Trouble, w) {
			t.Errorf("%s lacks: %s", st.Trouble, w)
		}
	}
	r.stop()
}

// A shop that lost what it had confirmed is noticed over a restart, and gets it
// again.
func TestRestored(t *testing.T) {
	s := shoptest.New(t)
	a := s.Bench(t, "bay 1", "bay1")
	j := newJournal(t, "bay 1")
	mark := relay.FileMark(filepath.Join(t.TempDir(), "mark"))
	keeps := func(c *relay.Config) { c.Mark = mark }
	write(t, j, 100)
	r := run(t, j, a, keeps)
	r.sent(t, 100)
	r.stop()
	for _, q := range []string{`CREATE TABLE shimwright.f AS TABLE shimwright.fact`, `CREATE TABLE shimwright.h AS TABLE shimwright.bench_head`,
		`CREATE TABLE shimwright.j AS TABLE shimwright.job`, `CREATE TABLE shimwright.g AS TABLE shimwright.judgement`} {
		shoptest.Exec(t, s.Owner, q)
	}
	write(t, j, 80)
	r = run(t, j, a, keeps)
	r.sent(t, 180)
	r.stop()
	for table, kept := range map[string]string{"fact": "f", "bench_head": "h", "job": "j", "judgement": "g"} {
		shoptest.Exec(t, s.Owner, `DELETE FROM shimwright.`+table)
		shoptest.Exec(t, s.Owner, `INSERT INTO shimwright.`+table+` SELECT * FROM shimwright.`+kept)
	}
	r = run(t, j, a, keeps)
	r.sent(t, 180)
	if n := r.State().Notice; !strings.Contains(n, "confirmed facts up to 180 and has them up to 100. Facts 101 to 180 are sent again") {
		t.Error(n)
	}
	whole(t, s, j)
	r.stop()
	shoptest.Exec(t, s.Owner, `UPDATE shimwright.form SET shop = 'another'`)
	r = run(t, j, a, keeps)
	r.sent(t, 180)
	if n := r.State().Notice; !strings.Contains(n, "another shop's database") {
		t.Error(n)
	}
}

// A bench's role can do nothing but ship its own; a board's can only read.
func TestRoles(t *testing.T) {
	s := shoptest.New(t)
	a, other := s.Bench(t, "bay 1", "bay1"), s.Bench(t, "bay 2", "bay2")
	j := newJournal(t, "bay 1")
	write(t, j, 60)
	r := run(t, j, other, nil)
	refused(t, r, "does not know this bench", "shop bench")
	r = run(t, j, a, nil)
	r.sent(t, 60)
	reader := s.Role(t, "lead")
	if err := shop.PutBoard(t.Context(), s.Owner, reader); err != nil {
		t.Fatal(err)
	}
	nobody := s.Role(t, "nobody")
	refused(t, run(t, newJournal(t, "bay 1"), s.As(nobody), nil), "refuses this role")
	for role, statements := range map[string][]string{
		other.User: {`SELECT * FROM shimwright.fact`, `SELECT * FROM shimwright.judgement`, `DELETE FROM shimwright.fact`, `UPDATE shimwright.bench_head SET role = session_user`,
			`INSERT INTO shimwright.fact SELECT 'bay 1', 61, 0, 0, '', '', '', 1, '', sha256('')`, `SELECT shimwright.head('bay 1')`, `SELECT shimwright.kept('bay 1', 1)`,
			`SELECT shimwright.anew('bay 1', 9)`, `SELECT shimwright.follow('bay 1', 2, 60, 60, '[]', '[]', '[]')`, `SELECT shimwright.locked('bay 2')`,
			`SELECT shimwright.take('bay 1', 60, sha256(''), '{}', '{}', '{}', '{}', '{}', '{}', '{}', '{}')`},
		reader: {`DELETE FROM shimwright.fact`, `UPDATE shimwright.judgement SET verdict = 'GOOD'`, `SELECT shimwright.anew('bay 1', 9)`, `INSERT INTO shimwright.form VALUES (9, '')`},
		nobody: {`SELECT * FROM shimwright.fact`, `SELECT * FROM shimwright.form`},
	} {
		c, err := shop.Connect(t.Context(), s.As(role), "test")
		if err != nil {
			t.Fatal(err)
		}
		for _, q := range statements {
			_, err := c.Exec(t.Context(), q)
			if err = shop.Explain("trying", err); !errors.Is(err, shop.ErrDenied) && !errors.Is(err, shop.ErrUnknown) {
				t.Errorf("%s: %s: %v", role, q, err)
			}
		}
		_ = c.Close(t.Context())
	}
	whole(t, s, j)
}

// Rows that are malformed, replayed, oversized or do not give their hash are
// refused in words, whoever sends them.
func TestForged(t *testing.T) {
	s := shoptest.New(t)
	a := s.Bench(t, "bay 1", "bay1")
	j := newJournal(t, "bay 1")
	write(t, j, 20)
	var facts []journal.Stored
	if err := j.Read(t.Context(), "", 0, func(f journal.Stored) error { facts = append(facts, f); return nil }); err != nil {
		t.Fatal(err)
	}
	first, err := j.HashBefore(t.Context(), 1)
	if err != nil {
		t.Fatal(err)
	}
	l, err := relay.Dial(a, "bay 1")(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	if err := l.Anew(t.Context(), 2); err != nil {
		t.Fatal(err)
	}
	ship := func(after int64, on journal.Hash, facts []journal.Stored) error {
		return l.Ship(t.Context(), relay.Batch{After: after, On: on, Facts: facts, Rows: relay.Rows{Rule: 2, After: after, Upto: after + int64(len(facts))}})
	}
	if err := ship(0, first, facts[:10]); err != nil {
		t.Fatal(err)
	}
	edited := append([]journal.Stored{}, facts[10:]...)
	edited[3].Payload = append([]byte(" "), edited[3].Payload...)
	big := append([]journal.Stored{}, facts[10:]...)
	big[0].Payload = make([]byte, 2<<20)
	for name, err := range map[string]error{
		"replayed": ship(0, first, facts[:10]), "gap": ship(11, facts[10].Hash, facts[11:]), "wrong hash": ship(10, first, facts[10:]),
		"edited": ship(10, facts[9].Hash, edited), "oversized": ship(10, facts[9].Hash, big),
	} {
		if !errors.Is(err, shop.ErrHead) && !errors.Is(err, shop.ErrChain) {
			t.Errorf("%s: %v", name, err)
		}
	}
	if err := ship(10, facts[9].Hash, facts[10:]); err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(20, shoptest.Count(t, s.Owner, `SELECT count(*) FROM shimwright.fact`)); d != "" {
		t.Error(d)
	}
}

// A server that takes nothing in is said, and gets all of it when it does.
func TestReadOnly(t *testing.T) {
	s := shoptest.New(t)
	a := s.Bench(t, "bay 1", "bay1")
	j := newJournal(t, "bay 1")
	write(t, j, 20)
	shoptest.Exec(t, s.Owner, "ALTER DATABASE "+s.Name+" SET default_transaction_read_only = on")
	r := run(t, j, a, nil)
	r.await(t, "read-only", func(s relay.State) bool { return strings.Contains(s.Trouble, "read-only") })
	shoptest.Exec(t, s.Owner, "SET default_transaction_read_only = off")
	shoptest.Exec(t, s.Owner, "ALTER DATABASE "+s.Name+" RESET default_transaction_read_only")
	r.sent(t, 20)
	whole(t, s, j)
}

// Forms: none, an older and a newer one are told.
func TestForms(t *testing.T) {
	s := shoptest.Bare(t, shoptest.DSN(t))
	a := s.As("app")
	j := newJournal(t, "bay 1")
	refused(t, run(t, j, a, nil), "shop prepare")
	for range 2 { // again harms nothing
		if err := shop.Prepare(t.Context(), s.Owner); err != nil {
			t.Fatal(err)
		}
	}
	shoptest.Exec(t, s.Owner, `UPDATE shimwright.form SET version = 99`)
	refused(t, run(t, j, a, nil), "newer program")
	if err := shop.Prepare(t.Context(), s.Owner); !errors.Is(err, shop.ErrForm) {
		t.Error(err)
	}
	a.Database = "nothing_of_that_name"
	refused(t, run(t, j, a, nil), "no such database")
}

// The lead's store hears of each batch once, and sees it then.
func TestListen(t *testing.T) {
	s := shoptest.New(t)
	a, b := s.Bench(t, "bay 1", "bay1"), s.Bench(t, "bay 2", "bay2")
	st, err := pg.Open(t.Context(), s.As("app"))
	if err != nil {
		t.Fatal(err)
	}
	defer st.Close()
	heard := make(chan pg.Batch, 100)
	ready := make(chan struct{})
	ctx, stop := context.WithCancel(t.Context())
	ended := make(chan error, 1)
	go func() { ended <- st.Listen(ctx, func() { close(ready) }, func(b pg.Batch) { heard <- b }) }()
	<-ready
	for _, x := range []struct {
		bench string
		a     shop.Address
	}{{"bay 1", a}, {"bay 2", b}} {
		j := newJournal(t, x.bench)
		write(t, j, 60)
		r := run(t, j, x.a, nil)
		if got := <-heard; got != (pg.Batch{Bench: x.bench, Upto: 60}) {
			t.Error(got)
		}
		r.stop()
		jobs, err := st.Jobs(t.Context(), store.JobQuery{Bench: x.bench})
		if err != nil || len(jobs) != 2 || jobs[1].State != store.Abandoned || jobs[0].State != store.Open {
			t.Errorf("%v %+v", err, jobs)
		}
	}
	stop()
	if err := <-ended; !errors.Is(err, context.Canceled) {
		t.Error(err)
	}
	all, err := st.Judgements(t.Context(), store.JudgementQuery{Limit: 7})
	if err != nil || len(all) != 7 {
		t.Fatal(err, len(all))
	}
	rest, err := st.Judgements(t.Context(), store.JudgementQuery{Behind: &all[6]})
	if err != nil || len(rest) != 1 {
		t.Error(err, len(rest))
	}
	if _, err := st.Judgements(t.Context(), store.JudgementQuery{Before: 9}); !errors.Is(err, pg.ErrBench) {
		t.Error(err)
	}
}

// A password is wrong, is missing, may be read by others; none of it shows.
func TestPassword(t *testing.T) {
	dsn := shoptest.DSN(t)
	c := shoptest.Open(t, dsn)
	a := shop.Address{Server: "127.0.0.1", Port: int(c.Config().Port), Database: "postgres", User: "app", PasswordFile: filepath.Join(t.TempDir(), "word")}
	try := func(want error) {
		t.Helper()
		conn, err := shop.Connect(t.Context(), a, "test")
		if !errors.Is(err, want) || err != nil && strings.Contains(err.Error(), "swordfish") {
			t.Error(err)
		}
		if conn != nil {
			_ = conn.Close(t.Context())
		}
	}
	try(shop.ErrSettings)
	if err := os.WriteFile(a.PasswordFile, []byte("swordfish\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	try(shop.ErrSettings)
	if err := os.Chmod(a.PasswordFile, 0o600); err != nil {
		t.Fatal(err)
	}
	try(nil)
	a.User = "nobody of that name"
	try(shop.ErrDenied)
	a.User, a.Server = "app", "127.0.0.1,127.0.0.2"
	try(shop.ErrSettings)
	var none *pgx.Conn
	if none, _ = shop.Connect(t.Context(), shop.Address{Server: "127.0.0.1", Port: 1}, "test"); none != nil {
		t.Error("somebody answers on port 1")
	}
}
