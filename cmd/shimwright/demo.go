package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
	"sync"
	"time"

	"github.com/spf13/cobra"

	"shimwright/calc/sheet"
	"shimwright/cmd/shimwright/benchfile"
	"shimwright/cmd/shimwright/demo"
	"shimwright/ingest/bench"
	"shimwright/ingest/fact"
	"shimwright/ui/draw"
)

// demoChoice is what was asked of the demonstration.
type demoChoice struct {
	sheet               string
	plain, fast, byHand bool
	scene               string
	look                looks
	capture             string // a folder to record the gauges' bytes in
}

// newDemo is the command that shows a whole job on virtual gauges.
func newDemo() *cobra.Command {
	var d demoChoice
	c := &cobra.Command{
		Use:   "demo [fw3|sluice]",
		Short: "Work a whole invented job on virtual gauges",
		Long: `Run a bench whose gauges are virtual: they sit behind pseudo-terminals and are
read by the real serial driver. A scripted fitter presses their buttons and works
a whole job of an invented drive, which is marked as training. fw3 is metric, sluice
is in inches with other places for its packs.

With --by-hand you work the job, and key p presses the gauge that the step wants; with
--plain as well, a line typed is a key or an answer. With
--scene the job stands at a situation worth seeing, and you go on from there by hand:
` + strings.Join(demo.Scenes(), ", ") + `.`,
		Args:      cobra.MatchAll(cobra.MaximumNArgs(1), cobra.OnlyValidArgs),
		ValidArgs: []string{"fw3", "sluice"},
		RunE: func(c *cobra.Command, args []string) error {
			d.sheet = "fw3"
			if len(args) == 1 {
				d.sheet = args[0]
			}
			if d.scene != "" && len(args) == 1 {
				return fmt.Errorf("a scene has a sheet of its own: leave %q out", args[0])
			}
			if err := d.look.read(); err != nil {
				return err
			}
			return runDemo(c.Context(), d, c.InOrStdin(), c.OutOrStdout())
		},
	}
	c.Flags().BoolVar(&d.plain, "plain", false, "print lines instead of the screen")
	c.Flags().BoolVar(&d.fast, "fast", false, "shorten the waits, and say so")
	c.Flags().BoolVar(&d.byHand, "by-hand", false, "you work the job: key p presses the gauge that the step wants")
	c.Flags().StringVar(&d.scene, "scene", "", "show a situation: "+strings.Join(demo.Scenes(), ", "))
	d.look.flags(c.Flags())
	c.Flags().StringVar(&d.capture, "capture", "", "record the bytes of every gauge in this folder")
	c.MarkFlagsMutuallyExclusive("scene", "by-hand")
	c.MarkFlagsMutuallyExclusive("scene", "capture")
	return c
}

// stage is the demonstration set up: a bench in a folder of its own, its
// gauges plugged in.
type stage struct {
	file   *benchfile.File
	folder string
	gauges demo.Gauges
	sheet  *sheet.Sheet
	script sheet.Entries
	wires  wires
}

func setStage(d demoChoice) (st *stage, err error) {
	text, ok := embeddedSheet(d.sheet)
	if !ok {
		return nil, fmt.Errorf("the program carries no sheet %q", d.sheet)
	}
	st = &stage{wires: wires{capture: d.capture}}
	if st.sheet, err = sheet.Read(d.sheet+".yaml", text); err != nil {
		return nil, err
	}
	name, readings, err := demo.Readings(d.sheet)
	if err != nil {
		return nil, err
	}
	if st.script, err = sheet.ReadEntries(st.sheet, name, readings); err != nil {
		return nil, err
	}
	if st.folder, err = os.MkdirTemp("", "shimwright-demo-"); err != nil {
		return nil, err
	}
	if st.file, err = demo.Bench(d.sheet, st.folder); err == nil {
		st.gauges, err = demo.PlugIn(st.file)
	}
	if err != nil {
		return nil, errors.Join(err, os.RemoveAll(st.folder))
	}
	return st, nil
}

func (st *stage) strike() error { return errors.Join(st.gauges.Close(), os.RemoveAll(st.folder)) }

// fitter readies the scripted fitter at a bench.
func (st *stage) fitter(b demo.AtBench, d demoChoice) *demo.Fitter {
	f := &demo.Fitter{Bench: b, Gauges: st.gauges, Script: st.script, Sheet: st.sheet, Serial: "T-0417",
		Between: time.Second, Think: 2 * time.Second, Slips: demo.Slips()}
	if d.fast {
		f.Between, f.Think = 8*time.Millisecond, 0
	}
	return f
}

func runDemo(ctx context.Context, d demoChoice, in io.Reader, out io.Writer) (err error) {
	if !d.plain && !onTerminal() {
		return errors.New("the demonstration's screen wants a terminal, and there is none here: --plain prints lines instead")
	}
	if d.scene != "" {
		return sceneDemo(ctx, d, out)
	}
	st, err := setStage(d)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, st.strike()) }()
	if d.fast {
		st.file.Windows.Double = 4 * time.Millisecond
	}
	if d.plain && d.byHand {
		return linesDemo(ctx, st, d, in, out)
	}
	if d.plain {
		return plainDemo(ctx, st, d, out)
	}
	return screenDemo(ctx, st, d)
}

// plainDemo prints what happens, line by line, and then the whole job.
func plainDemo(ctx context.Context, st *stage, d demoChoice, out io.Writer) error {
	say := &teller{out: out}
	say.line("A virtual bench: %d gauges behind pseudo-terminals, read by the serial driver.", len(st.gauges))
	if d.fast {
		say.line("Fast: the waits are shortened, and so is the window for a double press.")
	}
	b, err := openBench(ctx, st.file, st.folder, st.wires, say.fact)
	if err != nil {
		return err
	}
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	ran := make(chan error, 1)
	go func() { ran <- b.Run(ctx) }()
	f := st.fitter(b, d)
	f.Told = func(s string) { say.line("%s", s) }
	err = f.Work(ctx)
	stop()
	err = errors.Join(err, <-ran, b.close(), say.err)
	if err != nil {
		return err
	}
	res := b.Snapshot().Results
	if _, err := fmt.Fprintln(out); err != nil {
		return err
	}
	if err := draw.Results(out, draw.PageFor(st.sheet), res, draw.Full); err != nil {
		return err
	}
	if !allGood(res) {
		return errNotGood
	}
	return nil
}

// teller prints lines; the bench's goroutine and the fitter's both use it.
type teller struct {
	mu  sync.Mutex
	out io.Writer
	err error
}

func (t *teller) line(format string, args ...any) {
	t.mu.Lock()
	defer t.mu.Unlock()
	if _, err := fmt.Fprintf(t.out, format+"\n", args...); err != nil {
		t.err = errors.Join(t.err, err)
	}
}

// fact prints a press or a judgement once it is durable; other facts were told
// by the fitter who did them.
func (t *teller) fact(r bench.Recorded) {
	switch f := r.Fact.(type) {
	case fact.Pressed:
		word := map[fact.Outcome]string{fact.Taken: "taken", fact.Held: "HELD ", fact.Aside: "aside"}[f.Outcome]
		line := fmt.Sprintf("  %4d  %s  %s", r.Stored.Seq, word, f.Sentence)
		if f.Do != "" {
			line += " " + f.Do
		}
		t.line("%s", line)
	case fact.Judged:
		t.line("  %4d  judged  %s: %s. %s", r.Stored.Seq, f.Step, f.Words, f.Advice)
	}
}
