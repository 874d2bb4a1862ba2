package journal

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"strings"
	"time"

	"shimwright/ingest/store"
)

const (
	openJob = `INSERT INTO job (id, drive, serial, sheet, issue, digest, opened_us, state, training)
		VALUES (?, ?, ?, ?, ?, ?, ?, 'open', ?)`
	endJob   = `UPDATE job SET state = ?, ended_us = ? WHERE id = ?`
	trainJob = `UPDATE job SET training = 1 WHERE id = ? AND training = 0`
	// the sheet is the job's, so that both come from the same opening
	addJudgement = `INSERT INTO judgement (seq, job, sheet, step, what, verdict, words, advice, value, low, high,
			uncertainty, mean, spread, points, build, training, program, utc_us, leaves, total)
		VALUES (?1, ?2, coalesce((SELECT sheet FROM job WHERE id = ?2), ''), ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10,
			?11, ?12, ?13, ?14, ?15, ?16, ?17, ?18, ?19, ?20)`
)

// follow writes the rows that follow from facts, in their transaction. Without
// a rule it notes once that rows are missing.
func (j *Journal) follow(ctx context.Context, tx *sql.Tx, stored []Stored) error {
	if j.rows.Of == nil {
		if j.stale {
			return nil
		}
		if _, err := tx.ExecContext(ctx, `UPDATE derived SET version = 0`); err != nil {
			return explain(j.path, "storing", err)
		}
		return nil
	}
	in := j.changing(tx)
	for _, s := range stored {
		if err := j.row(ctx, in, s); err != nil {
			return err
		}
	}
	return nil
}

// row writes what follows from one fact. A fact that the rule cannot read stops
// its storing: what cannot be read back is not kept.
func (j *Journal) row(ctx context.Context, in changing, s Stored) error {
	c, err := j.rows.Of(s)
	if err != nil {
		return fmt.Errorf("journal %s: the rows of fact %d: %w", j.path, s.Seq, err)
	}
	return explain(j.path, "storing the rows of a fact", in.change(ctx, s, c))
}

// readChanges has the changes of rows read once: to read one took longer than to
// carry it out.
func (j *Journal) readChanges(ctx context.Context) (err error) {
	j.changes = map[string]*sql.Stmt{}
	for _, query := range []string{openJob, endJob, trainJob, addJudgement} {
		if j.changes[query], err = j.db.PrepareContext(ctx, query); err != nil {
			return err
		}
	}
	return nil
}

// changing is the changes of rows within one transaction. A transaction keeps
// every statement that it was given until it ends, so each is given to it once.
type changing struct {
	tx    *sql.Tx
	read  map[string]*sql.Stmt
	given map[string]*sql.Stmt
}

func (j *Journal) changing(tx *sql.Tx) changing {
	return changing{tx, j.changes, map[string]*sql.Stmt{}}
}

func (in changing) do(ctx context.Context, query string, args ...any) error {
	if in.given[query] == nil {
		in.given[query] = in.tx.StmtContext(ctx, in.read[query])
	}
	_, err := in.given[query].ExecContext(ctx, args...)
	return err
}

func (in changing) change(ctx context.Context, s Stored, c store.Change) error {
	var errs []error
	do := func(query string, args ...any) { errs = append(errs, in.do(ctx, query, args...)) }
	if o := c.Opens; o != nil {
		do(openJob, o.ID, o.Drive, o.Serial, o.Sheet, o.Issue, o.Digest, s.UTC.UnixMicro(), o.Training)
	}
	if e := c.Ends; e != nil {
		do(endJob, string(e.State), s.UTC.UnixMicro(), e.Job)
	}
	if d := c.Judged; d != nil {
		points, err := json.Marshal(d.Points)
		leaves, leavesErr := json.Marshal(d.Leaves)
		errs = append(errs, err, leavesErr)
		do(addJudgement, s.Seq, d.Job, d.Step, d.What, d.Verdict, d.Words, d.Advice, d.Value, d.Low, d.High,
			d.Uncertainty, d.Mean, d.Spread, string(points), d.Build, d.Training, d.Program, s.UTC.UnixMicro(), string(leaves), d.Total)
		if d.Training {
			do(trainJob, d.Job)
		}
	}
	return errors.Join(errs...)
}

