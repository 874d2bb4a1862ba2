package pg

import (
	"context"
	"maps"
	"math"
	"slices"
	"strings"
	"sync"
	"time"

	"github.com/jackc/pgx/v5"
)

// A Board is what a board over a shop asks beside the rows: what is new, what was
// decided, what benches have and say of themselves, and the facts of one job.
//
// It numbers what it saw of the shop by marks that go up. Over a single bench a
// mark is the number of the newest fact, as over that bench's journal.
//
// Since and Registers are called by one goroutine at a time, because what one finds
// stale the other folds; all else by any.
type Board struct {
	*Store
	now func() time.Time

	mu      sync.Mutex
	heads   map[string]head
	mark    int64
	news    []news // by mark, the newest mostNews
	forgot  int64  // up to this mark news are gone
	heard   map[string]bool
	all     bool // every head is to be looked at
	looked  time.Time
	notes   []Note
	gauges  map[string]*have // by bench
	live    bool             // Watch runs
	deaf    bool             // though Watch runs: a standby tells of no batch
	trouble error            // why nobody listens, though Watch runs
	retry   time.Time        // when that is tried again
	woken   chan struct{}
}

// NewBoard makes one over a store; now is the clock. Nothing is asked yet.
func NewBoard(s *Store, now func() time.Time) *Board {
	return &Board{Store: s, now: now, heads: map[string]head{}, heard: map[string]bool{}, all: true, gauges: map[string]*have{}, woken: make(chan struct{}, 1)}
}

const (
	lookAgain = 30 * time.Second // whatever was heard (chosen, no source)
	lookDeaf  = 3 * time.Second  // where nothing can be heard
	mostNews  = 20_000           // kept, one a bench and mark
	mostSince = 5000             // facts gone through one by one for what changed
)

// A head is how far a bench is. When it shipped last tells a shop that was put
// back and got the same facts again from one to which nothing happened.
type head struct {
	seq, rows, shipped int64
	rule               int
}

// news is that a bench went on.
type news struct {
	mark     int64
	bench    string
	from, to int64
}

// Since is what changed after a mark.
type Since struct {
	Mark  int64
	Jobs  []Subject // that have new facts
	Gauge bool      // something was said of a gauge or a piece
	Many  bool      // more than is worth telling one by one, or facts went: read all anew
}

// A Subject is a job of a bench.
type Subject struct{ Bench, ID string }

// Since tells what changed after a mark. While Watch runs it asks the server only
// where a batch was heard of, and now and then all the same.
func (b *Board) Since(ctx context.Context, after int64) (Since, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if err := b.away(); err != nil {
		return Since{}, err
	}
	if err := b.look(ctx); err != nil {
		return Since{}, err
	}
	out := Since{Mark: b.mark}
	switch {
	case after == b.mark:
		return out, nil
	case after < b.forgot || after <= 0 || after > b.mark:
		return b.many(), nil
	}
	spans := b.after(after)
	facts := int64(0)
	for _, s := range spans {
		facts += s.to - s.from
	}
	if facts > mostSince {
		return b.many(), nil
	}
	subjects, err := b.subjects(ctx, spans)
	if err != nil {
		return Since{}, err
	}
	for _, s := range subjects {
		switch kind, id, _ := strings.Cut(s.ID, "/"); kind {
		case "job":
			out.Jobs = append(out.Jobs, Subject{s.Bench, id})
		case "gauge", "piece":
			out.Gauge = true
			if g := b.gauges[s.Bench]; g != nil {
				g.stale = true
			}
		}
	}
	return out, nil
}

// many is that all is to be read anew; of gauges, what is new.
func (b *Board) many() Since {
	for _, g := range b.gauges {
		g.stale = true
	}
	return Since{Mark: b.mark, Many: true}
}

// after is how far each bench went on after a mark.
func (b *Board) after(mark int64) []news {
	by := map[string]news{}
	for _, n := range b.news {
		if n.mark <= mark {
			continue
		}
		if was, ok := by[n.bench]; ok {
			n.from = min(n.from, was.from)
		}
		by[n.bench] = n
	}
	var out []news
	for _, n := range by {
		out = append(out, n)
	}
	slices.SortFunc(out, func(a, b news) int { return strings.Compare(a.bench, b.bench) })
	return out
}

// columns are spans as a query takes them.
func columns(spans []news) (benches []string, from, to []int64) {
	for _, n := range spans {
		benches, from, to = append(benches, n.bench), append(from, n.from), append(to, n.to)
	}
	return benches, from, to
}

const newSubjects = `SELECT DISTINCT c.bench, f.subject
	FROM unnest($1::text[], $2::bigint[], $3::bigint[]) AS c (bench, after, upto)
	CROSS JOIN LATERAL (SELECT subject FROM shimwright.fact WHERE bench = c.bench AND seq > c.after AND seq <= c.upto ORDER BY seq LIMIT 5000) f`

