package journal

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"slices"
	"time"

	"modernc.org/sqlite"
	sqlite3 "modernc.org/sqlite/lib"

	"shimwright/ingest/store"
)

const (
	lastLink = `SELECT seq, hash FROM fact ORDER BY seq DESC LIMIT 1`
	addFact  = `INSERT INTO fact (seq, utc_us, since_ns, run, subject, kind, version, payload, hash)
		VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)`
)

// Append stores the records in one transaction, in their order, and returns them
// as stored once they are durable. On an error nothing was stored, except for
// ErrUnsure (see the package's comment). Other errors: ErrRefused, ErrFull,
// ErrReadOnly, ErrBusy, ErrDisk, ErrDamaged, ErrClosed, the context's own.
// After ErrFull, ErrBusy and ErrReadOnly the same call may be tried again.
func (j *Journal) Append(ctx context.Context, records ...Record) ([]Stored, error) {
	if err := checkAll(records); err != nil {
		return nil, fmt.Errorf("journal %s: %w", j.path, err)
	}
	select {
	case j.gate <- struct{}{}:
		defer func() { <-j.gate }()
	case <-ctx.Done():
		return nil, explain(j.path, "storing", ctx.Err())
	}
	if err := ctx.Err(); err != nil { // both were ready
		return nil, explain(j.path, "storing", err)
	}
	if j.done != nil {
		return nil, j.done
	}
	return j.store(context.WithoutCancel(ctx), records)
}

// store extends the chain from where it ended when this program last looked. A
// trigger of the file refuses a fact that does not follow the last one, so where
// another program wrote meanwhile, the end is looked up in the file, and that is
// what counts.
func (j *Journal) store(ctx context.Context, records []Record) ([]Stored, error) {
	remembered := j.end != nil
	stored, err := j.extend(ctx, records)
	if remembered && isConstraint(err) {
		j.end = nil
		stored, err = j.extend(ctx, records)
	}
	if err != nil {
		j.end = nil
		return nil, err
	}
	last := stored[len(stored)-1]
	j.end = &Stored{Seq: last.Seq, Hash: last.Hash}
	return stored, nil
}

func isConstraint(err error) bool {
	var failure *sqlite.Error
	return errors.As(err, &failure) && failure.Code()&0xff == sqlite3.SQLITE_CONSTRAINT
}

func (j *Journal) extend(ctx context.Context, records []Record) ([]Stored, error) {
	if j.end != nil && len(records) == 1 {
		stored := j.chain(*j.end, records)
		if alone, err := j.alone(stored[0]); alone || err != nil {
			if err != nil {
				return nil, err
			}
			return stored, j.addAlone(ctx, stored[0])
		}
	}
	tx, err := j.db.BeginTx(ctx, nil)
	if err != nil {
		return nil, explain(j.path, "storing", err)
	}
	defer tx.Rollback() // after a commit it does nothing
	if j.end == nil {
		last, err := j.lastLink(ctx, tx)
		if err != nil {
			return nil, err
		}
		j.end = &last
	}
	stored := j.chain(*j.end, records)
	add := tx.StmtContext(ctx, j.add)
	for _, s := range stored {
		if _, err := add.ExecContext(ctx, row(s)...); err != nil {
			return nil, explain(j.path, "storing", err)
		}
	}
	if err := j.follow(ctx, tx, stored); err != nil {
		return nil, err
	}
	if err := tx.Commit(); err != nil {
		return nil, j.notCommitted(err)
	}
	j.stale = j.rows.Of == nil
	return stored, nil
}

// alone tells whether a fact is all that its transaction writes: then one
// statement is the transaction, without others to begin and end it.
func (j *Journal) alone(s Stored) (bool, error) {
	if j.rows.Of == nil {
		return j.stale, nil
	}
	c, err := j.rows.Of(s)
	if err != nil {
		return false, fmt.Errorf("journal %s: the rows of fact %d: %w", j.path, s.Seq, err)
	}
	return c == store.Change{}, nil
}

func (j *Journal) addAlone(ctx context.Context, s Stored) error {
	_, err := j.add.ExecContext(ctx, row(s)...)
	var failure *sqlite.Error
	switch {
	case err == nil:
		return nil
	case errors.As(err, &failure) && slices.Contains(refusedAtOnce(), failure.Code()&0xff):
		return explain(j.path, "storing", err)
	}
	return j.notCommitted(err)
}

// refusedAtOnce are the failures that come before anything is written.
func refusedAtOnce() []int {
	return []int{sqlite3.SQLITE_CONSTRAINT, sqlite3.SQLITE_READONLY, sqlite3.SQLITE_PERM, sqlite3.SQLITE_AUTH}
}

// row is a fact as the statement that adds it takes it.
func row(s Stored) []any {
	return []any{s.Seq, s.UTC.UnixMicro(), int64(s.SinceRun), s.Run, s.Subject, s.Kind, s.Version, s.Payload, s.Hash[:]}
}

// lastLink reads the end of the chain inside the transaction that extends it.
func (j *Journal) lastLink(ctx context.Context, tx *sql.Tx) (Stored, error) {
	last := Stored{Hash: j.first}
	var hash []byte
	err := tx.StmtContext(ctx, j.last).QueryRowContext(ctx).Scan(&last.Seq, &hash)
	if errors.Is(err, sql.ErrNoRows) {
		return last, nil
	}
	if err != nil {
		return last, explain(j.path, "storing", err)
	}
	if len(hash) != len(last.Hash) {
		return last, &Break{j.path, last.Seq, fmt.Sprintf("its hash has %d bytes", len(hash))}
	}
	copy(last.Hash[:], hash)
	return last, nil
}

// chain gives the records their place, time and hash after prev. Payloads are
// copied: what the caller does with his bytes later is his.
func (j *Journal) chain(prev Stored, records []Record) []Stored {
	now := j.now()
	since := now.Sub(j.began)
	utc := time.UnixMicro(now.UnixMicro()).UTC() // as it will be read back
	stored := make([]Stored, len(records))
	for i, r := range records {
		// an empty payload is an empty BLOB, never NULL
		r.Payload = append([]byte{}, r.Payload...)
		s := Stored{Record: r, Seq: prev.Seq + 1, UTC: utc, Run: j.run, SinceRun: since}
		s.Hash = link(prev.Hash, s)
		stored[i], prev = s, s
	}
	return stored
}

// notCommitted judges a failed commit. Full and busy leave the file as it was
// for certain; after anything else the log may hold the whole transaction
// without fsync having said so, and the next Open may find it.
func (j *Journal) notCommitted(err error) error {
	var failure *sqlite.Error
	if errors.As(err, &failure) {
		switch failure.Code() & 0xff {
		case sqlite3.SQLITE_FULL, sqlite3.SQLITE_BUSY:
			return explain(j.path, "storing", err)
		}
	}
	j.done = fmt.Errorf("journal %s: %w: close it, look at the disk, open it again and see which facts it has: %w",
		j.path, ErrUnsure, explain(j.path, "committing", err))
	return j.done
}
