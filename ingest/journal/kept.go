package journal

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"slices"
)

// A Kept is what somebody folded of the facts up to one, so that opening need not
// read them all again. Like the rows it follows from the facts, is no part of the
// chain and can be made anew. Version is that of the fold and of its form.
type Kept struct {
	Name    string
	Version int
	Seq     int64 // of the last fact in it
	State   []byte
}

// mostKept bounds what is kept of one fold, in bytes.
const mostKept = 64 << 20

// Kept is what was kept of a fold by this version of it; false where there is
// none, or where it is not of this journal's facts.
func (r *Reader) Kept(ctx context.Context, name string, version int) (Kept, bool, error) {
	k := Kept{Name: name, Version: version}
	var hash, is []byte
	err := r.db.QueryRowContext(ctx, `SELECT kept.seq, kept.hash, kept.state, fact.hash FROM kept JOIN fact ON fact.seq = kept.seq
		WHERE name = ? AND kept.version = ?`, name, version).Scan(&k.Seq, &hash, &k.State, &is)
	if errors.Is(err, sql.ErrNoRows) || err == nil && !slices.Equal(hash, is) {
		return Kept{}, false, nil
	}
	return k, err == nil, explain(r.path, "reading what was kept of "+name, err)
}

// Keep keeps what was folded up to a fact, in place of what was kept before.
func (j *Journal) Keep(ctx context.Context, k Kept) error {
	if len(k.State) > mostKept {
		return fmt.Errorf("journal %s: %w: %s comes to %d bytes, at most %d are kept", j.path, ErrRefused, k.Name, len(k.State), mostKept)
	}
	select {
	case j.gate <- struct{}{}:
		defer func() { <-j.gate }()
	case <-ctx.Done():
		return explain(j.path, "keeping "+k.Name, ctx.Err())
	}
	if j.done != nil {
		return j.done
	}
	_, err := j.db.ExecContext(ctx, `INSERT OR REPLACE INTO kept (name, version, seq, hash, state)
		SELECT ?, ?, seq, hash, ? FROM fact WHERE seq = ?`, k.Name, k.Version, k.State, k.Seq)
	return explain(j.path, "keeping "+k.Name, err)
}
