package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"strconv"
	"strings"

	"github.com/spf13/cobra"
	"golang.org/x/term"

	"shimwright/ingest/exchange"
	"shimwright/ingest/fact"
	"shimwright/ingest/journal"
	"shimwright/ingest/people"
	"shimwright/ingest/register"
)

// An importing is what every import takes beside its file.
type importing struct {
	bench, by string
	yes       bool
}

// newImport is the command by which data enters a bench's register.
func newImport() *cobra.Command {
	var i importing
	c := &cobra.Command{
		Use:   "import",
		Short: "Take a certificate, a list of pieces or a list of stock into the register",
		Long: `Take a digital calibration certificate, a list of pieces or a list of stock into the
register of a bench. What would be kept is shown first; a question on the terminal
or --yes confirms it. A file is taken whole or not at all.`,
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error { return c.Help() },
	}
	c.PersistentFlags().StringVar(&i.bench, "bench", "bench.yaml", "the bench file")
	c.PersistentFlags().StringVar(&i.by, "by", "", "the initials of who does this")
	c.PersistentFlags().BoolVar(&i.yes, "yes", false, "keep it without a question")
	c.AddCommand(newImportCertificate(&i), newImportPieces(&i), newImportStock(&i))
	return c
}

func newImportCertificate(i *importing) *cobra.Command {
	var a exchange.Asked
	var etched, due string
	c := &cobra.Command{
		Use:   "certificate FILE.xml",
		Short: "Take a piece's size from its digital calibration certificate (DCC 3.1 or 3.2)",
		Long: `Take a certified piece's size, its uncertainty with k and the day from a digital
calibration certificate, version 3.1 or 3.2, and keep the SHA-256 of the file.

The piece is the one of the owner's number in the certificate, or the one behind
--piece; its number must be one of those in the certificate, or the number behind
--serial must. A size far from the one in the register, or from the one behind
--etched, is refused. The certificate's electronic signature is not checked.`,
		Example: `  shimwright import certificate C-1177.xml --due 2027-01-13 --etched "75.00 mm" --by GK`,
		Args:    takes("FILE.xml"),
		RunE: func(c *cobra.Command, args []string) error {
			var err error
			if a.Etched, err = figureOf("--etched", etched); err != nil {
				return err
			}
			if due != "" {
				if a.Due, err = fact.ParseDay(due); err != nil {
					return fmt.Errorf("--due: %w", err)
				}
			}
			return i.certificate(c, args[0], a)
		},
	}
	c.Flags().StringVar(&a.Piece, "piece", "", "the piece's number at the bench")
	c.Flags().StringVar(&a.Serial, "serial", "", "the number on the piece, where it is another")
	c.Flags().StringVar(&a.Role, "role", "", "its role among the standards, as in tall posts")
	c.Flags().StringVar(&a.Length, "length", "", "which of several lengths, by a part of its name")
	c.Flags().StringVar(&etched, "etched", "", "the size etched on the piece, to compare, as in 75.00 mm")
	c.Flags().StringVar(&due, "due", "", "the last day it holds, which no certificate says")
	return c
}

func (i *importing) certificate(c *cobra.Command, name string, a exchange.Asked) error {
	data, err := readAtMost("certificate", name, exchange.MostXML)
	if err != nil {
		return err
	}
	paper, err := exchange.ReadCertificate(data)
	if err != nil {
		return fmt.Errorf("certificate %s: %w", name, err)
	}
	look := func(d *desk) (exchange.Piece, error) {
		p, err := exchange.PieceFrom(paper, a, d.register, d.now)
		if err != nil {
			return p, fmt.Errorf("certificate %s: %w", name, err)
		}
		return p, nil
	}
	show := func(d *desk) error {
		p, err := look(d)
		if err != nil {
			return err
		}
		return showCertificate(c, paper, p)
	}
	return i.confirmed(c, show, func(ctx context.Context, d *desk) error {
		p, err := look(d)
		if err != nil {
			return err
		}
		if p.Fact.By, err = d.signed(ctx, people.KeepGauges, i.by); err != nil {
			return err
		}
		if err := keepWhole(ctx, d, []register.About{{Subject: register.PieceSubject(p.ID), Fact: p.Fact}}); err != nil {
			return err
		}
		return say(c, "Piece %s is %s from now on.", p.ID, p.Fact.Size)
	})
}

