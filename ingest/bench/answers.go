package bench

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"shimwright/calc/overhaul"
	"shimwright/calc/quantity"
	"shimwright/calc/sheet"
	"shimwright/ingest/fact"
)

func (c Mark) carryOut(ctx context.Context, b *Bench) (Reply, error) {
	st, err := b.step(c.Step, sheet.KindMark)
	if err != nil {
		return Reply{}, err
	}
	f := fact.Marked{Step: c.Step, Absent: c.Absent}
	e := sheet.Entry{Step: c.Step, Kind: sheet.EntryAbsent}
	switch {
	case c.Absent:
		if !st.Mark.NilOK {
			return Reply{}, fmt.Errorf("the sheet does not say that an absent mark means nought: look again, or ask the lead")
		}
	case st.Mark.Absolute:
		v, err := lengthOf(c.Figure)
		if err != nil {
			return Reply{}, err
		}
		f.Figure, e.Kind, e.Value = &v, sheet.EntryFigure, v
	default:
		v, err := quantity.Parse(strings.TrimSpace(c.Digits), st.Mark.Digits)
		if err != nil {
			return Reply{}, err
		}
		f.Digits, e.Kind, e.Value = &v, sheet.EntryDigits, v
	}
	f.Sentence = overhaul.MarkSentence(b.job.Sheet, st, e)
	if err := b.record(ctx, f); err != nil {
		return Reply{}, err
	}
	return Reply{Words: f.Sentence + "."}, nil
}

func (c Record) carryOut(ctx context.Context, b *Bench) (Reply, error) {
	st, err := b.step(c.Step, sheet.KindRecord)
	if err != nil {
		return Reply{}, err
	}
	answer, err := oneLine("the answer", c.Answer)
	if err != nil {
		return Reply{}, err
	}
	switch r := st.Record; r.Want {
	case "one of":
		if !slices.Contains(r.OneOf, answer) {
			return Reply{}, fmt.Errorf("%q is no answer to %s: write one of %s", answer, c.Step, strings.Join(r.OneOf, ", "))
		}
	case "number":
		if _, err := quantity.Parse(answer, quantity.Bare); err != nil {
			return Reply{}, err
		}
	}
	if err := b.record(ctx, fact.Answered{Step: c.Step, Answer: answer}); err != nil {
		return Reply{}, err
	}
	return Reply{Words: c.Step + ": " + answer + "."}, nil
}

func (c Confirm) carryOut(ctx context.Context, b *Bench) (Reply, error) {
	if _, err := b.step(c.Step, sheet.KindConfirm); err != nil {
		return Reply{}, err
	}
	if err := b.record(ctx, fact.Confirmed{Step: c.Step}); err != nil {
		return Reply{}, err
	}
	return Reply{Words: c.Step + " is confirmed."}, nil
}

func (c See) carryOut(ctx context.Context, b *Bench) (Reply, error) {
	st, err := b.step(c.Step, sheet.KindCheck)
	if err != nil {
		return Reply{}, err
	}
	if st.Check.What != sheet.Marking {
		return Reply{}, fmt.Errorf("%q is a check of %s, not of contact marking", c.Step, st.Check.What)
	}
	for flank := range c.Marks {
		if !slices.Contains(st.Check.Flanks, flank) {
			return Reply{}, fmt.Errorf("%q is no flank of %s: they are %s", flank, c.Step, strings.Join(st.Check.Flanks, ", "))
		}
	}
	for _, flank := range st.Check.Flanks {
		if !slices.Contains(st.Check.Marks, c.Marks[flank]) {
			return Reply{}, fmt.Errorf("say what is seen on %s: one of %s", flank, strings.Join(st.Check.Marks, ", "))
		}
	}
	if err := b.record(ctx, fact.Seen{Step: c.Step, Marks: c.Marks}); err != nil {
		return Reply{}, err
	}
	return Reply{Words: b.results.Of(c.Step).Check.Words + "."}, nil
}
