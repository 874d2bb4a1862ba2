// Package pg is the store over a shop's PostgreSQL: the jobs and judgements of
// all its benches, as their relays shipped them, and word of each batch as it
// comes; and what a board over many benches asks besides. It only reads.
//
// Over many benches judgements come newest first by their time, then bench, then
// number; of one bench, where the query names it, by their number alone, as over
// that bench's journal.
package pg

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"strconv"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"

	"shimwright/ingest/relay/shop"
	"shimwright/ingest/store"
)

// A Store reads a shop's database over at most so many connections at a time.
type Store struct {
	address shop.Address
	turn    chan struct{}
	idle    chan *pgx.Conn
}

var _ store.Store = (*Store)(nil)

const (
	connections = 4
	patience    = 30 * time.Second // of one query
	program     = "shimwright board"
)

// New makes a store that has not connected yet.
func New(a shop.Address) *Store {
	return &Store{a, make(chan struct{}, connections), make(chan *pgx.Conn, connections)}
}

// Open connects, and holds the shop's tables to the form that is known.
func Open(ctx context.Context, a shop.Address) (*Store, error) {
	s := New(a)
	return s, s.Check(ctx)
}

// Check connects, and holds the shop's tables to the form that is known.
func (s *Store) Check(ctx context.Context) error {
	return s.with(ctx, "opening the shop", func(ctx context.Context, c *pgx.Conn) error { return shop.Check(ctx, c) })
}

// Close closes the connections that nobody uses; call it when all is read.
func (s *Store) Close() {
	ctx, stop := context.WithTimeout(context.Background(), 2*time.Second)
	defer stop()
	for {
		select {
		case c := <-s.idle:
			_ = c.Close(ctx) // the server sees it gone
		default:
			return
		}
	}
}

// with runs f on a connection of its own. One that lay idle may be broken without
// anyone knowing, so a question that found it broken is asked once more on a new
// one: reading twice harms nothing.
func (s *Store) with(ctx context.Context, doing string, f func(context.Context, *pgx.Conn) error) error {
	ctx, stop := context.WithTimeout(ctx, patience)
	defer stop()
	select {
	case s.turn <- struct{}{}:
		defer func() { <-s.turn }()
	case <-ctx.Done():
		return shop.Explain(doing, ctx.Err())
	}
	for {
		c, used, err := s.take(ctx)
		if err != nil {
			return err
		}
		err = f(ctx, c)
		if !c.IsClosed() {
			s.idle <- c // it has room for as many as have a turn
			return shop.Explain(doing, err)
		}
		if !used || ctx.Err() != nil {
			return shop.Explain(doing, err)
		}
	}
}

func (s *Store) take(ctx context.Context) (c *pgx.Conn, used bool, err error) {
	select {
	case c := <-s.idle:
		return c, true, nil
	default:
	}
	c, err = s.connect(ctx)
	return c, false, err
}

// connect opens a connection that can only read, whatever its role may.
func (s *Store) connect(ctx context.Context) (*pgx.Conn, error) {
	c, err := shop.Connect(ctx, s.address, program)
	if err != nil {
		return nil, err
	}
	if _, err := c.Exec(ctx, `SET SESSION CHARACTERISTICS AS TRANSACTION READ ONLY`); err != nil {
		return nil, errors.Join(shop.Explain("settling to read only", err), c.Close(ctx))
	}
	return c, nil
}

// Jobs gives the jobs of a query, newest opened first.
func (s *Store) Jobs(ctx context.Context, q store.JobQuery) ([]store.Job, error) {
	query, args := jobs(q)
	return ask(ctx, s, "reading jobs", jobRow, query, args...)
}

func jobRow(row pgx.CollectableRow) (store.Job, error) {
	var o store.Job
	var opened, ended int64
	var over bool
	err := row.Scan(&o.Bench, &o.ID, &o.Drive, &o.Serial, &o.Sheet, &o.Issue, &o.Digest, &opened, &o.State, &ended, &over, &o.Training)
	o.Opened = time.UnixMicro(opened).UTC()
	if over {
		o.Ended = time.UnixMicro(ended).UTC()
	}
	return o, err
}

func jobs(q store.JobQuery) (string, []any) {
	var w where
	w.text("bench", q.Bench)
	w.text("state", string(q.State))
	w.text("sheet", q.Sheet)
	w.from("opened_us", q.From, q.Until)
	if b := q.Before; b != nil {
		w.add("(opened_us, id, bench) < (?, ?, ?)", b.Opened.UnixMicro(), b.ID, b.Bench)
	}
	return `SELECT bench, id, drive, serial, sheet, issue, digest, opened_us, state, coalesce(ended_us, 0), ended_us IS NOT NULL, training
		FROM shimwright.job` + w.String() + ` ORDER BY opened_us DESC, id DESC, bench DESC LIMIT ` + strconv.Itoa(store.Bounded(q.Limit)), w.args
}

