package overhaul

import (
	"fmt"
	"slices"

	"shimwright/calc/quantity"
	"shimwright/calc/sheet"
	"shimwright/calc/stock"
)

// worker holds one working of a job.
type worker struct {
	sheet   *sheet.Sheet
	entries sheet.Entries
	in      map[string]*intake // by step
	changes []change
	moves   []moved
	build   int
	trays   map[string]stock.Tray
	results map[string]*Result
	lengths map[lengthKey]*found
	warm    map[string]*Expansion // by measure step
}

// intake is what a step took in that still counts.
type intake struct {
	presses []Press
	index   []int                   // of each press, in the list of entries
	last    map[sheet.EntryKind]int // index of the last entry of a kind
	fits    []int
	over    map[int][]Press // over a pack, by the fit that rests on them; nil before the first
}

// change is metal changed: the lengths it touched, when, and the build after.
type change struct {
	index, build int
	lengths      []string
	before       bool // an old or trial pack, of the build before
}

// moved is a gear's wanted distance moved on purpose.
type moved struct {
	index  int
	wanted string
	by     *Figure
}

type lengthKey struct {
	name   string
	before bool
}

// found is a length's figure with the index of the latest entry that made it.
type found struct {
	figure *Figure
	index  int
	lack   *Lack
}

// Work works a job. The error is of entries that speak of steps or gauges the
// sheet does not have; a job that is only begun is no error.
func Work(s *sheet.Sheet, e sheet.Entries) (*Results, error) {
	w := &worker{
		sheet: s, entries: e, build: 1,
		in:      map[string]*intake{},
		trays:   map[string]stock.Tray{},
		results: map[string]*Result{},
		lengths: map[lengthKey]*found{},
		warm:    map[string]*Expansion{},
	}
	for _, st := range s.Steps() {
		w.in[st.Name] = newIntake()
	}
	out := &Results{Sheet: s}
	for i, entry := range e.List {
		if err := w.take(i, entry); err != nil {
			return nil, err
		}
		out.Training = out.Training || entry.Virtual
	}
	if err := w.openTrays(); err != nil {
		return nil, err
	}
	for _, st := range s.Steps() {
		r := w.step(st)
		w.results[st.Name] = r
		out.Steps = append(out.Steps, r)
	}
	out.Build = w.build
	out.Places = w.standings()
	out.Notes = w.notes()
	return out, nil
}

// aFewPresses is room for what a usual step asks for.
const aFewPresses = 4

func newIntake() *intake {
	return &intake{last: map[sheet.EntryKind]int{}}
}

// take folds one entry in.
func (w *worker) take(i int, e sheet.Entry) error {
	st, ok := w.sheet.Step(e.Step)
	if !ok {
		return fmt.Errorf("entry %d speaks of step %q, which sheet %s does not have", i+1, e.Step, w.sheet.ID)
	}
	in := w.in[e.Step]
	if e.ChangesMetal() {
		w.build++
		w.changes = append(w.changes, change{i, w.build, touched(st, e), st.Pack != nil && st.Pack.Before})
	}
	switch e.Kind {
	case sheet.EntryAgain:
		fresh := newIntake()
		if fit, ok := in.last[sheet.EntryFit]; ok { // a fitted pack stays in the drive
			fresh.fits, fresh.over, fresh.last[sheet.EntryFit] = in.fits, in.over, fit
		}
		w.in[e.Step] = fresh
		return nil
	case sheet.EntryPress:
		if in.presses == nil {
			in.presses = make([]Press, 0, aFewPresses)
		}
		in.presses = append(in.presses, w.pressed(st, e))
		in.index = append(in.index, i)
		return nil
	case sheet.EntryFit:
		if in.over == nil {
			in.over = map[int][]Press{}
		}
		in.over[i] = w.pressedFor(st, i)
		in.fits = append(in.fits, i)
	case sheet.EntryMove:
		w.move(i, e)
	}
	in.last[e.Kind] = i
	return nil
}

func touched(st *sheet.Step, e sheet.Entry) []string {
	if e.Kind == sheet.EntryMetal {
		return e.Lengths
	}
	if length, _, ok := st.Gives(); ok {
		return []string{length}
	}
	return nil
}

