package main

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"shimwright/calc/overhaul"
	"shimwright/calc/sheet"
	"shimwright/ui/draw"
)

// newSheet builds the command that holds the commands on setting sheets.
func newSheet() *cobra.Command {
	c := &cobra.Command{
		Use:   "sheet",
		Short: "Work on setting sheets",
		Args:  cobra.NoArgs,
		RunE:  func(c *cobra.Command, _ []string) error { return c.Help() },
	}
	c.AddCommand(newSheetCheck(), newSheetApprove())
	return c
}

func newSheetCheck() *cobra.Command {
	return &cobra.Command{
		Use:   "check SHEET",
		Short: "Validate a sheet, work its example, print its loops, rows and drawings",
		Long: `Validate a setting sheet and work its example: the example must give the packs
it says, and must notice when any one reading, piece or mark is turned or left
out. Then print each pack's loop as a signed sum, what one more of it does in
every state of its shaft, and a drawing of each axis.

SHEET is a file, or the name of a sheet that comes with the program (fw3, sluice).
A sheet that is refused is told with file, line and column; the exit status is
then 2.`,
		Args: takes("SHEET"),
		RunE: func(c *cobra.Command, args []string) error { return checkSheet(c, args[0]) },
	}
}

func checkSheet(c *cobra.Command, name string) error {
	s, err := readSheet(name)
	if err != nil {
		return err
	}
	r, err := overhaul.CheckExample(s)
	if err != nil {
		return err
	}
	var b strings.Builder
	if err := describe(&b, s, r); err != nil {
		return err
	}
	_, err = fmt.Fprint(c.OutOrStdout(), b.String())
	return machine("standard output", err)
}

// describe writes all that an author wants to see of a sheet.
func describe(b *strings.Builder, s *sheet.Sheet, r *overhaul.Results) error {
	page := draw.PageFor(s)
	fmt.Fprintf(b, "%s\nSheet %s, issue %d: the sheet is sound.\n\n", s.Title, s.ID, s.Issue)
	fmt.Fprintln(b, "example")
	for _, g := range s.Example.Gives {
		fmt.Fprintf(b, "  %-28s  comes to %s, as written\n", g.Pack, g.Figure)
	}
	fmt.Fprintf(b, "  The example notices every one of its %d leaves turned or left out.\n\nloops\n\n", leafCount(s, r))
	if err := draw.Loops(b, page, s); err != nil {
		return err
	}
	fmt.Fprintln(b, "\ndrawings")
	for _, a := range s.Net.Axes() {
		fmt.Fprintln(b)
		if err := draw.Stack(b, page, s, a.Name); err != nil {
			return err
		}
	}
	_, err := fmt.Fprintf(b, "\nLimits from %s, not from this tool.\n", strings.TrimSuffix(s.Manual, "."))
	return err
}

// leafCount is how many different leaves the example's packs rest on.
func leafCount(s *sheet.Sheet, r *overhaul.Results) int {
	seen := map[string]bool{}
	for _, g := range s.Example.Gives {
		for _, l := range r.Of(g.Pack).Pack.Worked.Leaves() {
			seen[l.Figure.Leaf.Key] = true
		}
	}
	return len(seen)
}
