// Package job folds a job's facts into what it holds: its head, its presses
// with their outcomes, and the entries that calc works.
//
// A job is closed under its own facts. Opening freezes the sheet's text,
// drawing a piece copies its size, a press carries what its gauge is, and the
// stock offered is noted: so results read no register, file or clock, and the
// screen, a replay and an audit see the same. A Job is never changed: Then
// gives the next one.
package job

import (
	"fmt"
	"maps"
	"slices"
	"strconv"

	"shimwright/calc/overhaul"
	"shimwright/calc/quantity"
	"shimwright/calc/ring"
	"shimwright/calc/sheet"
	"shimwright/devices"
	"shimwright/ingest/fact"
)

// A Job is one drive being overhauled.
type Job struct {
	ID      string
	Head    fact.Opened
	Sheet   *sheet.Sheet
	Presses []Press
	Last    int64 // sequence number of its last fact

	drawn  map[string][]string // standard → pieces in use, oldest first
	pieces map[string]sheet.Piece
	gauges map[string]sheet.Gauge
	trays  map[string][]sheet.Leaf
	judged map[string]Judgement // by step, the last one
	begun  map[string]int64     // by step, the number of the fact by which it was last taken again
	log    []logged
	decided
	circumstances
}

// A Judgement is one as it was stored.
type Judgement struct {
	Seq  int64
	Fact fact.Judged
}

// A Press is a press of the job with what it came to, strikes and decisions
// included.
type Press struct {
	Seq    int64
	Fact   fact.Pressed
	Now    fact.Outcome // what it counts as now
	Reason string       // why that changed
	Struck bool
}

// logged is an entry with the fact it came from; entries of presses are looked
// up when they are listed, because a press may be held back, taken or struck.
type logged struct {
	seq   int64
	entry sheet.Entry
	press int // index in Presses, or −1
}

// Begin makes a job of its first fact.
func Begin(id string, seq int64, head fact.Opened) (*Job, error) {
	s, err := sheet.Read(head.Sheet, []byte(head.Text))
	if err != nil {
		return nil, fmt.Errorf("job %s: its frozen sheet cannot be read: %w", id, err)
	}
	return &Job{
		ID: id, Head: head, Sheet: s, Last: seq,
		drawn:  map[string][]string{},
		pieces: map[string]sheet.Piece{},
		gauges: map[string]sheet.Gauge{},
		trays:  map[string][]sheet.Leaf{},
		judged: map[string]Judgement{},
	}, nil
}

// Then is the job after one more fact.
func (j *Job) Then(seq int64, f fact.Fact) (*Job, error) {
	n := *j
	n.Last = seq
	n.Presses = slices.Clone(j.Presses)
	n.log = slices.Clone(j.log)
	n.drawn, n.pieces = maps.Clone(j.drawn), maps.Clone(j.pieces)
	n.gauges, n.trays = maps.Clone(j.gauges), maps.Clone(j.trays)
	n.judged, n.begun = maps.Clone(j.judged), maps.Clone(j.begun)
	n.decided = j.decided.clone()
	n.circumstances = j.circumstances.clone()
	if err := n.fold(seq, f); err != nil {
		return nil, fmt.Errorf("job %s, fact %d, %q: %w", j.ID, seq, f.Kind(), err)
	}
	return &n, nil
}

// fold takes one fact in.
func (j *Job) fold(seq int64, f fact.Fact) error {
	if done, err := j.decision(seq, f); done || err != nil {
		return err
	}
	if done, err := j.surround(seq, f); done || err != nil {
		return err
	}
	switch f := f.(type) {
	case fact.Opened:
		return fmt.Errorf("it was opened already")
	case fact.Offered:
		j.offer(f)
	case fact.Drew:
		return j.draw(f)
	case fact.Pressed:
		return j.press(seq, f)
	case fact.HeldBack:
		return j.decide(f.Press, fact.Held, f.Sentence, false)
	case fact.Took:
		j.standOn(f.Press, f.Pieces)
		return j.decide(f.Press, fact.Taken, f.Reason, false)
	case fact.Struck:
		return j.decide(f.Press, fact.Aside, f.Reason, true)
	case fact.Judged:
		j.judged[f.Step] = Judgement{seq, f}
	default:
		return j.enter(seq, f)
	}
	return nil
}

func (j *Job) offer(f fact.Offered) {
	for name, leaves := range f.Trays {
		var tray []sheet.Leaf
		for _, l := range leaves {
			tray = append(tray, sheet.Leaf{Size: l.Size, Count: l.Count})
		}
		j.trays[name] = tray
	}
}

