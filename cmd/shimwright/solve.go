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
	var instead string
	c := &cobra.Command{
		Use:   "solve SHEET READINGS",
		Short: "Work a file of readings: every pack and check with its arithmetic",
		Long: `Work a file of readings by a setting sheet and print every length, pack and
check, each with its arithmetic down to the single readings, pieces and marks.

SHEET is a file, or the name of a sheet that comes with the program (fw3, sluice).
READINGS is a file of entries, in the same form as a sheet's example.

--instead FILE says what would differ: FILE has entries in the same form, which
are put in place of those they name (the presses that count at a step or spot, an
answer, a mark; a pack fitted instead goes into the drive as it is now). READINGS
itself stays as it is. Only results that differ are printed, as they were and as
they would be: packs, settings, backlash to expect, verdicts.

Steps that still want something are said, and are no failure. The exit status is
1 when a verdict is not good, too close to call included, and when a step is
stopped, held or stale.`,
		Args: takes("SHEET", "READINGS"),
		RunE: func(c *cobra.Command, args []string) error {
			return solve(c, args[0], args[1], instead, asJSON)
		},
	}
	c.Flags().BoolVar(&asJSON, "json", false, "print the results as JSON, as JSON.md describes")
	c.Flags().StringVar(&instead, "instead", "", "say what would differ with the entries of this `FILE` instead")
	return c
}

func solve(c *cobra.Command, sheetName, readings, instead string, asJSON bool) error {
	s, err := readSheet(sheetName)
	if err != nil {
		return err
	}
	r, err := workInstead(s, readings, instead)
	if err != nil {
		return err
	}
	if err := printResults(c.OutOrStdout(), s, r, instead != "", asJSON, c.Root().Version); err != nil {
		return machine("standard output", err)
	}
	if !allGood(r) {
		return errNotGood
	}
	return nil
}

// workInstead works a file of entries, with those of a second file in place of
// what they name where one is given.
func workInstead(s *sheet.Sheet, readings, instead string) (*overhaul.Results, error) {
	if instead == "" {
		return work(s, readings)
	}
	job, err := readEntries(s, readings)
	if err != nil {
		return nil, err
	}
	text, err := readFile("entries", instead)
	if err != nil {
		return nil, err
	}
	put, err := sheet.ReadInstead(s, instead, text, job)
	if err != nil {
		return nil, err
	}
	r, err := overhaul.WhatIf(s, job, put)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", readings, err)
	}
	return r, nil
}

func readEntries(s *sheet.Sheet, readings string) (sheet.Entries, error) {
	text, err := readFile("readings", readings)
	if err != nil {
		return sheet.Entries{}, err
	}
	return sheet.ReadEntries(s, readings, text)
}

// work reads a file of entries and works it.
func work(s *sheet.Sheet, readings string) (*overhaul.Results, error) {
	e, err := readEntries(s, readings)
	if err != nil {
		return nil, err
	}
	r, err := overhaul.Work(s, e)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", readings, err)
	}
	return r, nil
}

func printResults(w io.Writer, s *sheet.Sheet, r *overhaul.Results, whatIf, asJSON bool, version string) error {
	switch {
	case asJSON:
		return writeJSON(w, r, version)
	case whatIf:
		return draw.WhatIf(w, draw.PageFor(s), r)
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
