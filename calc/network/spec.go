package network

import (
	"fmt"

	"shimwright/calc/quantity"
)

// A Kind says what part a length plays.
type Kind uint8

// The kinds of length. Found and Pack are walked; Check and Wanted each close
// a loop of their own and are never walked otherwise.
const (
	Found  Kind = iota // measured, marked, nominal, or drawn and not measured
	Pack               // shims or a spacer
	Check              // found as well as known another way
	Wanted             // a mounting distance or a plain gap
)

// An Axis is a line of faces in the order of the nominal drawing.
type Axis struct {
	Name  string
	Faces []string
}

// A Length runs from one face to a later one of the same axis.
type Length struct {
	Name     string
	From, To string
	Kind     Kind
}

// A Bearing of a shaft that can float: the touch is its two faces that meet,
// in the order of the drawing; it is nought while the bearing carries.
type Bearing struct {
	Name     string
	From, To string
	Share    quantity.Ratio // of the squeeze, when the shaft is closed
}

// A Shaft carries a gear. With two bearings it can float; with none it is held
// both ways.
type Shaft struct {
	Name     string
	Bearings []Bearing // none or two
	// LocatedBy is the bearing whose touch is walked; the other closes the
	// loop of the shaft's setting.
	LocatedBy string
	Gear      string // the wanted length that says where its gear sits, or ""
}

// A Spec is what a sheet says of one drive.
type Spec struct {
	Axes    []Axis
	Lengths []Length
	Shafts  []Shaft
}

// A Problem is a fault in a spec, laid at the name it concerns.
type Problem struct {
	Subject string // the face, length, shaft or axis at fault
	Message string
}

// Error is the name at fault and what is wrong with it.
func (p *Problem) Error() string { return p.Subject + ": " + p.Message }

func problem(subject, format string, args ...any) *Problem {
	return &Problem{Subject: subject, Message: fmt.Sprintf(format, args...)}
}
