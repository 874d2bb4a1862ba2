package bench

import (
	"context"
	"encoding/json"
	"fmt"
	"strings"

	"shimwright/ingest/fact"
	"shimwright/ingest/journal"
)

// The name and version of what a journal keeps of the gauges' ports and looks:
// the version goes up whenever Taught or its fold changes.
const (
	taughtName    = "gauges taught"
	taughtVersion = 1
	keepAfter     = 2000 // facts read, after which it is kept anew
)

// LoadGauges folds what a journal says of every gauge it knows.
func LoadGauges(ctx context.Context, r *journal.Reader) (map[string]Taught, error) {
	out, _, err := loadGauges(ctx, r)
	return out, err
}

// loadAndKeepGauges is LoadGauges over a journal open for writing, which keeps
// what came of it where many facts had to be read: every zero check is one.
func loadAndKeepGauges(ctx context.Context, j *journal.Journal) (map[string]Taught, error) {
	last, ok, err := j.Last(ctx)
	if err != nil {
		return nil, err
	}
	out, read, err := loadGauges(ctx, j.Reader)
	if err != nil || !ok || read < keepAfter {
		return out, err
	}
	state, err := json.Marshal(out)
	if err != nil {
		return nil, fmt.Errorf("what is known of the gauges cannot be kept: %w", err)
	}
	return out, j.Keep(ctx, journal.Kept{Name: taughtName, Version: taughtVersion, Seq: last.Seq, State: state})
}

// FoldOfGauges makes anew what a journal keeps of its gauges.
func FoldOfGauges() journal.Fold {
	out := map[string]Taught{}
	return journal.Fold{Name: taughtName, Version: taughtVersion,
		Then: func(s journal.Stored) error {
			id, ok := strings.CutPrefix(s.Subject, gaugeSubject(""))
			if !ok {
				return nil
			}
			f, err := fact.Decode(s)
			if err == nil {
				out[id] = out[id].then(f)
			}
			return err
		},
		State: func() ([]byte, error) { return json.Marshal(out) },
	}
}

// loadGauges gives how many facts it read, too. What is kept and cannot be read
// is left aside.
func loadGauges(ctx context.Context, r *journal.Reader) (out map[string]Taught, read int, err error) {
	kept, ok, err := r.Kept(ctx, taughtName, taughtVersion)
	if err != nil {
		return nil, 0, err
	}
	if !ok || json.Unmarshal(kept.State, &out) != nil || out == nil {
		out, kept.Seq = map[string]Taught{}, 0
	}
	subjects, err := r.Subjects(ctx, gaugeSubject(""))
	if err != nil {
		return nil, 0, err
	}
	for _, subject := range subjects {
		id := strings.TrimPrefix(subject, gaugeSubject(""))
		err := r.Read(ctx, subject, kept.Seq, func(s journal.Stored) error {
			read++
			f, err := fact.Decode(s)
			if err == nil {
				out[id] = out[id].then(f)
			}
			return err
		})
		if err != nil {
			return nil, 0, err
		}
	}
	return out, read, nil
}
