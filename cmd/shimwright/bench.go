package main

import (
	"github.com/spf13/cobra"
)

// newBench is the command that runs this bench.
func newBench() *cobra.Command {
	var headless, plain bool
	var w wires
	var l looks
	var logging logChoice
	c := &cobra.Command{
		Use:   "bench [FILE]",
		Short: "Run this bench: its gauges, its job, the fitter's screen",
		Long: `Run the bench that FILE (bench.yaml unless given) describes.

With --headless there is no screen: commands are read from standard input and
facts are printed as JSON lines, each once it is durable. JSON.md describes them.

Where the bench file says metrics, a scraper finds the bench's figures there. With
--log what a keeper wants to know is logged.

With --capture the bytes of every port are recorded as they come, with their times,
a file a port. With --play such files take the place of the ports: whoever works the
job gives the commands, the presses come as they were recorded. What is played is
training, and goes to a journal of its own beside the captures.`,
		Args: cobra.MaximumNArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			path := "bench.yaml"
			if len(args) == 1 {
				path = args[0]
			}
			if err := l.read(); err != nil {
				return err
			}
			ctx := c.Context()
			beside := asides{out: c.ErrOrStderr(), wait: !headless && !plain}
			w.tell, w.errors = beside.say, c.ErrOrStderr()
			defer beside.done()
			var err error
			if w.log, err = logging.open(!headless && !plain, c.ErrOrStderr()); err != nil {
				return err
			}
			defer w.log.close()
			w.tell = w.log.asWell(beside.say)
			if headless {
				return runHeadless(ctx, path, w, c.InOrStdin(), c.OutOrStdout())
			}
			if plain {
				return runPlain(ctx, path, w, l, c.InOrStdin(), c.OutOrStdout())
			}
			return runScreen(ctx, path, w, l)
		},
	}
	c.Flags().BoolVar(&headless, "headless", false, "no screen: commands in, facts out, as JSON lines")
	c.Flags().BoolVar(&plain, "plain", false, "the fitter's screen as lines, for those who hear it: a line typed is a key or an answer")
	c.MarkFlagsMutuallyExclusive("plain", "headless")
	l.flags(c.Flags())
	logging.flags(c.Flags())
	c.Flags().StringVar(&w.capture, "capture", "", "record the bytes of every port in this folder")
	c.Flags().StringVar(&w.play, "play", "", "play the captures of this folder in place of the ports")
	c.Flags().BoolVar(&w.anew, "lists-anew", false, "first make the journal's lists, which boards and exports read, anew from its facts, where verify says that they differ")
	c.Flags().IntVar(&w.speed, "speed", 1, "how many times as fast to play, 1 to 100")
	c.MarkFlagsMutuallyExclusive("capture", "play")
	return c
}
