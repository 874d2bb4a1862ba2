package demo

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"time"

	"shimwright/calc/sheet"
	"shimwright/ingest/bench"
	"shimwright/ingest/fact"
)

// answerTime is how long the bench may take to answer a press before the
// demonstration gives up.
const answerTime = 5 * time.Second

// AtBench is what the fitter works at: a running bench.
type AtBench interface {
	Snapshot() *bench.Snapshot
	Watch() (<-chan struct{}, func())
	Do(context.Context, bench.Command) (bench.Reply, error)
}

// A Fitter works one job by a script of entries.
type Fitter struct {
	Bench  AtBench
	Gauges Hand
	Script sheet.Entries
	Sheet  *sheet.Sheet
	Serial string
	// Between is the wait between two presses; it must be longer than the
	// bench's window for a double press.
	Between time.Duration
	// Think is the wait before each new step.
	Think time.Duration
	// Slips are shown on the way.
	Slips []Slip
	// Told, which may be nil, hears what the fitter does.
	Told func(string)
}

func (f *Fitter) tell(format string, args ...any) {
	if f.Told != nil {
		f.Told(fmt.Sprintf(format, args...))
	}
}

// Work opens a job and works it to the end of the script.
func (f *Fitter) Work(ctx context.Context) error {
	if err := f.plugged(ctx); err != nil {
		return err
	}
	if err := f.do(ctx, bench.OpenJob{Sheet: f.Sheet.ID, Serial: f.Serial}); err != nil {
		return err
	}
	step := ""
	for _, e := range f.Script.List {
		if e.Step != step {
			step = e.Step
			if err := f.arrive(ctx, e); err != nil {
				return err
			}
		}
		if err := f.enter(ctx, e); err != nil {
			return fmt.Errorf("at %s: %w", e.Step, err)
		}
	}
	return nil
}

// plugged waits until every gauge is connected.
func (f *Fitter) plugged(ctx context.Context) error {
	return f.until(ctx, "the gauges to connect", func(s *bench.Snapshot) bool {
		return !slices.ContainsFunc(s.Gauges, func(g bench.GaugeState) bool { return g.State != "connected" })
	})
}

// until waits for a snapshot that will do.
func (f *Fitter) until(ctx context.Context, what string, will func(*bench.Snapshot) bool) error {
	ctx, stop := context.WithTimeoutCause(ctx, answerTime, fmt.Errorf("waited %s for %s", answerTime, what))
	defer stop()
	woken, done := f.Bench.Watch()
	defer done()
	for {
		if will(f.Bench.Snapshot()) {
			return nil
		}
		select {
		case <-woken:
		case <-ctx.Done():
			return context.Cause(ctx)
		}
	}
}

func (f *Fitter) do(ctx context.Context, c bench.Command) error {
	r, err := f.Bench.Do(ctx, c)
	if err == nil && r.Words != "" {
		f.tell("%s", r.Words)
	}
	return err
}

// pause waits as a person would.
func pause(ctx context.Context, d time.Duration) error {
	t := time.NewTimer(d)
	defer t.Stop()
	select {
	case <-t.C:
		return nil
	case <-ctx.Done():
		return ctx.Err()
	}
}

// arrive goes to a step and puts its pieces into the setup.
func (f *Fitter) arrive(ctx context.Context, e sheet.Entry) error {
	if err := pause(ctx, f.Think); err != nil {
		return err
	}
	if s := f.Bench.Snapshot(); s.Step == nil || s.Step.Step.Name != e.Step {
		if _, err := f.Bench.Do(ctx, bench.ChooseStep{Step: e.Step}); err != nil {
			return err
		}
	}
	f.tell("— %s", e.Step)
	for _, id := range f.piecesOf(e.Step) {
		if slices.Contains(f.Bench.Snapshot().Pieces, id) {
			continue
		}
		if err := f.do(ctx, bench.DrawPiece{Standard: f.Script.Pieces[id].Standard, Piece: id}); err != nil {
			return err
		}
	}
	for _, s := range f.Slips {
		if s.Step == e.Step {
			if err := f.slip(ctx, s); err != nil {
				return err
			}
		}
	}
	return nil
}

// piecesOf are the pieces the script uses at a step.
func (f *Fitter) piecesOf(step string) []string {
	for _, e := range f.Script.List {
		if e.Step == step && len(e.Pieces) > 0 {
			return e.Pieces
		}
	}
	return nil
}