// keepRows makes the rows anew where another version of the rule made them, or
// where that is wanted, all in one transaction: killed in the middle, the file is
// as it was.
func (j *Journal) keepRows(ctx context.Context, anew bool, progress Progress) error {
	var by int
	if err := j.db.QueryRowContext(ctx, `SELECT version FROM derived`).Scan(&by); err != nil {
		return explain(j.path, "looking which rule made its rows", err)
	}
	if j.rows.Of == nil {
		j.stale = by == 0
		return nil
	}
	if anew {
		if _, err := j.db.ExecContext(ctx, `DELETE FROM kept`); err != nil {
			return explain(j.path, "letting go of what it keeps of folds", err)
		}
	} else if by == j.rows.Version {
		return nil
	}
	return j.Rebuild(ctx, progress)
}

// Rebuild makes all rows anew from the facts. Facts wait meanwhile. A stop by
// ctx, or an error, leaves the rows as they were.
func (j *Journal) Rebuild(ctx context.Context, progress Progress) error {
	if j.rows.Of == nil {
		return fmt.Errorf("journal %s: %w: it was opened without the rule that rows follow from", j.path, ErrRefused)
	}
	select {
	case j.gate <- struct{}{}:
		defer func() { <-j.gate }()
	case <-ctx.Done():
		return explain(j.path, "making its rows anew", ctx.Err())
	}
	if j.done != nil {
		return j.done
	}
	tx, err := j.db.BeginTx(ctx, nil)
	if err != nil {
		return explain(j.path, "making its rows anew", err)
	}
	defer tx.Rollback() // after a commit it does nothing
	for _, clear := range []string{`DELETE FROM job`, `DELETE FROM judgement`} {
		if _, err := tx.ExecContext(ctx, clear); err != nil {
			return explain(j.path, "making its rows anew", err)
		}
	}
	last, _, err := j.Last(ctx)
	if err != nil {
		return err
	}
	in := j.changing(tx)
	err = j.Read(ctx, "", math.MinInt64, func(s Stored) error {
		if s.Seq%pageFacts == 0 {
			progress.tell("making the lists of jobs anew from the facts", s.Seq, last.Seq)
		}
		return j.row(ctx, in, s)
	})
	if ctx.Err() != nil {
		return explain(j.path, "making its rows anew", ctx.Err())
	}
	if err != nil {
		return err
	}
	if _, err := tx.ExecContext(ctx, `UPDATE derived SET version = ?`, j.rows.Version); err != nil {
		return explain(j.path, "making its rows anew", err)
	}
	return explain(j.path, "making its rows anew", stopped(ctx, tx.Commit()))
}

var _ store.Store = (*Reader)(nil)

// Jobs gives the jobs of a query, newest opened first.
func (r *Reader) Jobs(ctx context.Context, q store.JobQuery) ([]store.Job, error) {
	if q.Bench != "" && q.Bench != r.bench {
		return nil, nil
	}
	var w where
	w.text("state", string(q.State))
	w.text("sheet", q.Sheet)
	w.from("opened_us", q.From, q.Until)
	if b := q.Before; b != nil {
		w.add("(opened_us, id) < (?, ?)", b.Opened.UnixMicro(), b.ID)
	}
	rows, err := r.db.QueryContext(ctx, `SELECT id, drive, serial, sheet, issue, digest, opened_us, state, ended_us, training
		FROM job`+w.String()+` ORDER BY opened_us DESC, id DESC LIMIT ?`, append(w.args, store.Bounded(q.Limit))...)
	if err != nil {
		return nil, explain(r.path, "reading jobs", err)
	}
	defer rows.Close()
	var out []store.Job
	for rows.Next() {
		o := store.Job{Bench: r.bench}
		var opened int64
		var ended sql.NullInt64
		if err := rows.Scan(&o.ID, &o.Drive, &o.Serial, &o.Sheet, &o.Issue, &o.Digest, &opened, &o.State, &ended, &o.Training); err != nil {
			return nil, explain(r.path, "reading jobs", err)
		}
		o.Opened = time.UnixMicro(opened).UTC()
		if ended.Valid {
			o.Ended = time.UnixMicro(ended.Int64).UTC()
		}
		out = append(out, o)
	}
	return out, errors.Join(explain(r.path, "reading jobs", rows.Err()), r.lies.still())
}

