package main

import (
	"context"
	"fmt"
	"math/rand/v2"
	"time"

	"shimwright/cmd/shimwright/benchfile"
	"shimwright/ingest/bench"
	"shimwright/ingest/fact"
	"shimwright/ingest/journal"
	"shimwright/ingest/relay"
	"shimwright/ui/fitter"
)

// shipping is a relay that runs beside its bench; nil is none.
type shipping struct {
	*relay.Relay
	changed chan struct{} // woken when its state is another
	stop    context.CancelFunc
	done    chan struct{}
}

// ship starts the relay that a bench file asks for. What the shop confirmed is
// kept beside the journal.
func ship(f *benchfile.File, b *bench.Bench, j *journal.Journal, log *benchLog) *shipping {
	if f.Relay == nil {
		return nil
	}
	s := &shipping{changed: make(chan struct{}, 1), done: make(chan struct{})}
	woken, unwatch := b.Watch()
	s.Relay = relay.New(relay.Config{
		Source: j.Reader, Rule: fact.Rows(), Dial: relay.Dial(*f.Relay, f.Name), Now: time.Now, Chance: rand.Float64,
		Mark: relay.FileMark(j.Path() + ".relay"), Woken: woken,
		Told: log.relayTold(func(relay.State) {
			select {
			case s.changed <- struct{}{}:
			default:
			}
		}),
	})
	ctx, stop := context.WithCancel(context.Background())
	s.stop = stop
	go func() {
		defer close(s.done)
		defer unwatch()
		s.Run(ctx)
	}()
	return s
}

// end stops it; what waits is shipped by the next run.
func (s *shipping) end() {
	if s == nil {
		return
	}
	s.stop()
	<-s.done
}

// shopLine answers the command "shop".
type shopLine struct {
	Shop      string `json:"shop"`
	Connected bool   `json:"connected,omitempty"`
	Sent      int64  `json:"sent,omitempty"`
	Waiting   int64  `json:"waiting,omitempty"`
	Lag       int64  `json:"lag_s,omitempty"`
	Trouble   string `json:"trouble,omitempty"`
	Notice    string `json:"notice,omitempty"`
}

func askShop(b *running) any {
	if b.shop == nil {
		return shopLine{Shop: "Shop: the bench file has no relay, facts stay on this machine."}
	}
	s, now := b.shop.State(), time.Now()
	s.Last = max(s.Last, b.Snapshot().Seq) // the relay counts what waits a moment later
	return shopLine{s.Words(now), s.Connected, s.Sent, s.Queue(), int64(s.Lag(now) / time.Second), s.Trouble, s.Notice}
}

// tellShop prints each change of the connection, its trouble or a notice.
func tellShop(ctx context.Context, b *running, w *lines) {
	if b.shop == nil {
		return
	}
	var told relay.State
	for {
		s := b.shop.State()
		if s.Connected != told.Connected || s.Trouble != told.Trouble || s.Notice != told.Notice {
			told = s
			w.put(askShop(b))
		}
		select {
		case <-b.shop.changed:
		case <-ctx.Done():
			return
		}
	}
}

// How long what the relay noticed stands on the fitter's screen, and how old a
// fact is before it is said to wait.
const (
	noticed = 10 * time.Minute
	waits   = 5 * time.Second
)

// onScreen is how the shop stands, for the fitter's screen: one calm line, or the
// relay's own words where a person must see to it.
func (s *shipping) onScreen(now time.Time) fitter.Shop {
	if s == nil {
		return fitter.Shop{}
	}
	return shopOnScreen(s.State(), now)
}

func shopOnScreen(st relay.State, now time.Time) fitter.Shop {
	if st.Trouble != "" && st.Person {
		return fitter.Shop{Words: "Shop: " + st.Trouble, Look: true}
	}
	out := fitter.Shop{Words: "shop: up to date"}
	switch n := st.Queue(); {
	case n > 0 && st.Lag(now) >= waits:
		facts := fmt.Sprintf("%d facts", n)
		if n == 1 {
			facts = "1 fact"
		}
		out.Words = fmt.Sprintf("shop: %s waiting since %s", facts, clockOf(st.Oldest, now))
	case !st.Connected && n > 0:
		out.Words = "shop: not connected"
	case !st.Connected:
		out.Words = "shop: not connected, nothing waits"
	}
	if st.Notice != "" && now.Sub(st.Noticed) < noticed {
		out.Words += ". " + st.Notice
	}
	return out
}

// clockOf is a time of day, with its day where that is not today.
func clockOf(at, now time.Time) string {
	at = at.In(now.Location())
	if at.Format(time.DateOnly) == now.Format(time.DateOnly) {
		return at.Format("15:04")
	}
	return at.Format("2 January 15:04")
}
