package job

import (
	"fmt"
	"maps"
	"math/big"
	"slices"
	"strings"
	"time"

	"github.com/shopspring/decimal"

	"shimwright/calc/overhaul"
	"shimwright/calc/quantity"
	"shimwright/calc/remedy"
	"shimwright/calc/sheet"
	"shimwright/ingest/fact"
)

// A Zeroed is a zero check with the number of its fact.
type Zeroed struct {
	Seq int64
	fact.Zeroed
}

// circumstances are what surrounds a job's presses.
type circumstances struct {
	zeros   []Zeroed
	said    []fact.NeedSaid // since metal was last changed
	let     map[string]bool // gauges and pieces that count in spite of their certificates
	known   map[string]sheet.Piece
	gauges  map[string]fact.GaugeKnown
	tables  map[string]*sheet.Corrections
	warmth  *sheet.Temperatures
	earlier map[string][]remedy.Earlier
}

func (c circumstances) clone() circumstances {
	c.zeros, c.said = slices.Clip(c.zeros), slices.Clip(c.said)
	c.let, c.known, c.gauges = maps.Clone(c.let), maps.Clone(c.known), maps.Clone(c.gauges)
	c.tables, c.earlier = maps.Clone(c.tables), maps.Clone(c.earlier)
	return c
}

// put adds to a map that may be nil.
func put[V any](m map[string]V, key string, v V) map[string]V {
	if m == nil {
		m = map[string]V{}
	}
	m[key] = v
	return m
}

// surround takes in a fact that surrounds the job's presses; false where it is
// another.
func (j *Job) surround(seq int64, f fact.Fact) (bool, error) {
	var err error
	switch f := f.(type) {
	case fact.Zeroed:
		j.zeros = append(j.zeros, Zeroed{seq, f})
		err = j.hasStep(f.Step)
	case fact.NeedSaid:
		j.said = append(j.said, f)
		err = j.hasStep(f.Step)
	case fact.LetCount:
		for _, id := range f.What {
			j.let = put(j.let, id, true)
		}
	case fact.PiecesKnown:
		j.known = nil
		for _, p := range f.Pieces {
			j.known = put(j.known, p.Piece, sheet.Piece{ID: p.Piece, Standard: p.Standard, Size: p.Size, Uncertainty: p.Uncertainty, K: p.K})
		}
	case fact.GaugeKnown:
		err = j.knows(f)
	case fact.Warmth:
		j.warmth, err = sheet.ParseTemperatures(f.Part, f.Standards, f.Gauge)
	case fact.Earlier:
		err = j.learn(f)
	default:
		return false, nil
	}
	return true, err
}

func (j *Job) hasStep(name string) error {
	if _, ok := j.Sheet.Step(name); !ok {
		return fmt.Errorf("%q is no step of sheet %s", name, j.Sheet.ID)
	}
	return nil
}

// knows takes in what is known of a gauge.
func (j *Job) knows(f fact.GaugeKnown) error {
	j.circumstances.gauges = put(j.circumstances.gauges, f.Gauge, f)
	if len(f.Corrections) == 0 {
		return nil
	}
	var points []sheet.Correction
	for _, p := range f.Corrections {
		points = append(points, sheet.Correction{At: p.At, Add: p.Add})
	}
	table, err := sheet.NewCorrections(points, f.Uncertainty, f.K)
	j.tables = put(j.tables, f.Gauge, table)
	return err
}

// learn takes in what earlier jobs found of a move factor.
func (j *Job) learn(f fact.Earlier) error {
	if err := j.hasStep(f.Step); err != nil {
		return err
	}
	var out []remedy.Earlier
	for _, m := range f.Moves {
		var e remedy.Earlier
		var err error
		for _, part := range []struct {
			to *quantity.Exact
			of string
		}{{&e.Move, m.Moved}, {&e.Change, m.Changed}, {&e.U, m.Uncertainty}} {
			if part.of == "" {
				continue
			}
			if *part.to, err = ReadExact(part.of); err != nil {
				return err
			}
		}
		out = append(out, e)
	}
	j.earlier = put(j.earlier, f.Step, out)
	return nil
}

