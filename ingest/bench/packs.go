package bench

import (
	"context"
	"fmt"
	"slices"

	"shimwright/calc/overhaul"
	"shimwright/calc/quantity"
	"shimwright/calc/sheet"
	"shimwright/ingest/fact"
	"shimwright/ingest/register"
)

func (c SayIn) carryOut(ctx context.Context, b *Bench) (Reply, error) {
	st, err := b.step(c.Step, sheet.KindMeasure)
	if err != nil {
		return Reply{}, err
	}
	if !slices.Contains(st.Measure.AskIn, c.Pack) {
		return Reply{}, fmt.Errorf("the step %q does not ask whether %q is in", c.Step, c.Pack)
	}
	in := b.saidIn(st)
	in[c.Pack] = c.In
	if err := b.record(ctx, fact.PacksIn{Step: c.Step, In: in}); err != nil {
		return Reply{}, err
	}
	word := "not in"
	if c.In {
		word = "in"
	}
	return Reply{Words: fmt.Sprintf("%s is %s while %s is measured.", c.Pack, word, c.Step)}, nil
}

func (c Fit) carryOut(ctx context.Context, b *Bench) (Reply, error) {
	if _, err := b.step(c.Step, sheet.KindPack); err != nil {
		return Reply{}, err
	}
	leaves, err := lengths(c.Leaves)
	if err != nil {
		return Reply{}, err
	}
	measured, err := lengths(c.Measured)
	if err != nil {
		return Reply{}, err
	}
	r := b.results.Of(c.Step)
	if err := onePack(r.Step, measured); err != nil {
		return Reply{}, err
	}
	// At a pack that is fitted and right, the presses shown are that one's.
	pressed := r.Step.Pack.Presses > 0 && r.Left == 0 && len(r.Presses) > 0 && r.Status != overhaul.Done
	switch {
	case r.Status == overhaul.Stopped:
		return Reply{}, fmt.Errorf("%s", r.Problem)
	case len(measured) == 0 && r.Step.Pack.Presses > 0 && !pressed && r.Left == 0 && r.Wants != "":
		return Reply{}, fmt.Errorf("%s is not to be fitted yet: %s", c.Step, r.Wants)
	case len(measured) == 0 && r.Step.Pack.Presses > 0 && !pressed:
		return Reply{}, fmt.Errorf("measure the pack first: %d presses over it are wanted", r.Left)
	case len(leaves) == 0 && len(measured) == 0 && !pressed:
		return Reply{}, fmt.Errorf("say what the pack measures, or its leaves; no pack at all measures 0.00 mm")
	}
	beside, words := b.exchange(r.Step, leaves)
	low := b.register.Low()
	if err := b.recordBeside(ctx, beside, fact.Fitted{Step: c.Step, Leaves: leaves, Measured: measured}); err != nil {
		return Reply{}, err
	}
	return Reply{Words: fmt.Sprintf("%s is fitted; build %d.", c.Step, b.results.Build) + words + b.lowSince(low)}, nil
}

// mostApart is how far figures of one pack may lie apart, in mm, where its sheet does
// not say (chosen, no source): more is a burr, dirt, or leaves typed one by one.
const mostApart = "0.10"

// onePack refuses figures that cannot be of one pack at several places.
func onePack(st *sheet.Step, measured []quantity.Value) error {
	if len(measured) == 0 {
		return nil
	}
	most, ok := st.Agree()
	if !ok {
		var err error
		if most, err = quantity.Parse(mostApart, quantity.MM); err != nil {
			return err
		}
	}
	byLength := func(a, b quantity.Value) int { return a.Exact().Cmp(b.Exact()) }
	low, high := slices.MinFunc(measured, byLength), slices.MaxFunc(measured, byLength)
	if most.Exact().Less(high.Exact().Sub(low.Exact())) {
		return fmt.Errorf("%s and %s lie more than %s apart: each figure is the whole pack, measured at another place; leaves are given as leaves", low, high, most)
	}
	return nil
}

// exchange takes a pack's leaves out of its tray and puts those of the pack that
// was in back. A job opened as training changes no stock.
func (b *Bench) exchange(st *sheet.Step, leaves []quantity.Value) (beside []about, words string) {
	tray := st.Pack.Stock
	if tray == "" || b.job.Training() || !slices.Contains(b.register.Trays(), tray) {
		return nil, ""
	}
	facts, words := b.register.Exchange(tray, b.job.ID, st.Name, b.job.Leaves(st.Name), leaves)
	if words != "" {
		words = " " + words
	}
	return of(register.StockSubject(tray), facts...), words
}

// lowSince says which leaves ran low since.
func (b *Bench) lowSince(was []register.LowLeaf) string {
	var out string
	for _, l := range b.register.Low() {
		if !slices.ContainsFunc(was, func(o register.LowLeaf) bool { return o.Say() == l.Say() }) {
			out += " LOW: " + l.Say()
		}
	}
	return out
}

func lengths(in []string) ([]quantity.Value, error) {
	var out []quantity.Value
	for _, s := range in {
		v, err := lengthOf(s)
		if err != nil {
			return nil, err
		}
		if v.Exact().Sign() < 0 {
			return nil, fmt.Errorf("%s: a pack is not below nought", v)
		}
		out = append(out, v)
	}
	return out, nil
}

func (c Metal) carryOut(ctx context.Context, b *Bench) (Reply, error) {
	if _, err := b.step(c.Step); err != nil {
		return Reply{}, err
	}
	reason, err := oneLine("what was done", c.Reason)
	if err != nil {
		return Reply{}, err
	}
	for _, l := range c.Lengths {
		if _, ok := b.job.Sheet.Net.Length(l); !ok {
			return Reply{}, fmt.Errorf("%q is no length of sheet %s", l, b.job.Sheet.ID)
		}
	}
	if len(c.Lengths) == 0 {
		return Reply{}, fmt.Errorf("say which lengths the change touched")
	}
	if err := b.record(ctx, fact.Changed{Step: c.Step, Lengths: c.Lengths, Reason: reason}); err != nil {
		return Reply{}, err
	}
	return Reply{Words: fmt.Sprintf("Metal changed, build %d: %s.", b.results.Build, reason)}, nil
}

// mostMove is the longest move believed, in mm: more is a slip of the unit.
const mostMove = "3"

func (c Move) carryOut(ctx context.Context, b *Bench) (Reply, error) {
	if _, err := b.step(c.Step, sheet.KindCheck); err != nil {
		return Reply{}, err
	}
	v, err := lengthOf(c.By)
	if err != nil {
		return Reply{}, err
	}
	if v.Exact().Sign() <= 0 {
		return Reply{}, fmt.Errorf("%s: say how far above nought; the word says which way", c.By)
	}
	if most := quantity.MustExact(mostMove); most.Less(v.Exact()) {
		return Reply{}, fmt.Errorf("%s: packs move a gear by at most %s mm at once: is the unit right?", c.By, mostMove)
	}
	switch c.Gear + " " + c.Way {
	case "pinion OUT", "wheel AWAY":
	case "pinion IN", "wheel TOWARD":
		v = v.Neg()
	default:
		return Reply{}, fmt.Errorf("%q: write pinion IN or OUT, wheel TOWARD or AWAY", c.Gear+" "+c.Way)
	}
	if err := b.record(ctx, fact.MoveWanted{Step: c.Step, Gear: c.Gear, By: v}); err != nil {
		return Reply{}, err
	}
	return Reply{Words: fmt.Sprintf("The %s is to go %s by %s: fit the packs anew.", c.Gear, c.Way, c.By)}, nil
}
