package main

import (
	"errors"
	"fmt"
	"io"
	"os"

	"github.com/spf13/cobra"
	"golang.org/x/term"

	"shimwright/ingest/carried"
	"shimwright/ingest/exchange"
	"shimwright/ui/record"
)

// recordChoice is what was asked of record.
type recordChoice struct {
	bench, journal  string
	pdf, text, json string
	label, replace  bool
}

// newRecord is the command that writes a job's build record.
func newRecord() *cobra.Command {
	var r recordChoice
	c := &cobra.Command{
		Use:   "record JOB",
		Short: "Write a job's build record: PDF, plain text, JSON, or its bench label",
		Long: `Write the build record of one job: what was found, pressed, worked out, fitted,
judged and signed, with every figure as a sum that a pencil can check. It is made
from the job's facts alone, so the same job gives the same bytes, and it may run
beside a working bench. A job that is not finished has a record too, which says
what is open.

Without --pdf, --text or --json the text is printed. The JSON record carries the
sheet and every fact with the gauges' raw bytes: shimwright verify checks it by
itself. --label makes the bench label instead: job, build state, packs by place
and QR code. "-" is standard output.`,
		Example: "  shimwright record 2041 --bench bench.yaml --pdf 2041.pdf --json 2041.json",
		Args:    takes("JOB"),
		RunE:    func(c *cobra.Command, args []string) error { return r.write(c, args[0]) },
	}
	f := c.Flags()
	f.StringVar(&r.bench, "bench", "bench.yaml", "the bench file")
	f.StringVar(&r.journal, "journal", "", "a journal, instead of the one in the bench file")
	f.StringVar(&r.pdf, "pdf", "", "write a PDF to this file")
	f.StringVar(&r.text, "text", "", "write plain text to this file")
	f.StringVar(&r.json, "json", "", "write JSON to this file, to be verified later")
	f.BoolVar(&r.label, "label", false, "the bench label instead of the record")
	f.BoolVar(&r.replace, "replace", false, "write over a file that is there")
	c.MarkFlagsMutuallyExclusive("bench", "journal")
	c.MarkFlagsMutuallyExclusive("label", "json")
	return c
}

// form is one form of the record and where it goes.
type form struct {
	what, to string
	write    func(io.Writer) error
}

func (r recordChoice) write(c *cobra.Command, id string) error {
	facts, err := r.facts(c, id)
	if err != nil {
		return err
	}
	made, err := record.From(facts)
	if err != nil {
		return err
	}
	forms := r.forms(made, facts)
	for _, f := range forms {
		if err := r.put(c, f); err != nil {
			return err
		}
	}
	return nil
}

// facts reads the job's facts.
func (r recordChoice) facts(c *cobra.Command, id string) (facts carried.Job, err error) {
	path := r.journal
	if path == "" {
		f, err := readBenchFile(r.bench)
		if err != nil {
			return facts, err
		}
		path = f.Journal
	}
	j, err := reading(c, path)
	if err != nil {
		return facts, journalError(err)
	}
	defer func() { _ = j.Close() }() // what closing after a read could say is not worth hearing
	facts, err = carried.Load(c.Context(), j, id)
	if err != nil && !errors.Is(err, carried.ErrNoJob) {
		err = journalError(err)
	}
	return facts, err
}

func (r recordChoice) forms(made *record.Record, facts carried.Job) []form {
	text, pdf, what := made.Text, made.PDF, "record"
	if r.label {
		text, pdf, what = made.LabelText, made.LabelPDF, "label"
	}
	var out []form
	if r.pdf != "" {
		out = append(out, form{what, r.pdf, func(w io.Writer) error {
			b, err := pdf()
			if err == nil {
				_, err = w.Write(b)
			}
			return err
		}})
	}
	if r.json != "" {
		out = append(out, form{what, r.json, func(w io.Writer) error { return made.JSON(w, facts, version()) }})
	}
	if r.text != "" {
		out = append(out, form{what, r.text, text})
	}
	if len(out) == 0 {
		out = append(out, form{what, "-", text})
	}
	return out
}

// put writes one form, to a file whole or not at all.
func (r recordChoice) put(c *cobra.Command, f form) error {
	if f.to == "-" {
		if out, ok := c.OutOrStdout().(*os.File); ok && f.to == r.pdf && term.IsTerminal(int(out.Fd())) {
			return errors.New("a PDF is not for a terminal: write --pdf and the name of a file")
		}
		return machine("standard output", f.write(c.OutOrStdout()))
	}
	if err := exchange.WriteFile(f.to, r.replace, f.write); err != nil {
		return fmt.Errorf("the %s: %w", f.what, err)
	}
	_, err := fmt.Fprintf(c.ErrOrStderr(), "wrote %s\n", f.to)
	return machine("standard error", err)
}
