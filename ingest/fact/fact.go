// Package fact holds what can happen to a job, a gauge, a certified piece, the
// stock, a sheet or a person, as facts: their forms and how they are written to
// the journal's bytes and read back.
//
// A fact says what happened and nothing that follows from it: the open step,
// what is stale and every figure are worked anew from the facts. Figures are
// strings as they were sent or typed. Each kind has a version; a later program
// reads all earlier ones for ever, and a version from the future is refused in
// words.
package fact

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"time"

	"shimwright/calc/document"
	"shimwright/calc/quantity"
	"shimwright/devices"
	"shimwright/ingest/journal"
)

// A Fact is one thing that happened to one subject.
type Fact interface {
	// Kind is the fact's name in the journal.
	Kind() string
}

// Version is the version of the form of every kind that Newest does not name.
const Version = 1

// Newest is the newest version of a kind's form.
func Newest(kind string) int {
	switch kind {
	case "opened", "took", "pressed": // 2: training said at the opening; who let a press count; the cause
		return 2
	case "drew", "gauge known": // 2: the certificate; of a gauge the form of its bytes too
		return 2
	case "judged": // 2: what a re-shim moved; 3: of a pack its leaves, its total and how sure its figure is
		return 3
	}
	return Version
}

// Opened begins a job and freezes the sheet's text and the decision rule.
type Opened struct {
	Drive  string `json:"drive"`
	Serial string `json:"serial"`
	Sheet  string `json:"sheet"`
	Issue  int    `json:"issue"`
	Digest string `json:"digest"` // SHA-256 of the text
	Text   string `json:"text"`
	Rule   string `json:"rule"` // how uncertainty counts in a verdict: guarded or simple
	// Training says that the job was opened to learn by, or by a sheet that nobody
	// approved: it cannot be released.
	Training bool `json:"training,omitempty"`
}

// Leaf is shims of one size.
type Leaf struct {
	Size  quantity.Value `json:"size"`
	Count int            `json:"count"`
}

// Offered is the stock that the bench offered the job, by tray.
type Offered struct {
	Trays map[string][]Leaf `json:"trays"`
}

// Drew puts a certified piece in a standard's role, with its size of that day.
type Drew struct {
	Standard string         `json:"standard"`
	Piece    string         `json:"piece"`
	Size     quantity.Value `json:"size"`
	// Of its certificate: the expanded uncertainty and its coverage factor.
	Uncertainty *quantity.Value `json:"uncertainty,omitempty"`
	K           *quantity.Value `json:"k,omitempty"`
	Certificate Certificate     `json:"certificate,omitzero"`
}

// Outcome is what a press came to.
type Outcome string

// The outcomes: a press that counts, one that needs a decision, one kept but
// not usable.
const (
	Taken Outcome = "taken"
	Held  Outcome = "held"
	Aside Outcome = "aside"
)

// Pressed is one reading sent, or one frame that was no reading.
type Pressed struct {
	Step       string          `json:"step"` // the open step; "" where none was
	Spot       string          `json:"spot,omitempty"`
	Gauge      string          `json:"gauge"`
	GaugeKind  string          `json:"gauge kind"`
	CountsIn   bool            `json:"counts in,omitempty"`
	Limit      *quantity.Value `json:"limit of error,omitempty"`
	Value      *quantity.Value `json:"value,omitempty"` // as sent; absent where there was no number
	UnitStated bool            `json:"unit stated,omitempty"`
	Battery    bool            `json:"battery low,omitempty"`
	Raw        []byte          `json:"raw,omitempty"`
	Arrived    time.Time       `json:"arrived"`
	Source     devices.Source  `json:"source"`
	Pieces     []string        `json:"pieces,omitempty"`
	Outcome    Outcome         `json:"outcome"`
	Cause      Cause           `json:"cause,omitempty"` // why it does not count; before version 2 see Why
	Sentence   string          `json:"sentence"`
	Do         string          `json:"do,omitempty"`
	Reason     string          `json:"reason,omitempty"` // why it was keyed
}

// Virtual tells whether the press came from a virtual gauge.
func (p Pressed) Virtual() bool { return p.Source == devices.SourceVirtual }

// Keyed tells whether the figure was typed by a person.
func (p Pressed) Keyed() bool { return p.Source == devices.SourceKeyed }

