package main

import (
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"shimwright/ingest/journal"
)

// newVerify is the command that checks a journal's chain by content.
func newVerify() *cobra.Command {
	return &cobra.Command{
		Use:   "verify JOURNAL",
		Short: "Check a journal by content: every fact, its order and the chain over them",
		Long: `Read a whole journal, work out the hash of every fact again and hold it to the
chain. It may run beside a working bench, and writes nothing.

The chain shows damage and careless edits, and says at which fact. It is no proof
against whoever owns the disk, unless the last hash is kept elsewhere too. The exit
status is 1 when the journal is not whole.`,
		Args: takes("JOURNAL"),
		RunE: verifyJournal,
	}
}

func verifyJournal(c *cobra.Command, args []string) error {
	r, err := journal.OpenReader(args[0])
	if err != nil {
		if errors.Is(err, journal.ErrNotJournal) {
			return err
		}
		return machine("journal", err)
	}
	defer func() { _ = r.Close() }() // what closing after a read could say is not worth hearing
	var broken *journal.Break
	switch err := r.Verify(c.Context(), nil); {
	case errors.As(err, &broken):
		if _, perr := fmt.Fprintf(c.OutOrStdout(), "%s is NOT WHOLE: %s\n", args[0], broken); perr != nil {
			return machine("standard output", perr)
		}
		return errNotGood
	case err != nil:
		return machine("journal", err)
	}
	last, ok, err := r.Last(c.Context())
	if err != nil {
		return machine("journal", err)
	}
	words := "it holds no fact yet"
	if ok {
		words = fmt.Sprintf("%d facts, the last hash is %s", last.Seq, last.Hash)
	}
	if _, err := fmt.Fprintf(c.OutOrStdout(), "%s of bench %q is whole: %s\n", args[0], r.Bench(), words); err != nil {
		return machine("standard output", err)
	}
	return nil
}
