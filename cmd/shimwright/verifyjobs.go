package main

import (
	"context"
	"errors"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"shimwright/ingest/bench"
	"shimwright/ingest/fact"
	"shimwright/ingest/journal"
)

// verifyJobs works every job of a journal anew from its facts and says which
// judgement this program works out otherwise. Nothing is written. A job that
// cannot be folded or worked is told like one that differs, and the others are
// looked at all the same.
func verifyJobs(c *cobra.Command, path string) error {
	r, err := journal.OpenReader(path)
	if err != nil {
		return journalError(err)
	}
	defer func() { _ = r.Close() }() // what closing after a read could say is not worth hearing
	subjects, err := r.Subjects(c.Context(), "job/")
	if err != nil {
		return journalError(err)
	}
	p := newProgress(c.ErrOrStderr())
	defer p.end()
	judged, wrong := 0, 0
	for i, s := range subjects {
		p.told("working jobs anew", int64(i), int64(len(subjects)))
		n, differ, err := bench.Rejudge(c.Context(), r, strings.TrimPrefix(s, "job/"))
		judged += n
		switch {
		case errors.Is(err, context.Canceled):
			p.end()
			return &machineError{fmt.Errorf("journal %s: working its jobs anew was stopped after %d of %d: %s", path, i, len(subjects), outcome(wrong))}
		case errors.Is(err, journal.ErrDisk), errors.Is(err, fact.ErrNewer):
			return journalError(err)
		case err != nil:
			wrong++
			if err := p.aside(func() error { return say(c, "  CANNOT BE WORKED: %s", err) }); err != nil {
				return err
			}
		}
		for _, d := range differ {
			wrong++
			if err := p.aside(func() error { return say(c, "  DIFFERS: %s", d) }); err != nil {
				return err
			}
		}
	}
	p.end()
	if err := say(c, "%s of %s worked out again: %s.", counted(judged, "judgement", "judgements"), counted(len(subjects), "job was", "jobs were"), outcome(wrong)); err != nil {
		return err
	}
	if wrong > 0 {
		return errNotGood
	}
	return nil
}

// outcome says how the judgements that were worked again came out.
func outcome(wrong int) string {
	if wrong == 0 {
		return "each comes out as it was stored"
	}
	return fmt.Sprintf("%d do NOT come out as stored", wrong)
}
