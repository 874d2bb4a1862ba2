package main

import (
	"github.com/spf13/cobra"
)

// newBackup is the command that copies a journal.
func newBackup() *cobra.Command {
	return &cobra.Command{
		Use:   "backup JOURNAL COPY",
		Short: "Copy a journal, whole and verified, while the bench may go on",
		Long: `Copy a journal to a new file. The copy holds every fact stored when it began, is
verified whole, and is on the disk when this command ends; it opens like any
journal. It may run beside a working bench. A plain copy of the file may lack the
newest facts, which lie beside it while it is open.

Keep the last hash that is printed elsewhere: it shows later that nothing was
written anew.`,
		Example: "  shimwright backup bay2.journal /media/stick/bay2-2026-02-03.journal",
		Args:    takes("JOURNAL", "COPY"),
		RunE:    backUp,
	}
}

func backUp(c *cobra.Command, args []string) error {
	r, err := reading(c, args[0])
	if err != nil {
		return journalError(err)
	}
	defer func() { _ = r.Close() }() // what closing after a read could say is not worth hearing
	told, end := progressOn(c.ErrOrStderr())
	defer end()
	last, err := r.Backup(c.Context(), args[1], told)
	end()
	if err != nil {
		return journalError(err)
	}
	if last.Seq == 0 {
		return say(c, "%s is a copy of bench %q's journal, which holds no fact yet.", args[1], r.Bench())
	}
	return say(c, "%s is a whole copy of bench %q's journal: %d facts, the last hash is %s", args[1], r.Bench(), last.Seq, last.Hash)
}
