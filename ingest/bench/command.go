package bench

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"shimwright/calc/overhaul"
	"shimwright/calc/quantity"
	"shimwright/calc/sheet"
	"shimwright/devices"
	"shimwright/ingest/fact"
	"shimwright/ingest/job"
)

// A Command is something a person asks of the bench. The set is closed: keys,
// command lines, the demonstration and tests use only these.
type Command interface {
	carryOut(context.Context, *Bench) (Reply, error)
}

// A Reply is what came of a command.
type Reply struct {
	Words string // one sentence
	Seq   int64  // of the last fact it recorded; 0 for none
}

// The commands.
type (
	// OpenJob begins a job on a drive by a sheet of the bench.
	OpenJob struct{ Sheet, Serial string }
	// ChooseStep makes a step the one that waits. It records nothing.
	ChooseStep struct{ Step string }
	// DrawPiece says which piece stands in a standard's role, by its number.
	DrawPiece struct{ Standard, Piece string }
	// SayIn says whether a pack is in while a step is measured.
	SayIn struct {
		Step, Pack string
		In         bool
	}
	// Mark enters a mark: its digits, its figure, or that there is none.
	Mark struct {
		Step, Digits string // digits as etched, as in +8
		Figure       string // or the figure itself, with its unit
		Absent       bool
	}
	// Record answers a record.
	Record struct{ Step, Answer string }
	// Confirm confirms a step.
	Confirm struct{ Step string }
	// Keyed enters a reading by hand; it is marked so for good.
	Keyed struct{ Step, Spot, Value, Reason string }
	// Fit says that a pack is fitted, as measured or by its leaves.
	Fit struct {
		Step             string
		Leaves, Measured []string
	}
	// Metal says that other metal was changed.
	Metal struct {
		Step    string
		Lengths []string
		Reason  string
	}
	// See says what was seen on each flank.
	See struct {
		Step  string
		Marks map[string]string
	}
	// Move asks for a gear to be moved on purpose: IN or OUT, TOWARD or AWAY.
	Move struct{ Step, Gear, Way, By string }
	// Take lets a held press count.
	Take struct {
		Press  int64
		Reason string
	}
	// Strike leaves a press out; 0 is the last one of the open step.
	Strike struct {
		Press  int64
		Reason string
	}
	// Retake begins a step anew.
	Retake struct{ Step, Reason string }
)

// apply carries out a command.
func (b *Bench) apply(ctx context.Context, c Command) (Reply, error) {
	before := b.seq
	r, err := c.carryOut(ctx, b)
	if err == nil && b.seq > before {
		r.Seq = b.seq
		b.trouble = ""
	}
	return r, err
}

// Digest names a sheet's text: SHA-256 in hexadecimal.
func Digest(text []byte) string {
	sum := sha256.Sum256(text)
	return hex.EncodeToString(sum[:])
}

func (c OpenJob) carryOut(ctx context.Context, b *Bench) (Reply, error) {
	serial, err := oneLine("the drive's serial number", c.Serial)
	if err != nil {
		return Reply{}, err
	}
	text, err := b.cfg.Sheets(c.Sheet)
	if err != nil {
		return Reply{}, err
	}
	s, err := sheet.Read(c.Sheet, text)
	if err != nil {
		return Reply{}, err
	}
	if _, err := overhaul.CheckExample(s); err != nil {
		return Reply{}, fmt.Errorf("the sheet is refused: %w", err)
	}
	head := fact.Opened{Drive: s.Title, Serial: serial, Sheet: s.ID, Issue: s.Issue,
		Digest: Digest(text), Text: string(text), Rule: b.cfg.Rule.String()}
	offered := fact.Offered{Trays: b.cfg.Trays}
	id := fmt.Sprintf("%04d", b.jobs+1)
	j, err := job.Begin(id, b.seq+1, head)
	if err != nil {
		return Reply{}, err
	}
	if j, err = j.Then(b.seq+2, offered); err != nil {
		return Reply{}, err
	}
	res, err := j.Work()
	if err != nil {
		return Reply{}, err
	}
	if err := b.store(ctx, "job/"+id, []fact.Fact{head, offered}); err != nil {
		return Reply{}, err
	}
	b.job, b.results, b.at, b.chosen = j, res, "", ""
	b.jobs++
	return Reply{Words: fmt.Sprintf("Job %s is open: %s, serial %s, sheet %s issue %d.", id, s.Title, serial, s.ID, s.Issue)}, nil
}

