package fact

import (
	"fmt"
	"time"

	"shimwright/calc/quantity"
	"shimwright/devices"
)

// What follows happens in a bench's life beside its jobs: to people
// ("person/AB"), certified pieces ("piece/S-31"), gauges ("gauge/D07"), trays of
// shims ("stock/shims") and sheets ("sheet/rd3").

// A Day is a date of the calendar, as on a certificate; the zero Day is none.
type Day struct {
	year  int
	month time.Month
	day   int
}

// DayOf is the date of a time, where the time's own zone is.
func DayOf(t time.Time) Day {
	y, m, d := t.Date()
	return Day{y, m, d}
}

const dayForm = "2006-01-02"

// ParseDay reads a date as in 2026-02-03.
func ParseDay(s string) (Day, error) {
	t, err := time.Parse(dayForm, s)
	if err != nil {
		return Day{}, fmt.Errorf("%s is no date: write year, month and day, as in 2026-02-03", devices.Quote([]byte(s)))
	}
	return DayOf(t), nil
}

// Start is the moment the day begins in a zone.
func (d Day) Start(in *time.Location) time.Time {
	return time.Date(d.year, d.month, d.day, 0, 0, 0, 0, in)
}

// Next is the day after.
func (d Day) Next() Day { return DayOf(d.Start(time.UTC).AddDate(0, 0, 1)) }

// IsZero tells whether it is no date.
func (d Day) IsZero() bool { return d == Day{} }

// Equal tells whether both are the same date.
func (d Day) Equal(o Day) bool { return d == o }

// Before tells whether it is earlier than another.
func (d Day) Before(o Day) bool { return d.Start(time.UTC).Before(o.Start(time.UTC)) }

// String is the date as in 2026-02-03; "" for none.
func (d Day) String() string {
	if d.IsZero() {
		return ""
	}
	return d.Start(time.UTC).Format(dayForm)
}

// MarshalText writes the date as String does.
func (d Day) MarshalText() ([]byte, error) { return []byte(d.String()), nil }

// UnmarshalText reads what MarshalText writes.
func (d *Day) UnmarshalText(b []byte) error {
	if len(b) == 0 {
		*d = Day{}
		return nil
	}
	got, err := ParseDay(string(b))
	if err == nil {
		*d = got
	}
	return err
}

// A Role is what a person may do.
type Role string

// The roles.
const (
	Fitter       Role = "fitter"
	SecondPerson Role = "second person"
	Lead         Role = "lead"
	GaugeKeeper  Role = "gauge keeper"
)

// Proof is by what a person was known.
type Proof string

// The proofs. Initials alone are anybody's to write, and the record says so.
const (
	ByPIN      Proof = "PIN"
	ByInitials Proof = "initials only"
)

// A Signature is who answers for something, and by what he was known.
type Signature struct {
	Initials string `json:"initials"`
	By       Proof  `json:"by"`
}

// String is the signature in words: AB by PIN; "" for none.
func (s Signature) String() string {
	if s == (Signature{}) {
		return ""
	}
	return s.Initials + " by " + string(s.By)
}

// Joined is a person who works here, or whose name or roles changed. The PIN
// stays what it was, but for one who had left.
type Joined struct {
	Name  string    `json:"name"`
	Roles []Role    `json:"roles"`
	By    Signature `json:"by,omitzero"`
}

// PINSet gives a person a PIN, or takes it away where Hash is empty.
type PINSet struct {
	Hash string    `json:"hash"` // bcrypt, with its cost and salt
	By   Signature `json:"by,omitzero"`
}

// Left is a person who works here no more.
type Left struct {
	By Signature `json:"by,omitzero"`
}

// A Certificate is the paper of a piece or a gauge.
type Certificate struct {
	Number string `json:"number,omitempty"`
	Dated  Day    `json:"dated,omitzero"`
	Due    Day    `json:"due,omitzero"`     // the last day it holds
	Digest string `json:"digest,omitempty"` // SHA-256 of its file
}

// Certified is a piece's certified size, and its role among the standards.
type Certified struct {
	Standard    string          `json:"standard,omitempty"`
	Size        quantity.Value  `json:"size"`
	Uncertainty *quantity.Value `json:"uncertainty,omitempty"` // expanded
	K           *quantity.Value `json:"k,omitempty"`           // its coverage factor
	Certificate Certificate     `json:"certificate,omitzero"`
	FromFile    bool            `json:"from file,omitempty"` // as the bench file had it when it was first seen
	By          Signature       `json:"by,omitzero"`
}

// GaugeCertified is what a gauge is, and how far it may err.
type GaugeCertified struct {
	GaugeKind   string          `json:"gauge kind"`
	Limit       *quantity.Value `json:"limit of error,omitempty"`
	Certificate Certificate     `json:"certificate,omitzero"`
	FromFile    bool            `json:"from file,omitempty"`
	By          Signature       `json:"by,omitzero"`
}

// Withdrawn takes a piece or a gauge out of use, or the approvals of a sheet
// back.
type Withdrawn struct {
	Reason string    `json:"reason"`
	By     Signature `json:"by,omitzero"`
}

// Checked is one reading of a gauge on a certified piece, with the piece's size
// of that day.
type Checked struct {
	Piece   string         `json:"piece"`
	Size    quantity.Value `json:"size"`
	Reading quantity.Value `json:"reading"`
	Raw     []byte         `json:"raw,omitempty"`
	Arrived time.Time      `json:"arrived"`
	Source  devices.Source `json:"source"`
	By      Signature      `json:"by,omitzero"`
}

// ZeroChecked is what a gauge showed at its zero.
type ZeroChecked struct {
	Reading quantity.Value `json:"reading"`
	Raw     []byte         `json:"raw,omitempty"`
	Arrived time.Time      `json:"arrived"`
	Source  devices.Source `json:"source"`
	By      Signature      `json:"by,omitzero"`
}

// A Heap is leaves of one size in a tray.
type Heap struct {
	Size     quantity.Value  `json:"size"`               // as it is called
	Measured *quantity.Value `json:"measured,omitempty"` // thickness of a leaf, where somebody measured it
	Count    int             `json:"count"`
}

// Counted is how many leaves a tray holds of the sizes listed. All says that it
// holds no others.
type Counted struct {
	Leaves   []Heap    `json:"leaves"`
	All      bool      `json:"all,omitempty"`
	FromFile bool      `json:"from file,omitempty"`
	By       Signature `json:"by,omitzero"`
}

// Received is leaves put into a tray by stores.
type Received struct {
	Leaves []Heap    `json:"leaves"`
	By     Signature `json:"by,omitzero"`
}

// TakenOut is leaves that a fitted pack took out of a tray.
type TakenOut struct {
	Job    string `json:"job"`
	Step   string `json:"step"`
	Leaves []Heap `json:"leaves"`
}

// PutBack is leaves of a pack that was stripped, in their tray again.
type PutBack struct {
	Job    string `json:"job"`
	Step   string `json:"step"`
	Leaves []Heap `json:"leaves"`
}

// LowLimit is the count of a size below which more are to be ordered; nought
// asks for none.
type LowLimit struct {
	Size  quantity.Value `json:"size"`
	Count int            `json:"count"`
	By    Signature      `json:"by,omitzero"`
}

// Approved is a lead's yes to one text of a sheet.
type Approved struct {
	Issue  int       `json:"issue"`
	Digest string    `json:"digest"` // SHA-256 of the text
	Day    Day       `json:"day"`
	By     Signature `json:"by"`
}
