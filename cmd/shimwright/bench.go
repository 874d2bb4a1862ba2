package main

import (
	"os"
	"os/signal"
	"syscall"

	"github.com/spf13/cobra"
)

// newBench is the command that runs this bench.
func newBench() *cobra.Command {
	var headless bool
	c := &cobra.Command{
		Use:   "bench [FILE]",
		Short: "Run this bench: its gauges, its job, the fitter's screen",
		Long: `Run the bench that FILE (bench.yaml unless given) describes.

With --headless there is no screen: commands are read from standard input and
facts are printed as JSON lines, each once it is durable. JSON.md describes them.`,
		Args: cobra.MaximumNArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			path := "bench.yaml"
			if len(args) == 1 {
				path = args[0]
			}
			ctx, stop := signal.NotifyContext(c.Context(), os.Interrupt, syscall.SIGTERM, syscall.SIGHUP)
			defer stop()
			if headless {
				return runHeadless(ctx, path, c.InOrStdin(), c.OutOrStdout())
			}
			return runScreen(ctx, path)
		},
	}
	c.Flags().BoolVar(&headless, "headless", false, "no screen: commands in, facts out, as JSON lines")
	return c
}