// oneLine holds what people type to a line that prints.
func oneLine(what, s string) (string, error) {
	s = strings.TrimSpace(s)
	switch {
	case s == "":
		return "", fmt.Errorf("%s is empty: write it", what)
	case utf8.RuneCountInString(s) > 300:
		return "", fmt.Errorf("%s has %d characters: at most 300 are kept", what, utf8.RuneCountInString(s))
	case !utf8.ValidString(s) || strings.ContainsFunc(s, func(r rune) bool { return !unicode.IsGraphic(r) }):
		return "", fmt.Errorf("%s holds characters that do not print: take them out", what)
	}
	return s, nil
}

// step finds a step of the open job, of one of the kinds given.
func (b *Bench) step(name string, kinds ...sheet.Kind) (*sheet.Step, error) {
	if b.job == nil {
		return nil, fmt.Errorf("no job is open: open one first")
	}
	st, ok := b.job.Sheet.Step(name)
	if !ok {
		return nil, fmt.Errorf("%q is no step of sheet %s", name, b.job.Sheet.ID)
	}
	if len(kinds) > 0 && !slices.Contains(kinds, st.Kind) {
		return nil, fmt.Errorf("%q is a %s step: this is not for it", name, st.Kind)
	}
	return st, nil
}

func (c ChooseStep) carryOut(_ context.Context, b *Bench) (Reply, error) {
	st, err := b.step(c.Step)
	if err != nil {
		return Reply{}, err
	}
	b.at, b.chosen = st.Name, st.Name
	return Reply{Words: "Now at " + st.Name + "."}, nil
}

func (c DrawPiece) carryOut(ctx context.Context, b *Bench) (Reply, error) {
	if b.job == nil {
		return Reply{}, fmt.Errorf("no job is open: open one first")
	}
	std, ok := b.job.Sheet.StandardNamed(c.Standard)
	if !ok {
		return Reply{}, fmt.Errorf("%q is no standard of sheet %s", c.Standard, b.job.Sheet.ID)
	}
	i := slices.IndexFunc(b.cfg.Pieces, func(p Piece) bool { return p.ID == c.Piece })
	if i < 0 {
		return Reply{}, fmt.Errorf("%q is no piece of this bench: read the number on it again", c.Piece)
	}
	p := b.cfg.Pieces[i]
	if off := p.Size.Exact().Sub(std.Nominal.Exact()).Abs(); quantity.MustExact("0.5").Less(off) {
		return Reply{}, fmt.Errorf("%s is %s, and the %s is %s: draw another piece", p.ID, p.Size, c.Standard, std.Nominal)
	}
	// One job knows a piece by one size and one role: another would change the
	// figures already worked with it.
	if was, drawn := b.job.Piece(p.ID); drawn && (was.Standard != c.Standard || !was.Size.Exact().Equal(p.Size.Exact())) {
		return Reply{}, fmt.Errorf("%s is in this job already as the %s, %s: draw another piece", p.ID, was.Standard, was.Size)
	}
	if err := b.record(ctx, fact.Drew{Standard: c.Standard, Piece: p.ID, Size: p.Size, Uncertainty: p.Uncertainty, K: p.K}); err != nil {
		return Reply{}, err
	}
	return Reply{Words: fmt.Sprintf("%s, %s, is the %s.", p.ID, p.Size, c.Standard)}, nil
}

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

