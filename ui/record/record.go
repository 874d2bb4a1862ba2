// Package record makes the build record of one job: what was found, pressed,
// worked out, fitted, judged and signed, so that anyone can check every figure
// with a pencil.
//
// A Record is made from the facts of its job, and nothing else: no clock, no
// register, no file. So the same job gives the same bytes, in each of its forms:
// plain text, JSON (which carries the sheet and the facts, and can be verified
// alone) and PDF; beside them a label for the bench. Times are those of the facts,
// in UTC.
//
// What cannot be shown as it is written is shown as what it is: characters that do
// not print or that turn the direction of writing stand as <U+202E>, and what the
// PDF's fonts lack stands as □ and is listed.
package record

import (
	"errors"
	"time"

	"shimwright/calc/overhaul"
	"shimwright/ingest/carried"
)

// ErrNoFacts is a job without facts.
var ErrNoFacts = errors.New("the job has no facts, so there is nothing to record")

// A Record is what the build record says, ready to print.
type Record struct {
	Job      string   `json:"job"`
	Bench    string   `json:"bench"`
	Drive    string   `json:"drive"`
	Serial   string   `json:"serial"`
	Sheet    string   `json:"sheet"`
	Issue    int      `json:"issue"`
	Digest   string   `json:"sheet_sha256"`
	Manual   string   `json:"manual"`
	Rule     string   `json:"rule"`
	Opened   string   `json:"opened"`
	LastFact string   `json:"last_fact"`
	State    string   `json:"state"`
	Build    int      `json:"build"`
	Training string   `json:"training,omitempty"` // why it is training; "" where it is not
	Programs []string `json:"programs,omitempty"` // versions that judged
	Warmth   string   `json:"temperatures,omitempty"`

	Parts      []Part     `json:"parts"`
	Gauges     []Gauge    `json:"gauges"`
	Pieces     []Piece    `json:"pieces"`
	Found      []Figure   `json:"as_found"`
	Stages     []Stage    `json:"stages"`
	Packs      []Pack     `json:"packs"`
	Rings      []Ring     `json:"rings"`
	Markings   []Marking  `json:"markings"`
	Verdicts   []Verdict  `json:"verdicts"`
	Standing   []Figure   `json:"standing"`
	Aside      []Press    `json:"superseded"`
	Judged     []Judged   `json:"judged"` // as it was judged on the way, in order
	Decisions  []Decision `json:"decisions"`
	Signatures []Signed   `json:"signatures"`
	Open       []string   `json:"open"` // what still wants something
	Cautions   []string   `json:"cautions"`
	Workings   []string   `json:"workings"` // every worked figure as a printed sum

	Seq  int64  `json:"last_seq"`
	Hash string `json:"last_hash"`
	QR   string `json:"qr"`

	sums []string // the same figures as Workings, each once and without a word more: for paper
}

// A Part is what was written down of a part or confirmed.
type Part struct {
	Step  string `json:"step"`
	Kind  string `json:"kind"` // record, mark or confirm
	Words string `json:"words"`
	Seq   int64  `json:"seq,omitempty"`
	At    string `json:"at,omitempty"`
	By    string `json:"by,omitempty"`
}

// A Gauge is one that sent presses.
type Gauge struct {
	ID      string `json:"gauge"`
	Kind    string `json:"kind"`
	Limit   string `json:"limit_of_error,omitempty"`
	Table   string `json:"corrections,omitempty"` // its correction table, point by point
	Paper   string `json:"certificate,omitempty"` // its number, as at its last press; "" where none is on record
	Due     string `json:"due,omitempty"`         // the last day it holds
	Source  string `json:"source"`
	Presses int    `json:"presses"`
}

// A Piece is a certified piece drawn, with its size of that day.
type Piece struct {
	ID          string `json:"piece"`
	Standard    string `json:"standard"`
	Size        string `json:"size"`
	Uncertainty string `json:"uncertainty,omitempty"`
	K           string `json:"k,omitempty"`
	Paper       string `json:"certificate,omitempty"` // its number, as at its drawing; "" where none is on record
	Due         string `json:"due,omitempty"`         // the last day it holds
	Drawn       string `json:"drawn"`
}

// A Figure is a figure with words.
type Figure struct {
	Step  string `json:"step"`
	Value string `json:"value,omitempty"`
	Words string `json:"words,omitempty"`
}

// A Stage is a stage with what was pressed in it that counts.
type Stage struct {
	Name     string   `json:"stage"`
	Cautions []string `json:"cautions,omitempty"`
	Presses  []Press  `json:"presses,omitempty"`
}

// A Press is one reading. Raw is what the gauge sent, quoted.
type Press struct {
	Seq     int64  `json:"seq"`
	Step    string `json:"step"`
	Spot    string `json:"spot,omitempty"`
	Value   string `json:"value"`
	Gauge   string `json:"gauge"`
	Source  string `json:"source"`
	Pieces  string `json:"pieces,omitempty"`
	At      string `json:"at"`
	By      string `json:"by,omitempty"` // initials of who worked at the job
	Build   int    `json:"build"`
	Raw     string `json:"raw,omitempty"`
	Outcome string `json:"outcome"`
	Reason  string `json:"reason,omitempty"` // why it does not count, or why it was let count
	Look    string `json:"second_look,omitempty"`
	Doubt   string `json:"doubt,omitempty"`
}

