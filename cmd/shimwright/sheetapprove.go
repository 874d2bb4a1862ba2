package main

import (
	"context"
	"fmt"

	"github.com/spf13/cobra"

	"shimwright/calc/overhaul"
	"shimwright/calc/sheet"
	"shimwright/ingest/bench"
	"shimwright/ingest/fact"
	"shimwright/ingest/people"
	"shimwright/ingest/register"
)

func newSheetApprove() *cobra.Command {
	var file, by string
	c := &cobra.Command{
		Use:   "approve SHEET",
		Short: "Say that jobs may be opened by this text of a sheet",
		Long: `Record a lead's yes to a sheet: its text by SHA-256, who approved it, the day. A sheet
that is not sound is refused. Any change of the text, be it a blank, wants a new yes.

SHEET is a file, or the name of a sheet of the bench.`,
		Example: "  shimwright sheet approve my-drive.yaml --bench bench.yaml --by RK",
		Args:    takes("SHEET"),
		RunE: func(c *cobra.Command, args []string) error {
			return change(c, file, func(ctx context.Context, d *desk) error { return approve(ctx, c, d, args[0], by) })
		},
	}
	c.Flags().StringVar(&file, "bench", "bench.yaml", "the bench file")
	byFlag(c, &by)
	return c
}

func approve(ctx context.Context, c *cobra.Command, d *desk, name, by string) error {
	const mostPath = 4096 // bytes
	if len(name) > mostPath {
		return fmt.Errorf("SHEET has %d characters: write a file's path, or the name of a sheet of the bench", len(name))
	}
	text, err := sheetsOf(d.file, d.folder)(name)
	if err != nil {
		var other error
		if text, other = readFile("sheet", name); other != nil {
			return err
		}
	}
	s, err := sheet.Read(name, text)
	if err != nil {
		return err
	}
	if _, err := overhaul.CheckExample(s); err != nil {
		return err
	}
	digest := bench.Digest(text)
	if a, ok := d.register.Approved(digest); ok {
		return say(c, "Sheet %s, issue %d, was approved already on %s: %s.", s.ID, a.Issue, a.Day, d.people.Say(a.By))
	}
	f := fact.Approved{Issue: s.Issue, Digest: digest, Day: fact.DayOf(d.now)}
	if len(d.people.With(people.ApproveSheet.Roles()...)) == 0 {
		return fmt.Errorf("a lead approves a sheet, and none is on the list of %s: put one on it (shimwright people add … --role lead)", d.file.Name)
	}
	if f.By, err = d.signed(ctx, people.ApproveSheet, by); err != nil {
		return err
	}
	if err := d.keep(ctx, register.About{Subject: register.SheetSubject(s.ID), Fact: f}); err != nil {
		return err
	}
	return say(c, "Sheet %s, issue %d, is approved: %s. SHA-256 %s", s.ID, s.Issue, d.people.Say(f.By), digest)
}