const (
	judgements = `SELECT seq, job, sheet, step, what, verdict, words, advice, value, low, high,
			uncertainty, mean, spread, points, build, training, program, utc_us, leaves, total
		FROM judgement`
	newestJudged = ` ORDER BY seq DESC LIMIT ?`
	judgementsOf = judgements + ` WHERE job = ?` + newestJudged
)

// Judgements gives the judgements of a query, newest first.
func (r *Reader) Judgements(ctx context.Context, q store.JudgementQuery) ([]store.Judgement, error) {
	if q.Bench != "" && q.Bench != r.bench {
		return nil, nil
	}
	var w where
	w.text("job", q.Job)
	w.text("sheet", q.Sheet)
	w.text("what", q.What)
	w.from("utc_us", q.From, q.Until)
	if q.Before != 0 {
		w.add("seq < ?", q.Before)
	}
	if b := q.Behind; b != nil {
		w.add("seq < ?", b.Seq)
	}
	query, args := judgements+w.String()+newestJudged, append(w.args, store.Bounded(q.Limit))
	var rows *sql.Rows
	var err error
	if query == judgementsOf {
		rows, err = r.judged.QueryContext(ctx, args...)
	} else {
		rows, err = r.db.QueryContext(ctx, query, args...)
	}
	if err != nil {
		return nil, explain(r.path, "reading judgements", err)
	}
	defer rows.Close()
	var out []store.Judgement
	for rows.Next() {
		o := store.Judgement{Bench: r.bench}
		var points, leaves string
		var at int64
		if err := rows.Scan(&o.Seq, &o.Job, &o.Sheet, &o.Step, &o.What, &o.Verdict, &o.Words, &o.Advice, &o.Value, &o.Low, &o.High,
			&o.Uncertainty, &o.Mean, &o.Spread, &points, &o.Build, &o.Training, &o.Program, &at, &leaves, &o.Total); err != nil {
			return nil, explain(r.path, "reading judgements", err)
		}
		if err := json.Unmarshal([]byte(points), &o.Points); err != nil {
			return nil, &Break{r.path, o.Seq, "the points of its judgement are not a list"}
		}
		if err := json.Unmarshal([]byte(leaves), &o.Leaves); err != nil {
			return nil, &Break{r.path, o.Seq, "the leaves of its judgement are not a list"}
		}
		o.At = time.UnixMicro(at).UTC()
		out = append(out, o)
	}
	return out, errors.Join(explain(r.path, "reading judgements", rows.Err()), r.lies.still())
}

// where gathers the conditions of a query; only our own words get into its text.
type where struct {
	conditions []string
	args       []any
}

func (w *where) add(condition string, args ...any) {
	w.conditions = append(w.conditions, condition)
	w.args = append(w.args, args...)
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

// KeepsRows tells whether the rows follow what this journal stores.
func (j *Journal) KeepsRows() bool { return j.rows.Of != nil }

// CountJobs is how many jobs were ever opened.
func (r *Reader) CountJobs(ctx context.Context) (int, error) {
	n := 0
	err := r.db.QueryRowContext(ctx, `SELECT count(*) FROM job`).Scan(&n)
	return n, explain(r.path, "counting jobs", err)
}

// LastOf is the sequence number of a subject's newest fact; false where it has
// none.
func (r *Reader) LastOf(ctx context.Context, subject string) (int64, bool, error) {
	var seq sql.NullInt64
	err := r.db.QueryRowContext(ctx, `SELECT max(seq) FROM fact WHERE subject = ?`, subject).Scan(&seq)
	return seq.Int64, seq.Valid, explain(r.path, "looking for the newest fact", err)
}
