package fact

import (
	"strings"

	"shimwright/ingest/journal"
	"shimwright/ingest/store"
)

// Rows is the rule by which the rows that boards and exports read follow from
// facts.
func Rows() store.Rule[journal.Stored] {
	return store.Rule[journal.Stored]{Version: 3, Of: rowsOf}
}

func rowsOf(s journal.Stored) (store.Change, error) {
	id, ok := strings.CutPrefix(s.Subject, "job/")
	if !ok {
		return store.Change{}, nil
	}
	switch s.Kind {
	case Opened{}.Kind(), Judged{}.Kind(), Signed{}.Kind(), Finished{}.Kind(), Abandoned{}.Kind():
	default:
		return store.Change{}, nil // most facts; they need no reading
	}
	f, err := Decode(s)
	if err != nil {
		return store.Change{}, err
	}
	switch f := f.(type) {
	case Opened:
		return store.Change{Opens: &store.Job{ID: id, Drive: f.Drive, Serial: f.Serial, Sheet: f.Sheet, Issue: f.Issue, Digest: f.Digest, Training: f.Training}}, nil
	case Judged:
		return store.Change{Judged: &store.Judgement{
			Job: id, Step: f.Step, What: f.What, Verdict: f.Verdict, Words: f.Words, Advice: f.Advice,
			Value: f.Value, Low: f.Low, High: f.High, Uncertainty: f.Uncertainty, Mean: f.Mean, Spread: f.Spread,
			Points: f.Points, Leaves: f.Leaves, Total: f.Total, Build: f.Build, Training: f.Training, Program: f.Program,
		}}, nil
	case Signed:
		if f.Ends {
			return ends(id, store.Signed, s), nil
		}
	case Finished:
		return ends(id, store.Finished, s), nil
	case Abandoned:
		return ends(id, store.Abandoned, s), nil
	}
	return store.Change{}, nil
}

func ends(id string, as store.State, s journal.Stored) store.Change {
	return store.Change{Ends: &store.End{Job: id, State: as, At: s.UTC}}
}
