package journal

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"os"
	"time"
)

// A Progress is told now and then how far long work has come: what is being done,
// and how much of how much; total 0 is one that is not known. It is called by one
// goroutine at a time. It may be nil.
type Progress func(what string, done, total int64)

func (p Progress) tell(what string, done, total int64) {
	if p != nil {
		p(what, done, total)
	}
}

// growing is how often the size of a file that SQLite writes is looked at.
const growing = 200 * time.Millisecond

// watch tells of a file that grows towards a size, in bytes, until the function
// that it gives is called.
func (p Progress) watch(what, path string, total int64) (stop func()) {
	if p == nil {
		return func() {}
	}
	p(what, 0, total)
	over, ended := make(chan struct{}), make(chan struct{})
	go func() {
		defer close(ended)
		t := time.NewTicker(growing)
		defer t.Stop()
		for {
			select {
			case <-over:
				return
			case <-t.C:
			}
			if info, err := os.Stat(path); err == nil {
				p(what, min(info.Size(), total), total)
			}
		}
	}()
	return func() { close(over); <-ended }
}

// A stoppedError is work that was stopped from outside. It unwraps to the
// context's own error, whose words are of no use to a reader.
type stoppedError struct {
	path, doing string
	cause       error
}

func (e *stoppedError) Error() string {
	how := "was stopped"
	if errors.Is(e.cause, context.DeadlineExceeded) {
		how = "took too long and was stopped"
	}
	return fmt.Sprintf("journal %s: %s %s", e.path, e.doing, how)
}

func (e *stoppedError) Unwrap() error { return e.cause }

// stopped gives the context's error for what a transaction says once the context
// has ended it.
func stopped(ctx context.Context, err error) error {
	if errors.Is(err, sql.ErrTxDone) && ctx.Err() != nil {
		return ctx.Err()
	}
	return err
}
