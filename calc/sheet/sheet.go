package sheet

import (
	"slices"

	"shimwright/calc/correct"
	"shimwright/calc/document"
	"shimwright/calc/network"
	"shimwright/calc/quantity"
	"shimwright/calc/remedy"
)

// A Sheet is one issue of a setting sheet.
type Sheet struct {
	ID        string
	Issue     int
	Title     string
	Manual    string // where its limits come from
	Unit      quantity.Unit
	Places    int32 // decimals shown, one more than the gauges give
	Cautions  []string
	Guard     Guard
	Materials *Materials // nil where the sheet does not say them
	ToTwenty  bool       // measured lengths are corrected to 20 °C; else what temperature does is only told
	Gears     Gears
	Standards []Standard
	Net       *network.Net
	Shafts    []Shaft
	Wanted    []Wanted
	Stages    []Stage
	Example   *Example
	Text      []byte // the sheet as written

	file string
	at   map[string]document.Pos // where each name was written
}

// Guard says how many standard uncertainties wide the guard band of a verdict
// is: a factor, 2 unless the sheet says, or Student's t.
type Guard struct {
	Student bool
	K       quantity.Exact
}

// Gears are the tooth counts of the bevel pair; zero where the sheet has none.
type Gears struct {
	Pinion, Wheel            int
	Shafts, Pressure, Spiral quantity.Value // angles
}

// A Standard is a role that a certified piece fills in a setup.
type Standard struct {
	Name    string
	Nominal quantity.Value
	Pieces  int            // how many stand side by side
	Counts  quantity.Ratio // of a piece's size: a mandrel counts half its diameter
}

// Each is how much of each piece's size the standard counts.
func (s Standard) Each() quantity.Ratio {
	share, err := quantity.RatioOf(1, int64(max(s.Pieces, 1)))
	if err != nil {
		return quantity.Ratio{}
	}
	return s.Counts.Mul(share)
}

// A Shaft is a network shaft with the word for which gear it carries.
type Shaft struct {
	network.Shaft
	Carries string // "pinion", "wheel" or ""
}

// A Wanted is a figure that a pack must make true: a gear's distance, a
// setting or a gap.
type Wanted struct {
	Name      string
	SettingOf string // the shaft, where it is a setting
	State     []network.State
	// Of a setting or a gap: the aim and, where the sheet gives a band, its
	// limits, in mm. A preload is below nought. Of a distance the aim comes
	// from its mark.
	Given     bool
	Aim       quantity.Exact
	Banded    bool
	Low, High quantity.Exact
	At        document.Pos
}

// A Stage is a part of the work, with its cautions.
type Stage struct {
	Name     string
	Cautions []string
	Steps    []*Step
}

// A Kind says what a step is.
type Kind string

// The kinds of step.
const (
	KindMark    Kind = "mark"
	KindMeasure Kind = "measure"
	KindPack    Kind = "pack"
	KindCheck   Kind = "check"
	KindRecord  Kind = "record"
	KindConfirm Kind = "confirm"
)

// A Step wants one thing. The pointer of its kind is set, the others are nil.
type Step struct {
	Name    string
	Kind    Kind
	Stage   string
	Say     string // the instruction
	Gauge   string // the kind of gauge that feeds it
	At      document.Pos
	Mark    *Mark
	Measure *Measure
	Pack    *Pack
	Check   *Check
	Record  *Record

	Needs    []string       // what must hold before a press counts: zero, bearings rolled, bearings seated
	Zero     quantity.Value // how far from nought a checked zero may stand; without a unit where none is needed
	Critical bool           // a second person must look at it
}

// A Mark is what is etched, stamped or painted on a part.
type Mark struct {
	Length   string // the length it speaks of
	Before   bool   // of the build before
	Nominal  quantity.Value
	Digits   quantity.Unit // unit of the mark's digits; Bare when the figure itself is marked
	Plus     string        // "longer", "shorter" or "not a length"
	Absolute bool
	NilOK    bool // an absent mark means nought
	AsCheck  bool
	Closes   quantity.Value // limit of the closure of a check
}

// A Measure finds a length by presses.
type Measure struct {
	Length  string
	Before  bool
	Setup   Setup
	Window  document.Band  // of a press
	Worked  *document.Band // of the length found
	Presses int
	Agree   quantity.Value
	AskIn   []string // packs that may be in while it is measured
	Plus    string   // what plus means, where the length may be of either sign
	AsCheck bool
	Closes  quantity.Value // limit of the closure of a check

	Material *correct.Material // of the part measured; nil is the sheet's
}

// A Pack is shims or a spacer in a place.
type Pack struct {
	Length   string
	Before   bool // an old or trial pack, of the build before
	Place    string
	Own      network.Place  // the place, or the row stated in words
	Makes    string         // the wanted figure it makes true
	SetBy    string         // or the check that it is set by, by trial
	Graded   quantity.Value // of one set by trial: the step its stock comes in; nought for any thickness
	AtOnce   quantity.Value // and the most it is changed between two trials; nought where the sheet does not say
	Shaft    string         // whose setting and gear its row speaks of
	Within   quantity.Value
	Stock    string
	AtLeast  int
	AtMost   int
	Outside  bool // thinnest leaves outside
	Range    *document.Band
	ByChange bool // worked from the build before
	CheckBy  bool // the other way is its check
	Closes   quantity.Value
	// Of a pack that is measured by presses before it is fitted:
	Window  document.Band
	Presses int // 0 where it is not
	Agree   quantity.Value
}