// Bytes is what the gauge sent, quoted for a person, control bytes escaped.
func (p Pressed) Bytes() string { return devices.Quote(p.Raw) }

// HeldBack takes back a press that was taken a moment before, because a second
// one followed too soon to tell which is right.
type HeldBack struct {
	Press    int64  `json:"press"` // its sequence number
	Sentence string `json:"sentence"`
}

// Took lets a held press count after all.
type Took struct {
	Press  int64     `json:"press"`
	Reason string    `json:"reason"`
	By     Signature `json:"by,omitzero"`
	// Pieces are those that stood there, where the press came before they were
	// said.
	Pieces []string `json:"pieces,omitempty"`
}

// Struck leaves a taken or held press out.
type Struck struct {
	Press  int64  `json:"press"`
	Reason string `json:"reason"`
}

// PacksIn answers whether packs were in while a step is measured.
type PacksIn struct {
	Step string          `json:"step"`
	In   map[string]bool `json:"in"`
}

// Marked is a mark read off a part: its digits or figure, or that there is none.
type Marked struct {
	Step     string          `json:"step"`
	Digits   *quantity.Value `json:"digits,omitempty"`
	Figure   *quantity.Value `json:"figure,omitempty"`
	Absent   bool            `json:"absent,omitempty"`
	Sentence string          `json:"sentence"` // as read back and confirmed
}

// Answered is a record's answer.
type Answered struct {
	Step   string `json:"step"`
	Answer string `json:"answer"`
}

// Confirmed is a confirmation.
type Confirmed struct {
	Step string `json:"step"`
}

// Fitted is a pack put in: metal changed.
type Fitted struct {
	Step     string           `json:"step"`
	Leaves   []quantity.Value `json:"leaves,omitempty"`
	Measured []quantity.Value `json:"measured,omitempty"`
}

// Changed is other metal changed: a part replaced, a bearing reseated.
type Changed struct {
	Step    string   `json:"step"`
	Lengths []string `json:"lengths"`
	Reason  string   `json:"reason"`
}

// Seen is the contact marking, by flank.
type Seen struct {
	Step  string            `json:"step"`
	Marks map[string]string `json:"marks"`
}

// MoveWanted is a gear to be moved on purpose; a longer distance is above
// nought.
type MoveWanted struct {
	Step string         `json:"step"`
	Gear string         `json:"gear"`
	By   quantity.Value `json:"by"`
}

// Again begins a step anew; what was put in there no longer counts.
type Again struct {
	Step   string `json:"step"`
	Reason string `json:"reason"`
}

// Judged is the figures of a check or a fitted pack as they were judged.
type Judged struct {
	Step        string   `json:"step"`
	What        string   `json:"what"`
	Verdict     string   `json:"verdict"`
	Words       string   `json:"words"`
	Advice      string   `json:"advice,omitempty"` // what to do, as it was said
	Value       string   `json:"value,omitempty"`  // mm, N·m; exact; of a pack its total less the worked size
	Low         string   `json:"low,omitempty"`
	High        string   `json:"high,omitempty"`
	Uncertainty string   `json:"uncertainty,omitempty"` // expanded; of a pack, of its worked size
	Mean        string   `json:"mean,omitempty"`
	Spread      string   `json:"spread,omitempty"`
	Points      []string `json:"points,omitempty"`
	// Of a ring after a re-shim: how far the packs as measured moved the wheel, and
	// what that changed of the mean; mm, exact.
	Moved   string `json:"moved,omitempty"`
	Changed string `json:"changed,omitempty"`
	// Of a pack: its leaves as they were said, and the pack as it counts, as
	// measured or by its leaves; mm, exact.
	Leaves   []string `json:"leaves,omitempty"`
	Total    string   `json:"total,omitempty"`
	Build    int      `json:"build"`
	Training bool     `json:"training"`
	Digest   string   `json:"digest"`  // of the sheet
	Program  string   `json:"program"` // version
}

