// Package register folds the facts of certified pieces, gauges, shim stock and
// sheets into what a bench has, and traces which jobs used a piece or a gauge.
//
// What is asked for is given as of a time: a piece certified anew has its new
// size from the moment the bench was told, and its old one before, so that a job
// of that time is never rewritten. The times are those of the journal. Due dates
// are days of the calendar: give times in the bench's own zone.
package register

import (
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"
	"time"

	"shimwright/devices"
	"shimwright/ingest/fact"
)

// The subjects of the register's facts begin so.
const (
	pieces = "piece/"
	gauges = "gauge/"
	stock  = "stock/"
	sheets = "sheet/"
)

// PieceSubject is whom the facts of a certified piece are about.
func PieceSubject(id string) string { return pieces + id }

// GaugeSubject is whom the facts of a gauge are about.
func GaugeSubject(id string) string { return gauges + id }

// StockSubject is whom the facts of a tray of shims are about.
func StockSubject(tray string) string { return stock + tray }

// SheetSubject is whom the facts of a sheet are about.
func SheetSubject(id string) string { return sheets + id }

// ErrUnknown: the register does not know what was asked for.
var ErrUnknown = errors.New("not in the register")

// A Register is what a bench has. It is never changed: Then gives the next one.
type Register struct {
	pieces map[string]history[fact.Certified]
	gauges map[string]gauge
	trays  map[string]tray
	sheets map[string][]Approval
}

// New is a register that knows nothing.
func New() *Register {
	return &Register{
		pieces: map[string]history[fact.Certified]{}, gauges: map[string]gauge{},
		trays: map[string]tray{}, sheets: map[string][]Approval{},
	}
}

// Then is the register after one more fact, stored at a time. Facts of jobs,
// people and the bench change nothing.
func (r *Register) Then(subject string, at time.Time, f fact.Fact) (*Register, error) {
	n := &Register{maps.Clone(r.pieces), maps.Clone(r.gauges), maps.Clone(r.trays), maps.Clone(r.sheets)}
	if name, ok := strings.CutPrefix(subject, stock); ok && n.trays[name] != nil {
		n.trays[name] = maps.Clone(n.trays[name])
	}
	if err := n.fold(subject, at, f); err != nil {
		return r, fmt.Errorf("%q of %s: %w", f.Kind(), devices.Quote([]byte(subject)), err)
	}
	return n, nil
}

// fold takes one fact in. It appends to slices only past their shared length,
// and changes the maps of trays in place.
func (r *Register) fold(subject string, at time.Time, f fact.Fact) error {
	kind, name, _ := strings.Cut(subject, "/")
	switch kind + "/" {
	case pieces:
		return r.foldPiece(name, at, f)
	case gauges:
		return r.foldGauge(name, at, f)
	case stock:
		return r.foldTray(name, f)
	case sheets:
		return r.foldSheet(name, at, f)
	}
	return nil
}

// errAlien is a fact that does not belong to its subject.
func errAlien(what string) error { return fmt.Errorf("it does not belong to %s", what) }

// A span is what held from a time on.
type span[T any] struct {
	since     time.Time
	what      T
	withdrawn string // why it is out of use; "" while it is in
}

// history is what held when, in the order it was told.
type history[T any] []span[T]

// at is what was told last up to a time.
func (h history[T]) at(t time.Time) (span[T], bool) {
	for _, s := range slices.Backward(h) {
		if !s.since.After(t) {
			return s, true
		}
	}
	return span[T]{}, false
}

// then is the history with one more; the one it came from stays as it is.
func (h history[T]) then(s span[T]) history[T] { return append(slices.Clip(h), s) }

// withdrawn is the history with the last span taken out of use.
func (h history[T]) withdraw(at time.Time, f fact.Withdrawn) (history[T], error) {
	if err := fact.CheckReason("the reason", f.Reason); err != nil {
		return h, err
	}
	var s span[T]
	if len(h) > 0 {
		s = h[len(h)-1]
	}
	s.since, s.withdrawn = at, f.Reason
	return h.then(s), nil
}

// sorted are a map's keys in order.
func sorted[V any](m map[string]V) []string { return slices.Sorted(maps.Keys(m)) }

// named joins some names for a sentence.
func named(names []string) string {
	const most = 12
	if len(names) > most {
		return strings.Join(names[:most], ", ") + fmt.Sprintf(" and %d more", len(names)-most)
	}
	return strings.Join(names, ", ")
}