func lengthOf(s string) (quantity.Value, error) {
	v, err := quantity.ParseWithUnit(s)
	if err != nil {
		return v, err
	}
	if v.Unit().Dimension() != quantity.Length {
		return v, fmt.Errorf("%s is a %s: want a length", v, v.Unit().Dimension())
	}
	return v, nil
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

func (c Keyed) carryOut(ctx context.Context, b *Bench) (Reply, error) {
	st, err := b.step(c.Step, sheet.KindMeasure, sheet.KindCheck)
	if err != nil {
		return Reply{}, err
	}
	reason, err := oneLine("the reason", c.Reason)
	if err != nil {
		return Reply{}, err
	}
	v, err := quantity.ParseWithUnit(c.Value)
	if err != nil {
		return Reply{}, err
	}
	if c.Spot != "" && !slices.Contains(st.Slots(), sheet.Slot{Spot: c.Spot}) {
		return Reply{}, fmt.Errorf("%q is no spot of %s: leave it out for the next one", c.Spot, c.Step)
	}
	s := devices.Sample{Gauge: "keyed", Source: devices.SourceKeyed}
	s.Value, s.UnitStated, s.At = v, true, b.cfg.Now()
	f, err := b.press(ctx, s, nil, &landing{c.Step, c.Spot}, reason)
	if err != nil {
		return Reply{}, err
	}
	return Reply{Words: f.Sentence}, nil
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
	// At a pack that is fitted and right, the presses shown are that one's.
	pressed := r.Step.Pack.Presses > 0 && r.Left == 0 && len(r.Presses) > 0 && r.Status != overhaul.Done
	switch {
	case r.Status == overhaul.Stopped:
		return Reply{}, fmt.Errorf("%s", r.Problem)
	case len(measured) == 0 && r.Step.Pack.Presses > 0 && !pressed:
		return Reply{}, fmt.Errorf("measure the pack first: %d presses over it are wanted", r.Left)
	case len(leaves) == 0 && len(measured) == 0 && !pressed:
		return Reply{}, fmt.Errorf("say what the pack measures, or its leaves; no pack at all measures 0.00 mm")
	}
	if err := b.record(ctx, fact.Fitted{Step: c.Step, Leaves: leaves, Measured: measured}); err != nil {
		return Reply{}, err
	}
	return Reply{Words: fmt.Sprintf("%s is fitted; build %d.", c.Step, b.results.Build)}, nil
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

func (c Take) carryOut(ctx context.Context, b *Bench) (Reply, error) {
	p, reason, err := b.decision(c.Press, c.Reason)
	if err != nil {
		return Reply{}, err
	}
	if p.Now != fact.Held || p.Fact.Value == nil {
		return Reply{}, fmt.Errorf("press %d is %s, not held: only a held press can be taken", p.Seq, p.Now)
	}
	if err := b.record(ctx, fact.Took{Press: p.Seq, Reason: reason}); err != nil {
		return Reply{}, err
	}
	return Reply{Words: fmt.Sprintf("Press %d, %s, counts now.", p.Seq, p.Fact.Value)}, nil
}

func (c Strike) carryOut(ctx context.Context, b *Bench) (Reply, error) {
	seq := c.Press
	if seq == 0 {
		seq = b.lastAtOpenStep()
	}
	p, reason, err := b.decision(seq, c.Reason)
	if err != nil {
		return Reply{}, err
	}
	if p.Struck || p.Now == fact.Aside {
		return Reply{}, fmt.Errorf("press %d does not count already", p.Seq)
	}
	if err := b.record(ctx, fact.Struck{Press: p.Seq, Reason: reason}); err != nil {
		return Reply{}, err
	}
	b.at, b.chosen = p.Fact.Step, ""
	return Reply{Words: fmt.Sprintf("Press %d, %s at %s, is struck.", p.Seq, p.Fact.Value, p.Fact.Step)}, nil
}

// lastAtOpenStep is the last press that counts or is held, at the step last
// worked at and since it was last taken again.
func (b *Bench) lastAtOpenStep() int64 {
	if b.job == nil {
		return 0
	}
	begun := b.job.Begun(b.at)
	for _, p := range slices.Backward(b.job.Presses) {
		if p.Seq > begun && p.Fact.Step == b.at && !p.Struck && p.Now != fact.Aside {
			return p.Seq
		}
	}
	return 0
}

// decision finds the press that a person decides on, and holds the reason to a
// line.
func (b *Bench) decision(seq int64, reason string) (job.Press, string, error) {
	if b.job == nil {
		return job.Press{}, "", fmt.Errorf("no job is open: open one first")
	}
	p, ok := b.job.Press(seq)
	if !ok {
		return job.Press{}, "", fmt.Errorf("there is no such press in this job")
	}
	reason, err := oneLine("the reason", reason)
	return p, reason, err
}

func (c Retake) carryOut(ctx context.Context, b *Bench) (Reply, error) {
	if _, err := b.step(c.Step); err != nil {
		return Reply{}, err
	}
	reason, err := oneLine("the reason", c.Reason)
	if err != nil {
		return Reply{}, err
	}
	if err := b.record(ctx, fact.Again{Step: c.Step, Reason: reason}); err != nil {
		return Reply{}, err
	}
	return Reply{Words: c.Step + " is taken again."}, nil
}

// stepOf is the step a fact belongs to; "" for none.
func stepOf(f fact.Fact) string {
	switch f := f.(type) {
	case fact.Pressed:
		if f.Outcome == fact.Aside {
			return ""
		}
		return f.Step
	case fact.PacksIn:
		return f.Step
	case fact.Marked:
		return f.Step
	case fact.Answered:
		return f.Step
	case fact.Confirmed:
		return f.Step
	case fact.Fitted:
		return f.Step
	case fact.Changed:
		return f.Step
	case fact.Seen:
		return f.Step
	case fact.MoveWanted:
		return f.Step
	case fact.Again:
		return f.Step
	}
	return ""
}
