package relay

import (
	"context"
	"errors"
	"fmt"
	"time"

	"shimwright/ingest/journal"
	"shimwright/ingest/store"
)

// place is where the next batch goes on.
type place struct {
	shop string
	seq  int64
	hash journal.Hash
	rows int64 // up to where rows follow
}

// session is one connection, from dialling to its first error. shipped tells
// whether anything got through.
func (r *Relay) session(ctx context.Context) (shipped bool, err error) {
	link, err := within(ctx, r.cfg.Dial)
	if err != nil {
		return false, err
	}
	defer link.Close()
	at, err := within(ctx, func(ctx context.Context) (place, error) { return r.agree(ctx, link) })
	r.sayFound(ctx, link, err)
	if err != nil {
		return false, err
	}
	// in one, or it would say for a moment that nothing waits
	r.countFrom(ctx, at.seq, func(s *State) { s.Connected, s.Trouble, s.Retry, s.Sent = true, "", 0, at.seq })
	for asked := r.cfg.Now(); ; {
		batch, err := r.next(ctx, at)
		if err != nil {
			r.sayFound(ctx, link, err)
			return shipped, err
		}
		if batch.Rows.Upto == at.rows && len(batch.Facts) == 0 {
			shipped = true // all there is got through
			r.count(ctx)
			if err := r.idle(ctx); err != nil {
				return shipped, err
			}
			if r.cfg.Now().Sub(asked) >= askAgain {
				asked = r.cfg.Now()
				if _, err := within(ctx, link.Head); err != nil {
					return shipped, err
				}
			}
			continue
		}
		if _, err := within(ctx, func(ctx context.Context) (struct{}, error) { return struct{}{}, link.Ship(ctx, batch) }); err != nil {
			return shipped, err
		}
		shipped, asked = true, r.cfg.Now()
		at.rows = batch.Rows.Upto
		if n := len(batch.Facts); n > 0 {
			at.seq, at.hash = batch.Facts[n-1].Seq, batch.Facts[n-1].Hash
		}
		r.confirmed(ctx, at)
	}
}

// within bounds one question to the shop.
func within[T any](ctx context.Context, ask func(context.Context) (T, error)) (T, error) {
	ctx, stop := context.WithTimeout(ctx, patience)
	defer stop()
	return ask(ctx)
}

// idle waits for facts. A closed Woken is the end of the bench: what is left is
// looked for now and then until ctx ends too.
func (r *Relay) idle(ctx context.Context) error {
	t := time.NewTimer(lookAgain)
	defer t.Stop()
	woken := r.cfg.Woken
	for {
		select {
		case _, open := <-woken:
			if !open {
				woken = nil
				continue
			}
		case <-t.C:
		case <-ctx.Done():
			return ctx.Err()
		}
		return nil
	}
}

// errFull ends the reading of a batch.
var errFull = errors.New("the batch is full")

// next gathers the next batch: rows that are behind first, then facts with their
// rows. Without any it gives an empty one.
func (r *Relay) next(ctx context.Context, at place) (Batch, error) {
	b := Batch{After: at.seq, On: at.hash, Rows: Rows{Rule: r.cfg.Rule.Version, After: at.rows, Upto: at.rows}}
	size, n, last := 0, 0, at.hash
	again := at.rows < at.seq
	after := at.seq
	if again {
		after = at.rows
	}
	err := r.cfg.Source.Read(ctx, "", after, func(s journal.Stored) error {
		if again && s.Seq > at.seq {
			return errFull
		}
		if !again {
			if s.Seq != b.Rows.Upto+1 || !s.Follows(last) {
				return fmt.Errorf("%w at fact %d: nothing after it is shipped: verify it", ErrJournal, s.Seq)
			}
			b.Facts, last = append(b.Facts, s), s.Hash
		}
		r.follow(&b.Rows, s)
		b.Rows.Upto = s.Seq
		size += len(s.Payload)
		if n++; n >= mostFacts || size >= mostBytes {
			return errFull
		}
		return nil
	})
	if errors.Is(err, errFull) {
		err = nil
	}
	return b, err
}

// follow adds the rows of a fact. One that the rule cannot read is shipped all
// the same, and is said.
func (r *Relay) follow(rows *Rows, s journal.Stored) {
	c, err := r.cfg.Rule.Of(s)
	if err != nil {
		r.tell(func(st *State) { st.Notice = fmt.Sprintf("Fact %d gives no row for boards: %v", s.Seq, err) })
		return
	}
	if o := c.Opens; o != nil {
		o.Opened, o.State = s.UTC, store.Open
		rows.Opened = append(rows.Opened, *o)
	}
	if d := c.Judged; d != nil {
		d.Seq, d.At = s.Seq, s.UTC
		rows.Judged = append(rows.Judged, *d)
	}
	if e := c.Ends; e != nil {
		e.At = s.UTC
		rows.Ended = append(rows.Ended, *e)
	}
}

// confirmed keeps what the shop has, and says so.
func (r *Relay) confirmed(ctx context.Context, at place) {
	r.tell(func(s *State) { s.Sent = at.seq })
	if at.seq == r.mark.Seq && at.shop == r.mark.Shop {
		return
	}
	r.mark = Confirmed{Shop: at.shop, Bench: r.cfg.Source.Bench(), Seq: at.seq, Hash: at.hash.String()}
	r.keep()
	if now := r.cfg.Now(); now.Sub(r.counted) >= countAgain {
		r.count(ctx)
	}
}

func (r *Relay) keep() {
	if r.cfg.Mark == nil {
		return
	}
	if err := r.cfg.Mark.Save(r.mark); err != nil {
		r.tell(func(s *State) { s.Notice = "What the shop confirmed cannot be kept: " + err.Error() })
	}
}
