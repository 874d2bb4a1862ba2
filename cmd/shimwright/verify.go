package main

import (
	"errors"
	"fmt"
	"io"
	"os"

	"github.com/spf13/cobra"

	"shimwright/ui/record"
)

// newVerify is the command that checks a journal's chain, or a record, by
// content.
func newVerify() *cobra.Command {
	var jobs bool
	c := &cobra.Command{
		Use:   "verify JOURNAL-OR-RECORD",
		Short: "Check a journal, or a build record in JSON, by content",
		Long: `Check a journal or a JSON build record; which it is, its content says.

Of a journal every fact is read, its hash worked out again and held to the chain.
The lists of jobs and judgements that boards and exports read are worked anew from
the facts, and so is what the journal keeps of its register and gauges; what differs
is told. It may run beside a working bench, and writes nothing. The chain shows damage
and careless edits, and says at which fact. It is no proof against whoever owns the
disk, unless the last hash is kept elsewhere too. With --jobs every job in it is
worked anew from its facts, and each judgement that comes out otherwise is told.

Of a record every word and figure is worked out again from the sheet, the facts and
the raw bytes that it carries; nothing else is read. The bytes of each press are read
again by the form of its gauge, where the job carries it. Each fact is held to its own
hash and to the hash before it. Where facts of other subjects lie between, they are
not carried, and the record says so.

The exit status is 1 when the journal is not whole, a judgement differs or the record
does not agree.`,
		Args: takes("JOURNAL-OR-RECORD"),
		RunE: func(c *cobra.Command, args []string) error { return verifyFile(c, args, jobs) },
	}
	c.Flags().BoolVar(&jobs, "jobs", false, "of a journal: work every job anew too")
	return c
}

func verifyFile(c *cobra.Command, args []string, jobs bool) error {
	is, err := isRecord(args[0])
	switch {
	case err != nil:
		return err
	case is:
		return verifyRecord(c, args[0])
	}
	whole, err := verifyJournal(c, args[0])
	if err != nil {
		return err
	}
	if jobs {
		if err := verifyJobs(c, args[0]); err != nil {
			return err
		}
	}
	if !whole {
		return errNotGood
	}
	return nil
}

// isRecord looks at how a file begins, and lets go of it before the journal's own
// package opens it: a descriptor closed later would drop SQLite's locks.
func isRecord(name string) (is bool, err error) {
	f, err := os.Open(name)
	if err != nil {
		return false, fileError("file", name, err)
	}
	defer f.Close()
	if info, err := f.Stat(); err == nil && info.IsDir() {
		return false, fmt.Errorf("file %s: this is a folder, want a journal or a record in it", name)
	}
	begin := make([]byte, 64)
	n, err := io.ReadFull(f, begin)
	if err != nil && !errors.Is(err, io.EOF) && !errors.Is(err, io.ErrUnexpectedEOF) {
		return false, fileError("file", name, err)
	}
	return record.IsJSON(begin[:n]), nil
}

func verifyRecord(c *cobra.Command, name string) error {
	f, err := os.Open(name)
	if err != nil {
		return fileError("record", name, err)
	}
	defer f.Close()
	b, err := io.ReadAll(io.LimitReader(f, record.MaxJSON+1))
	if err != nil {
		return fileError("record", name, err)
	}
	read, err := record.ReadJSON(b)
	if err != nil {
		return fmt.Errorf("record %s: %w", name, err)
	}
	v := record.Verify(read, version())
	if v.Whole() {
		if err := say(c, "%s, the build record of job %s, agrees with all that it carries:", name, record.Shown(read.Facts.ID)); err != nil {
			return err
		}
	} else if err := say(c, "%s does NOT AGREE with what it carries:", name); err != nil {
		return err
	}
	for _, d := range v.Differs {
		if err := say(c, "  differs: %s", d); err != nil {
			return err
		}
	}
	for _, p := range v.Proved {
		if err := say(c, "  holds: %s", p); err != nil {
			return err
		}
	}
	if v.Note != "" {
		if err := say(c, "  note: %s", v.Note); err != nil {
			return err
		}
	}
	if !v.Whole() {
		return errNotGood
	}
	return nil
}