// A Check proves something of the build.
type Check struct {
	What        string
	Of          []string // wanted figures or shafts that it depends on
	Before      string   // a wanted figure it gives, of the build before
	State       []network.State
	Points      []quantity.Value // round the wheel
	Each        int              // presses at each point or spot
	Agree       quantity.Value
	Window      document.Band
	Band        *Band
	Spread      quantity.Value
	Uncertainty quantity.Value // expanded, k = 2, as the sheet states it
	Reads       string         // backlash: normal or transverse
	ToothSide   bool           // run-out: read on the tooth side, not on the back face, so that high and low change places
	Housing     quantity.Value // turning torque: diameter the cord runs on
	Cord        quantity.Value
	Rough       quantity.Value // largest (max − min) / mean
	Flanks      []string       // contact marking
	Marks       []string
	Good        []string
	Table       remedy.MarkTable
	Factor      quantity.Value // backlash: what one unit of wheel move adds; nought takes it from the gears
	Learned     bool           // backlash: the factor is the one that earlier re-shims found, once there are enough
	// Turning torque: what the seal adds, by the sheet, or measured at the job by
	// a pull with the seal and one without; one of them or neither.
	SealDrag     quantity.Value
	SealMeasured bool
}

// The things a check can be of.
const (
	Backlash      = "backlash"
	TurningTorque = "turning torque"
	EndFloat      = "end float"
	RunOut        = "run-out"
	Marking       = "contact marking"
	Tightening    = "tightening"
)

// A Band is the limits of a check: fixed, by the answer to a record, or as an
// earlier check found.
type Band struct {
	Fixed    *document.Band
	Record   string
	ByAnswer map[string]document.Band
	AsFound  string
}

// A Record is a fact to write down.
type Record struct {
	Want  string // "text", "number" or "one of"
	OneOf []string
	Equal string // another record that it must equal
}

// An Example is a job's entries and the packs that they must give.
type Example struct {
	Entries Entries
	Gives   []Given
}

// A Given is one pack's figure that the example must give.
type Given struct {
	Pack   string
	Figure quantity.Value
	At     document.Pos
}

// Steps are all steps in the order of work.
func (s *Sheet) Steps() []*Step {
	n := 0
	for _, st := range s.Stages {
		n += len(st.Steps)
	}
	out := make([]*Step, 0, n)
	for _, st := range s.Stages {
		out = append(out, st.Steps...)
	}
	return out
}

// Step finds a step by its name.
func (s *Sheet) Step(name string) (*Step, bool) {
	for _, st := range s.Stages {
		i := slices.IndexFunc(st.Steps, func(x *Step) bool { return x.Name == name })
		if i >= 0 {
			return st.Steps[i], true
		}
	}
	return nil, false
}

// WantedNamed finds a wanted figure by its name.
func (s *Sheet) WantedNamed(name string) (Wanted, bool) {
	i := slices.IndexFunc(s.Wanted, func(w Wanted) bool { return w.Name == name })
	if i < 0 {
		return Wanted{}, false
	}
	return s.Wanted[i], true
}

// ShaftNamed finds a shaft by its name.
func (s *Sheet) ShaftNamed(name string) (Shaft, bool) {
	i := slices.IndexFunc(s.Shafts, func(x Shaft) bool { return x.Name == name })
	if i < 0 {
		return Shaft{}, false
	}
	return s.Shafts[i], true
}

// ShaftOfGear finds the shaft whose gear sits by a wanted distance.
func (s *Sheet) ShaftOfGear(distance string) (Shaft, bool) {
	i := slices.IndexFunc(s.Shafts, func(x Shaft) bool { return x.Gear == distance && distance != "" })
	if i < 0 {
		return Shaft{}, false
	}
	return s.Shafts[i], true
}

// StandardNamed finds a standard by its role.
func (s *Sheet) StandardNamed(name string) (Standard, bool) {
	i := slices.IndexFunc(s.Standards, func(x Standard) bool { return x.Name == name })
	if i < 0 {
		return Standard{}, false
	}
	return s.Standards[i], true
}

// Fault lays a fault at where a name of the sheet was written, for checks made
// by others.
func (s *Sheet) Fault(name, message string) error {
	at, ok := s.at[name]
	if !ok {
		at = document.Pos{Line: 1, Column: 1}
	}
	return &document.Fault{File: s.file, Pos: at, Message: message}
}

// FaultAt lays a fault at a place of the sheet.
func (s *Sheet) FaultAt(at document.Pos, message string) error {
	return &document.Fault{File: s.file, Pos: at, Message: message}
}

// A Slot is one press that a step wants.
type Slot struct{ Spot string }

// Slots are the presses that the step wants, in order; none for a step that is
// not fed by a gauge.
func (s *Step) Slots() []Slot {
	switch {
	case s.Measure != nil:
		return slices.Repeat([]Slot{{}}, s.Measure.Presses)
	case s.Pack != nil:
		return slices.Repeat([]Slot{{}}, s.Pack.Presses)
	case s.Check != nil:
		var out []Slot
		for _, spot := range s.Check.Spots() {
			out = append(out, slices.Repeat([]Slot{{spot}}, s.Check.Each)...)
		}
		return out
	}
	return nil
}

// Spots are the places at which a check is pressed; one nameless spot where it
// has just one.
func (c *Check) Spots() []string {
	switch c.What {
	case Marking:
		return nil
	case EndFloat:
		return []string{"pull", "push"}
	case Backlash, RunOut:
		var out []string
		for _, p := range c.Points {
			out = append(out, p.String())
		}
		return out
	}
	return []string{""}
}

// Window is the limits a press must keep at the step, in base units; false
// where it has none.
func (s *Step) Window() (document.Band, bool) {
	switch {
	case s.Measure != nil:
		return s.Measure.Window, true
	case s.Pack != nil && s.Pack.Presses > 0:
		return s.Pack.Window, true
	case s.Check != nil && s.Check.What != Marking:
		return s.Check.Window, true
	}
	return document.Band{}, false
}