// A Pack is a pack with its leaves.
type Pack struct {
	Step     string   `json:"step"`
	Place    string   `json:"place"`
	Before   bool     `json:"build_before,omitempty"` // an old or trial pack, that is not in the drive now
	Wanted   string   `json:"wanted,omitempty"`
	Leaves   []string `json:"leaves,omitempty"`
	Offered  string   `json:"offered,omitempty"` // the make-up the tray gave first, where the leaves were not said
	Measured []string `json:"measured,omitempty"`
	Total    string   `json:"total,omitempty"`
	Error    string   `json:"error,omitempty"`
	Words    string   `json:"words,omitempty"`
	OneMore  string   `json:"one_more,omitempty"`
	Build    int      `json:"build,omitempty"` // that fitting it made
}

// A Ring is the points round a gear, in the sheet's unit.
type Ring struct {
	Step    string      `json:"step"`
	Unit    string      `json:"unit"`
	Points  []RingPoint `json:"points"`
	Low     string      `json:"low,omitempty"`
	High    string      `json:"high,omitempty"`
	Mean    string      `json:"mean"`
	Spread  string      `json:"spread"`
	Words   string      `json:"words"`
	FitLow  string      `json:"fit_lowest,omitempty"`
	drawing drawing
}

// A RingPoint is one point of a ring.
type RingPoint struct {
	Spot    string `json:"spot"`
	Value   string `json:"value"`
	Verdict string `json:"verdict,omitempty"`
	Stale   bool   `json:"stale,omitempty"`
}

// drawing is what a ring is drawn from, in degrees and mm.
type drawing struct {
	angles, values []float64
	curve          []float64 // the fitted curve, degree by degree; none where there is no fit
	low, high      float64
	banded         bool
	lowestAt       float64
	lowestKnown    bool
}

// A Marking is what was seen on one flank.
type Marking struct {
	Step  string `json:"step"`
	Flank string `json:"flank"`
	Seen  string `json:"seen"`
}

// A Verdict is how a check or a fitted pack came out.
type Verdict struct {
	Step        string `json:"step"`
	What        string `json:"what"`
	Value       string `json:"value,omitempty"`
	Limits      string `json:"limits,omitempty"`
	Uncertainty string `json:"uncertainty,omitempty"`
	Verdict     string `json:"verdict"`
	Words       string `json:"words,omitempty"`
	Concession  string `json:"concession,omitempty"`
}

// A Judged is a verdict as it was stored when it was reached.
type Judged struct {
	Seq     int64  `json:"seq"`
	Step    string `json:"step"`
	Verdict string `json:"verdict"`
	Words   string `json:"words"`
	Advice  string `json:"advice,omitempty"`
	At      string `json:"at"`
	Build   int    `json:"build"`
	Program string `json:"program,omitempty"`
}

// A Decision is a concession, a hold, a step begun again, metal changed, a gear
// to be moved.
type Decision struct {
	Seq   int64  `json:"seq"`
	What  string `json:"what"`
	Step  string `json:"step,omitempty"`
	Words string `json:"words"`
	At    string `json:"at"`
	By    string `json:"by,omitempty"`
}

// A Signed is one signature with what it means.
type Signed struct {
	Seq     int64  `json:"seq"`
	As      string `json:"as"`
	By      string `json:"by"`
	At      string `json:"at"`
	Meaning string `json:"meaning"`
	Under   string `json:"under"`          // the hash of all before it
	Void    bool   `json:"void,omitempty"` // the job changed after it
}

// From makes the record of a job from its facts.
func From(c carried.Job) (*Record, error) {
	if len(c.Facts) == 0 {
		return nil, ErrNoFacts
	}
	w, err := walk(c)
	if err != nil {
		return nil, err
	}
	res, err := w.job.Work()
	if err != nil {
		return nil, err
	}
	return w.record(res)
}

// day is a time as it is printed.
func day(t time.Time) string { return t.UTC().Format("2006-01-02 15:04:05") }

// record puts together what the facts and the results say.
func (w *walked) record(res *overhaul.Results) (*Record, error) {
	r := &Record{Parts: []Part{}, Gauges: []Gauge{}, Pieces: []Piece{}, Found: []Figure{}, Packs: []Pack{}, Rings: []Ring{},
		Markings: []Marking{}, Verdicts: []Verdict{}, Standing: []Figure{}, Aside: []Press{}, Judged: []Judged{}, Decisions: []Decision{}, Signatures: []Signed{}}
	w.head(r, res)
	w.parts(r, res)
	w.tools(r)
	w.presses(r, res)
	for _, x := range res.Steps {
		w.step(r, x)
	}
	w.standings(r, res)
	r.Judged = append(r.Judged, w.judged...)
	r.Decisions, r.Signatures = append(r.Decisions, w.decisions...), append(r.Signatures, w.signatures...)
	w.open(r, res)
	var err error
	if r.Workings, err = workings(res); err != nil {
		return r, err
	}
	r.sums, err = sums(res)
	return r, err
}
