package fact

import (
	"time"

	"shimwright/calc/quantity"
)

// What follows surrounds the presses of a job: what is known of its gauges and
// pieces, and what was said and done so that a press can count.

// Zeroed is a zero check of a gauge at a step of a job. The gauge's own fact of
// it is stored beside this one.
type Zeroed struct {
	Gauge    string         `json:"gauge"`
	Step     string         `json:"step"` // at which it was made
	Pieces   []string       `json:"pieces,omitempty"`
	Reading  quantity.Value `json:"reading"`
	Good     bool           `json:"good"`
	Sentence string         `json:"sentence"`
	Do       string         `json:"do,omitempty"`
	// Doubts are the presses that a lost zero puts in doubt; they count all the
	// same, and are to be looked at.
	Doubts  []int64   `json:"doubts,omitempty"`
	Arrived time.Time `json:"arrived"`
}

// Knocked says of a gauge that it was knocked or dropped.
type Knocked struct {
	By Signature `json:"by,omitzero"`
}

// NeedSaid says that the bearings of a step were rolled or seated.
type NeedSaid struct {
	Step string    `json:"step"`
	Need string    `json:"need"` // by the sheet's word
	At   time.Time `json:"at"`
	By   Signature `json:"by,omitzero"`
}

// LetCount lets gauges and pieces count in this job though their certificates
// are due or they are out of use.
type LetCount struct {
	What   []string  `json:"what"`
	Reason string    `json:"reason"`
	By     Signature `json:"by,omitzero"`
}

// A KnownPiece is a certified piece of the register, with its size of that day.
type KnownPiece struct {
	Piece       string          `json:"piece"`
	Standard    string          `json:"standard,omitempty"`
	Size        quantity.Value  `json:"size"`
	Uncertainty *quantity.Value `json:"uncertainty,omitempty"`
	K           *quantity.Value `json:"k,omitempty"`
}

// PiecesKnown is the certified pieces that the bench has for a job, so that
// results can say which of them a figure speaks for.
type PiecesKnown struct {
	Pieces []KnownPiece `json:"pieces"`
}

// A CorrectionPoint is one point of a gauge's correction table.
type CorrectionPoint struct {
	At  quantity.Value `json:"at"`
	Add quantity.Value `json:"add"`
}

// A DayCheck is a gauge's reading on a check piece.
type DayCheck struct {
	Day   Day            `json:"day"`
	Piece quantity.Value `json:"piece"` // its size
	Read  quantity.Value `json:"read"`
}

// GaugeKnown is what a job knows of a gauge beside what its presses carry: its
// correction table and checks, its certificate, and the form of its bytes.
type GaugeKnown struct {
	Gauge       string            `json:"gauge"`
	Corrections []CorrectionPoint `json:"corrections,omitempty"`
	Uncertainty *quantity.Value   `json:"uncertainty,omitempty"` // of the table
	K           *quantity.Value   `json:"k,omitempty"`
	Checks      []DayCheck        `json:"checks,omitempty"`
	Certificate Certificate       `json:"certificate,omitzero"`
	Form        *Form             `json:"form,omitempty"`
}

// Warmth is the temperatures of the work, as they were written.
type Warmth struct {
	Part      string `json:"part"`
	Standards string `json:"standards"`
	Gauge     string `json:"gauge,omitempty"` // that of the standards where it is not said
}

// An EarlierMove is a re-shim of another job by the same sheet.
type EarlierMove struct {
	Job         string `json:"job"`
	Moved       string `json:"moved"`                 // of the wheel, mm; longer above nought
	Changed     string `json:"changed"`               // of the mean, mm
	Uncertainty string `json:"uncertainty,omitempty"` // of the change, mm
}

// Earlier is what earlier jobs found of a check's move factor.
type Earlier struct {
	Step  string        `json:"step"`
	Moves []EarlierMove `json:"moves"`
}

// SealPulled is one steady pull with the seal in and one without.
type SealPulled struct {
	Step    string         `json:"step"`
	With    quantity.Value `json:"with"`
	Without quantity.Value `json:"without"`
}

// SettingAsked asks what must change so that a setting comes about and the
// backlash stays; it changes nothing.
type SettingAsked struct {
	Step    string         `json:"step"`
	Setting quantity.Value `json:"setting"`           // float above nought, preload below
	Against string         `json:"against,omitempty"` // with float: the bearing the shaft is held against
}

// ClockSet says that the computer's clock was set between two facts. Facts keep
// their order by number.
type ClockSet struct {
	After int64  `json:"after"` // the number of the last fact before it
	By    string `json:"by"`    // forward above nought, as in -8760h0m0s; between two runs only a step back shows
}
