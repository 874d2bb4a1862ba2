package exchange

import (
	"fmt"
	"strings"
	"time"

	"github.com/shopspring/decimal"

	"shimwright/calc/quantity"
	"shimwright/devices"
)

// A Kind is what the rows of a table are.
type Kind string

// The kinds. A step, a pack or a ring is a row for each time it was judged.
const (
	Jobs    Kind = "jobs"
	Steps   Kind = "steps"
	Presses Kind = "presses"
	Packs   Kind = "packs"
	Rings   Kind = "rings"
)

// Kinds are all of them, in the order of a spreadsheet's sheets.
func Kinds() []Kind { return []Kind{Jobs, Steps, Presses, Packs, Rings} }

// ReadKind reads a kind's name.
func ReadKind(s string) (Kind, error) {
	var names []string
	for _, k := range Kinds() {
		if string(k) == s {
			return k, nil
		}
		names = append(names, string(k))
	}
	return "", fmt.Errorf("%s is nothing that can be exported: write one of %s", devices.Quote([]byte(s)), strings.Join(names, ", "))
}

// Columns are the names of a kind's columns. Lengths are in mm, torques in N·m,
// times in UTC. Of a pack, what it is off by is its total less the worked size, the
// uncertainty is that of the worked size, and the leaves have their own units.
// Certificates are those that the job knew at the press.
func (k Kind) Columns() []string {
	switch k {
	case Jobs:
		return []string{"bench", "job", "drive", "serial", "sheet", "issue", "sheet digest", "opened", "state", "ended", "training"}
	case Presses:
		return []string{"bench", "job", "serial", "press", "arrived", "step", "spot", "gauge", "gauge kind", "value", "unit",
			"limit of error", "counts as", "sentence", "reason", "source", "pieces", "bytes", "training", "gauge certificate", "gauge due", "piece certificates", "cause"}
	case Packs:
		return []string{"bench", "job", "serial", "sheet", "judgement", "judged", "pack", "verdict", "words", "off by", "low", "high",
			"uncertainty", "unit", "build", "training", "program", "leaves", "total"}
	case Rings:
		return []string{"bench", "job", "serial", "sheet", "judgement", "judged", "step", "ring of", "verdict", "words", "advice", "spot", "figure",
			"low", "high", "uncertainty", "mean", "spread", "unit", "build", "training", "program"}
	}
	return []string{"bench", "job", "serial", "sheet", "judgement", "judged", "step", "check", "verdict", "words", "advice", "value", "low", "high",
		"uncertainty", "mean", "spread", "unit", "build", "training", "program"}
}

// A form is what a cell holds.
type form uint8

const (
	words form = iota
	figure
	moment
)

// A Cell is one cell of a row.
type Cell struct {
	form form
	text string // words as they are, a figure's digits
	at   time.Time
}

// Words is a cell of text.
func Words(s string) Cell { return Cell{form: words, text: s} }

// Moment is a cell of a time; none for the zero time.
func Moment(t time.Time) Cell { return Cell{form: moment, at: t} }

// Whole is a cell of a whole number.
func Whole(n int64) Cell { return Cell{form: figure, text: decimal.NewFromInt(n).String()} }

// Figure is a cell of a figure: a decimal, or a decimal over a whole number as
// exact results are written, which is rounded half to even at nine places. What
// is neither becomes text.
func Figure(s string) Cell {
	top, under, quotient := strings.Cut(s, "/")
	if !isDecimal(top) || quotient && (!isDecimal(under) || strings.ContainsAny(under, ".-")) {
		return Words(s)
	}
	if quotient {
		return quotientCell(s, top, under)
	}
	return Cell{form: figure, text: s}
}

func quotientCell(s, top, under string) Cell {
	a, errA := decimal.NewFromString(top)
	b, errB := decimal.NewFromString(under)
	if errA != nil || errB != nil || !b.BigInt().IsInt64() {
		return Words(s)
	}
	share, err := quantity.RatioOf(1, b.IntPart())
	if err != nil {
		return Words(s)
	}
	return Cell{form: figure, text: quantity.FromDecimal(a).Times(share).Round(quantity.WorkPlaces).String()}
}

// mostDigits is the longest decimal taken for one, in characters.
const mostDigits = 40

func isDecimal(s string) bool {
	s = strings.TrimPrefix(s, "-")
	if s == "" || len(s) > mostDigits || s[0] == '.' || s[len(s)-1] == '.' {
		return false
	}
	points := 0
	for i := range len(s) {
		switch {
		case s[i] == '.':
			points++
		case s[i] < '0' || s[i] > '9':
			return false
		}
	}
	return points <= 1
}

func yesNo(b bool) Cell {
	if b {
		return Words("yes")
	}
	return Words("no")
}

// timeForm is a time in CSV: to the millisecond, in UTC.
const timeForm = "2006-01-02 15:04:05.000"

// CSV is the cell as CSV has it.
func (c Cell) CSV() string {
	switch c.form {
	case figure:
		return c.text
	case moment:
		if c.at.IsZero() {
			return ""
		}
		return c.at.UTC().Format(timeForm)
	}
	return Neutral(c.text)
}
