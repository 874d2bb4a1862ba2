package main

import (
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"shimwright/calc/overhaul"
	"shimwright/calc/ring"
	"shimwright/calc/sheet"
	"shimwright/ui/draw"
)

// newSolve builds the command that works a file of readings.
func newSolve() *cobra.Command {
	var asJSON bool
	c := &cobra.Command{
		Use:   "solve SHEET READINGS",
		Short: "Work a file of readings: every pack and check with its arithmetic",
		Long: `Work a file of readings by a setting sheet and print every length, pack and
check, each with its arithmetic down to the single readings, pieces and marks.

SHEET is a file, or the name of a sheet that comes with the program (fw3, sluice).
READINGS is a file of entries, in the same form as a sheet's example.

Steps that still want something are said, and are no failure. The exit status is
1 when a verdict is not good, too close to call included, and when a step is
stopped, held or stale.`,
		Args: takes("SHEET", "READINGS"),
		RunE: func(c *cobra.Command, args []string) error {
			return solve(c, args[0], args[1], asJSON)
		},
	}
	c.Flags().BoolVar(&asJSON, "json", false, "print the results as JSON, as JSON.md describes")
	return c
}

func solve(c *cobra.Command, sheetName, readings string, asJSON bool) error {
	s, err := readSheet(sheetName)
	if err != nil {
		return err
	}
	r, err := work(s, readings)
	if err != nil {
		return err
	}
	if err := printResults(c.OutOrStdout(), s, r, asJSON, c.Root().Version); err != nil {
		return machine("standard output", err)
	}
	if !allGood(r) {
		return errNotGood
	}
	return nil
}

// work reads a file of entries and works it.
func work(s *sheet.Sheet, readings string) (*overhaul.Results, error) {
	text, err := readFile("readings", readings)
	if err != nil {
		return nil, err
	}
	e, err := sheet.ReadEntries(s, readings, text)
	if err != nil {
		return nil, err
	}
	r, err := overhaul.Work(s, e)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", readings, err)
	}
	return r, nil
}

func printResults(w io.Writer, s *sheet.Sheet, r *overhaul.Results, asJSON bool, version string) error {
	if asJSON {
		return writeJSON(w, r, version)
	}
	return draw.Results(w, draw.PageFor(s), r, draw.Full)
}

// allGood tells whether nothing stands against the build: no step stopped, held
// or stale, no verdict other than good. Steps that wait are no fault.
func allGood(r *overhaul.Results) bool {
	for _, step := range r.Steps {
		if step.Status != overhaul.Done && step.Status != overhaul.Waiting {
			return false
		}
		if c := step.Check; c != nil && c.Verdict != ring.Good && c.Verdict != ring.NotJudged {
			return false
		}
	}
	return true
}
