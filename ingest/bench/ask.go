package bench

import (
	"context"
	"errors"
)

type ask struct {
	command Command
	reply   chan answer
}

type answer struct {
	reply Reply
	err   error
}

// ErrStopped: the bench has stopped and takes no command.
var ErrStopped = errors.New("the bench has stopped")

// Do has the bench carry out a command and returns once what it recorded is
// durable.
func (b *Bench) Do(ctx context.Context, c Command) (Reply, error) {
	return b.ask(ctx, c)
}

// Answers returns once the bench's goroutine answered, and changes nothing: while
// it waits for ever, as for a disk that does not come back, so does this, until ctx
// is done.
func (b *Bench) Answers(ctx context.Context) error {
	_, err := b.ask(ctx, nil)
	return err
}

func (b *Bench) ask(ctx context.Context, c Command) (Reply, error) {
	a := ask{c, make(chan answer, 1)}
	select {
	case b.asks <- a:
	case <-b.done:
		return Reply{}, ErrStopped
	case <-ctx.Done():
		return Reply{}, ctx.Err()
	}
	select {
	case r := <-a.reply:
		return r.reply, r.err
	case <-b.done:
	}
	select {
	case r := <-a.reply: // it was carried out before the bench stopped
		return r.reply, r.err
	default:
		return Reply{}, ErrStopped
	}
}