// slip does something wrong, sees that the bench says so, and clears it up.
func (f *Fitter) slip(ctx context.Context, s Slip) error {
	if !f.Gauges.Has(s.Gauge) {
		return nil
	}
	f.tell("(%s)", s.What)
	got, err := f.send(ctx, func() error { return f.Gauges.Raw(s.Gauge, []byte(s.Raw)) })
	if err != nil {
		return err
	}
	if got.Press.Outcome != s.Wants {
		return fmt.Errorf("%s came out %s, and not %s: %s", s.What, got.Press.Outcome, s.Wants, got.Press.Sentence)
	}
	if got.Press.Outcome == fact.Held {
		return f.do(ctx, bench.Strike{Press: got.Seq, Reason: s.What})
	}
	return nil
}

// send presses, and waits for what the bench says of it.
func (f *Fitter) send(ctx context.Context, press func() error) (*bench.Said, error) {
	if err := pause(ctx, f.Between); err != nil {
		return nil, err
	}
	before := f.Bench.Snapshot().Last
	if err := press(); err != nil {
		return nil, err
	}
	err := f.until(ctx, "the bench to answer a press", func(s *bench.Snapshot) bool { return s.Last != before || s.Trouble != "" })
	if err != nil {
		return nil, err
	}
	s := f.Bench.Snapshot()
	if s.Trouble != "" {
		return nil, errors.New(s.Trouble)
	}
	return s.Last, nil
}

// enter puts one entry of the script in.
func (f *Fitter) enter(ctx context.Context, e sheet.Entry) error {
	switch e.Kind {
	case sheet.EntryPress:
		return f.press(ctx, e)
	case sheet.EntryIn:
		for pack, in := range e.In {
			if err := f.do(ctx, bench.SayIn{Step: e.Step, Pack: pack, In: in}); err != nil {
				return err
			}
		}
		return nil
	}
	c, err := command(e)
	if err != nil {
		return err
	}
	return f.do(ctx, c)
}

func (f *Fitter) press(ctx context.Context, e sheet.Entry) error {
	if !f.Gauges.Has(e.Gauge) {
		return fmt.Errorf("the script presses %q, which is no gauge of this bench", e.Gauge)
	}
	said, err := f.send(ctx, func() error { return f.Gauges.Press(e.Gauge, e.Value) })
	if err != nil {
		return err
	}
	if said.Press.Outcome != fact.Taken {
		return fmt.Errorf("the press %s was not taken: %s", e.Value, said.Press.Sentence)
	}
	return nil
}

// command is the command that puts an entry in.
func command(e sheet.Entry) (bench.Command, error) {
	switch e.Kind {
	case sheet.EntryDigits:
		return bench.Mark{Step: e.Step, Digits: e.Value.Digits()}, nil
	case sheet.EntryFigure:
		return bench.Mark{Step: e.Step, Figure: e.Value.String()}, nil
	case sheet.EntryAbsent:
		return bench.Mark{Step: e.Step, Absent: true}, nil
	case sheet.EntryAnswer:
		return bench.Record{Step: e.Step, Answer: e.Text}, nil
	case sheet.EntryDone:
		return bench.Confirm{Step: e.Step}, nil
	case sheet.EntryFit:
		return fit(e), nil
	case sheet.EntryAgain:
		return bench.Retake{Step: e.Step, Reason: e.Text}, nil
	case sheet.EntryMetal:
		return bench.Metal{Step: e.Step, Lengths: e.Lengths, Reason: e.Text}, nil
	case sheet.EntrySeen:
		return bench.See{Step: e.Step, Marks: e.Seen}, nil
	case sheet.EntryMove:
		return move(e), nil
	}
	return nil, fmt.Errorf("the script has an entry that no command puts in")
}

func fit(e sheet.Entry) bench.Fit {
	c := bench.Fit{Step: e.Step}
	for _, l := range e.Leaves {
		c.Leaves = append(c.Leaves, l.String())
	}
	for _, m := range e.Measured {
		c.Measured = append(c.Measured, m.String())
	}
	return c
}

func move(e sheet.Entry) bench.Move {
	c := bench.Move{Step: e.Step, Gear: e.Gear, Way: map[string]string{"pinion": "OUT", "wheel": "AWAY"}[e.Gear], By: e.Value.String()}
	if e.Value.Exact().Sign() < 0 {
		c.Way = map[string]string{"pinion": "IN", "wheel": "TOWARD"}[e.Gear]
		c.By = e.Value.Neg().String()
	}
	return c
}
