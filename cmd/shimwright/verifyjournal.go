package main

import (
	"errors"
	"strings"

	"github.com/spf13/cobra"

	"shimwright/ingest/bench"
	"shimwright/ingest/fact"
	"shimwright/ingest/journal"
	"shimwright/ingest/register"
)

// verifyJournal checks a journal's facts and what follows from them. Facts that
// are not whole are an error; where they are, it tells whether the rest is, too.
func verifyJournal(c *cobra.Command, path string) (whole bool, err error) {
	r, err := reading(c, path)
	if err != nil {
		return false, journalError(err)
	}
	defer func() { _ = r.Close() }() // what closing after a read could say is not worth hearing
	told, end := progressOn(c.ErrOrStderr())
	defer end()
	f, err := r.VerifyAll(c.Context(), journal.Following{Rows: fact.Rows(), Folds: []journal.Fold{register.Fold(), bench.FoldOfGauges()}}, told)
	end()
	var broken *journal.Break
	switch {
	case errors.As(err, &broken):
		if err := say(c, "%s is NOT WHOLE: %s", path, broken); err != nil {
			return false, err
		}
		return false, errNotGood
	case err != nil:
		return false, journalError(err)
	}
	last, ok, err := r.Last(c.Context())
	if err != nil {
		return false, journalError(err)
	}
	if f.Differences() > 0 {
		return false, sayDiffers(c, path, last, f)
	}
	if !ok {
		return true, say(c, "%s of bench %q is whole: it holds no fact yet", path, r.Bench())
	}
	if err := say(c, "%s of bench %q is whole: %d facts, the last hash is %s", path, r.Bench(), last.Seq, last.Hash); err != nil {
		return false, err
	}
	return true, sayFollowed(c, f)
}

// sayFollowed says what was held to the facts beside their chain, and what was not.
func sayFollowed(c *cobra.Command, f journal.Followed) error {
	if !f.Looked {
		if err := say(c, "  note: its lists of jobs and judgements were not looked at: another program made them (%d, this one makes %d), boards do not read them, and the bench makes them anew when it runs.", f.By, fact.Rows().Version); err != nil {
			return err
		}
	} else if err := say(c, "  Its lists follow from the facts: %s, %s.", counted(f.Jobs, "job", "jobs"), counted(f.Judgements, "judgement", "judgements")); err != nil {
		return err
	}
	if len(f.Kept) == 0 {
		return nil
	}
	return say(c, "  So does what is kept of: %s.", strings.Join(f.Kept, ", "))
}

// sayDiffers says which rows do not follow from facts that are whole, and what to
// do about them.
func sayDiffers(c *cobra.Command, path string, last journal.Stored, f journal.Followed) error {
	if err := say(c, "%s is NOT WHOLE: its %s are, and what boards, exports and the bench read beside them differs from what follows from the facts in %s:",
		path, counted(int(last.Seq), "fact", "facts"), counted(f.Differences(), "place", "places")); err != nil {
		return err
	}
	for _, d := range f.Differs {
		if err := say(c, "  DIFFERS: %s", shown(d)); err != nil {
			return err
		}
	}
	if f.More > 0 {
		if err := say(c, "  and %d more", f.More); err != nil {
			return err
		}
	}
	return say(c, `The facts count: a build record is made of them alone. Do not go by what boards and exports show of
this journal. Find out who wrote in the file, and keep a copy of it as it is. Then stop the bench and
start it once by: shimwright bench --lists-anew, which makes all of that anew from the facts.`)
}