func showCertificate(c *cobra.Command, paper exchange.PaperCertificate, p exchange.Piece) error {
	var numbers []string
	for _, n := range paper.Numbers {
		numbers = append(numbers, fmt.Sprintf("%s (%s)", n.Value, exchange.Neutral(n.Issuer)))
	}
	due := p.Fact.Certificate.Due.String()
	if due == "" {
		due = "not said: --due says it"
	}
	number := p.Fact.Certificate.Number
	if paper.Amends {
		number += ", in place of an earlier one"
	}
	rows := [][]string{
		{"piece", p.ID}, {"role", dash(p.Fact.Standard)}, {"calibrated", dash(paper.Item)}, {"its numbers", strings.Join(numbers, ", ")},
		{"size", p.Fact.Size.String()}, {"uncertainty", expanded(p.Fact.Uncertainty, p.Fact.K)}, {"given as", dash(p.Length.Name)},
		{"certificate", number}, {"laboratory", dash(paper.Laboratory)}, {"dated", p.Fact.Certificate.Dated.String()}, {"due", due}, {"SHA-256", paper.Digest},
	}
	if err := table(c.OutOrStdout(), rows); err != nil {
		return err
	}
	for _, w := range p.Words {
		if err := say(c, "%s", w); err != nil {
			return err
		}
	}
	return nil
}

func newImportPieces(i *importing) *cobra.Command {
	return &cobra.Command{
		Use:   "pieces FILE.csv",
		Short: "Take certified pieces from a list",
		Long: `Take certified pieces from a list as CSV in UTF-8. Its first line names its columns:
piece and size, and where they are known role, uncertainty, k, certificate, dated
and due. Sizes and uncertainties have their units beside them, as in 75.004 mm; days
are as in 2026-02-03. A piece certified anew has its new size from then on; one far
from the last is refused, unless the piece was withdrawn.`,
		Args: takes("FILE.csv"),
		RunE: func(c *cobra.Command, args []string) error { return i.pieces(c, args[0]) },
	}
}

func (i *importing) pieces(c *cobra.Command, name string) error {
	data, err := readAtMost("list", name, exchange.MostList)
	if err != nil {
		return err
	}
	list, err := exchange.ReadPieces(data)
	if err != nil {
		return fmt.Errorf("list %s: %w", name, err)
	}
	show := func(d *desk) error {
		rows := [][]string{{"piece", "role", "size", "uncertainty", "certificate", "due", "in the register"}}
		for _, p := range list {
			was := "new"
			if old, err := d.register.Piece(p.ID, d.now); err == nil {
				if err := believed(old, p.Fact.Size); err != nil {
					return fmt.Errorf("list %s: %w", name, err)
				}
				was = old.Size.String()
				p.Fact.Standard = kept(p.Fact.Standard, old.Standard)
			}
			rows = append(rows, []string{p.ID, dash(p.Fact.Standard), p.Fact.Size.String(), expanded(p.Fact.Uncertainty, p.Fact.K),
				dash(p.Fact.Certificate.Number), dash(p.Fact.Certificate.Due.String()), was})
		}
		return table(c.OutOrStdout(), rows)
	}
	return i.confirmed(c, show, func(ctx context.Context, d *desk) error {
		by, err := d.signed(ctx, people.KeepGauges, i.by)
		if err != nil {
			return err
		}
		var facts []register.About
		for _, p := range list {
			if old, err := d.register.Piece(p.ID, d.now); err == nil {
				p.Fact.Standard = kept(p.Fact.Standard, old.Standard)
			}
			if register.Overdue(p.Fact.Certificate.Due, d.now) {
				return fmt.Errorf("list %s: piece %s was due on %s: it has expired; take its line out, or have it certified anew", name, p.ID, p.Fact.Certificate.Due)
			}
			p.Fact.By = by
			facts = append(facts, register.About{Subject: register.PieceSubject(p.ID), Fact: p.Fact})
		}
		if err := keepWhole(ctx, d, facts); err != nil {
			return err
		}
		return say(c, "%s as listed from now on.", counted(len(facts), "piece is", "pieces are"))
	})
}

// kept is what a list says, else what was known.
func kept(says, was string) string {
	if says == "" {
		return was
	}
	return says
}

func newImportStock(i *importing) *cobra.Command {
	return &cobra.Command{
		Use:   "stock FILE.csv",
		Short: "Take counts of shims from a list",
		Long: `Take counts of shims from a list as CSV in UTF-8. Its first line names its columns:
tray, leaf and count, and where they are known measured, for the thickness by
micrometer, and low, for the count below which more are to be ordered. Leaves have
their unit beside them, as in 0.30 mm. Sizes that are not listed stay as they are.`,
		Args: takes("FILE.csv"),
		RunE: func(c *cobra.Command, args []string) error { return i.stock(c, args[0]) },
	}
}

