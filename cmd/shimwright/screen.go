package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"time"

	"github.com/gdamore/tcell/v2"

	"shimwright/ingest/bench"
	"shimwright/ui/fitter"
)

// runScreen runs the bench under the fitter's screen until either ends.
func runScreen(ctx context.Context, path string, w wires, l looks) error {
	f, err := readBenchFile(path)
	if err != nil {
		return err
	}
	if !onTerminal() { // before anything is recorded
		return errors.New("the fitter's screen wants a terminal, and there is none here: --plain prints lines instead, --headless takes commands as JSON lines")
	}
	b, err := openBench(ctx, f, filepath.Dir(path), w, nil)
	if err != nil {
		return err
	}
	o := l.options()
	o.Sheets, o.Shop = choices(f, filepath.Dir(path)), b.shop.onScreen
	return errors.Join(underScreen(ctx, b, o), b.close())
}

// runPlain runs the bench with the screen's work as lines, until in ends, the
// person leaves or the bench does.
func runPlain(ctx context.Context, path string, w wires, l looks, in io.Reader, out io.Writer) error {
	f, err := readBenchFile(path)
	if err != nil {
		return err
	}
	b, err := openBench(ctx, f, filepath.Dir(path), w, nil)
	if err != nil {
		return err
	}
	o := l.options()
	o.Bell, o.Sheets, o.Shop = nil, choices(f, filepath.Dir(path)), b.shop.onScreen
	return errors.Join(underLines(ctx, b, o, in, out), b.close())
}

// underLines runs a bench and the plain lines over it.
func underLines(ctx context.Context, b *running, o fitter.Options, in io.Reader, out io.Writer) error {
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	ran := make(chan error, 1)
	go func() {
		ran <- b.Run(ctx)
		stop()
	}()
	err := fitter.Plain(ctx, b, in, out, o)
	stop()
	return errors.Join(err, <-ran)
}

// underScreen runs a bench and the screen over it; leaving the screen stops the
// bench, and a bench that fails closes the screen.
func underScreen(ctx context.Context, b *running, o fitter.Options) error {
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	ran := make(chan error, 1)
	go func() {
		ran <- b.Run(ctx)
		stop()
	}()
	err := fitter.Run(ctx, b, o)
	if gone := (*tcell.EventError)(nil); errors.As(err, &gone) {
		err = nil // the terminal was closed; the bench stops as if left
	}
	stop()
	return errors.Join(err, <-ran)
}

// screenDemo runs the fitter's screen while the scripted fitter works, or lets
// a person work.
func screenDemo(ctx context.Context, st *stage, d demoChoice) error {
	b, err := openBench(ctx, st.file, st.folder, st.wires, nil)
	if err != nil {
		return err
	}
	f := st.fitter(b, d)
	o := d.options(st)
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	worked := make(chan error, 1)
	if d.byHand {
		o.Press = func() { _ = f.PressNext(ctx) } // the screen shows what came of it
		worked <- nil
		go func() { _, _ = b.Do(ctx, bench.OpenJob{Sheet: st.sheet.ID, Serial: f.Serial}) }()
	} else {
		go func() { worked <- f.Work(ctx) }()
	}
	err = underScreen(ctx, b, o)
	stop()
	done := <-worked
	if errors.Is(done, context.Canceled) || errors.Is(done, bench.ErrStopped) {
		done = nil // the person left before the end
	}
	return errors.Join(err, done, b.close())
}

// linesDemo lets a person work the demonstration as lines.
func linesDemo(ctx context.Context, st *stage, d demoChoice, in io.Reader, out io.Writer) error {
	b, err := openBench(ctx, st.file, st.folder, st.wires, nil)
	if err != nil {
		return err
	}
	f, o := st.fitter(b, d), d.options(st)
	o.Bell, o.Press = nil, func() { _ = f.PressNext(ctx) } // the lines tell what came of it
	return errors.Join(underLines(ctx, b, o, in, out), b.close())
}

// between is the pause that keeps beeps apart, so that they can be counted.
const between = 180 * time.Millisecond

// bell beeps so many times: one taken, two aside, three held. It takes its
// time; the screen rings it beside the drawing.
func bell(n int) {
	for i := range n {
		if i > 0 {
			time.Sleep(between)
		}
		fmt.Print("\a")
	}
}
