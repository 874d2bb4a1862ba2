package main

import (
	"fmt"
	"io"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"shimwright/calc/overhaul"
	"shimwright/calc/sheet"
	"shimwright/ingest/exchange"
	"shimwright/ui/draw"
	"shimwright/ui/drawing"
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
	var drawn string
	var replace bool
	c := &cobra.Command{
		Use:   "check SHEET",
		Short: "Validate a sheet, work its example, print its loops, rows and drawings",
		Long: `Validate a setting sheet and work its example: the example must give the packs
it says, and must notice when any one reading, piece or mark is turned or left
out. Then print each pack's loop as a signed sum, what one more of it does in
every state of its shaft, and a drawing of each axis. --drawing writes a drawing of
the whole sheet for whoever approves it: faces, lengths, setups, packs, places, and
what one more of a pack does, on A4 pages.

SHEET is a file, or the name of a sheet that comes with the program (fw3, sluice).
A sheet that is refused is told with file, line and column; the exit status is
then 2.`,
		Example: "  shimwright sheet check fw3 --drawing fw3.pdf",
		Args:    takes("SHEET"),
		RunE: func(c *cobra.Command, args []string) error {
			if drawn == "" {
				return checkSheet(c, args[0])
			}
			return drawSheet(c, args[0], drawn, replace)
		},
	}
	c.Flags().StringVar(&drawn, "drawing", "", "draw the sheet to this file, .svg or .pdf, rather than print it")
	c.Flags().BoolVar(&replace, "replace", false, "write over the drawing where it is there already")
	return c
}

// drawSheet checks a sheet as checkSheet does and draws it.
func drawSheet(c *cobra.Command, name, to string, replace bool) error {
	form, ok := map[string]func(io.Writer, *sheet.Sheet) error{".svg": drawing.SVG, ".pdf": drawing.PDF}[strings.ToLower(filepath.Ext(to))]
	if !ok {
		return fmt.Errorf("%s ends neither in .svg nor in .pdf: which of them is wanted?", to)
	}
	s, err := readSheet(name)
	if err != nil {
		return err
	}
	if _, err := overhaul.CheckExample(s); err != nil {
		return err
	}
	if err := exchange.WriteFile(to, replace, func(w io.Writer) error { return form(w, s) }); err != nil {
		return err
	}
	return say(c, "The sheet is sound. %s is its drawing.", filepath.ToSlash(to))
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
