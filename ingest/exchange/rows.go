package exchange

import (
	"context"
	"encoding/json"
	"fmt"
	"slices"
	"strings"

	"shimwright/calc/document"
	"shimwright/calc/sheet"
	"shimwright/ingest/fact"
	"shimwright/ingest/journal"
	"shimwright/ingest/store"
)

// WhatPack is how a judgement says that it is of a pack.
const WhatPack = "pack"

func jobRow(j store.Job) []Cell {
	return []Cell{Words(j.Bench), Words(j.ID), Words(j.Drive), Words(j.Serial), Words(j.Sheet), Whole(int64(j.Issue)), Words(j.Digest),
		Moment(j.Opened), Words(string(j.State)), Moment(j.Ended), yesNo(j.Training)}
}

// judgementRows are the rows of a kind that a judgement makes.
func judgementRows(k Kind, j about, d store.Judgement) [][]Cell {
	head := []Cell{Words(d.Bench), Words(d.Job), Words(j.serial), Words(d.Sheet), Whole(d.Seq), Moment(d.At), Words(d.Step)}
	tail := []Cell{Words(unitOf(d.What)), Whole(int64(d.Build)), yesNo(d.Training || j.training), Words(d.Program)}
	verdict := []Cell{Words(d.Verdict), Words(d.Words)}
	figures := []Cell{optional(d.Value), optional(d.Low), optional(d.High), optional(d.Uncertainty)}
	spread := []Cell{optional(d.Mean), optional(d.Spread)}
	switch k {
	case Packs:
		if d.What != WhatPack {
			return nil
		}
		return [][]Cell{slices.Concat(head, verdict, figures, tail, []Cell{Words(strings.Join(d.Leaves, " + ")), optional(d.Total)})}
	case Rings:
		if d.Mean == "" {
			return nil
		}
		var out [][]Cell
		for _, p := range points(d) {
			out = append(out, slices.Concat(head, []Cell{Words(d.What)}, verdict, []Cell{Words(d.Advice), Words(p.spot), optional(p.figure)}, figures[1:], spread, tail))
		}
		return out
	}
	return [][]Cell{slices.Concat(head, []Cell{Words(d.What)}, verdict, []Cell{Words(d.Advice)}, figures, spread, tail)}
}

// A spotted is a point's figure.
type spotted struct{ spot, figure string }

// points are a judgement's, or one without a spot where it has none: a ring is
// never lost because its points are not there.
func points(d store.Judgement) []spotted {
	out := make([]spotted, 0, max(1, len(d.Points)))
	for _, p := range d.Points {
		spot, f := p, ""
		if i := strings.LastIndexByte(p, ' '); i >= 0 {
			spot, f = p[:i], p[i+1:]
		}
		out = append(out, spotted{spot, f})
	}
	if len(out) == 0 {
		out = append(out, spotted{})
	}
	return out
}

// optional is a figure, or an empty cell.
func optional(s string) Cell {
	if s == "" {
		return Words("")
	}
	return Figure(s)
}

// unitOf is the base unit of what a judgement judges; none for a marking.
func unitOf(what string) string {
	switch what {
	case sheet.TurningTorque, sheet.Tightening:
		return "N·m"
	case sheet.Marking:
		return ""
	}
	return "mm"
}

// A decision is what a press counts as now, and why that changed.
type decision struct {
	now    fact.Outcome
	reason string
}

// pressRows are the rows of a job's presses, with what each counts as by now.
func (s Source) pressRows(ctx context.Context, j store.Job) ([][]Cell, error) {
	var presses []pressed
	decided := map[int64]decision{}
	papers := papers{gauges: map[string]fact.Certificate{}, pieces: map[string]fact.Certificate{}}
	err := s.Facts.Read(ctx, "job/"+j.ID, 0, func(f journal.Stored) error {
		if len(presses) > mostOfJob || len(decided) > mostOfJob {
			return fmt.Errorf("job %s has more than %d presses or decisions about them: more than one job can have: look at the journal with shimwright verify", j.ID, mostOfJob)
		}
		return takeIn(f, &presses, decided, &papers)
	})
	if err != nil {
		return nil, err
	}
	// one reading of a virtual gauge makes the whole job a training job
	j.Training = j.Training || slices.ContainsFunc(presses, func(p pressed) bool { return p.fact.Virtual() })
	rows := make([][]Cell, len(presses))
	for i, p := range presses {
		d, ok := decided[p.seq]
		if !ok {
			d.now = p.fact.Outcome
		}
		rows[i] = pressRow(j, p, d)
	}
	return rows, nil
}

