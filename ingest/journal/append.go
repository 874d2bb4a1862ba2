package journal

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"time"

	"modernc.org/sqlite"
	sqlite3 "modernc.org/sqlite/lib"
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

func (j *Journal) store(ctx context.Context, records []Record) ([]Stored, error) {
	tx, err := j.db.BeginTx(ctx, nil)
	if err != nil {
		return nil, explain(j.path, "storing", err)
	}
	defer tx.Rollback() // after a commit it does nothing
	prev, err := j.lastLink(ctx, tx)
	if err != nil {
		return nil, err
	}
	stored := j.chain(prev, records)
	add := tx.StmtContext(ctx, j.add)
	for _, s := range stored {
		if _, err := add.ExecContext(ctx, s.Seq, s.UTC.UnixMicro(), int64(s.SinceRun), s.Run,
			s.Subject, s.Kind, s.Version, s.Payload, s.Hash[:]); err != nil {
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

// lastLink reads the end of the chain inside the transaction that extends it,
// rather than remember it: the file is what counts.
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
