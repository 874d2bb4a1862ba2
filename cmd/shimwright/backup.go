package main

import (
	"fmt"
	"io"
	"os"

	"github.com/spf13/cobra"
	"golang.org/x/term"

	"shimwright/ingest/journal"
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
	r, err := journal.OpenReader(args[0])
	if err != nil {
		return journalError(err)
	}
	defer func() { _ = r.Close() }() // what closing after a read could say is not worth hearing
	progress, done := showProgress(c.ErrOrStderr())
	last, err := r.Backup(c.Context(), args[1], progress)
	done()
	if err != nil {
		return journalError(err)
	}
	if last.Seq == 0 {
		return say(c, "%s is a copy of bench %q's journal, which holds no fact yet.", args[1], r.Bench())
	}
	return say(c, "%s is a whole copy of bench %q's journal: %d facts, the last hash is %s", args[1], r.Bench(), last.Seq, last.Hash)
}

// showProgress tells on a terminal how far a copy is; elsewhere it tells nothing.
func showProgress(w io.Writer) (progress func(done, total int64), end func()) {
	f, ok := w.(*os.File)
	if !ok || !term.IsTerminal(int(f.Fd())) {
		return nil, func() {}
	}
	_, _ = fmt.Fprint(f, "copying …")
	shown := int64(-1)
	return func(done, total int64) {
			if percent := done * 100 / max(total, 1); percent != shown {
				shown = percent
				_, _ = fmt.Fprintf(f, "\rcopied; verifying the copy: %d %%", percent)
			}
		}, func() {
			_, _ = fmt.Fprint(f, "\r\x1b[K") // the result takes the line
		}
}