// A pressed is a press with its number, and the certificates known at it.
type pressed struct {
	seq        int64
	fact       fact.Pressed
	gauge      fact.Certificate
	pieceWords string
}

// papers are the certificates that a job knows, of its gauges and pieces.
type papers struct {
	gauges, pieces map[string]fact.Certificate
	words          map[string]string // of pieces together, in words, as they were last asked for
}

// of is a press with the certificates known now.
func (p *papers) of(seq int64, f fact.Pressed) pressed {
	out := pressed{seq: seq, fact: f, gauge: p.gauges[f.Gauge]}
	if len(f.Pieces) == 0 {
		return out
	}
	key := strings.Join(f.Pieces, ", ")
	words, ok := p.words[key]
	if !ok {
		var each []string
		for _, id := range f.Pieces {
			each = append(each, id+": "+paperWords(p.pieces[id]))
		}
		if p.words == nil {
			p.words = map[string]string{}
		}
		words = strings.Join(each, "; ")
		p.words[key] = words
	}
	out.pieceWords = words
	return out
}

// paperWords is a certificate in words.
func paperWords(c fact.Certificate) string {
	switch {
	case c == fact.Certificate{}:
		return "no certificate on record"
	case c.Due.IsZero():
		return "certificate " + c.Number
	}
	return "certificate " + c.Number + ", due " + c.Due.String()
}

// takeIn reads the facts about presses; all others need no reading.
func takeIn(s journal.Stored, presses *[]pressed, decided map[int64]decision, papers *papers) error {
	switch s.Kind {
	case fact.Pressed{}.Kind(), fact.HeldBack{}.Kind(), fact.Took{}.Kind(), fact.Struck{}.Kind(), fact.Drew{}.Kind(), fact.GaugeKnown{}.Kind():
	default:
		return nil
	}
	f, err := readFact(s)
	if err != nil {
		return err
	}
	switch f := f.(type) {
	case fact.Pressed:
		*presses = append(*presses, papers.of(s.Seq, f))
	case fact.Drew:
		papers.pieces[f.Piece], papers.words = f.Certificate, nil
	case fact.GaugeKnown:
		papers.gauges[f.Gauge] = f.Certificate
	case fact.HeldBack:
		decided[f.Press] = decision{fact.Held, f.Sentence}
	case fact.Took:
		decided[f.Press] = decision{fact.Taken, f.Reason}
	case fact.Struck:
		decided[f.Press] = decision{fact.Aside, f.Reason}
	}
	return nil
}

// readFact reads a fact about a press. Presses are most of a journal: one of the
// form known here is read without the strictness of fact.Decode, which costs half
// as much again and can only find what the version already says.
func readFact(s journal.Stored) (fact.Fact, error) {
	if s.Kind != (fact.Pressed{}).Kind() || s.Version > fact.Newest(s.Kind) {
		return fact.Decode(s)
	}
	var f fact.Pressed
	if err := json.Unmarshal(s.Payload, &f); err != nil {
		return nil, fmt.Errorf("fact %d, %q, cannot be read: %w", s.Seq, s.Kind, document.JSONError(err))
	}
	return f, nil
}

func pressRow(j store.Job, p pressed, d decision) []Cell {
	f := p.fact
	var value, unit, limit Cell
	if f.Value != nil {
		value, unit = Figure(f.Value.Digits()), Words(f.Value.Unit().String())
	}
	if f.Limit != nil {
		limit = Words(f.Limit.String())
	}
	reason := d.reason
	if reason == "" {
		reason = f.Reason
	}
	return []Cell{Words(j.Bench), Words(j.ID), Words(j.Serial), Whole(p.seq), Moment(f.Arrived), Words(f.Step), Words(f.Spot), Words(f.Gauge), Words(f.GaugeKind),
		value, unit, limit, Words(string(d.now)), Words(f.Sentence), Words(reason), Words(f.Source.String()), Words(strings.Join(f.Pieces, ", ")), Words(sent(f)),
		yesNo(j.Training), Words(p.gauge.Number), Words(p.gauge.Due.String()), Words(p.pieceWords), Words(string(f.Why()))}
}

// sent is what the gauge sent, control bytes escaped; "" where nothing came.
func sent(f fact.Pressed) string {
	if len(f.Raw) == 0 {
		return ""
	}
	return strings.TrimSuffix(strings.TrimPrefix(f.Bytes(), `"`), `"`)
}