// ErrBench: a query goes on below a number without naming the bench that counts
// so.
var ErrBench = errors.New("Before is a number of one bench: name the bench, or go on by Behind")

// Judgements gives the judgements of a query, newest first.
func (s *Store) Judgements(ctx context.Context, q store.JudgementQuery) ([]store.Judgement, error) {
	if q.Before != 0 && q.Bench == "" {
		return nil, fmt.Errorf("reading judgements: %w", ErrBench)
	}
	query, args := judgements(q)
	return ask(ctx, s, "reading judgements", judgement, query, args...)
}

func judgements(q store.JudgementQuery) (string, []any) {
	var w where
	w.text("bench", q.Bench)
	w.text("job", q.Job)
	w.text("sheet", q.Sheet)
	w.text("what", q.What)
	w.from("utc_us", q.From, q.Until)
	order := "utc_us DESC, bench DESC, seq DESC"
	switch b := q.Behind; {
	case q.Bench != "":
		order = "seq DESC"
		if b != nil {
			w.add("seq < ?", b.Seq)
		}
	case b != nil:
		w.add("(utc_us, bench, seq) < (?, ?, ?)", b.At.UnixMicro(), b.Bench, b.Seq)
	}
	if q.Before != 0 {
		w.add("seq < ?", q.Before)
	}
	return `SELECT bench, seq, job, sheet, step, what, verdict, words, advice, value, low, high,
		uncertainty, mean, spread, points, build, training, program, utc_us, leaves, total
		FROM shimwright.judgement` + w.String() + ` ORDER BY ` + order + ` LIMIT ` + strconv.Itoa(store.Bounded(q.Limit)), w.args
}

func judgement(row pgx.CollectableRow) (store.Judgement, error) {
	var o store.Judgement
	var points, leaves string
	var at int64
	err := row.Scan(&o.Bench, &o.Seq, &o.Job, &o.Sheet, &o.Step, &o.What, &o.Verdict, &o.Words, &o.Advice, &o.Value, &o.Low, &o.High,
		&o.Uncertainty, &o.Mean, &o.Spread, &points, &o.Build, &o.Training, &o.Program, &at, &leaves, &o.Total)
	if err != nil {
		return o, err
	}
	o.At = time.UnixMicro(at).UTC()
	if err := json.Unmarshal([]byte(points), &o.Points); err != nil {
		return o, fmt.Errorf("%w: judgement %d of bench %s: its points are not a list: %w", shop.ErrRow, o.Seq, o.Bench, err)
	}
	if err := json.Unmarshal([]byte(leaves), &o.Leaves); err != nil {
		return o, fmt.Errorf("%w: judgement %d of bench %s: its leaves are not a list: %w", shop.ErrRow, o.Seq, o.Bench, err)
	}
	return o, nil
}

// A Batch is word that a bench's facts are there up to a number.
type Batch struct {
	Bench string
	Upto  int64
}

// Listen calls f for each batch that is shipped while it runs, in order, until
// ctx is done or the connection breaks; it gives the reason. Word that was sent
// while nobody listened is not told later: look at the rows when listening has
// begun, which ready, where not nil, tells.
func (s *Store) Listen(ctx context.Context, ready func(), f func(Batch)) error {
	c, err := s.connect(ctx)
	if err != nil {
		return err
	}
	defer func() { _ = c.Close(context.WithoutCancel(ctx)) }()
	if err := shop.Check(ctx, c); err != nil {
		return err
	}
	if _, err := c.Exec(ctx, `LISTEN shimwright`); err != nil {
		return shop.Explain("listening for batches", err)
	}
	if ready != nil {
		ready()
	}
	for {
		n, err := c.WaitForNotification(ctx)
		if err != nil {
			return shop.Explain("listening for batches", err)
		}
		bench, upto, _ := strings.Cut(n.Payload, "\n")
		seq, err := strconv.ParseInt(upto, 10, 64)
		if err != nil {
			continue // somebody else's word on this channel
		}
		f(Batch{bench, seq})
	}
}

// where gathers the conditions of a query; only our own words get into its text.
type where struct {
	conditions []string
	args       []any
}

func (w *where) add(condition string, args ...any) {
	for _, a := range args {
		w.args = append(w.args, a)
		condition = strings.Replace(condition, "?", "$"+strconv.Itoa(len(w.args)), 1)
	}
	w.conditions = append(w.conditions, condition)
}

func (w *where) text(column, is string) {
	if is != "" {
		w.add(column+" = ?", is)
	}
}

func (w *where) from(column string, from, until time.Time) {
	if !from.IsZero() {
		w.add(column+" >= ?", from.UnixMicro())
	}
	if !until.IsZero() {
		w.add(column+" < ?", until.UnixMicro())
	}
}

func (w *where) String() string {
	if len(w.conditions) == 0 {
		return ""
	}
	return " WHERE " + strings.Join(w.conditions, " AND ")
}
