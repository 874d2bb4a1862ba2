package register

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"shimwright/calc/quantity"
	"shimwright/devices"
	"shimwright/ingest/fact"
)

// Lists are what a bench file says of pieces, gauges and stock.
type Lists struct {
	Pieces []FilePiece
	Gauges []FileGauge
	Trays  map[string][]fact.Leaf
}

// A FilePiece is a piece as a bench file has it.
type FilePiece struct {
	ID             string
	Size           quantity.Value
	Uncertainty, K *quantity.Value
}

// A FileGauge is a gauge as a bench file has it.
type FileGauge struct {
	ID, Kind string
	Limit    *quantity.Value // of error; nil where it says none
}

// An About is a fact and whom it is about.
type About struct {
	Subject string
	Fact    fact.Fact
}

// FromFile compares a bench file's lists with the register as it is at a time.
// facts are to be appended: what the bench sees for the first time. words are
// sentences, one for each difference: a newer fact counts, and the file changes
// nothing that is known. Asked again once the facts are in, it gives no facts.
func FromFile(l Lists, r *Register, at time.Time) (facts []About, words []string) {
	for _, p := range l.Pieces {
		f, say := fromFilePiece(p, r, at)
		facts, words = take(facts, words, PieceSubject(p.ID), f, say)
	}
	for _, g := range l.Gauges {
		f, say := fromFileGauge(g, r, at)
		facts, words = take(facts, words, GaugeSubject(g.ID), f, say)
	}
	for _, name := range sorted(l.Trays) {
		f, say := fromFileTray(name, l.Trays[name], r)
		facts, words = take(facts, words, StockSubject(name), f, say)
	}
	return facts, words
}

func take(facts []About, words []string, subject string, f fact.Fact, say string) ([]About, []string) {
	if f != nil {
		facts = append(facts, About{subject, f})
	}
	if say != "" {
		words = append(words, say)
	}
	return facts, words
}

func fromFilePiece(p FilePiece, r *Register, at time.Time) (fact.Fact, string) {
	f := fact.Certified{Size: p.Size, Uncertainty: p.Uncertainty, K: p.K, FromFile: true}
	h := r.pieces[p.ID]
	if len(h) == 0 {
		if _, err := r.Then(PieceSubject(p.ID), at, f); err != nil {
			return nil, fmt.Sprintf("The bench file's piece %s is not kept in the register: %s.", devices.Quote([]byte(p.ID)), errors.Unwrap(err))
		}
		return f, ""
	}
	now := h[len(h)-1]
	switch {
	case now.withdrawn != "":
		return nil, fmt.Sprintf("Piece %s stands in the bench file and is withdrawn since %s: %s. Take its line out.", p.ID, day(now.since, at), now.withdrawn)
	case same(&now.what.Size, &p.Size) && same(now.what.Uncertainty, p.Uncertainty) && same(now.what.K, p.K):
		return nil, ""
	}
	return nil, fmt.Sprintf("Piece %s is %s in the bench file and %s in the register since %s: the register counts. Take its line out of the file, or certify it anew (shimwright pieces certify).",
		p.ID, certified(p.Size, p.Uncertainty, p.K), certified(now.what.Size, now.what.Uncertainty, now.what.K), day(now.since, at))
}

// day is the date of a time, in the zone of another.
func day(t, in time.Time) fact.Day { return fact.DayOf(t.In(in.Location())) }

func certified(size quantity.Value, u, k *quantity.Value) string {
	if u == nil || k == nil {
		return size.String()
	}
	return fmt.Sprintf("%s ± %s (k %s)", size, u, k)
}

// same tells whether two figures are the same, however they are written.
func same(a, b *quantity.Value) bool {
	if a == nil || b == nil {
		return a == b
	}
	return a.Unit().Dimension() == b.Unit().Dimension() && a.Exact().Equal(b.Exact())
}

func fromFileGauge(g FileGauge, r *Register, at time.Time) (fact.Fact, string) {
	f := fact.GaugeCertified{GaugeKind: g.Kind, Limit: g.Limit, FromFile: true}
	h := r.gauges[g.ID].history
	if len(h) == 0 {
		if _, err := r.Then(GaugeSubject(g.ID), at, f); err != nil {
			return nil, fmt.Sprintf("The bench file's gauge %s is not kept in the register: %s.", devices.Quote([]byte(g.ID)), errors.Unwrap(err))
		}
		return f, ""
	}
	now := h[len(h)-1]
	switch {
	case now.withdrawn != "":
		return nil, fmt.Sprintf("Gauge %s stands in the bench file and is withdrawn since %s: %s. Take it out, or certify it anew (shimwright gauges certify).",
			g.ID, day(now.since, at), now.withdrawn)
	case now.what.GaugeKind == g.Kind && same(now.what.Limit, g.Limit):
		return nil, ""
	}
	return nil, fmt.Sprintf("Gauge %s is %s in the bench file and %s in the register since %s: the register counts. Correct the file, or certify it anew (shimwright gauges certify).",
		g.ID, erring(g.Kind, g.Limit), erring(now.what.GaugeKind, now.what.Limit), day(now.since, at))
}

func erring(kind string, limit *quantity.Value) string {
	if limit == nil {
		return "a " + kind + " without a limit of error"
	}
	return "a " + kind + " with the limit of error " + limit.String()
}

// fromFileTray takes in the sizes that the tray never had. Of the others the
// file's count is only a beginning: what it says is told only where it changed
// since.
func fromFileTray(name string, leaves []fact.Leaf, r *Register) (fact.Fact, string) {
	f := fact.Counted{FromFile: true}
	listed := map[string]Leaf{}
	var order []string
	for _, l := range leaves {
		k := key(l.Size)
		sum, ok := listed[k]
		if !ok {
			order = append(order, k)
			sum.Size = l.Size
		}
		sum.Count += l.Count
		listed[k] = sum
	}
	var changed []string
	for _, k := range order {
		l := listed[k]
		had, known := r.trays[name][k]
		switch {
		case !known:
			f.Leaves = append(f.Leaves, fact.Heap{Size: l.Size, Count: l.Count})
		case (had.file == nil || *had.file != l.Count) && had.Count != l.Count:
			changed = append(changed, fmt.Sprintf("%s: %d in the file, %d in the register", l.Size, l.Count, had.Count))
		}
	}
	say := ""
	if len(changed) > 0 {
		say = fmt.Sprintf("Tray %s differs from the bench file (%s): the register counts. Count them (shimwright stock count), and take the list out of the file.",
			name, strings.Join(slices.Compact(changed), "; "))
	}
	if len(f.Leaves) == 0 {
		return nil, say
	}
	if _, err := r.Then(StockSubject(name), time.Time{}, f); err != nil {
		return nil, strings.TrimSpace(say + fmt.Sprintf(" The bench file's tray %s is not kept in the register: %s.", devices.Quote([]byte(name)), errors.Unwrap(err)))
	}
	return f, say
}
