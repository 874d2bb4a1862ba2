package board

import (
	"cmp"
	"context"
	"fmt"
	"maps"
	"slices"

	"shimwright/calc/overhaul"
	"shimwright/calc/quantity"
	"shimwright/ingest/store"
)

// Closures are the closure errors of the last jobs of a sheet, by gauge: found
// less predicted wherever the sheet closes a loop. A gauge that errs shows in all
// its loops, the others only in those they share with it.
type Closures struct {
	Sheet  string
	Jobs   int // folded
	Loops  int
	Gauges []GaugeClosure // the largest mean first
}

// A GaugeClosure is the closure errors of the loops that a gauge had a part in.
type GaugeClosure struct {
	Gauge string
	Loops int
	Bad   int            // that did not close
	Mean  quantity.Exact // mm
	Worst quantity.Exact // mm, the farthest from nought
	sum   quantity.Exact
}

// signed is a closure error with its sign.
func signed(x quantity.Exact, s *Series) string {
	if x.Sign() > 0 {
		return "+" + x.ShowUnit(s.unit, s.places)
	}
	return x.ShowUnit(s.unit, s.places)
}

// count is a number with its word.
func count(n int, word string) string {
	if n == 1 {
		return "1 " + word
	}
	return fmt.Sprintf("%d %ss", n, word)
}

// loop is one closure of one job.
type loop struct {
	apart  quantity.Exact
	good   bool
	gauges []string
}

// A Folder folds jobs for their closures and keeps what it found. It belongs to
// one goroutine.
type Folder struct {
	src  Source
	kept map[string][]loop // by job and its newest judgement
}

// NewFolder makes one.
func NewFolder(src Source) *Folder { return &Folder{src, map[string][]loop{}} }

// Closures folds the last jobs of a series. told may be nil.
func (f *Folder) Closures(ctx context.Context, m *Model, s *Series, told Progress) (*Closures, error) {
	var rows []*Row
	for i := range m.Rows {
		r := &m.Rows[i]
		if r.Job.Sheet == s.Sheet && r.Last != nil && (m.Query.Training || !r.Job.Training) && len(rows) < closureJobs {
			rows = append(rows, r)
		}
	}
	out := &Closures{Sheet: s.Sheet, Jobs: len(rows)}
	by := map[string]*GaugeClosure{}
	kept := map[string][]loop{}
	for i, r := range rows {
		if told != nil {
			told("working jobs for their closure errors", i, len(rows))
		}
		at := fmt.Sprint(key(r.Job), "\n", r.Last.Seq)
		loops, ok := f.kept[at]
		if !ok {
			loops = f.loops(ctx, r.Job)
			if err := ctx.Err(); err != nil {
				return nil, err
			}
		}
		kept[at] = loops
		out.take(loops, by)
	}
	maps.Copy(kept, limited(f.kept))
	f.kept = kept
	for _, g := range by {
		share, err := quantity.RatioOf(1, int64(g.Loops))
		if err != nil {
			return nil, err
		}
		g.Mean = g.sum.Times(share)
		out.Gauges = append(out.Gauges, *g)
	}
	slices.SortFunc(out.Gauges, func(a, b GaugeClosure) int {
		return cmp.Or(b.Mean.Abs().Cmp(a.Mean.Abs()), cmp.Compare(a.Gauge, b.Gauge))
	})
	return out, nil
}

// limited is what is kept, or nothing where that has grown large.
func limited(kept map[string][]loop) map[string][]loop {
	if len(kept) > mostSeries*closureJobs {
		return nil
	}
	return kept
}

func (c *Closures) take(loops []loop, by map[string]*GaugeClosure) {
	c.Loops += len(loops)
	for _, l := range loops {
		for _, id := range l.gauges {
			g := by[id]
			if g == nil {
				g = &GaugeClosure{Gauge: id}
				by[id] = g
			}
			g.Loops++
			g.sum = g.sum.Add(l.apart)
			if g.Worst.Abs().Less(l.apart.Abs()) {
				g.Worst = l.apart
			}
			if !l.good {
				g.Bad++
			}
		}
	}
}

// loops folds and works one job. One that cannot be has no loops here; its page
// says why.
func (f *Folder) loops(ctx context.Context, of store.Job) []loop {
	j, err := f.src.Job(ctx, of)
	if err != nil {
		return nil
	}
	res, err := j.Work()
	if err != nil {
		return nil
	}
	var out []loop
	for _, r := range res.Steps {
		for _, c := range closuresOf(r) {
			l := loop{apart: c.Value, good: c.Good}
			for _, f := range []*overhaul.Figure{c.Found, c.Predicted} {
				l.gauges = append(l.gauges, gaugesOf(f)...)
			}
			slices.Sort(l.gauges)
			l.gauges = slices.Compact(l.gauges)
			out = append(out, l)
		}
	}
	return out
}

func closuresOf(r *overhaul.Result) []*overhaul.Closure {
	var out []*overhaul.Closure
	if r.Closure != nil {
		out = append(out, r.Closure)
	}
	if r.Pack != nil && r.Pack.Closure != nil {
		out = append(out, r.Pack.Closure)
	}
	return out
}

// gaugesOf are the gauges of the presses that a figure rests on; what was keyed
// is no gauge's.
func gaugesOf(f *overhaul.Figure) []string {
	if f == nil {
		return nil
	}
	var out []string
	for _, l := range f.Leaves() {
		if id := l.Figure.Leaf.Gauge; id != "" && id != "keyed" {
			out = append(out, id)
		}
	}
	return out
}
