package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"slices"
	"time"

	"shimwright/cmd/shimwright/demo"
	"shimwright/ingest/bench"
	"shimwright/ingest/fact"
	"shimwright/ingest/journal"
	"shimwright/ui/draw"
	"shimwright/ui/fitter"
)

// sceneDemo puts a scene's facts into a journal and runs the demonstration's
// bench over it: from there on it is a job like any other, worked by hand.
func sceneDemo(ctx context.Context, d demoChoice, out io.Writer) (err error) {
	sc, err := demo.ReadScene(d.scene)
	if err != nil {
		return err
	}
	d.sheet = sc.Sheet
	st, err := setStage(d)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, st.strike()) }()
	if err := putIn(ctx, st, sc); err != nil {
		return err
	}
	if d.plain {
		return plainScene(ctx, st, sc, d, out)
	}
	b, err := openBench(ctx, st.file, st.folder, st.wires, nil)
	if err != nil {
		return err
	}
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	f, o := st.fitter(b, d), d.options(st)
	o.Press = func() { _ = f.PressNext(ctx) } // the screen shows what came of it
	set := make(chan error, 1)
	go func() {
		err := setScene(ctx, st, sc, b)
		if err == nil && sc.Finish {
			_, err = b.Do(ctx, bench.Finish{})
		}
		set <- err
	}()
	err = underScreen(ctx, b, o)
	stop()
	done := <-set
	if errors.Is(done, context.Canceled) || errors.Is(done, bench.ErrStopped) {
		done = nil // the person left before
	}
	return errors.Join(err, done, b.close())
}

// putIn writes a scene's facts to the bench's journal.
func putIn(ctx context.Context, st *stage, sc demo.Scene) error {
	text, _ := embeddedSheet(sc.Sheet)
	records, err := sc.Records(text)
	if err != nil {
		return err
	}
	j, err := journal.Open(st.wires.journal(st.file.Journal), journal.Options{Bench: st.file.Name, Run: "scene", Now: time.Now, Rows: fact.Rows()})
	if err != nil {
		return machine("journal", err)
	}
	for _, r := range records {
		if _, err := j.Append(ctx, r); err != nil {
			return errors.Join(err, j.Close())
		}
	}
	return j.Close()
}

// setScene brings a running bench to where the scene is to be seen: the step
// that it stands at, and the gauges that are pulled out.
func setScene(ctx context.Context, st *stage, sc demo.Scene, b demo.AtBench) error {
	if sc.At != "" {
		if _, err := b.Do(ctx, bench.ChooseStep{Step: sc.At}); err != nil {
			return err
		}
	}
	var all []string
	for _, g := range st.file.Gauges {
		all = append(all, g.ID)
	}
	if err := awaitGauges(ctx, b, "connected", all); err != nil {
		return err
	}
	for _, id := range sc.Gone {
		if err := st.gauges[id].Close(); err != nil {
			return fmt.Errorf("pulling out %s: %w", id, err)
		}
	}
	return awaitGauges(ctx, b, "gone", sc.Gone)
}

// awaitGauges waits until some gauges stand in a state.
func awaitGauges(ctx context.Context, b demo.AtBench, state string, ids []string) error {
	woken, stop := b.Watch()
	defer stop()
	for {
		if !slices.ContainsFunc(b.Snapshot().Gauges, func(g bench.GaugeState) bool { return g.State != state && slices.Contains(ids, g.ID) }) {
			return nil
		}
		select {
		case <-woken:
		case <-ctx.Done():
			return ctx.Err()
		}
	}
}

// plainScene prints what a scene shows and the results of its job.
func plainScene(ctx context.Context, st *stage, sc demo.Scene, d demoChoice, out io.Writer) error {
	b, err := openBench(ctx, st.file, st.folder, st.wires, nil)
	if err != nil {
		return err
	}
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	ran := make(chan error, 1)
	go func() { ran <- b.Run(ctx) }()
	err = setScene(ctx, st, sc, b)
	shown := b.Snapshot()
	end := bench.Reply{}
	if err == nil && sc.Finish {
		end, err = b.Do(ctx, bench.Finish{})
	}
	stop()
	if err := errors.Join(err, <-ran, b.close()); err != nil {
		return err
	}
	if _, err := fmt.Fprintf(out, "Scene: %s\n\n", sc.Say); err != nil {
		return err
	}
	if err := fitter.Tell(out, shown, d.options(st)); err != nil {
		return err
	}
	if _, err := fmt.Fprintf(out, "%s\n\n", end.Words); err != nil {
		return err
	}
	if err := draw.Results(out, draw.PageFor(st.sheet), shown.Results, draw.Full); err != nil {
		return err
	}
	if !allGood(shown.Results) {
		return errNotGood
	}
	return nil
}
