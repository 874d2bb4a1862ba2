package fact

import (
	"strings"

	"shimwright/ingest/journal"
	"shimwright/ingest/store"
)

// Rows is the rule by which the rows that boards and exports read follow from
// facts.
func Rows() store.Rule[journal.Stored] {
	return store.Rule[journal.Stored]{Version: 1, Of: rowsOf}
}

func rowsOf(s journal.Stored) (store.Change, error) {
	id, ok := strings.CutPrefix(s.Subject, "job/")
	if !ok || (s.Kind != Opened{}.Kind() && s.Kind != Judged{}.Kind()) {
		return store.Change{}, nil // most facts; they need no reading
	}
	f, err := Decode(s)
	if err != nil {
		return store.Change{}, err
	}
	switch f := f.(type) {
	case Opened:
		return store.Change{Opens: &store.Job{ID: id, Drive: f.Drive, Serial: f.Serial, Sheet: f.Sheet, Issue: f.Issue, Digest: f.Digest}}, nil
	case Judged:
		return store.Change{Judged: &store.Judgement{
			Job: id, Step: f.Step, What: f.What, Verdict: f.Verdict, Words: f.Words, Advice: f.Advice,
			Value: f.Value, Low: f.Low, High: f.High, Uncertainty: f.Uncertainty, Mean: f.Mean, Spread: f.Spread,
			Points: f.Points, Build: f.Build, Training: f.Training, Program: f.Program,
		}}, nil
	}
	return store.Change{}, nil
}
