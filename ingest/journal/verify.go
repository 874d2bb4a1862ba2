package journal

import (
	"context"
	"errors"
	"fmt"
	"math"
	"strings"
)

// Verify works every hash out anew from what the file holds, up to the fact that
// was the last when it began, then has SQLite check its pages and index and looks
// whether the triggers that keep facts are still there. A journal that is not whole
// gives a *Break, with the first sequence number at fault; damage that keeps
// SQLite from reading at all gives an ErrDamaged or ErrNotJournal. Compare the
// hash of Last with one kept elsewhere to know that no facts are missing at the
// end.
//
// It does not look at what follows from the facts: see VerifyAll.
func (r *Reader) Verify(ctx context.Context, progress Progress) error {
	return r.verify(ctx, nil, progress)
}

func (r *Reader) verify(ctx context.Context, w *anew, progress Progress) error {
	last, _, err := r.Last(ctx)
	if err != nil {
		return err
	}
	if err := r.verifyChain(ctx, last.Seq, w, progress); err != nil {
		return err
	}
	progress.tell("checking the file's pages", 0, 0)
	if err := r.verifyPages(ctx); err != nil {
		return err
	}
	return errors.Join(r.verifyKeepers(ctx), r.lies.still())
}

// errEnough ends a reading at the fact that was the last.
var errEnough = errors.New("enough")

// verifyChain holds the facts to their chain and gives each that is whole to w.
func (r *Reader) verifyChain(ctx context.Context, total int64, w *anew, progress Progress) error {
	prev := Stored{Hash: r.first}
	// from below zero, so that a row put in before the first is seen
	err := r.Read(ctx, "", math.MinInt64, func(s Stored) error {
		if prev.Seq >= total {
			return errEnough
		}
		if err := r.follows(prev, s); err != nil {
			return err
		}
		if err := w.then(ctx, s); err != nil {
			return err
		}
		if prev = s; s.Seq%pageFacts == 0 || s.Seq == total {
			progress.tell("checking facts", s.Seq, total)
		}
		return nil
	})
	if err != nil && !errors.Is(err, errEnough) {
		return err
	}
	if prev.Seq < total {
		return &Break{r.path, prev.Seq + 1, fmt.Sprintf("facts %d to %d have gone while the journal was read", prev.Seq+1, total)}
	}
	return w.end(ctx, prev)
}

// follows says how s fails to be the fact after prev.
func (r *Reader) follows(prev, s Stored) error {
	want := prev.Seq + 1
	switch {
	case s.Seq == want+1:
		return &Break{r.path, want, "it is missing"}
	case s.Seq > want:
		return &Break{r.path, want, fmt.Sprintf("facts %d to %d are missing", want, s.Seq-1)}
	case s.Seq < want:
		return &Break{r.path, s.Seq, "it was put in before the first"}
	case s.Hash == link(prev.Hash, s):
		return nil
	case want == 1:
		return &Break{r.path, want, "its content, or the journal's bench name or making, does not give its hash: one of them was changed"}
	}
	return &Break{r.path, want, "its content and the hash before it do not give its hash: it was changed, or the one before was rewritten"}
}

// verifyPages finds what the chain cannot: an index that leads past facts.
func (r *Reader) verifyPages(ctx context.Context) error {
	const most = 10 // findings that are worth reading
	rows, err := r.db.QueryContext(ctx, fmt.Sprintf(`PRAGMA integrity_check(%d)`, most))
	if err != nil {
		return explain(r.path, "checking its pages", err)
	}
	defer rows.Close()
	var found []string
	for rows.Next() {
		var line string
		if err := rows.Scan(&line); err != nil {
			return explain(r.path, "checking its pages", err)
		}
		found = append(found, line)
	}
	if err := rows.Err(); err != nil {
		return explain(r.path, "checking its pages", err)
	}
	if len(found) == 1 && found[0] == "ok" {
		return nil
	}
	return &Break{Path: r.path, How: "every fact gives its hash, but SQLite finds: " + strings.Join(found, "; ")}
}

func (r *Reader) verifyKeepers(ctx context.Context) error {
	var n int
	err := r.db.QueryRowContext(ctx,
		`SELECT count(*) FROM sqlite_schema WHERE type = 'trigger' AND name LIKE 'keep\_%' ESCAPE '\'`).Scan(&n)
	if err != nil {
		return explain(r.path, "looking for its triggers", err)
	}
	if n != keepers {
		return &Break{Path: r.path, How: fmt.Sprintf("every fact gives its hash, but %d of the %d triggers that keep facts are left: the file was edited", n, keepers)}
	}
	return nil
}
