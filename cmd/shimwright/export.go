package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"runtime/debug"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"shimwright/ingest/exchange"
	"shimwright/ingest/fact"
	"shimwright/ingest/journal"
)

// An exporting is what the command line of export says.
type exporting struct {
	bench, journal   string
	csv, xlsx, qif   string
	from, until, job string
	replace          bool
}

// newExport is the command by which data leaves a bench.
func newExport() *cobra.Command {
	var e exporting
	c := &cobra.Command{
		Use:   "export KIND",
		Short: "Write jobs, steps, presses, packs or rings as CSV or a spreadsheet, or a job's results as QIF",
		Long: `Write what a journal holds to a file. KIND is jobs, steps, presses, packs or rings;
all, for a spreadsheet with a sheet for each; or results, for the results of one
job as QIF 3 (ISO 23952). A row of steps, packs or rings is one judgement, or one
point of a ring. It may run beside a working bench, and changes nothing.

Lengths are in mm, torques in N·m, times in UTC. The uncertainty of a pack is that
of its worked size. --from and --to choose jobs by the day they were opened, both
days included. OUT is a file, which is written whole or not at all, or - for
standard output.

A text that a spreadsheet would take for a formula has an apostrophe in front.`,
		Example: `  shimwright export all --bench bay2.yaml --xlsx bay2.xlsx --from 2026-01-01
  shimwright export presses --journal bay2.journal --csv - --job 2041
  shimwright export results --job 2041 --qif 2041.qif`,
		Args: takes("KIND"),
		RunE: func(c *cobra.Command, args []string) error { return e.run(c, args[0]) },
	}
	c.Flags().StringVar(&e.bench, "bench", "bench.yaml", "the bench file, whose journal is read")
	c.Flags().StringVar(&e.journal, "journal", "", "a journal, rather than a bench's")
	c.Flags().StringVar(&e.csv, "csv", "", "write comma-separated values to OUT")
	c.Flags().StringVar(&e.xlsx, "xlsx", "", "write a spreadsheet to OUT, of at most a million rows a sheet")
	c.Flags().StringVar(&e.qif, "qif", "", "write QIF results to OUT")
	c.Flags().StringVar(&e.from, "from", "", "jobs opened on this day or later, as in 2026-02-03")
	c.Flags().StringVar(&e.until, "to", "", "jobs opened on this day or earlier")
	c.Flags().StringVar(&e.job, "job", "", "this job alone")
	c.Flags().BoolVar(&e.replace, "replace", false, "write over OUT where it is there already")
	c.MarkFlagsMutuallyExclusive("csv", "xlsx", "qif")
	c.MarkFlagsOneRequired("csv", "xlsx", "qif")
	return c
}

// results is the kind that is no table.
const (
	allKinds    = "all"
	resultsKind = "results"
)

func (e *exporting) run(c *cobra.Command, kind string) error {
	kinds, err := e.kinds(kind)
	if err != nil {
		return err
	}
	name, err := e.journalName()
	if err != nil {
		return err
	}
	r, err := reading(c, name)
	if err != nil {
		return journalError(err)
	}
	defer func() { _ = r.Close() }() // what closing after a read could say is not worth hearing
	s := exchange.Source{Store: r, Facts: r, Job: e.job}
	if err := e.days(&s); err != nil {
		return err
	}
	if err := e.spares(r.Path()); err != nil {
		return err
	}
	if e.job != "" && e.qif == "" {
		head, err := openedIn(c.Context(), r, e.job)
		if err != nil {
			return readingError(err)
		}
		if err := isJob(e.job, head); err != nil {
			return err
		}
	}
	defer debug.SetGCPercent(debug.SetGCPercent(exchange.Garbage))
	switch {
	case e.qif != "":
		return e.results(c, s)
	case e.xlsx != "":
		return e.spreadsheet(c, s, kinds)
	}
	return e.table(c, s, kinds[0])
}

// kinds are the tables wanted; none for results.
func (e *exporting) kinds(kind string) ([]exchange.Kind, error) {
	if (kind == resultsKind) != (e.qif != "") {
		return nil, fmt.Errorf("results of a job and --qif go together: write shimwright export results --job JOB --qif OUT, or a table behind --csv or --xlsx")
	}
	switch {
	case kind == resultsKind && e.job == "":
		return nil, fmt.Errorf("results are of one job: write --job and its number")
	case kind == resultsKind:
		return nil, nil
	case kind == allKinds && e.xlsx == "":
		return nil, fmt.Errorf("a CSV file holds one kind of rows: write --xlsx for all of them, or export them one after another")
	case kind == allKinds:
		return exchange.Kinds(), nil
	}
	k, err := exchange.ReadKind(kind)
	if err != nil {
		return nil, fmt.Errorf("%w, %s or %s", err, allKinds, resultsKind)
	}
	return []exchange.Kind{k}, nil
}

func (e *exporting) journalName() (string, error) {
	if e.journal != "" {
		return e.journal, nil
	}
	f, err := readBenchFile(e.bench)
	if err != nil {
		return "", err
	}
	return f.Journal, nil
}

