package main

import (
	"fmt"
	"maps"
	"slices"
	"sort"
)

// A row is one line of the table: ours beside one other, or alone.
type row struct {
	what          string
	ours, other   string
	ratio, spread string
	goal, met     string
}

// spreadOf is the middle of some figures, and the least and the most of them.
type spreadOf struct{ middle, least, most float64 }

func spread(values []float64) spreadOf {
	s := slices.Clone(values)
	sort.Float64s(s)
	middle := s[len(s)/2]
	if len(s)%2 == 0 {
		middle = (s[len(s)/2-1] + s[len(s)/2]) / 2
	}
	return spreadOf{middle, s[0], s[len(s)-1]}
}

// rows makes the table's lines, in the order of the claims and then as met.
func (f *figures) rows(all []claim) (out []row) {
	for _, w := range f.sorted(all) {
		ways, ok := f.ways[w]
		if !ok {
			continue
		}
		mine := ways[ours]
		c, listed := find(all, w)
		if len(mine) == 0 {
			f.notRun = append(f.notRun, said(all, w)+" has no figure of our own, only of what it stands beside")
			continue
		}
		var beside []string
		for way := range maps.Keys(ways) {
			if way != ours {
				beside = append(beside, way)
			}
		}
		sort.Strings(beside)
		if len(beside) == 0 && listed {
			out = append(out, f.alone(all, w, c))
		}
		for _, way := range beside {
			out = append(out, f.pair(all, w, c, way))
		}
	}
	return out
}

func (f *figures) alone(all []claim, w what, c claim) row {
	mine := spread(slices.Collect(maps.Values(f.ways[w][ours])))
	r := row{what: said(all, w), ours: f.shown(w, ours), other: "—", ratio: "—", spread: "ours " + between(w.unit, mine)}
	r.goal, r.met = judge(c, w.unit, "", mine)
	return r
}

// pair sets ours beside one other way, by the ratio of each run.
func (f *figures) pair(all []claim, w what, c claim, way string) row {
	var ratios []float64
	for run, value := range f.ways[w][ours] {
		if other, ok := f.ways[w][way][run]; ok && other != 0 {
			ratios = append(ratios, value/other)
		}
	}
	r := row{what: said(all, w), ours: f.shown(w, ours), other: way + ": " + f.shown(w, way), ratio: "—", spread: "—"}
	if len(ratios) > 0 {
		s := spread(ratios)
		r.ratio, r.spread = figure(s.middle), figure(s.least)+" – "+figure(s.most)
		r.goal, r.met = judge(c, w.unit, way, s)
	}
	if r.goal == "" {
		r.goal, r.met = judge(c, w.unit, "", spread(slices.Collect(maps.Values(f.ways[w][ours]))))
	}
	return r
}

// judge holds figures to the claim's goal for their unit; there may be none.
func judge(c claim, unit, of string, s spreadOf) (words, met string) {
	for _, g := range c.goals {
		if g.unit != unit || g.of != of {
			continue
		}
		keeps := func(v float64) bool { return (g.most == 0 || v <= g.most) && v >= g.least }
		switch {
		case keeps(s.least) && keeps(s.most):
			return g.words, "yes"
		case keeps(s.middle):
			return g.words, "yes, not in every run"
		case keeps(s.least) || keeps(s.most):
			return g.words, "**no**, but in some runs"
		}
		return g.words, "**no**"
	}
	return "", ""
}

// sorted are all figures in the order of the claims; what is not listed comes
// last.
func (f *figures) sorted(all []claim) []what {
	at := func(w what) int {
		c, ok := find(all, w)
		if !ok {
			return len(all)
		}
		return slices.IndexFunc(all, func(o claim) bool { return o.pkg == c.pkg && o.name == c.name })
	}
	out := slices.Clone(f.order)
	slices.SortStableFunc(out, func(a, b what) int { return at(a) - at(b) })
	return out
}

// A curveRow is one curve in the table of curves.
type curveRow struct {
	what, from, to, slope, growth, ends string
}

// curveRows makes the lines of the curves that have three sizes or more.
func (f *figures) curveRows(all []claim) (out []curveRow) {
	for _, w := range f.sorted(all) {
		sizes, ok := f.curves[w]
		if !ok || len(sizes) < 3 {
			continue
		}
		ns := slices.Sorted(maps.Keys(sizes))
		var middle []point
		for _, n := range ns {
			middle = append(middle, point{n, spread(slices.Collect(maps.Values(sizes[n]))).middle})
		}
		var slopes []float64
		for run := range f.runs {
			var one []point
			for _, n := range ns {
				if v, ok := sizes[n][run]; ok {
					one = append(one, point{n, v})
				}
			}
			if len(one) >= 3 {
				slopes = append(slopes, slope(upper(one)))
			}
		}
		first, last := middle[0], middle[len(middle)-1]
		c, _ := find(all, w)
		line := curveRow{what: said(all, w), growth: growth(upper(middle)), ends: c.ends, slope: fmt.Sprintf("%.2f", slope(upper(middle)))}
		if len(slopes) > 1 {
			s := spread(slopes)
			line.slope += fmt.Sprintf(" (%.2f – %.2f)", s.least, s.most)
		}
		line.from = fmt.Sprintf("%s at %s", amount(w.unit, first.value), figure(float64(first.n)))
		line.to = fmt.Sprintf("%s at %s", amount(w.unit, last.value), figure(float64(last.n)))
		out = append(out, line)
	}
	return out
}
