//go:build unix

package bench

import (
	"context"
	"errors"
	"testing"
	"time"
)

// A bench answers while it can take in something, and not while its goroutine is
// stuck; who asked then gives up and leaves nothing behind.
func TestAnswers(t *testing.T) {
	stuck, free := make(chan struct{}), make(chan struct{})
	r := newRig(t, func(c *Config) {
		told := c.OnFact
		c.OnFact = func(f Recorded) {
			told(f)
			if f.Fact.Kind() == "pressed" {
				close(stuck)
				<-free
			}
		}
	})
	seq := r.Snapshot().Seq
	if err := r.Answers(t.Context()); err != nil || r.Snapshot().Seq != seq {
		t.Errorf("%v, and fact %d after %d", err, r.Snapshot().Seq, seq)
	}
	if err := r.gauges["D07"].Press(figure("18.74 mm")); err != nil {
		t.Fatal(err)
	}
	<-stuck
	ctx, cancel := context.WithTimeout(t.Context(), 20*time.Millisecond)
	defer cancel()
	if err := r.Answers(ctx); !errors.Is(err, context.DeadlineExceeded) {
		t.Errorf("stuck, and it answers %v", err)
	}
	close(free)
	if err := r.Answers(t.Context()); err != nil {
		t.Error(err)
	}
	if f := r.next(); f.Took <= 0 {
		t.Errorf("storing took %s", f.Took)
	}
	r.stop()
	if err := r.Answers(t.Context()); !errors.Is(err, ErrStopped) {
		t.Errorf("stopped, and it answers %v", err)
	}
}
