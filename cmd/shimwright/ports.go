package main

import (
	"fmt"
	"io"
	"path/filepath"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"shimwright/devices/port"
	"shimwright/ingest/bench"
)

// newPorts is the command that lists serial ports.
func newPorts() *cobra.Command {
	var file string
	c := &cobra.Command{
		Use:   "ports",
		Short: "List the serial ports, their adapters and the gauges bound to them",
		Args:  cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			listed, err := port.ListPorts()
			if err != nil {
				return err
			}
			var gauges []bench.Gauge
			if file != "" {
				f, err := readBenchFile(file)
				if err != nil {
					return err
				}
				gauges = f.Gauges
			}
			return listPorts(c.OutOrStdout(), listed, gauges, filepath.EvalSymlinks)
		},
	}
	c.Flags().StringVar(&file, "bench", "", "a bench file, to show which gauge is on which port")
	return c
}

// listPorts prints the ports found, then the gauges of the bench that are on
// none of them.
func listPorts(w io.Writer, listed []port.Listed, gauges []bench.Gauge, resolve func(string) (string, error)) error {
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	found := map[string]bool{}
	fmt.Fprintln(t, "port\tUSB serial number\tadapter\tgauge")
	for _, l := range listed {
		serial, adapter := "not USB", ""
		if l.USB {
			serial, adapter = l.USBSerial, l.Says
			if serial == "" {
				serial = "none: find it by its socket"
			}
		}
		on := ""
		for _, g := range gauges {
			path, err := resolve(g.Find.Path)
			if (g.Find.USBSerial != "" && g.Find.USBSerial == l.USBSerial) || (err == nil && path == l.Name) {
				on, found[g.ID] = g.ID, true
			}
		}
		fmt.Fprintf(t, "%s\t%s\t%s\t%s\n", l.Name, serial, adapter, on)
	}
	if len(listed) == 0 {
		fmt.Fprintln(t, "no serial port was found: plug a cable in, or see whether this user may open ports\t\t\t")
	}
	for _, g := range gauges {
		if !found[g.ID] {
			fmt.Fprintf(t, "%s\t\t\t%s: on none of the ports above\n", g.Find.Path+g.Find.USBSerial, g.ID)
		}
	}
	return t.Flush()
}