// subjects are what facts in some spans are of.
func (b *Board) subjects(ctx context.Context, spans []news) ([]Subject, error) {
	if len(spans) == 0 {
		return nil, nil
	}
	benches, from, to := columns(spans)
	return ask(ctx, b.Store, "reading what is new", pgx.RowToStructByPos[Subject], newSubjects, benches, from, to)
}

// look looks at the heads that were heard of, or at all.
func (b *Board) look(ctx context.Context) error {
	passed := b.now().Sub(b.looked)
	all := b.all || !b.live || passed >= lookAgain || b.deaf && passed >= lookDeaf
	if !all && len(b.heard) == 0 {
		return nil
	}
	var heard []string
	for name := range b.heard {
		heard = append(heard, name)
	}
	// what is heard while this is asked is heard anew
	b.heard, b.all = map[string]bool{}, false
	heads, err := b.headsOf(ctx, all, heard)
	if err == nil {
		err = b.readNotes(ctx)
	}
	if err != nil {
		b.all = true
		return err
	}
	if all {
		b.looked = b.now()
	}
	if all {
		heard = slices.Collect(maps.Keys(b.heads))
	}
	b.take(heads, heard)
	return nil
}

type headRow struct {
	Bench              string
	Seq, Rows, Shipped int64
	Rule               int
}

const (
	headColumns = `bench, last_seq, rows_seq, (coalesce(extract(epoch FROM shipped), 0) * 1000000)::bigint, rule`
	someHeads   = `SELECT ` + headColumns + ` FROM shimwright.bench_head WHERE bench = ANY($1::text[])`
	allHeads    = `SELECT ` + headColumns + ` FROM shimwright.bench_head WHERE last_seq > 0`
)

// headsOf gives up the lock while it asks, so that a batch can be heard of.
func (b *Board) headsOf(ctx context.Context, all bool, heard []string) ([]headRow, error) {
	b.mu.Unlock()
	defer b.mu.Lock()
	if all {
		return ask(ctx, b.Store, "looking how far the benches are", pgx.RowToStructByPos[headRow], allHeads)
	}
	return ask(ctx, b.Store, "looking how far the benches are", pgx.RowToStructByPos[headRow], someHeads, heard)
}

// take takes in the heads of benches that were looked at, under a new mark where
// one is another or is there no more.
func (b *Board) take(rows []headRow, looked []string) {
	var found []news
	reset := false
	next := int64(0)
	seen := map[string]bool{}
	for _, r := range rows {
		seen[r.Bench] = true
		is, was := head{r.Seq, r.Rows, r.Shipped, r.Rule}, b.heads[r.Bench]
		if is == was {
			continue
		}
		switch {
		case is.seq > was.seq && (was.seq == was.rows && is.rule == was.rule || was == head{}):
			found = append(found, news{bench: r.Bench, from: was.seq, to: is.seq})
		default: // fewer facts than before, the same again, or rows made anew
			reset = true
		}
		if is.seq < was.seq {
			delete(b.gauges, r.Bench)
		}
		b.heads[r.Bench] = is
	}
	for _, name := range looked {
		if _, known := b.heads[name]; known && !seen[name] {
			delete(b.heads, name)
			delete(b.gauges, name)
			reset = true
		}
	}
	for _, h := range b.heads {
		next += h.seq
	}
	if len(found) > 0 || reset {
		b.step(max(b.mark+1, next), found, reset)
	}
}

// step goes on to a mark.
func (b *Board) step(mark int64, found []news, reset bool) {
	b.mark = mark
	for _, n := range found {
		n.mark = mark
		b.news = append(b.news, n)
	}
	if reset {
		b.news, b.forgot = nil, mark
	}
	if over := len(b.news) - mostNews; over > 0 {
		b.forgot = b.news[over-1].mark
		b.news = slices.Clone(b.news[over:])
	}
}

// ask reads the rows of one query.
func ask[T any](ctx context.Context, s *Store, doing string, to pgx.RowToFunc[T], query string, args ...any) ([]T, error) {
	var out []T
	err := s.with(ctx, doing, func(ctx context.Context, c *pgx.Conn) error {
		rows, err := c.Query(ctx, query, args...)
		if err != nil {
			return err
		}
		out, err = pgx.AppendRows([]T(nil), rows, to)
		return err
	})
	return out, err
}

// micros is a time as the tables have it; what lies beyond is the farthest.
func micros(t time.Time) int64 {
	if t.Year() < 1 {
		return math.MinInt64
	}
	return t.UnixMicro()
}
