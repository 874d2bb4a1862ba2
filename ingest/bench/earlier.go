package bench

import (
	"context"
	"errors"
	"fmt"

	"shimwright/calc/sheet"
	"shimwright/ingest/fact"
	"shimwright/ingest/journal"
	"shimwright/ingest/store"
)

// mostEarlier is how many judgements of a ring are looked through for what
// earlier re-shims found: drives of a type differ less than a year's packs do.
const mostEarlier = 60

var errOne = errors.New("one is enough")

// earlier is what re-shims of earlier jobs by a sheet found of its move factors,
// newest first, as a job that is opened is told once for all. Training jobs teach
// nothing.
func (b *Bench) earlier(ctx context.Context, s *sheet.Sheet) ([]fact.Fact, error) {
	by := map[string][]fact.EarlierMove{}
	rows, err := b.journal.Judgements(ctx, store.JudgementQuery{Sheet: s.ID, What: sheet.Backlash, Limit: mostEarlier})
	if err != nil {
		return nil, err
	}
	for _, row := range rows {
		if row.Training {
			continue
		}
		f, err := judgedAt(ctx, b.journal.Reader, row)
		if err != nil {
			return nil, err
		}
		if f.Moved != "" {
			by[f.Step] = append(by[f.Step], fact.EarlierMove{Job: row.Job, Moved: f.Moved, Changed: f.Changed, Uncertainty: f.Uncertainty})
		}
	}
	var out []fact.Fact
	for _, st := range s.Steps() {
		if moves := by[st.Name]; len(moves) > 0 && st.Check != nil && st.Check.What == sheet.Backlash {
			out = append(out, fact.Earlier{Step: st.Name, Moves: moves})
		}
	}
	return out, nil
}

// judgedAt reads the fact of a judgement's row.
func judgedAt(ctx context.Context, r *journal.Reader, row store.Judgement) (fact.Judged, error) {
	var out fact.Judged
	err := r.Read(ctx, "job/"+row.Job, row.Seq-1, func(s journal.Stored) error {
		f, err := fact.Decode(s)
		if err != nil {
			return err
		}
		var ok bool
		if out, ok = f.(fact.Judged); !ok || s.Seq != row.Seq {
			return fmt.Errorf("fact %d is no judgement, and its row says so: make the rows anew", row.Seq)
		}
		return errOne
	})
	if errors.Is(err, errOne) {
		err = nil
	}
	return out, err
}