// draw puts a piece in its role. A role that wants several pieces keeps the
// last so many drawn.
func (j *Job) draw(f fact.Drew) error {
	std, ok := j.Sheet.StandardNamed(f.Standard)
	if !ok {
		return fmt.Errorf("%q is no standard of sheet %s", f.Standard, j.Sheet.ID)
	}
	in := slices.DeleteFunc(slices.Clone(j.drawn[f.Standard]), func(id string) bool { return id == f.Piece })
	in = append(in, f.Piece)
	if extra := len(in) - std.Pieces; extra > 0 {
		in = in[extra:]
	}
	j.drawn[f.Standard] = in
	j.pieces[f.Piece] = sheet.Piece{ID: f.Piece, Standard: f.Standard, Size: f.Size, Uncertainty: f.Uncertainty, K: f.K}
	return nil
}

func (j *Job) press(seq int64, f fact.Pressed) error {
	j.Presses = append(j.Presses, Press{Seq: seq, Fact: f, Now: f.Outcome})
	if f.Value == nil || f.Step == "" {
		return nil
	}
	if _, ok := j.Sheet.Step(f.Step); !ok {
		return fmt.Errorf("%q is no step of sheet %s", f.Step, j.Sheet.ID)
	}
	j.gauges[f.Gauge] = sheet.Gauge{ID: f.Gauge, Kind: f.GaugeKind, CountsIn: f.CountsIn, Limit: f.Limit}
	e := entry(seq, f.Step, sheet.EntryPress)
	e.Value, e.Spot, e.Gauge, e.Pieces = *f.Value, f.Spot, f.Gauge, f.Pieces
	e.Virtual, e.Keyed = f.Source == devices.SourceVirtual, f.Source == devices.SourceKeyed
	j.log = append(j.log, logged{seq, e, len(j.Presses) - 1})
	return nil
}

// standOn says which pieces a press was made on that came before they were
// said.
func (j *Job) standOn(press int64, pieces []string) {
	for i, l := range j.log {
		if l.press >= 0 && l.seq == press && len(pieces) > 0 {
			j.log[i].entry.Pieces = pieces
		}
	}
}

func entry(seq int64, step string, kind sheet.EntryKind) sheet.Entry {
	return sheet.Entry{Ref: strconv.FormatInt(seq, 10), Step: step, Kind: kind}
}

func (j *Job) decide(press int64, to fact.Outcome, reason string, struck bool) error {
	i := slices.IndexFunc(j.Presses, func(p Press) bool { return p.Seq == press })
	if i < 0 {
		return fmt.Errorf("there is no press %d in this job", press)
	}
	j.Presses[i].Now, j.Presses[i].Reason, j.Presses[i].Struck = to, reason, struck
	return nil
}

// enter takes in a fact that is one entry.
func (j *Job) enter(seq int64, f fact.Fact) error {
	var e sheet.Entry
	switch f := f.(type) {
	case fact.PacksIn:
		e = entry(seq, f.Step, sheet.EntryIn)
		e.In = f.In
	case fact.Marked:
		e = markEntry(seq, f)
	case fact.Answered:
		e = entry(seq, f.Step, sheet.EntryAnswer)
		e.Text = f.Answer
	case fact.Confirmed:
		e = entry(seq, f.Step, sheet.EntryDone)
	case fact.Fitted:
		e = entry(seq, f.Step, sheet.EntryFit)
		e.Leaves, e.Measured = f.Leaves, f.Measured
	case fact.Changed:
		e = entry(seq, f.Step, sheet.EntryMetal)
		e.Lengths, e.Text = f.Lengths, f.Reason
	case fact.Seen:
		e = entry(seq, f.Step, sheet.EntrySeen)
		e.Seen = f.Marks
	case fact.SealPulled:
		e = entry(seq, f.Step, sheet.EntrySeal)
		e.Measured = []quantity.Value{f.With, f.Without}
	case fact.SettingAsked:
		e = entry(seq, f.Step, sheet.EntrySetting)
		e.Value, e.Text = f.Setting, f.Against
	case fact.MoveWanted:
		e = entry(seq, f.Step, sheet.EntryMove)
		e.Gear, e.Value = f.Gear, f.By
	case fact.Again:
		e = entry(seq, f.Step, sheet.EntryAgain)
		e.Text = f.Reason
	default:
		return fmt.Errorf("it does not belong to a job")
	}
	if _, ok := j.Sheet.Step(e.Step); !ok {
		return fmt.Errorf("%q is no step of sheet %s", e.Step, j.Sheet.ID)
	}
	if e.ChangesMetal() {
		j.said = nil
	}
	if e.Kind == sheet.EntryAgain {
		j.begun = put(j.begun, e.Step, seq)
	}
	j.log = append(j.log, logged{seq, e, -1})
	return nil
}

