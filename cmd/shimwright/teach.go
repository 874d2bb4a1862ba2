package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"shimwright/cmd/shimwright/benchfile"
	"shimwright/devices/port"
	"shimwright/ingest/bench"
	"shimwright/ingest/fact"
	"shimwright/ingest/journal"
)

// teaching is what was asked of a teach-in.
type teaching struct {
	gauge, file string
	swap        string // a gauge that it may have changed cables with
	presses     int
	wait        time.Duration
}

// newTeach is the command that learns which port carries a gauge.
func newTeach() *cobra.Command {
	var t teaching
	c := &cobra.Command{
		Use:   "teach GAUGE",
		Short: "Learn by a press which port carries a gauge",
		Long: `Wait for a press on any port that no other gauge holds. The cable's USB serial
number, or its socket where that has none of its own, is recorded in the bench's
journal and from then on overrides the bench file. How the press looks is kept as
well: a later press that looks otherwise is held until somebody says whether it is
still the same gauge. The bench must not be running meanwhile.

Where two gauges have changed cables, name the other one with --swap: it gets the
port that the first one was on. A gauge that only answers when asked cannot be taught
by a press; its port stands in the bench file.`,
		Args: takes("GAUGE"),
		RunE: func(c *cobra.Command, args []string) error {
			t.gauge = args[0]
			return teach(c.Context(), t, port.ListPorts, c.OutOrStdout())
		},
	}
	c.Flags().StringVar(&t.file, "bench", "bench.yaml", "the bench file")
	c.Flags().StringVar(&t.swap, "swap", "", "another gauge that it has changed cables with")
	c.Flags().IntVar(&t.presses, "presses", 1, "how many presses; two or more, at both ends of its travel, tell its range too")
	c.Flags().DurationVar(&t.wait, "wait", 2*time.Minute, "how long to wait for them")
	return c
}

func teach(ctx context.Context, t teaching, list port.Lister, out io.Writer) (err error) {
	if t.presses < 1 || t.presses > 20 || t.wait <= 0 {
		return fmt.Errorf("--presses %d --wait %s: write 1 to 20 presses, and a wait above nought", t.presses, t.wait)
	}
	f, err := readBenchFile(t.file)
	if err != nil {
		return err
	}
	i, err := t.find(f)
	if err != nil {
		return err
	}
	run, err := runID()
	if err != nil {
		return err
	}
	j, err := journal.Open(f.Journal, journal.Options{Bench: f.Name, Run: run, Now: time.Now, Rows: fact.Rows()})
	if errors.Is(err, journal.ErrHeld) {
		return fmt.Errorf("stop the bench first, it has the ports: %w", err)
	}
	if err != nil {
		return machine("journal", err)
	}
	defer func() { err = errors.Join(err, j.Close()) }()
	say := &teller{out: out}
	l, err := t.lesson(ctx, f, i, j, list, say)
	if err != nil {
		return err
	}
	ctx, stop := context.WithTimeoutCause(ctx, t.wait, fmt.Errorf("waited %s", t.wait))
	defer stop()
	learnt, err := l.Learn(ctx)
	if err != nil {
		return err
	}
	if err := bench.Teach(ctx, j, l.Gauge, learnt); err != nil {
		return machine("journal", err)
	}
	taught, err := bench.LoadGauges(ctx, j.Reader)
	if err != nil {
		return machine("journal", err)
	}
	for _, g := range f.Gauges {
		if g.ID == t.gauge || g.ID == learnt.On.Holder {
			say.line("%s is on %s.", g.ID, bench.Where(taught[g.ID].On(g)))
		}
	}
	say.line("The journal says so from now on, whatever the bench file says.")
	return say.err
}

// find is which gauge of the bench is taught.
func (t teaching) find(f *benchfile.File) (int, error) {
	all := names(f)
	for _, id := range []string{t.gauge, t.swap} {
		if id != "" && !slices.Contains(all, id) {
			return 0, fmt.Errorf("%q is no gauge of %s: it has %s", id, t.file, strings.Join(all, ", "))
		}
	}
	return slices.Index(all, t.gauge), nil
}

// lesson readies the lesson: the ports that the gauge may be on.
func (t teaching) lesson(ctx context.Context, f *benchfile.File, i int, j *journal.Journal, list port.Lister, say *teller) (*bench.Lesson, error) {
	taught, err := bench.LoadGauges(ctx, j.Reader)
	if err != nil {
		return nil, machine("journal", err)
	}
	var all []bench.Gauge
	for _, g := range f.Gauges {
		all = append(all, taught[g.ID].On(g))
	}
	listed, err := list()
	if err != nil {
		return nil, machine("ports", err)
	}
	on, passedOver := bench.Candidates(all[i], all, t.swap, listed, filepath.EvalSymlinks)
	for _, why := range passedOver {
		say.line("Left alone: %s.", why)
	}
	what := "Press " + t.gauge
	if t.presses > 1 {
		what += fmt.Sprintf(" %d times, at both ends of its travel too", t.presses)
	}
	say.line("%s. Listening on %d of the ports.", what, len(on))
	return &bench.Lesson{Gauge: all[i], On: on, Open: port.System(list), Now: time.Now, Presses: t.presses,
		Told: func(s string) { say.line("%s", s) }}, nil
}

func names(f *benchfile.File) []string {
	var out []string
	for _, g := range f.Gauges {
		out = append(out, g.ID)
	}
	return out
}
