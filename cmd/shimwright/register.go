package main

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io"
	"os"

	"github.com/spf13/cobra"

	"shimwright/calc/quantity"
	"shimwright/ingest/exchange"
	"shimwright/ingest/fact"
	"shimwright/ingest/journal"
	"shimwright/ingest/people"
	"shimwright/ingest/register"
)

// newPieces is the command on certified pieces.
func newPieces() *cobra.Command {
	return group("pieces", "List the certified pieces of this bench; certify or withdraw one",
		`List the certified pieces of a bench: those of its register, and those of its bench
file that it has not seen yet. A piece certified anew has its new size from then
on; jobs that drew it before keep the old one.`,
		listPieces, newPiecesCertify, func(bench *string) *cobra.Command { return newWithdraw(bench, "PIECE", register.PieceSubject) })
}

func listPieces(c *cobra.Command, bench string) error {
	return lookAtRegister(c, bench, func(d *desk) error {
		rows := [][]string{{"piece", "role", "size", "uncertainty", "certificate", "due", "state"}}
		for _, p := range d.register.Pieces(d.now) {
			rows = append(rows, []string{p.ID, dash(p.Standard), p.Size.String(), expanded(p.Uncertainty, p.K), dash(p.Certificate.Number),
				dash(p.Certificate.Due.String()), state(p.Withdrawn, p.Certificate.Due, d)})
		}
		return tableOr(c, rows, "No piece is known: shimwright pieces certify puts one in the register.")
	})
}

// lookAtRegister shows the register as the bench would see it, the bench file's
// lists taken in, and then where the two differ.
func lookAtRegister(c *cobra.Command, bench string, show func(*desk) error) error {
	return look(c, bench, func(d *desk, _ *journal.Reader) error {
		if err := d.takeIn(); err != nil {
			return err
		}
		if err := show(d); err != nil {
			return err
		}
		warn(c, d.differences())
		return nil
	})
}

func tableOr(c *cobra.Command, rows [][]string, empty string) error {
	if len(rows) == 1 {
		return say(c, "%s", empty)
	}
	return table(c.OutOrStdout(), rows)
}

func dash(s string) string {
	if s == "" {
		return "-"
	}
	return s
}

func expanded(u, k *quantity.Value) string {
	if u == nil || k == nil {
		return "-"
	}
	return fmt.Sprintf("%s (k %s)", u, k)
}

func state(withdrawn string, due fact.Day, d *desk) string {
	switch {
	case withdrawn != "":
		return "WITHDRAWN: " + withdrawn
	case register.Overdue(due, d.now):
		return "OVERDUE"
	}
	return "in use"
}

// paper is what the command line says of a certificate.
type paper struct{ number, dated, due, file, by string }

func (p *paper) flags(c *cobra.Command) {
	c.Flags().StringVar(&p.number, "certificate", "", "the certificate's number")
	c.Flags().StringVar(&p.dated, "dated", "", "its date, as in 2026-02-03")
	c.Flags().StringVar(&p.due, "due", "", "the last day it holds")
	c.Flags().StringVar(&p.file, "file", "", "its file, of which the SHA-256 is kept")
	byFlag(c, &p.by)
}

func (p *paper) read() (out fact.Certificate, err error) {
	out.Number = p.number
	if p.dated != "" {
		if out.Dated, err = fact.ParseDay(p.dated); err != nil {
			return out, fmt.Errorf("--dated: %w", err)
		}
	}
	if p.due != "" {
		if out.Due, err = fact.ParseDay(p.due); err != nil {
			return out, fmt.Errorf("--due: %w", err)
		}
	}
	if p.file != "" {
		out.Digest, err = digestOf(p.file)
	}
	return out, err
}

// mostPaper is the largest certificate file read, in bytes.
const mostPaper = 256 << 20

func digestOf(name string) (string, error) {
	f, err := os.Open(name)
	if err != nil {
		return "", fileError("certificate", name, err)
	}
	defer f.Close()
	if info, err := f.Stat(); err == nil && !info.Mode().IsRegular() {
		return "", fmt.Errorf("certificate %s: this is no file, want one", name)
	}
	sum := sha256.New()
	n, err := io.Copy(sum, io.LimitReader(f, mostPaper+1))
	if err != nil {
		return "", fileError("certificate", name, err)
	}
	if n > mostPaper {
		return "", fmt.Errorf("certificate %s: it has more than %d MiB: is it the right file?", name, mostPaper>>20)
	}
	return hex.EncodeToString(sum.Sum(nil)), nil
}

// mostFigure is the longest figure looked at, in bytes.
const mostFigure = 100