func markEntry(seq int64, f fact.Marked) sheet.Entry {
	switch {
	case f.Absent:
		return entry(seq, f.Step, sheet.EntryAbsent)
	case f.Figure != nil:
		e := entry(seq, f.Step, sheet.EntryFigure)
		e.Value = *f.Figure
		return e
	}
	e := entry(seq, f.Step, sheet.EntryDigits)
	if f.Digits != nil {
		e.Value = *f.Digits
	}
	return e
}

// Entries are what counts, in order: presses that are taken, and all else.
func (j *Job) Entries() sheet.Entries {
	e := sheet.Entries{Pieces: j.pieces, Gauges: j.gauges, Trays: j.trays, Simple: j.Head.Rule == ring.Simple.String(),
		List: make([]sheet.Entry, 0, len(j.log))}
	for _, l := range j.log {
		if l.press < 0 || j.Presses[l.press].Now == fact.Taken {
			e.List = append(e.List, l.entry)
		}
	}
	j.around(&e)
	return e
}

// Work works the job as it stands.
func (j *Job) Work() (*overhaul.Results, error) {
	res, err := overhaul.Work(j.Sheet, j.Entries())
	if err == nil && (j.Head.Training || j.virtual()) {
		res.Training = true
	}
	if err == nil {
		j.doubts(res)
	}
	return res, err
}

// virtual tells whether any press ever came from a virtual gauge, counted or
// not: striking it does not make a job real.
func (j *Job) virtual() bool {
	return slices.ContainsFunc(j.Presses, func(p Press) bool { return p.Fact.Virtual() })
}

// InUse are the pieces drawn for a step's setup, standard by standard, and what
// still has to be drawn, in words ("" when nothing).
func (j *Job) InUse(st *sheet.Step) (pieces []string, missing string) {
	if st.Measure == nil {
		return nil, ""
	}
	for _, name := range st.Measure.Setup.Standards() {
		std, _ := j.Sheet.StandardNamed(name)
		in := j.drawn[name]
		if len(in) < std.Pieces {
			return nil, fmt.Sprintf("Say which %s stands in the setup, by the number on it", name)
		}
		pieces = append(pieces, in...)
	}
	return pieces, ""
}

// Piece is a piece drawn for the job, with its size of that day.
func (j *Job) Piece(id string) (sheet.Piece, bool) { p, ok := j.pieces[id]; return p, ok }

// LastBy is the last press of a gauge that counts or is held, at whatever step.
func (j *Job) LastBy(gauge string) (Press, bool) {
	for _, p := range slices.Backward(j.Presses) {
		if p.Fact.Gauge == gauge && p.Now != fact.Aside && p.Fact.Value != nil {
			return p, true
		}
	}
	return Press{}, false
}

// Begun is the number of the fact by which a step was last taken again; 0 where
// none was.
func (j *Job) Begun(step string) int64 { return j.begun[step] }

// Judged is the last judgement that was stored of a step.
func (j *Job) Judged(step string) (Judgement, bool) { f, ok := j.judged[step]; return f, ok }

// Entered is the number of the last fact put in at a step that counts; 0 where
// there is none.
func (j *Job) Entered(step string) int64 {
	for _, l := range slices.Backward(j.log) {
		if l.entry.Step == step && (l.press < 0 || j.Presses[l.press].Now == fact.Taken) {
			return l.seq
		}
	}
	return 0
}

// Press finds a press by its sequence number.
func (j *Job) Press(seq int64) (Press, bool) {
	i := slices.IndexFunc(j.Presses, func(p Press) bool { return p.Seq == seq })
	if i < 0 {
		return Press{}, false
	}
	return j.Presses[i], true
}

// Held are the presses that wait for a decision.
func (j *Job) Held() []Press {
	var out []Press
	for _, p := range j.Presses {
		if p.Now == fact.Held && p.Seq > j.Begun(p.Fact.Step) {
			out = append(out, p)
		}
	}
	return out
}