func (i *importing) stock(c *cobra.Command, name string) error {
	data, err := readAtMost("list", name, exchange.MostList)
	if err != nil {
		return err
	}
	list, err := exchange.ReadStock(data)
	if err != nil {
		return fmt.Errorf("list %s: %w", name, err)
	}
	show := func(d *desk) error { return showStock(c, d, list) }
	return i.confirmed(c, show, func(ctx context.Context, d *desk) error {
		by, err := d.known(ctx, i.by)
		if err != nil {
			return err
		}
		var facts []register.About
		for _, t := range list {
			subject := register.StockSubject(t.Name)
			facts = append(facts, register.About{Subject: subject, Fact: fact.Counted{Leaves: t.Counts, By: by}})
			for _, l := range t.Lows {
				l.By = by
				facts = append(facts, register.About{Subject: subject, Fact: l})
			}
		}
		if err := keepWhole(ctx, d, facts); err != nil {
			return err
		}
		return say(c, "The stock is counted as listed.")
	})
}

func showStock(c *cobra.Command, d *desk, list []exchange.Tray) error {
	rows := [][]string{{"tray", "leaf", "measured", "count", "low under", "in the register"}}
	for _, t := range list {
		had := map[string]register.Leaf{}
		for _, l := range d.register.Leaves(t.Name) {
			had[l.Size.Exact().String()] = l
		}
		low := map[string]int{}
		for _, l := range t.Lows {
			low[l.Size.Exact().String()] = l.Count
		}
		for _, h := range t.Counts {
			measured, under, was := "-", "-", "new"
			if h.Measured != nil {
				measured = h.Measured.String()
			}
			if n, ok := low[h.Size.Exact().String()]; ok {
				under = strconv.Itoa(n)
			}
			if l, ok := had[h.Size.Exact().String()]; ok {
				was = strconv.Itoa(l.Count)
			}
			rows = append(rows, []string{t.Name, h.Size.String(), measured, strconv.Itoa(h.Count), under, was})
		}
	}
	return table(c.OutOrStdout(), rows)
}

// confirmed shows what would be kept, asks, and keeps it. The journal is opened
// for writing only after the yes, and what is kept is worked anew then.
func (i *importing) confirmed(c *cobra.Command, show func(*desk) error, keep func(context.Context, *desk) error) error {
	err := look(c, i.bench, func(d *desk, _ *journal.Reader) error {
		if err := d.takeIn(); err != nil {
			return err
		}
		return show(d)
	})
	if err != nil {
		return err
	}
	if !i.yes {
		if err := confirm(c); err != nil {
			return err
		}
	}
	return change(c, i.bench, keep)
}

// confirm asks on a terminal.
func confirm(c *cobra.Command) error {
	in := c.InOrStdin()
	if f, ok := in.(*os.File); !ok || !term.IsTerminal(int(f.Fd())) {
		return errors.New("nothing was changed: write --yes to keep it")
	}
	_, _ = fmt.Fprint(c.ErrOrStderr(), "Keep it? Type yes: ") // the answer counts, not the question
	const most = 100
	line, err := bufio.NewReader(io.LimitReader(in, most)).ReadString('\n')
	if err != nil && !errors.Is(err, io.EOF) {
		return machine("terminal", err)
	}
	if a := strings.ToLower(strings.TrimSpace(line)); a != "yes" && a != "y" {
		return errors.New("nothing was changed")
	}
	return nil
}

// keepWhole keeps facts in one transaction, so that a file is taken whole or not
// at all.
func keepWhole(ctx context.Context, d *desk, facts []register.About) error {
	if len(facts) > journal.MaxRecords {
		return fmt.Errorf("the file makes %d entries in the register, and at most %d are kept at once: split it", len(facts), journal.MaxRecords)
	}
	if err := d.keep(ctx); err != nil { // what the bench file says for the first time
		return err
	}
	return d.keep(ctx, facts...)
}

// readAtMost reads a file of at most so many bytes.
func readAtMost(what, name string, most int64) ([]byte, error) {
	if info, err := os.Stat(name); err == nil && !info.Mode().IsRegular() {
		return nil, fmt.Errorf("%s %s: this is no plain file, want one", what, name)
	}
	f, err := os.Open(name)
	if err != nil {
		return nil, fileError(what, name, err)
	}
	defer f.Close()
	data, err := io.ReadAll(io.LimitReader(f, most+1))
	if err != nil {
		return nil, fileError(what, name, err)
	}
	return data, nil
}