// sizeOf reads a length with its unit.
func sizeOf(what, s string) (quantity.Value, error) {
	if len(s) > mostFigure {
		return quantity.Value{}, fmt.Errorf("%s has %d characters: write a figure with its unit, as in 75.004 mm", what, len(s))
	}
	return quantity.ParseWithUnit(s)
}

// figureOf reads an optional figure of a flag.
func figureOf(flag, s string) (*quantity.Value, error) {
	if s == "" {
		return nil, nil
	}
	if len(s) > mostFigure {
		return nil, fmt.Errorf("%s has %d characters: write a figure", flag, len(s))
	}
	var v quantity.Value
	if err := v.UnmarshalText([]byte(s)); err != nil {
		return nil, fmt.Errorf("%s: %w", flag, err)
	}
	return &v, nil
}

func newPiecesCertify(bench *string) *cobra.Command {
	var p paper
	var role, uncertainty, k string
	c := &cobra.Command{
		Use:     "certify PIECE SIZE",
		Short:   "Put a piece in the register, or its new certified size",
		Long:    "Put a piece in the register with its certified size, or give it a new one. The role\nstays where none is given; the rest is as this certificate has it. A size far from the\nlast one is refused, unless the piece was withdrawn.",
		Example: `  shimwright pieces certify S-31 "75.004 mm" --role "tall posts" --uncertainty "0.002 mm" --k 2 --certificate C-1177 --dated 2026-02-03 --due 2027-02-03 --by GK`,
		Args:    takes("PIECE", "SIZE"),
		RunE: func(c *cobra.Command, args []string) error {
			f := fact.Certified{Standard: role}
			var err error
			if f.Size, err = sizeOf("SIZE", args[1]); err != nil {
				return err
			}
			if f.Uncertainty, err = figureOf("--uncertainty", uncertainty); err != nil {
				return err
			}
			if f.K, err = figureOf("--k", k); err != nil {
				return err
			}
			if f.Certificate, err = p.read(); err != nil {
				return err
			}
			return change(c, *bench, func(ctx context.Context, d *desk) error { return certifyPiece(ctx, c, d, args[0], f, p.by) })
		},
	}
	c.Flags().StringVar(&role, "role", "", "its role among the standards, as in tall posts")
	c.Flags().StringVar(&uncertainty, "uncertainty", "", "the expanded uncertainty, as in 0.002 mm")
	c.Flags().StringVar(&k, "k", "", "its coverage factor, as in 2")
	p.flags(c)
	return c
}

func certifyPiece(ctx context.Context, c *cobra.Command, d *desk, id string, f fact.Certified, by string) (err error) {
	if was, err := d.register.Piece(id, d.now); err == nil {
		f.Standard = kept(f.Standard, was.Standard)
		if err := believed(was, f.Size); err != nil {
			return err
		}
	}
	if f.By, err = d.signed(ctx, people.KeepGauges, by); err != nil {
		return err
	}
	if err := d.keep(ctx, register.About{Subject: register.PieceSubject(id), Fact: f}); err != nil {
		return err
	}
	if err := say(c, "Piece %s is %s from now on.", id, f.Size); err != nil {
		return err
	}
	warn(c, d.differences())
	return nil
}

// believed refuses a new size of a piece in use that is too far from its last one:
// it is another piece's, or a slip.
func believed(was register.Piece, size quantity.Value) error {
	if was.Withdrawn != "" || size.Unit().Dimension() != quantity.Length {
		return nil // put in use anew, or refused as no length
	}
	if _, err := exchange.Believe(size, "in the register", was.Size); err != nil {
		return fmt.Errorf("piece %s: %w", was.ID, err)
	}
	return nil
}

// newWithdraw takes a piece or a gauge out of use.
func newWithdraw(bench *string, what string, subject func(string) string) *cobra.Command {
	var by string
	c := &cobra.Command{
		Use:   "withdraw " + what + " REASON",
		Short: "Take it out of use, and say why",
		Long:  "Take it out of use, with the reason. To certify it anew puts it in use again.",
		Args:  takes(what, "REASON"),
		RunE: func(c *cobra.Command, args []string) error {
			return change(c, *bench, func(ctx context.Context, d *desk) error {
				s, err := d.signed(ctx, people.KeepGauges, by)
				if err != nil {
					return err
				}
				if err := d.keep(ctx, register.About{Subject: subject(args[0]), Fact: fact.Withdrawn{Reason: args[1], By: s}}); err != nil {
					return err
				}
				return say(c, "%s is withdrawn: %s. shimwright trace %s tells which jobs used it.", args[0], args[1], args[0])
			})
		},
	}
	byFlag(c, &by)
	return c
}

