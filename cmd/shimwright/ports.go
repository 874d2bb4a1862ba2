package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"text/tabwriter"
	"time"

	"github.com/spf13/cobra"

	"shimwright/cmd/shimwright/benchfile"
	"shimwright/devices/port"
	"shimwright/ingest/bench"
	"shimwright/ingest/fact"
	"shimwright/ingest/journal"
)

// newPorts is the command that lists serial ports and teaches which gauge is on
// which.
func newPorts() *cobra.Command {
	var file string
	c := &cobra.Command{
		Use:   "ports",
		Short: "List the serial ports, their adapters and the gauges bound to them",
		Long: `List the serial ports. With --bench, also which gauge is on which: as the bench
file has it, or as it was taught, with the last press that the journal has of it.`,
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			listed, err := port.ListPorts()
			if err != nil {
				return machine("ports", err)
			}
			var known []portGauge
			if file != "" {
				if known, err = gaugesOf(c.Context(), file); err != nil {
					return err
				}
			}
			return listPorts(c.OutOrStdout(), listed, known, time.Now(), filepath.EvalSymlinks)
		},
	}
	c.Flags().StringVar(&file, "bench", "", "a bench file, to show which gauge is on which port")
	c.AddCommand(newTeach())
	return c
}

// portGauge is a gauge with what the journal knows of it.
type portGauge struct {
	bench.Gauge
	taught bool
	last   *fact.Pressed
}

// gaugesOf reads the gauges of a bench file, and what its journal says of them
// where there is one.
func gaugesOf(ctx context.Context, file string) ([]portGauge, error) {
	f, err := readBenchFile(file)
	if err != nil {
		return nil, err
	}
	taught, last, err := journalOf(ctx, f)
	if err != nil {
		return nil, err
	}
	var out []portGauge
	for _, g := range f.Gauges {
		p := portGauge{Gauge: taught[g.ID].On(g), taught: taught[g.ID].Bound != nil}
		if l, ok := last[g.ID]; ok {
			p.last = &l
		}
		out = append(out, p)
	}
	return out, nil
}

func journalOf(ctx context.Context, f *benchfile.File) (map[string]bench.Taught, map[string]fact.Pressed, error) {
	if _, err := os.Stat(f.Journal); errors.Is(err, os.ErrNotExist) {
		return nil, nil, nil // nothing has happened yet
	}
	r, err := journal.OpenReader(f.Journal)
	if err != nil {
		return nil, nil, machine("journal", err)
	}
	defer func() { _ = r.Close() }() // what closing after a read could say is not worth hearing
	taught, err := bench.LoadGauges(ctx, r)
	if err != nil {
		return nil, nil, machine("journal", err)
	}
	last, err := bench.LastPresses(ctx, r)
	return taught, last, machine("journal", err)
}

// listPorts prints the ports found, then the gauges of the bench that are on
// none of them.
func listPorts(w io.Writer, listed []port.Listed, gauges []portGauge, now time.Time, resolve func(string) (string, error)) error {
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	found := map[string]bool{}
	fmt.Fprintln(t, "port\tUSB serial number\tadapter\tgauge\tlast press")
	for _, l := range listed {
		serial, adapter := "not USB", ""
		if l.USB {
			serial, adapter = l.USBSerial, l.Says
			if serial == "" {
				serial = "none: find it by its socket"
			}
		}
		var on, last []string
		for _, g := range gauges {
			path, err := resolve(g.Find.Path)
			if (g.Find.USBSerial != "" && g.Find.USBSerial == l.USBSerial) || (err == nil && path == l.Name) {
				found[g.ID] = true
				on, last = append(on, g.words()), append(last, g.pressed(now))
			}
		}
		fmt.Fprintf(t, "%s\t%s\t%s\t%s\t%s\n", l.Name, serial, adapter, strings.Join(on, ", "), strings.Join(last, ", "))
	}
	if len(listed) == 0 {
		fmt.Fprintln(t, "no serial port was found: plug a cable in, or see whether this user may open ports\t\t\t\t")
	}
	for _, g := range gauges {
		if found[g.ID] {
			continue
		}
		where := "on none of the ports above"
		if path, err := resolve(g.Find.Path); g.Find.Path != "" && err == nil {
			where = "on " + path + ", which is there and none of the ports above" // a pseudo-terminal, as a rule
		}
		fmt.Fprintf(t, "%s\t\t\t%s: %s\t%s\n", g.Find.Path+g.Find.USBSerial, g.words(), where, g.pressed(now))
	}
	return t.Flush()
}

// words name the gauge, its channel, and how it is known to be there.
func (g portGauge) words() string {
	s := g.ID
	if g.Channel != "" {
		s += " on channel " + g.Channel
	}
	if g.taught {
		s += " (taught)"
	}
	return s
}

// pressed is the gauge's last press and how long ago it came.
func (g portGauge) pressed(now time.Time) string {
	switch {
	case g.last == nil:
		return "none"
	case g.last.Value == nil:
		return "no number, " + ago(now.Sub(g.last.Arrived))
	}
	return g.last.Value.String() + ", " + ago(now.Sub(g.last.Arrived))
}

func ago(d time.Duration) string {
	switch {
	case d < time.Minute:
		return "just now"
	case d < 2*time.Hour:
		return fmt.Sprintf("%.0f min ago", d.Minutes())
	case d < 48*time.Hour:
		return fmt.Sprintf("%.0f h ago", d.Hours())
	}
	return fmt.Sprintf("%.0f days ago", d.Hours()/24)
}
