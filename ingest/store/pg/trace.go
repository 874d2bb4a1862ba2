package pg

import (
	"context"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"

	"shimwright/ingest/journal"
	"shimwright/ingest/register"
	"shimwright/ingest/store"
)

// mostTraced is how many jobs one trace looks through, the newest (chosen, no
// source).
const mostTraced = 5000

// mostChecks is how many readings on a check piece one trace looks through, as the
// question for them has it (chosen, no source).
const mostChecks = 1000

const (
	tracedFacts = `SELECT f.seq, f.utc_us, f.since_ns, f.run, f.subject, f.kind, f.version, f.payload, f.hash, j.bench
	FROM unnest($1::text[], $2::text[]) AS j (bench, id)
	CROSS JOIN LATERAL (SELECT ` + factColumns + ` FROM shimwright.fact WHERE bench = j.bench AND subject = 'job/' || j.id
		AND kind IN ('pressed', 'drew') AND utc_us >= $3 AND utc_us < $4 AND position($5::bytea IN payload) > 0 OFFSET 0) f`
	tracedChecks = `SELECT f.seq, f.utc_us, f.since_ns, f.run, f.subject, f.kind, f.version, f.payload, f.hash, h.bench
	FROM shimwright.bench_head h
	CROSS JOIN LATERAL (SELECT ` + factColumns + ` FROM shimwright.fact WHERE bench = h.bench AND subject >= 'gauge/' AND subject < 'gauge0'
		AND kind = 'checked' AND utc_us >= $1 AND utc_us < $2 AND position($3::bytea IN payload) > 0 OFFSET 0) f LIMIT 1000`
)

// openBetween are jobs that were open at some time between two, newest first.
func openBetween(from, to time.Time) (string, []any) {
	return `SELECT bench, id, drive, serial, sheet, issue, digest, opened_us, state, coalesce(ended_us, 0), ended_us IS NOT NULL, training
		FROM shimwright.job WHERE opened_us < $1 AND (ended_us IS NULL OR ended_us >= $2)
		ORDER BY opened_us DESC, id DESC, bench DESC LIMIT ` + strconv.Itoa(mostTraced+1), []any{micros(to), micros(from)}
}

// Used gives the jobs of all benches in which a gauge or a piece was used between
// two times. It looks through the jobs that were open then, at most 5000, the
// newest, and through 1000 readings on a check piece, and says so where there were
// more.
func (s *Store) Used(ctx context.Context, name string, from, to time.Time) (register.Trace, error) {
	query, args := openBetween(from, to)
	jobs, err := ask(ctx, s, "reading jobs", jobRow, query, args...)
	if err != nil {
		return register.Trace{}, err
	}
	var cut []string
	if len(jobs) > mostTraced {
		jobs = jobs[:mostTraced]
		cut = append(cut, fmt.Sprintf("Only the newest %d jobs of those days were looked through, back to %s: choose fewer days.", mostTraced, jobs[mostTraced-1].Opened.Format(time.DateOnly)))
	}
	quoted, err := register.Quoted(name)
	if err != nil {
		return register.Trace{}, err
	}
	t, err := register.Gather(name, from, to, func(look func(string, journal.Stored) error) error {
		checks, err := s.each(ctx, look, tracedChecks, micros(from), micros(to), quoted)
		if err != nil {
			return err
		}
		if checks == mostChecks {
			cut = append(cut, fmt.Sprintf("Only %d of the readings on it as a check piece were looked through, so gauges may be missing: choose fewer days.", mostChecks))
		}
		const some = 500 // jobs in one question
		for part := range slices.Chunk(jobs, some) {
			var benches, ids []string
			for _, j := range part {
				benches, ids = append(benches, j.Bench), append(ids, j.ID)
			}
			if _, err := s.each(ctx, look, tracedFacts, benches, ids, micros(from), micros(to), quoted); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		return register.Trace{}, err
	}
	t.Cut = strings.Join(cut, " ")
	known := map[Subject]store.Job{}
	for _, j := range jobs {
		known[Subject{j.Bench, j.ID}] = j
	}
	for i, u := range t.Jobs {
		t.Jobs[i].Job = known[Subject{u.Job.Bench, u.Job.ID}]
	}
	return t, nil
}

// each looks at the facts of a query whose last column is the bench, and tells how
// many they were.
func (s *Store) each(ctx context.Context, look func(string, journal.Stored) error, query string, args ...any) (int, error) {
	var found []Decided
	err := s.with(ctx, "tracing", func(ctx context.Context, c *pgx.Conn) error {
		found = nil
		rows, err := c.Query(ctx, query, args...)
		if err != nil {
			return err
		}
		bench := ""
		return eachFact(rows, func(f journal.Stored) error {
			found = append(found, Decided{bench, f})
			return nil
		}, &bench)
	})
	if err != nil {
		return 0, err
	}
	for _, f := range found {
		if err := look(f.Bench, f.Stored); err != nil {
			return 0, err
		}
	}
	return len(found), nil
}
