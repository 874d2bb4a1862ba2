package pg

import (
	"context"
	"errors"
	"fmt"
	"time"

	"shimwright/ingest/relay/shop"
)

// Waits between attempts to listen (chosen, no source).
const (
	firstWait = 500 * time.Millisecond
	mostWait  = 30 * time.Second
	longWait  = time.Minute // where a person must do something
)

// Watch listens for batches until ctx is done, and where the connection breaks
// tries again, ever more seldom. A standby lets nobody listen: there the heads are
// looked at by the clock. chance gives a number from 0 up to 1, so that
// boards that lost one server do not all come back at once.
func (b *Board) Watch(ctx context.Context, chance func() float64) {
	b.mu.Lock()
	b.live = true
	b.mu.Unlock()
	failed := 0
	for ctx.Err() == nil {
		err := b.Listen(ctx, func() {
			failed = 0
			b.heardAll(nil, 0, false)
		}, func(x Batch) {
			b.mu.Lock()
			b.heard[x.Bench] = true
			b.mu.Unlock()
			b.wake()
		})
		if ctx.Err() != nil {
			break
		}
		failed++
		wait := mostWait
		if shop.NeedsPerson(err) {
			wait = longWait
		} else if failed < 8 {
			wait = min(firstWait<<(failed-1), mostWait)
		}
		wait = wait/2 + time.Duration(chance()*float64(wait/2))
		if errors.Is(err, shop.ErrReadOnly) {
			wait = longWait
			b.heardAll(nil, 0, true)
		} else {
			b.heardAll(err, wait, false)
		}
		select {
		case <-time.After(wait):
		case <-ctx.Done():
		}
	}
	b.mu.Lock()
	b.live, b.trouble = false, nil
	b.mu.Unlock()
}

// heardAll has all looked at next: what came while nobody listened is told by
// nothing else.
func (b *Board) heardAll(trouble error, wait time.Duration, deaf bool) {
	b.mu.Lock()
	b.all, b.deaf, b.trouble, b.retry = true, deaf, trouble, b.now().Add(wait)
	b.mu.Unlock()
	b.wake()
}

func (b *Board) wake() {
	select {
	case b.woken <- struct{}{}:
	default:
	}
}

// Woken tells that there may be something new, or trouble.
func (b *Board) Woken() <-chan struct{} { return b.woken }

// away is why the shop cannot be read; nil where it can.
func (b *Board) away() error {
	if b.trouble == nil {
		return nil
	}
	next := "now"
	if s := int(b.retry.Sub(b.now()).Round(time.Second) / time.Second); s > 0 {
		next = fmt.Sprintf("in %d s", s)
	}
	return fmt.Errorf("The shop cannot be read, and what stands here is what it was. Next try %s. %w", next, b.trouble)
}
