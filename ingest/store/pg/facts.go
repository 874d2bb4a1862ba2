package pg

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"shimwright/ingest/journal"
	"shimwright/ingest/relay/shop"
	"shimwright/ingest/store"
)

// Facts are one bench's facts in the shop, read as from its journal.
type Facts struct {
	s     *Store
	bench string
}

// Facts gives a bench's.
func (s *Store) Facts(bench string) Facts { return Facts{s, bench} }

// Path is what they are called in a message.
func (f Facts) Path() string { return "the shop's facts of bench " + f.bench }

const (
	pageFacts = 256     // facts fetched at a time
	pageBytes = 8 << 20 // payload bytes after which a page ends

	factColumns = `seq, utc_us, since_ns, run, subject, kind, version, payload, hash`
	factsOf     = `SELECT ` + factColumns + ` FROM shimwright.fact WHERE bench = $1 AND subject = $2 AND seq > $3 ORDER BY seq LIMIT $4`
)

// errPage ends a page.
var errPage = errors.New("the page is full")

// Read calls do for each fact of a subject above a number, in order, up to the
// newest. An error of do ends the reading and is returned as it is.
func (f Facts) Read(ctx context.Context, subject string, after int64, do func(journal.Stored) error) error {
	for {
		page, more, err := f.page(ctx, subject, after)
		if err != nil {
			return err
		}
		for _, s := range page {
			if err := do(s); err != nil {
				return err
			}
			after = s.Seq
		}
		if !more {
			return nil
		}
	}
}

func (f Facts) page(ctx context.Context, subject string, after int64) (page []journal.Stored, more bool, err error) {
	err = f.s.with(ctx, "reading facts of bench "+f.bench, func(ctx context.Context, c *pgx.Conn) error {
		page, more = nil, false
		rows, err := c.Query(ctx, factsOf, f.bench, subject, after, pageFacts)
		if err != nil {
			return err
		}
		size := 0
		err = eachFact(rows, func(s journal.Stored) error {
			page = append(page, s)
			if size += len(s.Payload); size >= pageBytes {
				more = true
				return errPage
			}
			return nil
		})
		if errors.Is(err, errPage) {
			err = nil
		}
		more = more || len(page) == pageFacts
		return err
	})
	return page, more, err
}

// eachFact reads rows that begin with the columns of a fact; into are what
// stands behind them.
func eachFact(rows pgx.Rows, do func(journal.Stored) error, into ...any) error {
	defer rows.Close()
	for rows.Next() {
		var s journal.Stored
		var us, ns int64
		var hash []byte
		if err := rows.Scan(append([]any{&s.Seq, &us, &ns, &s.Run, &s.Subject, &s.Kind, &s.Version, &s.Payload, &hash}, into...)...); err != nil {
			return err
		}
		if len(hash) != len(s.Hash) {
			return fmt.Errorf("%w: fact %d: its hash has %d bytes", shop.ErrRow, s.Seq, len(hash))
		}
		s.UTC, s.SinceRun = time.UnixMicro(us).UTC(), time.Duration(ns)
		copy(s.Hash[:], hash)
		if err := do(s); err != nil {
			return err
		}
	}
	return rows.Err()
}

// A Decided is a fact by which a hold was placed or lifted, something was conceded
// or a figure was keyed by hand.
type Decided struct {
	Bench string
	journal.Stored
}

const (
	isDecided = `(kind IN ('on hold', 'lifted', 'conceded') OR
	kind = 'pressed' AND position('"source":"keyed"'::bytea IN payload) > 0)`
	decidedAll = `SELECT ` + factColumns + `, bench FROM shimwright.fact WHERE ` + isDecided + ` ORDER BY utc_us DESC, bench DESC, seq DESC LIMIT $1`
	decidedNew = `SELECT f.seq, f.utc_us, f.since_ns, f.run, f.subject, f.kind, f.version, f.payload, f.hash, c.bench
	FROM unnest($2::text[], $3::bigint[], $4::bigint[]) AS c (bench, after, upto)
	CROSS JOIN LATERAL (SELECT ` + factColumns + ` FROM shimwright.fact WHERE bench = c.bench AND seq > c.after AND seq <= c.upto AND ` + isDecided + ` ORDER BY seq DESC LIMIT $1) f
	ORDER BY f.utc_us DESC, c.bench DESC, f.seq DESC LIMIT $1`
)

// Decided gives the newest that were decided after a mark, newest first, at most
// so many. Where that mark is no longer known it gives the newest of all.
func (b *Board) Decided(ctx context.Context, after int64, most int) ([]Decided, error) {
	b.mu.Lock()
	query, args := decidedAll, []any{most}
	if after > 0 && after >= b.forgot && after <= b.mark {
		benches, from, to := columns(b.after(after))
		if query, args = decidedNew, []any{most, benches, from, to}; len(benches) == 0 {
			query = ""
		}
	}
	b.mu.Unlock()
	if query == "" {
		return nil, nil
	}
	var out []Decided
	err := b.with(ctx, "reading what was decided", func(ctx context.Context, c *pgx.Conn) error {
		out = nil
		rows, err := c.Query(ctx, query, args...)
		if err != nil {
			return err
		}
		bench := ""
		return eachFact(rows, func(s journal.Stored) error {
			out = append(out, Decided{bench, s})
			return nil
		}, &bench)
	})
	return out, err
}

const stateOf = `SELECT state FROM shimwright.job WHERE bench = $1 AND id = $2`

// StateOf is how far a job is; ErrNoJob where the shop has none.
func (s *Store) StateOf(ctx context.Context, bench, id string) (store.State, error) {
	got, err := ask(ctx, s, "reading a job", pgx.RowTo[store.State], stateOf, bench, id)
	if err != nil {
		return "", err
	}
	if len(got) == 0 {
		return "", fmt.Errorf("job %s of bench %s: %w", id, bench, ErrNoJob)
	}
	return got[0], nil
}

// ErrNoJob: the shop has no such job.
var ErrNoJob = errors.New("the shop has no such job")