// Bound says which port carries a gauge, as a press on it taught, or one on the
// gauge that it changed cables with. Either the
// USB serial number of the cable or the path of the socket is set.
type Bound struct {
	USBSerial string         `json:"usb serial,omitempty"`
	Path      string         `json:"path,omitempty"`
	Channel   string         `json:"channel,omitempty"` // where the port carries several gauges
	Raw       []byte         `json:"raw,omitempty"`     // the press that taught it; none where another gauge's did, on a swap
	Arrived   time.Time      `json:"arrived"`
	Source    devices.Source `json:"source"`
}

// Looked is how a gauge's output looked when it was taught, or when a person
// said that it is the same gauge all the same. A gauge may have several looks,
// since it may have several units.
type Looked struct {
	Unit   string `json:"unit"`
	Stated bool   `json:"unit stated,omitempty"`
	Places int32  `json:"places"` // decimals
	// The least and the most that were seen; absent where they say nothing of
	// the gauge's range.
	Low    *quantity.Value `json:"low,omitempty"`
	High   *quantity.Value `json:"high,omitempty"`
	Press  int64           `json:"press,omitempty"`  // the press that a person let count
	Reason string          `json:"reason,omitempty"` // why
}

// Kind names, as written in the journal.
func (Opened) Kind() string     { return "opened" }
func (Offered) Kind() string    { return "offered" }
func (Drew) Kind() string       { return "drew" }
func (Pressed) Kind() string    { return "pressed" }
func (HeldBack) Kind() string   { return "held back" }
func (Took) Kind() string       { return "took" }
func (Struck) Kind() string     { return "struck" }
func (PacksIn) Kind() string    { return "packs in" }
func (Marked) Kind() string     { return "marked" }
func (Answered) Kind() string   { return "answered" }
func (Confirmed) Kind() string  { return "confirmed" }
func (Fitted) Kind() string     { return "fitted" }
func (Changed) Kind() string    { return "changed" }
func (Seen) Kind() string       { return "seen" }
func (MoveWanted) Kind() string { return "move wanted" }
func (Again) Kind() string      { return "again" }
func (Judged) Kind() string     { return "judged" }
func (Bound) Kind() string      { return "bound" }
func (Looked) Kind() string     { return "looked" }

// Kind names of what happens beside jobs: see register.go.
func (Joined) Kind() string         { return "joined" }
func (PINSet) Kind() string         { return "PIN set" }
func (Left) Kind() string           { return "left" }
func (Certified) Kind() string      { return "certified" }
func (GaugeCertified) Kind() string { return "gauge certified" }
func (Withdrawn) Kind() string      { return "withdrawn" }
func (Checked) Kind() string        { return "checked" }
func (ZeroChecked) Kind() string    { return "zero checked" }
func (Counted) Kind() string        { return "counted" }
func (Received) Kind() string       { return "received" }
func (TakenOut) Kind() string       { return "taken out" }
func (PutBack) Kind() string        { return "put back" }
func (LowLimit) Kind() string       { return "low limit" }
func (Approved) Kind() string       { return "approved" }

// Kind names of what is decided about a job: see jobfacts.go.
func (AtWork) Kind() string     { return "at work" }
func (Chosen) Kind() string     { return "chosen" }
func (OnHold) Kind() string     { return "on hold" }
func (Lifted) Kind() string     { return "lifted" }
func (Conceded) Kind() string   { return "conceded" }
func (LookedOver) Kind() string { return "looked over" }
func (Signed) Kind() string     { return "signed" }
func (Finished) Kind() string   { return "finished" }
func (Abandoned) Kind() string  { return "abandoned" }

// Kind names of what surrounds presses: see circumstances.go.
func (Zeroed) Kind() string       { return "zeroed" }
func (Knocked) Kind() string      { return "knocked" }
func (NeedSaid) Kind() string     { return "need said" }
func (LetCount) Kind() string     { return "let count" }
func (PiecesKnown) Kind() string  { return "pieces known" }
func (GaugeKnown) Kind() string   { return "gauge known" }
func (Warmth) Kind() string       { return "warmth" }
func (Earlier) Kind() string      { return "earlier" }
func (SealPulled) Kind() string   { return "seal pulled" }
func (SettingAsked) Kind() string { return "setting asked" }
func (ClockSet) Kind() string     { return "clock set" }

// ErrNewer is a fact of a kind or version that a newer program wrote.
var ErrNewer = errors.New("a newer program wrote it: use that program or a newer one")

