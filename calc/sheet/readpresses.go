package sheet

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"shimwright/calc/document"
	"shimwright/calc/quantity"
)

// presses reads presses at one spot (presses: […]) or at several
// (at: {0 deg: […]}).
func (it item) presses(dim quantity.Dimension) []Entry {
	var out []Entry
	if in := it.fields.Get("in"); in.Given() {
		out = append(out, it.in(in))
	}
	base := it.base
	base.Kind = EntryPress
	if g := it.fields.Get("gauge"); g.Given() {
		base.Gauge = g.Name()
		if gauge, ok := it.entries.Gauges[base.Gauge]; !ok {
			g.Fail("%q is no gauge of these entries: list it under gauges", base.Gauge)
		} else if gauge.Kind != it.step.Gauge {
			g.Fail("%s is a %s, and the step wants a %s", base.Gauge, gauge.Kind, it.step.Gauge)
		}
	}
	base.Pieces = it.pieces()
	spots := it.step.spots()
	if len(spots) == 1 {
		return append(out, it.values(base, spots[0], it.fields.Need("presses", "the figures pressed, as in [33.38 mm, 33.38 mm]"), dim)...)
	}
	if p := it.fields.Get("presses"); p.Given() {
		p.Fail("this step is pressed at several spots: write at: {%s: […], …}", spots[0])
		return out
	}
	f := it.fields.Need("at", "the figures pressed at each of "+strings.Join(spots, ", ")).Fields()
	for _, spot := range f.All() {
		if !slices.Contains(spots, spot.Key) {
			spot.Value.Fail("%q is no spot of this step: the spots are %s", spot.Key, strings.Join(spots, ", "))
		}
		out = append(out, it.values(base, spot.Key, spot.Value, dim)...)
	}
	return out
}

func (s *Step) spots() []string {
	if s.Check != nil {
		return s.Check.Spots()
	}
	return []string{""}
}

// values reads presses at one spot and holds each to the step's window, as the
// bench's guards do.
func (it item) values(base Entry, spot string, n document.Node, dim quantity.Dimension) []Entry {
	var out []Entry
	window, has := it.step.Window()
	for _, v := range n.List(60) {
		e := base
		e.At, e.Spot, e.Value = v.Pos(), spot, v.Figure(dim)
		if x := e.Value.Exact(); has && e.Value.Unit().Dimension() == dim && (x.Less(window.Low.Exact()) || window.High.Exact().Less(x)) {
			v.Fail("%s misses %s .. %s, which the step %q wants", e.Value, window.Low, window.High, it.step.Name)
		}
		out = append(out, e)
	}
	return out
}

func (it item) in(n document.Node) Entry {
	e := it.base
	e.Kind, e.In = EntryIn, map[string]bool{}
	for _, p := range n.Fields().All() {
		if it.step.Measure == nil || !slices.Contains(it.step.Measure.AskIn, p.Key) {
			n.Fail("the step does not ask whether %q is in", p.Key)
		}
		e.In[p.Key] = p.Value.YesNo()
	}
	return e
}

// pieces reads the pieces in use and holds them to the setup's standards.
func (it item) pieces() []string {
	n := it.fields.Get("pieces")
	ids := n.Names(12)
	if it.step.Measure == nil {
		if len(ids) > 0 {
			n.Fail("this step uses no pieces")
		}
		return nil
	}
	if wrong := PiecesFault(it.sheet, it.step, it.entries.Pieces, ids); wrong != "" {
		at := n
		if !n.Given() {
			at = it.fields.Node()
		}
		at.Fail("%s", wrong)
	}
	return ids
}

// PiecesFault says what is wrong with the pieces named for a step's setup: each
// standard needs its number of pieces and nothing else may stand in it. ""
// means they fit.
func PiecesFault(s *Sheet, st *Step, pieces map[string]Piece, ids []string) string {
	have := map[string]int{}
	for i, id := range ids {
		p, ok := pieces[id]
		if !ok {
			return fmt.Sprintf("%q is no piece known here: list it under pieces with its certified size", id)
		}
		if slices.Contains(ids[:i], id) {
			return fmt.Sprintf("%q is named twice: it stands in the setup once", id)
		}
		have[p.Standard]++
	}
	for _, name := range st.Measure.Setup.Standards() {
		std, _ := s.StandardNamed(name)
		if have[name] != std.Pieces {
			return fmt.Sprintf("the setup stands on %s: name %d of its pieces, here %d are named", name, std.Pieces, have[name])
		}
		delete(have, name)
	}
	for _, name := range slices.Sorted(maps.Keys(have)) {
		return fmt.Sprintf("no %s stands in this setup", name)
	}
	return ""
}
