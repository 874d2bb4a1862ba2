package pg

import (
	"context"
	"slices"
	"time"

	"github.com/jackc/pgx/v5"
)

// A Note is what a bench said of itself, or what is to be known of its rows.
type Note struct {
	Bench string
	Words string
	Since time.Time
	Last  time.Time
	Still bool // it was said again lately
}

// mostNotes are given out, the newest.
const mostNotes = 50

// A bench that ships nothing says so at each attempt, every five minutes; one that
// was silent for longer than a few of them is no longer at it, or was stopped.
const notes = `SELECT bench, words, since, last, last > now() - interval '12 minutes' FROM shimwright.said
	WHERE last > now() - interval '1 day' ORDER BY last DESC, bench, kind LIMIT 50`

// readNotes reads them under the lock, and goes on to another mark where they are
// others than before.
func (b *Board) readNotes(ctx context.Context) error {
	b.mu.Unlock()
	got, err := ask(ctx, b.Store, "reading what benches say", pgx.RowToStructByPos[Note], notes)
	b.mu.Lock()
	if err != nil {
		return err
	}
	got = got[:min(len(got), mostNotes)]
	same := slices.EqualFunc(b.notes, got, func(a, b Note) bool {
		return a.Bench == b.Bench && a.Words == b.Words && a.Since.Equal(b.Since) && a.Still == b.Still
	})
	if b.notes = got; !same && b.mark > 0 {
		b.step(b.mark+1, nil, false)
	}
	return nil
}

// Notes are what benches said of themselves within a day, the newest first, as of
// the last look.
func (b *Board) Notes() []Note {
	b.mu.Lock()
	defer b.mu.Unlock()
	return slices.Clone(b.notes)
}

// Behind are the benches whose rows were made by another version of the rule, or
// not yet up to their last fact: boards lack what is not there.
func (b *Board) Behind(rule int) []string {
	b.mu.Lock()
	defer b.mu.Unlock()
	var out []string
	for name, h := range b.heads {
		if h.seq > 0 && (h.rule != rule || h.rows < h.seq) {
			out = append(out, name)
		}
	}
	slices.Sort(out)
	return out
}