// Encode writes a fact for the journal.
func Encode(subject string, f Fact) (journal.Record, error) {
	b, err := json.Marshal(f)
	if err != nil {
		return journal.Record{}, fmt.Errorf("fact %q cannot be written: %w", f.Kind(), err)
	}
	return journal.Record{Subject: subject, Kind: f.Kind(), Version: Newest(f.Kind()), Payload: b}, nil
}

// Decode reads a stored fact back. An unknown key in it is refused, because a
// fact that is half understood would give wrong figures.
func Decode(s journal.Stored) (Fact, error) {
	if s.Version > Newest(s.Kind) {
		return nil, fmt.Errorf("fact %d, %q version %d: %w", s.Seq, s.Kind, s.Version, ErrNewer)
	}
	read := readerOf(s.Kind)
	if read == nil {
		return nil, fmt.Errorf("fact %d is of kind %q: %w", s.Seq, s.Kind, ErrNewer)
	}
	f, err := read(s.Payload)
	if err != nil {
		return nil, fmt.Errorf("fact %d, %q, cannot be read: %w", s.Seq, s.Kind, err)
	}
	return f, nil
}

// A reader reads a fact of one kind.
type reader struct {
	kind string
	read func([]byte) (Fact, error)
}

// readers goes through all kinds. The list is an array, which the compiler lays
// down once: a map would be built anew for every fact that is read.
func readers(yield func(reader) bool) {
	for _, r := range [...]reader{
		{"opened", read[Opened]}, {"offered", read[Offered]}, {"drew", read[Drew]}, {"pressed", read[Pressed]},
		{"held back", read[HeldBack]}, {"took", read[Took]}, {"struck", read[Struck]}, {"packs in", read[PacksIn]},
		{"marked", read[Marked]}, {"answered", read[Answered]}, {"confirmed", read[Confirmed]}, {"fitted", read[Fitted]},
		{"changed", read[Changed]}, {"seen", read[Seen]}, {"move wanted", read[MoveWanted]}, {"again", read[Again]},
		{"judged", read[Judged]}, {"bound", read[Bound]}, {"looked", read[Looked]},
		{"joined", read[Joined]}, {"PIN set", read[PINSet]}, {"left", read[Left]},
		{"certified", read[Certified]}, {"gauge certified", read[GaugeCertified]}, {"withdrawn", read[Withdrawn]},
		{"checked", read[Checked]}, {"zero checked", read[ZeroChecked]},
		{"counted", read[Counted]}, {"received", read[Received]}, {"taken out", read[TakenOut]}, {"put back", read[PutBack]},
		{"low limit", read[LowLimit]}, {"approved", read[Approved]},
		{"at work", read[AtWork]}, {"chosen", read[Chosen]}, {"on hold", read[OnHold]}, {"lifted", read[Lifted]},
		{"conceded", read[Conceded]}, {"looked over", read[LookedOver]}, {"signed", read[Signed]},
		{"finished", read[Finished]}, {"abandoned", read[Abandoned]},
		{"zeroed", read[Zeroed]}, {"knocked", read[Knocked]}, {"need said", read[NeedSaid]}, {"let count", read[LetCount]},
		{"pieces known", read[PiecesKnown]}, {"gauge known", read[GaugeKnown]}, {"warmth", read[Warmth]}, {"earlier", read[Earlier]},
		{"seal pulled", read[SealPulled]}, {"setting asked", read[SettingAsked]}, {"clock set", read[ClockSet]},
	} {
		if !yield(r) {
			return
		}
	}
}

// readerOf is the reader of a kind; nil where there is none.
func readerOf(kind string) func([]byte) (Fact, error) {
	for r := range readers {
		if r.kind == kind {
			return r.read
		}
	}
	return nil
}

func read[F Fact](payload []byte) (Fact, error) {
	var f *F // stays nil where null is stored
	d := json.NewDecoder(bytes.NewReader(payload))
	d.DisallowUnknownFields()
	if err := d.Decode(&f); err != nil {
		return nil, document.JSONError(err)
	}
	if f == nil {
		return nil, errors.New("it holds null and no fact")
	}
	if _, err := d.Token(); !errors.Is(err, io.EOF) {
		return nil, errors.New("something stands behind the fact")
	}
	return *f, nil
}
