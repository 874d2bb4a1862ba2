package sheet

import (
	"shimwright/calc/document"
	"shimwright/calc/quantity"
	"shimwright/calc/remedy"
)

// Entries are what a job put in, in order, with the pieces, gauges and stock
// they speak of.
type Entries struct {
	Pieces map[string]Piece
	Gauges map[string]Gauge
	Trays  map[string][]Leaf // stock by tray
	List   []Entry
	// Temperatures are those of the work; nil where they are not said.
	Temperatures *Temperatures
	// Simple: the shop accepts without a guard band.
	Simple bool
	// Earlier are re-shims of other drives of this type, by the check that
	// judged them.
	Earlier map[string][]remedy.Earlier
}

// A Piece is an actual certified piece, with its size as of the reading.
type Piece struct {
	ID       string
	Standard string // the role it fills
	Size     quantity.Value
	// Of its certificate: expanded uncertainty and coverage factor; nil where
	// they are not known.
	Uncertainty *quantity.Value
	K           *quantity.Value
}

// A Gauge is an instrument, as far as the arithmetic cares.
type Gauge struct {
	ID       string
	Kind     string
	CountsIn bool // the reading grows as the tip is pushed in
	// Limit is its limit of error, either way; nil where it is not known.
	Limit *quantity.Value
	// Corrections is the table of its certificate; nil where it has none.
	Corrections *Corrections
	// Checks are its readings on check pieces, oldest first.
	Checks []GaugeCheck
}

// A Leaf is shims of one size in a tray.
type Leaf struct {
	Size  quantity.Value
	Count int
}

// An EntryKind says what was put in.
type EntryKind uint8

// The kinds of entry.
const (
	EntryPress   EntryKind = iota
	EntryIn                // whether packs were in while a step is measured
	EntryDigits            // a mark's digits
	EntryFigure            // a mark that gives the figure itself
	EntryAbsent            // no mark on the part
	EntryFit               // a pack fitted: leaves, measured
	EntryAnswer            // a record's answer
	EntryDone              // a confirmation
	EntryAgain             // the step is to be taken again; its entries no longer count
	EntryMetal             // metal of the lengths named was changed
	EntrySeen              // contact marking, by flank
	EntryMove              // a gear is to be moved on purpose
	EntrySeal              // turning torque: one pull with the seal in, one without
	EntrySetting           // a setting asked about: what keeps the backlash while it changes
)

// An Entry is one thing put in at one step.
type Entry struct {
	At   document.Pos // in a readings file; zero otherwise
	Ref  string       // what the job calls it, to trace it back
	Step string
	Kind EntryKind

	Value    quantity.Value    // press, digits, figure, move (longer above nought), setting (float above nought)
	Spot     string            // press
	Gauge    string            // press
	Pieces   []string          // press
	In       map[string]bool   // packs in or not
	Leaves   []quantity.Value  // fit
	Measured []quantity.Value  // fit: the pack as measured, at one place or more; seal: the pull with it, the pull without
	Text     string            // answer, reason
	Lengths  []string          // metal changed
	Seen     map[string]string // flank → mark
	Gear     string            // move: pinion or wheel
	Virtual  bool              // the press came from a virtual gauge
	Keyed    bool              // or from the keyboard
}

// ChangesMetal tells whether the entry steps the build state.
func (e Entry) ChangesMetal() bool { return e.Kind == EntryFit || e.Kind == EntryMetal }
