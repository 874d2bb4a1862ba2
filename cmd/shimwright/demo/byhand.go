package demo

import (
	"context"
	"errors"
	"fmt"

	"shimwright/calc/sheet"
)

// PressNext presses the gauge that the open step wants with the script's next
// figure for it, for a person who works the demonstration by hand. A fitted pack
// may be pressed: that begins to measure another one.
func (f *Fitter) PressNext(ctx context.Context) error {
	s := f.Bench.Snapshot()
	if s.Step == nil || s.Step.Left == 0 && (s.Step.Step.Pack == nil || s.Step.Step.Pack.Presses == 0) {
		return errors.New("the step wants no press")
	}
	e, ok := next(f.Script.List, s.Job.Entries().List, s.Step.Step.Name, s.Step.Spot)
	if !ok {
		return fmt.Errorf("the demonstration has no figure for %s", s.Step.Step.Name)
	}
	if !f.Gauges.Has(e.Gauge) {
		return fmt.Errorf("%s is not on this bench", e.Gauge)
	}
	return f.Gauges.Press(e.Gauge, e.Value)
}

// A run is presses at one step with no metal changed between them.
type run []sheet.Entry

// runsOf are a step's runs in a list of entries; open tells whether the last is
// still going on.
func runsOf(list []sheet.Entry, step string) (runs []run, open bool) {
	for _, e := range list {
		switch {
		case e.Kind == sheet.EntryPress && e.Step == step:
			if !open {
				runs, open = append(runs, nil), true
			}
			runs[len(runs)-1] = append(runs[len(runs)-1], e)
		case e.ChangesMetal(), e.Kind == sheet.EntryAgain && e.Step == step:
			open = false
		}
	}
	return runs, open
}

// next is the script's entry for the next press at a spot of a step: as many
// runs on as the job has had, and in that run the next one. Beyond its end the
// script's last run is taken once more, and its last press.
func next(script, had []sheet.Entry, step, spot string) (sheet.Entry, bool) {
	wanted, _ := runsOf(script, step)
	been, open := runsOf(had, step)
	if len(wanted) == 0 {
		return sheet.Entry{}, false
	}
	round, n := len(been), 0
	if open {
		round--
		for _, e := range been[round] {
			if e.Spot == spot {
				n++
			}
		}
	}
	var at run
	for _, e := range wanted[min(round, len(wanted)-1)] {
		if e.Spot == spot {
			at = append(at, e)
		}
	}
	if len(at) == 0 {
		return sheet.Entry{}, false
	}
	return at[min(n, len(at)-1)], true
}
