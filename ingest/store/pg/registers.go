package pg

import (
	"context"
	"fmt"
	"maps"
	"slices"

	"github.com/jackc/pgx/v5"

	"shimwright/ingest/fact"
	"shimwright/ingest/journal"
	"shimwright/ingest/register"
	"shimwright/ingest/relay/shop"
)

// mostBenches is how many benches' gauges are folded, by their names (chosen, no
// source).
const mostBenches = 500

// have is what a bench has, folded up to a fact.
type have struct {
	is    *register.Register
	seq   int64
	stale bool
}

// A Registered is what one bench has of gauges and pieces.
type Registered struct {
	Bench string
	*register.Register
}

// The number is hidden from the planner, which would go through all that a bench
// did since rather than through its gauges.
const gaugeFacts = `SELECT f.seq, f.utc_us, f.since_ns, f.run, f.subject, f.kind, f.version, f.payload, f.hash, c.bench
	FROM unnest($1::text[], $2::bigint[], $3::bigint[]) AS c (bench, after, upto)
	CROSS JOIN (VALUES ('gauge/', 'gauge0'), ('piece/', 'piece0')) AS p (low, high)
	CROSS JOIN LATERAL (SELECT ` + factColumns + ` FROM shimwright.fact WHERE bench = c.bench AND
		subject >= p.low AND subject < p.high AND seq + 0 > c.after AND seq + 0 <= c.upto OFFSET 0) f
	ORDER BY c.bench, f.seq`

// Registers are what the benches have of gauges and pieces, by bench. many tells
// that there are more benches than are folded.
func (b *Board) Registers(ctx context.Context) (out []Registered, many bool, err error) {
	names, want := b.wanted()
	if many = len(names) > mostBenches; many {
		names = names[:mostBenches]
	}
	if err := b.fold(ctx, want); err != nil {
		return nil, false, err
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	for _, name := range names {
		if g := b.gauges[name]; g != nil {
			out = append(out, Registered{name, g.is})
		}
	}
	return out, many, nil
}

// wanted are the benches, and up to which fact those are to be folded whose fold
// is not there or not new.
func (b *Board) wanted() (names []string, want []news) {
	b.mu.Lock()
	defer b.mu.Unlock()
	for name := range b.heads {
		names = append(names, name)
	}
	slices.Sort(names)
	for _, name := range names[:min(len(names), mostBenches)] {
		n := news{bench: name, to: b.heads[name].seq}
		g := b.gauges[name]
		if g != nil {
			n.from = g.seq
		}
		if g == nil || g.stale {
			want = append(want, n)
		}
	}
	return names, want
}

// fold folds what is wanted; a bench's fold is kept when all of it is there.
func (b *Board) fold(ctx context.Context, want []news) error {
	next := map[string]*register.Register{}
	b.mu.Lock()
	for _, n := range want {
		next[n.bench] = register.New()
		if g := b.gauges[n.bench]; g != nil {
			next[n.bench] = g.is
		}
	}
	b.mu.Unlock()
	for _, part := range parts(want) {
		if err := b.foldSome(ctx, part, next); err != nil {
			return err
		}
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	for _, n := range want {
		b.gauges[n.bench] = &have{is: next[n.bench], seq: n.to}
	}
	return nil
}

// One question is of so many benches, and where there are several, of so many facts
// among which those of gauges are (chosen, no source): a question of years of a
// whole shop would outlast its patience.
const (
	askedBenches = 50
	askedFacts   = 200_000
)

// parts cuts what is wanted into questions.
func parts(want []news) (out [][]news) {
	var part []news
	facts := int64(0)
	for _, n := range want {
		span := n.to - n.from
		if len(part) == askedBenches || len(part) > 0 && facts+span > askedFacts {
			out = append(out, part)
			part, facts = nil, 0
		}
		part, facts = append(part, n), facts+span
	}
	if len(part) > 0 {
		out = append(out, part)
	}
	return out
}

// foldSome folds facts as they come, and holds none of them.
func (b *Board) foldSome(ctx context.Context, want []news, next map[string]*register.Register) error {
	benches, from, to := columns(want)
	var folded map[string]*register.Register
	err := b.with(ctx, "reading gauges and pieces", func(ctx context.Context, c *pgx.Conn) error {
		folded = maps.Clone(next) // a question that is asked once more begins anew
		rows, err := c.Query(ctx, gaugeFacts, benches, from, to)
		if err != nil {
			return err
		}
		bench := ""
		return eachFact(rows, func(s journal.Stored) error {
			f, err := fact.Decode(s)
			if err == nil {
				folded[bench], err = folded[bench].Then(s.Subject, s.UTC, f)
			}
			if err != nil {
				return fmt.Errorf("%w: bench %s, fact %d: %w", shop.ErrRow, bench, s.Seq, err)
			}
			return nil
		}, &bench)
	})
	if err != nil {
		return err
	}
	maps.Copy(next, folded)
	return nil
}