// ReadExact reads an exact figure as judgements write it: 0.21, or 631/3000.
func ReadExact(s string) (quantity.Exact, error) {
	const most = 60 // digits: a judgement has far fewer
	num, den, over := strings.Cut(s, "/")
	d, err := decimal.NewFromString(num)
	if err != nil || len(s) > most || strings.ContainsAny(s, "eE") {
		return quantity.Exact{}, fmt.Errorf("%q is no exact figure", s)
	}
	if !over {
		return quantity.FromDecimal(d), nil
	}
	by, ok := new(big.Int).SetString(den, 10)
	if !ok || !by.IsInt64() || by.Sign() <= 0 {
		return quantity.Exact{}, fmt.Errorf("%q is no exact figure", s)
	}
	share, err := quantity.RatioOf(1, by.Int64())
	return quantity.FromDecimal(d).Times(share), err
}

// Zeroed is the last good zero check of a gauge in the job; false where there
// was none.
func (j *Job) Zeroed(gauge string) (Zeroed, bool) {
	for _, z := range slices.Backward(j.zeros) {
		if z.Gauge == gauge && z.Good {
			return z, true
		}
	}
	return Zeroed{}, false
}

// Zeros are the zero checks of the job, oldest first.
func (j *Job) Zeros() []Zeroed { return slices.Clone(j.zeros) }

// Said is when bearings were last said to be rolled or seated, by the sheet's
// word, at the stage of a step and since metal was last changed. It is never
// nil.
func (j *Job) Said(step string) map[string]time.Time {
	out := map[string]time.Time{}
	stage := j.stageOf(step)
	for _, s := range j.said {
		if j.stageOf(s.Step) == stage {
			out[s.Need] = s.At
		}
	}
	return out
}

// stageOf is the name of the stage that a step belongs to.
func (j *Job) stageOf(step string) string {
	for _, stage := range j.Sheet.Stages {
		for _, st := range stage.Steps {
			if st.Name == step {
				return stage.Name
			}
		}
	}
	return ""
}

// Lets tells whether a gauge or a piece may count in the job whatever its
// certificate says.
func (j *Job) Lets(id string) bool { return j.let[id] }

// GaugeKnown is what the job knows of a gauge; false where nothing was noted.
func (j *Job) GaugeKnown(gauge string) (fact.GaugeKnown, bool) {
	f, ok := j.circumstances.gauges[gauge]
	return f, ok
}

// Doubted are the numbers of the presses that a lost zero put in doubt, that
// count or are held, at steps not begun anew since.
func (j *Job) Doubted() []int64 {
	var out []int64
	for _, z := range j.zeros {
		for _, seq := range z.Doubts {
			p, ok := j.Press(seq)
			if ok && p.Now != fact.Aside && seq > j.Begun(p.Fact.Step) && !slices.Contains(out, seq) {
				out = append(out, seq)
			}
		}
	}
	slices.Sort(out)
	return out
}

// doubts says at each step which of its presses a lost zero put in doubt.
func (j *Job) doubts(res *overhaul.Results) {
	by := map[string][]string{}
	for _, seq := range j.Doubted() {
		p, _ := j.Press(seq)
		by[p.Fact.Step] = append(by[p.Fact.Step], fmt.Sprintf("%s (press %d)", p.Fact.Value, seq))
	}
	for step, presses := range by {
		if r := res.Of(step); r != nil {
			r.Notes = append(slices.Clone(r.Notes), fmt.Sprintf("In doubt, because the gauge's zero was lost after them: %s. They count; take the step again.", strings.Join(presses, ", ")))
		}
	}
}

// around fills what surrounds the presses into entries.
func (j *Job) around(e *sheet.Entries) {
	if len(j.known) > 0 {
		pieces := maps.Clone(j.known)
		maps.Copy(pieces, e.Pieces) // as drawn
		e.Pieces = pieces
	}
	if len(j.circumstances.gauges) > 0 {
		e.Gauges = maps.Clone(e.Gauges)
		for id, g := range e.Gauges {
			g.Corrections = j.tables[id]
			for _, c := range j.circumstances.gauges[id].Checks {
				g.Checks = append(g.Checks, sheet.GaugeCheck{Day: c.Day.String(), Piece: c.Piece, Read: c.Read})
			}
			e.Gauges[id] = g
		}
	}
	e.Temperatures, e.Earlier = j.warmth, j.earlier
}
