package main

import (
	"context"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"shimwright/devices"
	"shimwright/ingest/fact"
	"shimwright/ingest/register"
)

// newStock is the command on the stock of shims.
func newStock() *cobra.Command {
	return group("stock", "List the shims of this bench and which run low; count, add, set limits",
		`List the leaves of each tray with their counts, and those of which there are too few.
Counting a size puts it right; more received are added to it.`,
		listStock, newStockCount, newStockReceived, newStockLimit)
}

func listStock(c *cobra.Command, bench string) error {
	return lookAtRegister(c, bench, func(d *desk) error {
		rows := [][]string{{"tray", "leaf", "measured", "count", "low under"}}
		for _, tray := range d.register.Trays() {
			for _, l := range d.register.Leaves(tray) {
				measured, low := "-", "-"
				if l.Measured != nil {
					measured = l.Measured.String()
				}
				if l.Low > 0 {
					low = strconv.Itoa(l.Low)
				}
				rows = append(rows, []string{tray, l.Size.String(), measured, strconv.Itoa(l.Count), low})
			}
		}
		if err := tableOr(c, rows, "No shims are known: shimwright stock count puts them in the register."); err != nil {
			return err
		}
		for _, l := range d.register.Low() {
			if err := say(c, "LOW: %s", l.Say()); err != nil {
				return err
			}
		}
		return nil
	})
}

// stockChange is a command on the leaves of one size in one tray.
func stockChange(bench *string, use, short, example string, measured bool, make func(fact.Heap, fact.Signature) fact.Fact, words string) *cobra.Command {
	var by, thick string
	var begin bool
	c := &cobra.Command{
		Use: use + " TRAY LEAF COUNT", Short: short, Long: short + ". A leaf is written with its unit.", Example: example,
		Args: takes("TRAY", "LEAF", "COUNT"),
		RunE: func(c *cobra.Command, args []string) error {
			size, err := sizeOf("LEAF", args[1])
			if err != nil {
				return err
			}
			n, err := strconv.Atoi(args[2])
			if err != nil {
				return fmt.Errorf("%s is no count: write a whole number, as in 10", devices.Quote([]byte(args[2])))
			}
			h := fact.Heap{Size: size, Count: n}
			if h.Measured, err = figureOf("--measured", thick); err != nil {
				return err
			}
			return change(c, *bench, func(ctx context.Context, d *desk) error {
				if trays := d.register.Trays(); !begin && len(trays) > 0 && !slices.Contains(trays, args[0]) {
					return fmt.Errorf("there is no tray %s: the trays are %s; --new-tray begins another", devices.Quote([]byte(args[0])), strings.Join(trays, ", "))
				}
				s, err := d.known(ctx, by)
				if err != nil {
					return err
				}
				if err := d.keep(ctx, register.About{Subject: register.StockSubject(args[0]), Fact: make(h, s)}); err != nil {
					return err
				}
				return say(c, "%s, %s: %d %s.", args[0], size, n, words)
			})
		},
	}
	if measured {
		c.Flags().StringVar(&thick, "measured", "", "thickness of a leaf by micrometer, as in 0.298 mm")
	}
	c.Flags().BoolVar(&begin, "new-tray", false, "begin a tray that is not there yet")
	byFlag(c, &by)
	return c
}

func newStockCount(bench *string) *cobra.Command {
	return stockChange(bench, "count", "Say how many leaves of a size a tray holds", `  shimwright stock count shims "0.30 mm" 12 --measured "0.298 mm"`, true,
		func(h fact.Heap, s fact.Signature) fact.Fact { return fact.Counted{Leaves: []fact.Heap{h}, By: s} }, "counted")
}

func newStockReceived(bench *string) *cobra.Command {
	return stockChange(bench, "received", "Add leaves that came from stores", `  shimwright stock received shims "0.30 mm" 20`, true,
		func(h fact.Heap, s fact.Signature) fact.Fact { return fact.Received{Leaves: []fact.Heap{h}, By: s} }, "more received")
}

func newStockLimit(bench *string) *cobra.Command {
	return stockChange(bench, "limit", "Say below which count a size runs low; 0 for none", `  shimwright stock limit shims "0.30 mm" 4`, false,
		func(h fact.Heap, s fact.Signature) fact.Fact {
			return fact.LowLimit{Size: h.Size, Count: h.Count, By: s}
		}, "is the least before it runs low")
}