// move notes a gear moved on purpose and the other gear's follow-up: a pinion
// moved by p changes backlash by its own factor times p, and the wheel gives it
// back with p × pinion teeth / wheel teeth the other way. That ratio of the two
// factors holds for bevel pairs without offset (derived from pitch cone
// geometry; common practice, no source).
func (w *worker) move(i int, e sheet.Entry) {
	by := leaf("moved on purpose", fmt.Sprint("move:", i), "moved on purpose after "+e.Step, e.Value)
	by.Leaf.Ref = e.Ref
	w.moveGear(i, e.Gear, by)
	g := w.sheet.Gears
	if e.Gear != "pinion" || g.Wheel == 0 {
		return
	}
	ratio, err := quantity.RatioOf(-int64(g.Pinion), int64(g.Wheel))
	if err != nil {
		return
	}
	follow := sum("follow-up of the pinion's move", Term{ratio, by})
	follow.Rule = fmt.Sprintf("pinion's move × %d/%d teeth, so that backlash holds", g.Pinion, g.Wheel)
	w.moveGear(i, "wheel", follow)
}

func (w *worker) moveGear(i int, gear string, by *Figure) {
	for _, s := range w.sheet.Shafts {
		if s.Carries == gear {
			w.moves = append(w.moves, moved{i, s.Gear, by})
		}
	}
}

func (w *worker) openTrays() error {
	for name, leaves := range w.entries.Trays {
		var in []stock.Leaf
		for _, l := range leaves {
			if l.Count > 0 {
				in = append(in, stock.Leaf{Size: l.Size.Exact(), Label: l.Size.String(), Count: l.Count})
			}
		}
		tray, err := stock.NewTray(in...)
		if err != nil {
			return fmt.Errorf("stock tray %q: %w", name, err)
		}
		w.trays[name] = tray
	}
	return nil
}

// entry is the last entry of a kind at a step.
func (w *worker) entry(step string, kind sheet.EntryKind) (sheet.Entry, int, bool) {
	i, ok := w.in[step].last[kind]
	if !ok {
		return sheet.Entry{}, -1, false
	}
	return w.entries.List[i], i, true
}

// lastChange is the latest change of metal among lengths, up to an index (-1:
// no bound); ok is false where there was none.
func (w *worker) lastChange(lengths []string) (change, bool) {
	for _, c := range slices.Backward(w.changes) {
		if slices.ContainsFunc(c.lengths, func(l string) bool { return slices.Contains(lengths, l) }) {
			return c, true
		}
	}
	return change{}, false
}

// changeFor is the latest change of metal that makes a step's presses stale. Of
// the build before only its own packs do: what is done to the drive later does
// not change what was found then.
func (w *worker) changeFor(st *sheet.Step, lengths []string) (change, bool) {
	if !ofBefore(st) {
		return w.lastChange(lengths)
	}
	for _, c := range slices.Backward(w.changes) {
		if c.before && slices.ContainsFunc(c.lengths, func(l string) bool { return slices.Contains(lengths, l) }) {
			return c, true
		}
	}
	return change{}, false
}

func ofBefore(st *sheet.Step) bool {
	return st.Check != nil && st.Check.Before != "" || st.Measure != nil && st.Measure.Before
}

// step works one step.
func (w *worker) step(st *sheet.Step) *Result {
	r := &Result{Step: st, Status: Waiting}
	switch st.Kind {
	case sheet.KindMark:
		w.mark(r)
	case sheet.KindMeasure:
		w.measure(r)
	case sheet.KindPack:
		w.pack(r)
	case sheet.KindCheck:
		w.check(r)
	case sheet.KindRecord:
		w.record(r)
	case sheet.KindConfirm:
		r.Wants = "confirm it"
		if _, _, ok := w.entry(st.Name, sheet.EntryDone); ok {
			r.Status, r.Wants, r.Text = Done, "", "confirmed"
		}
	}
	r.Notes = w.stepNotes(r)
	return r
}

func (w *worker) record(r *Result) {
	e, _, ok := w.entry(r.Step.Name, sheet.EntryAnswer)
	if !ok {
		r.Wants = "write it down"
		return
	}
	r.Text, r.Status = e.Text, Done
	equal := r.Step.Record.Equal
	if equal == "" {
		return
	}
	other, _, ok := w.entry(equal, sheet.EntryAnswer)
	switch {
	case !ok:
		r.Status, r.Wants = Waiting, equal+" first"
	case other.Text != e.Text:
		r.Status = Stopped
		r.Problem = fmt.Sprintf("STOP. %s is %s and %s is %s: they must be equal. Do not build with these parts.", r.Step.Name, e.Text, equal, other.Text)
	}
}
