package main

import (
	"errors"
	"fmt"
	"strconv"
	"time"

	"github.com/spf13/cobra"

	"shimwright/devices"
	"shimwright/ingest/fact"
	"shimwright/ingest/journal"
	"shimwright/ingest/register"
)

// newTrace is the command that tells which jobs used a gauge or a piece.
func newTrace() *cobra.Command {
	var bench, from, to string
	c := &cobra.Command{
		Use:   "trace GAUGE-OR-PIECE",
		Short: "Tell which jobs used a gauge or a piece between two dates",
		Long: `List the jobs whose presses came from a gauge, or that drew a piece or took presses
over it, from one day to another, both counted; without them from the first day to
today. Presses that were held or set aside count too. It reads the whole journal
and may run beside a working bench.`,
		Example: "  shimwright trace D07 --from 2026-01-15 --to 2026-02-03",
		Args:    takes("GAUGE-OR-PIECE"),
		RunE: func(c *cobra.Command, args []string) error {
			first, last, err := days(from, to)
			if err != nil {
				return err
			}
			return look(c, bench, func(d *desk, r *journal.Reader) error { return trace(c, d, r, args[0], first, last) })
		},
	}
	c.Flags().StringVar(&bench, "bench", "bench.yaml", "the bench file")
	c.Flags().StringVar(&from, "from", "", "the first day, as in 2026-01-15")
	c.Flags().StringVar(&to, "to", "", "the last day")
	return c
}

// days reads the first and the last day of a trace.
func days(from, to string) (first, last fact.Day, err error) {
	last = fact.DayOf(time.Now())
	if from != "" {
		if first, err = fact.ParseDay(from); err != nil {
			return first, last, fmt.Errorf("--from: %w", err)
		}
	}
	if to != "" {
		if last, err = fact.ParseDay(to); err != nil {
			return first, last, fmt.Errorf("--to: %w", err)
		}
	}
	if !first.IsZero() && last.Before(first) {
		return first, last, fmt.Errorf("--to is %s, before --from, %s: exchange them", last, first)
	}
	return first, last, nil
}

func trace(c *cobra.Command, d *desk, r *journal.Reader, name string, first, last fact.Day) error {
	if err := d.takeIn(); err != nil {
		return err
	}
	what, known := d.called(name)
	if r == nil {
		return fmt.Errorf("journal %s: there is no such file: run the bench on it once", d.file.Journal)
	}
	begin := time.Time{}
	since := "the first day"
	if !first.IsZero() {
		begin, since = first.Start(time.Local), first.String()
	}
	told, end := progressOn(c.ErrOrStderr())
	defer end()
	told("reading all facts", 0, 0)
	t, err := register.UsedBetween(c.Context(), r, name, begin, last.Next().Start(time.Local))
	end()
	switch {
	case errors.Is(err, register.ErrMany):
		return err
	case err != nil:
		return journalError(err)
	case len(t.Jobs) == 0 && len(t.Checks) == 0 && !known:
		return fmt.Errorf("%s is no gauge or piece of this bench, and no job used one of that name: shimwright gauges and shimwright pieces list them", devices.Quote([]byte(name)))
	}
	if err := say(c, "%s: used in %s from %s to %s.", what, counted(len(t.Jobs), "job", "jobs"), since, last); err != nil {
		return err
	}
	if err := printUses(c, t); err != nil {
		return err
	}
	for _, g := range t.Checks {
		if err := say(c, "Gauge %s was checked on it: what it was found to err may be wrong.", g); err != nil {
			return err
		}
	}
	return nil
}

// called is what a name is, in words, and whether the register knows it.
func (d *desk) called(name string) (string, bool) {
	if g, err := d.register.Gauge(name, d.now); err == nil {
		return "Gauge " + name + ", " + dash(g.GaugeKind), true
	}
	if p, err := d.register.Piece(name, d.now); err == nil {
		return "Piece " + name + ", " + p.Size.String(), true
	}
	return devices.Quote([]byte(name)), false
}

func printUses(c *cobra.Command, t register.Trace) error {
	if len(t.Jobs) == 0 {
		return nil
	}
	const form = "2006-01-02 15:04"
	rows := [][]string{{"job", "serial", "drive", "state", "first use", "last use", "presses"}}
	for _, u := range t.Jobs {
		state := string(u.Job.State)
		if u.Job.Training {
			state += ", TRAINING"
		}
		rows = append(rows, []string{u.Job.ID, u.Job.Serial, u.Job.Drive, dash(state), u.First.Local().Format(form), u.Last.Local().Format(form), strconv.Itoa(u.Presses)})
	}
	return table(c.OutOrStdout(), rows)
}
