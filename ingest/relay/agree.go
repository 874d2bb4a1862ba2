package relay

import (
	"context"
	"errors"
	"fmt"
	"sort"
	"strings"

	"shimwright/ingest/journal"
)

// Why a bench's facts and the shop's do not go together; a person must look.
var (
	// ErrOther: the shop has facts of another journal under this bench's name.
	ErrOther = errors.New("another bench of the same name ships to this shop")
	// ErrCopied: two journals with one beginning went on apart.
	ErrCopied = errors.New("a copy of this bench's journal ships too")
	// ErrBehind: the shop has facts that this journal lacks at its end.
	ErrBehind = errors.New("this bench's journal is older than what the shop has of it")
	// ErrJournal: the journal is not whole.
	ErrJournal = errors.New("this bench's journal is damaged")
)

// agree finds where to go on, or how the two do not go together.
func (r *Relay) agree(ctx context.Context, link Link) (place, error) {
	head, err := link.Head(ctx)
	if err != nil {
		return place{}, err
	}
	first, err := r.cfg.Source.HashBefore(ctx, 1)
	if err != nil {
		return place{}, err
	}
	at := place{shop: head.Shop, seq: head.Seq, hash: first, rows: head.Rows}
	if head.Begun {
		at.hash = head.Hash
		if err := r.same(ctx, link, head, first); err != nil {
			return place{}, err
		}
	}
	r.compare(head)
	if head.Rule != r.cfg.Rule.Version {
		if err := link.Anew(ctx, r.cfg.Rule.Version); err != nil {
			return place{}, err
		}
		at.rows = 0
	}
	return at, nil
}

// same holds the shop's last fact to the journal's of that number.
func (r *Relay) same(ctx context.Context, link Link, head Head, first journal.Hash) error {
	bench := r.cfg.Source.Bench()
	if head.Origin != first {
		return fmt.Errorf("%w: the shop has %d facts of another journal named %q: give one of the two benches another name, and a journal of its own", ErrOther, head.Seq, bench)
	}
	last, _, err := r.cfg.Source.Last(ctx)
	if err != nil {
		return err
	}
	upto := min(head.Seq, last.Seq)
	there, _, err := link.Kept(ctx, upto)
	if err != nil {
		return err
	}
	here, err := r.cfg.Source.HashBefore(ctx, upto+1)
	if err != nil {
		return err
	}
	switch {
	case upto > 0 && here != there:
		return r.apart(ctx, link, upto)
	case head.Seq > last.Seq:
		return fmt.Errorf("%w: it ends at fact %d and the shop has %d, alike up to there: the journal was restored from a backup, or this disk is a copy of another bench's. "+
			"Nothing is shipped: get the newest journal back, or go on under a new name with a journal of its own", ErrBehind, last.Seq, head.Seq)
	}
	return nil
}

// apart says from which fact on two journals of one beginning differ.
func (r *Relay) apart(ctx context.Context, link Link, upto int64) error {
	var failed error
	n := sort.Search(int(upto), func(i int) bool { // the first number, less one, at which they differ
		if failed != nil {
			return true
		}
		there, _, err := link.Kept(ctx, int64(i)+1)
		if err != nil {
			failed = err
			return true
		}
		here, err := r.cfg.Source.HashBefore(ctx, int64(i)+2)
		failed = err
		return here != there
	})
	if failed != nil {
		return failed
	}
	return fmt.Errorf("%w: from fact %d on the shop has others under this bench's name. A disk that was copied, or a backup that was worked on, runs as a second bench: "+
		"nothing of this one is shipped until one of them is stopped and goes on under a new name", ErrCopied, n+1)
}

// compare says what the shop lost since it confirmed facts, or that it is
// another shop.
func (r *Relay) compare(head Head) {
	m := r.mark
	if m.Shop == "" || m.Bench != r.cfg.Source.Bench() {
		return
	}
	words, kind := "", "lost"
	switch {
	case m.Shop != head.Shop:
		kind = "moved"
		words = fmt.Sprintf("This is another shop's database than before: it had %d facts of this bench, and gets what is missing.", head.Seq)
	case head.Seq < m.Seq:
		words = fmt.Sprintf("The shop's database was restored from an older backup: it had confirmed facts up to %d and has them up to %d. Facts %d to %d are sent again.", m.Seq, head.Seq, head.Seq+1, m.Seq)
	default:
		return
	}
	r.mark = Confirmed{Shop: head.Shop, Bench: m.Bench, Seq: head.Seq, Hash: head.Hash.String()}
	r.found = &found{kind, words}
	r.tell(func(s *State) { s.Notice, s.Noticed = words, r.cfg.Now() })
}

// found is what a look at the head showed that boards should know of.
type found struct{ kind, words string }

// mostSaid is how many bytes of a trouble the shop takes.
const mostSaid = 2000

// sayFound tells the shop's boards why this bench ships nothing, or what the shop
// lost. It is said as well as it can be: where even that fails, the bench's own
// words are what is left.
func (r *Relay) sayFound(ctx context.Context, link Link, err error) {
	said := r.found
	r.found = nil
	for kind, is := range map[string]error{"other": ErrOther, "copied": ErrCopied, "behind": ErrBehind, "damaged": ErrJournal} {
		if errors.Is(err, is) {
			said = &found{kind, err.Error()}
		}
	}
	if said == nil {
		return
	}
	words := strings.ToValidUTF8(clean(said.words[:min(len(said.words), mostSaid)]), "")
	_, _ = within(ctx, func(ctx context.Context) (struct{}, error) { return struct{}{}, link.Say(ctx, said.kind, words) })
}