// days reads the range, in the computer's own zone.
func (e *exporting) days(s *exchange.Source) error {
	if e.from != "" {
		d, err := fact.ParseDay(e.from)
		if err != nil {
			return fmt.Errorf("--from: %w", err)
		}
		s.From = d.Start(time.Local)
	}
	if e.until != "" {
		d, err := fact.ParseDay(e.until)
		if err != nil {
			return fmt.Errorf("--to: %w", err)
		}
		s.Until = d.Next().Start(time.Local)
	}
	if !s.From.IsZero() && !s.Until.IsZero() && !s.From.Before(s.Until) {
		return fmt.Errorf("the range ends on %s, before it begins on %s: exchange them", e.until, e.from)
	}
	return nil
}

// spares keeps the files of the journal and the bench file from being written
// over, whatever --replace says.
func (e *exporting) spares(journalPath string) error {
	out, err := os.Stat(e.out())
	if err != nil {
		return nil // it is not there, or writing will say why it cannot be looked at
	}
	for _, name := range []string{journalPath, journalPath + "-wal", journalPath + "-shm", journalPath + ".lock", e.bench} {
		if kept, err := os.Stat(name); err == nil && os.SameFile(out, kept) {
			return fmt.Errorf("%s belongs to the bench and is not written over: write another name", e.out())
		}
	}
	return nil
}

func (e *exporting) out() string { return e.csv + e.xlsx + e.qif }

// table writes one kind as CSV.
func (e *exporting) table(c *cobra.Command, s exchange.Source, k exchange.Kind) error {
	var rows int64
	err := e.write(c, func(w io.Writer) (err error) {
		t := exchange.NewCSV(w)
		if rows, err = e.rows(c, s, k, t); err != nil {
			return err
		}
		return t.Flush()
	})
	if err != nil {
		return err
	}
	return e.told(c, fmt.Sprintf("%d %s", rows, rowsOf(k)))
}

// spreadsheet writes some kinds, a sheet each.
func (e *exporting) spreadsheet(c *cobra.Command, s exchange.Source, kinds []exchange.Kind) (err error) {
	x, err := exchange.NewXLSX()
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, machine("the spreadsheet", x.Close())) }()
	var parts []string
	for _, k := range kinds {
		n, err := e.rows(c, s, k, x)
		if errors.Is(err, exchange.ErrTooLong) {
			return err
		}
		if err != nil {
			return readingError(err)
		}
		parts = append(parts, fmt.Sprintf("%d %s", n, rowsOf(k)))
	}
	told, end := progressOn(c.ErrOrStderr())
	defer end()
	told("writing the spreadsheet", 0, 0)
	if err := e.write(c, func(w io.Writer) error { _, err := x.WriteTo(w); return err }); err != nil {
		return err
	}
	end()
	return e.told(c, strings.Join(parts, ", "))
}

func rowsOf(k exchange.Kind) string { return "rows of " + string(k) }

// results writes a job's results as QIF.
func (e *exporting) results(c *cobra.Command, s exchange.Source) error {
	r, err := s.Results(c.Context())
	if err != nil {
		return readingError(err)
	}
	if err := e.write(c, func(w io.Writer) error { return exchange.WriteQIF(w, r, version()) }); err != nil {
		return err
	}
	return e.told(c, "the results of job "+r.Job.ID)
}

// rows writes rows and tells on a terminal how many there are already.
func (e *exporting) rows(c *cobra.Command, s exchange.Source, k exchange.Kind, to exchange.Sink) (int64, error) {
	told, end := progressOn(c.ErrOrStderr())
	defer end()
	s.Progress = func(rows int64) { told(rowsOf(k), rows, 0) }
	told(rowsOf(k), 0, 0)
	return s.Write(c.Context(), k, to)
}

// write writes to the file, or to standard output.
func (e *exporting) write(c *cobra.Command, write func(io.Writer) error) error {
	if e.out() == "-" {
		err := write(stoppable{c.Context(), c.OutOrStdout()})
		if errors.Is(err, context.Canceled) {
			return &machineError{errors.New("stopped: what was written so far, on standard output, is not all")}
		}
		return readingError(err)
	}
	return readingError(exchange.WriteFile(e.out(), e.replace, func(w io.Writer) error { return write(stoppable{c.Context(), w}) }))
}

// stoppable is a writer that takes nothing more once it is stopped, for what
// writes without asking.
type stoppable struct {
	ctx context.Context
	w   io.Writer
}

func (s stoppable) Write(b []byte) (int, error) {
	if err := s.ctx.Err(); err != nil {
		return 0, err
	}
	return s.w.Write(b)
}

// told says what was written; beside a table on standard output it says nothing.
func (e *exporting) told(c *cobra.Command, what string) error {
	if e.out() == "-" {
		return nil
	}
	return say(c, "%s holds %s.", filepath.ToSlash(e.out()), what)
}

// readingError tells what a journal or the machine does not give from what was
// asked for wrongly: stopping is neither.
func readingError(err error) error {
	var broken *journal.Break
	switch {
	case err == nil:
		return nil
	case errors.Is(err, context.Canceled):
		return &machineError{errors.New("stopped: nothing was written")}
	case errors.As(err, &broken), errors.Is(err, journal.ErrDisk), errors.Is(err, journal.ErrDamaged):
		return &machineError{err}
	}
	return err
}