// newGauges is the command on gauges' certificates.
func newGauges() *cobra.Command {
	return group("gauges", "List the gauges of this bench with due dates and drift; certify or withdraw one",
		`List the gauges of a bench: limit of error, certificate, due date, and how they stand
with their check pieces since they were certified.`,
		listGauges, newGaugesCertify, func(bench *string) *cobra.Command { return newWithdraw(bench, "GAUGE", register.GaugeSubject) })
}

func listGauges(c *cobra.Command, bench string) error {
	return lookAtRegister(c, bench, func(d *desk) error {
		rows := [][]string{{"gauge", "kind", "limit of error", "certificate", "due", "state"}}
		var drifts []string
		for _, g := range d.register.Gauges(d.now) {
			limit := "-"
			if g.Limit != nil {
				limit = g.Limit.String()
			}
			rows = append(rows, []string{g.ID, dash(g.GaugeKind), limit, dash(g.Certificate.Number), dash(g.Certificate.Due.String()),
				state(g.Withdrawn, g.Certificate.Due, d)})
			if drift, err := d.register.Drift(g.ID, d.now); err == nil {
				drifts = append(drifts, g.ID+": "+drift.Say(g.Limit.Unit(), g.Limit.Places()))
			}
		}
		if err := tableOr(c, rows, "No gauge is known: write the bench's gauges in its bench file."); err != nil {
			return err
		}
		for _, line := range drifts {
			if err := say(c, "%s", line); err != nil {
				return err
			}
		}
		return nil
	})
}

func newGaugesCertify(bench *string) *cobra.Command {
	var p paper
	var kind, limit string
	c := &cobra.Command{
		Use:     "certify GAUGE",
		Short:   "Put a gauge's certificate in the register",
		Long:    "Put a gauge's certificate in the register. The kind and the limit of error stay\nwhere none is given.",
		Example: `  shimwright gauges certify D07 --limit "0.02 mm" --certificate G-12 --dated 2026-02-03 --due 2026-08-03 --by GK`,
		Args:    takes("GAUGE"),
		RunE: func(c *cobra.Command, args []string) error {
			f := fact.GaugeCertified{GaugeKind: kind}
			var err error
			if f.Limit, err = figureOf("--limit", limit); err != nil {
				return err
			}
			if f.Certificate, err = p.read(); err != nil {
				return err
			}
			return change(c, *bench, func(ctx context.Context, d *desk) error { return certifyGauge(ctx, c, d, args[0], f, p.by) })
		},
	}
	c.Flags().StringVar(&kind, "kind", "", "the kind of gauge, as in depth gauge")
	c.Flags().StringVar(&limit, "limit", "", "its limit of error, as in 0.02 mm")
	p.flags(c)
	return c
}

func certifyGauge(ctx context.Context, c *cobra.Command, d *desk, id string, f fact.GaugeCertified, by string) error {
	s, err := d.signed(ctx, people.KeepGauges, by)
	if err != nil {
		return err
	}
	f.By = s
	if was, err := d.register.Gauge(id, d.now); err == nil && was.GaugeKind != "" {
		f = asBefore(f, was, c)
		if err := measuresAlike(f, was); err != nil {
			return err
		}
	}
	if f.GaugeKind == "" {
		return fmt.Errorf("gauge %+q stands neither in the bench file nor in the register: write --kind, as in depth gauge", id)
	}
	if err := d.keep(ctx, register.About{Subject: register.GaugeSubject(id), Fact: f}); err != nil {
		return err
	}
	if err := say(c, "Gauge %s, %s, is certified from now on.", id, f.GaugeKind); err != nil {
		return err
	}
	warn(c, d.differences())
	return nil
}

// measuresAlike refuses a limit of error that measures another thing than the one
// that a gauge of this kind had, as millimetres for a pull in newtons.
func measuresAlike(f fact.GaugeCertified, was register.Gauge) error {
	if f.GaugeKind != was.GaugeKind || f.Limit == nil || was.Limit == nil || f.Limit.Unit() == quantity.Bare {
		return nil // nothing to compare, or refused for want of a unit
	}
	if f.Limit.Unit().Dimension() != was.Limit.Unit().Dimension() {
		return fmt.Errorf("the limit of error is %s, and gauge %s, %s, had %s: write it in such a unit, or another --kind", f.Limit, was.ID, was.GaugeKind, was.Limit)
	}
	return nil
}

// asBefore keeps the kind and the limit that the register has, where the command
// line gives none.
func asBefore(f fact.GaugeCertified, was register.Gauge, c *cobra.Command) fact.GaugeCertified {
	if !c.Flags().Changed("kind") {
		f.GaugeKind = was.GaugeKind
	}
	if !c.Flags().Changed("limit") && was.Limit != nil {
		f.Limit = was.Limit
	}
	return f
}
