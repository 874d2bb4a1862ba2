package board

import (
	"cmp"
	"fmt"
	"slices"
	"time"

	"shimwright/ingest/store"
	"shimwright/ui/draw"
)

// A tab is one of the board's four pages.
type tab uint8

const (
	tabJobs tab = iota
	tabCharts
	tabWaiting
	tabGauges
	tabs
)

// String is the tab's name.
func (t tab) String() string { return [...]string{"Jobs", "Charts", "Waiting", "Gauges"}[t%tabs] }

// A view is all that a frame is drawn from: a model and what is only the
// screen's. It belongs to the screen's goroutine.
type view struct {
	model         *Model // nil until the first one is there
	width, height int
	now           time.Time

	query    Query // as it is wanted; the model's is what it shows
	order    Order
	tab      tab
	rows     []*Row   // of the model, sorted
	chosen   string   // key of the job chosen, kept over new models; "" takes what goes wrong
	charted  string   // name of the series chosen; "" takes the chosen job's
	sheets   []string // names seen on any list, in order, at most mostSeries
	closures *Closures
	names    bool // of persons
	at       [tabs]int
	stack    []*listing // the way down; empty at a tab
	typing   *string    // the text being looked for; nil while none is typed
	finding  int        // the finding that was last gone to, from 1

	progress string // what a long reading is at; "" while none is under way
	trouble  string // why the board could not be read
}

// take takes a new model in and keeps the choice where the job is still there.
func (v *view) take(m *Model) {
	v.model, v.trouble = m, ""
	for _, r := range m.Rows {
		if i, seen := slices.BinarySearch(v.sheets, r.Job.Sheet); !seen && len(v.sheets) < mostSeries {
			v.sheets = slices.Insert(v.sheets, i, r.Job.Sheet)
		}
	}
	v.sort()
}

// rowOf is a job's row; nil where the list does not have it.
func (v *view) rowOf(j store.Job) *Row {
	at := key(j)
	for _, r := range v.rows {
		if key(r.Job) == at {
			return r
		}
	}
	return nil
}

// sort sorts the rows; among equals the newest comes first.
func (v *view) sort() {
	v.rows = nil
	for i := range v.model.Rows {
		v.rows = append(v.rows, &v.model.Rows[i])
	}
	slices.SortStableFunc(v.rows, v.order.compare)
	if v.chosen == "" {
		for i, f := range v.model.Findings {
			if f.Job != "" && v.choose(f.job()) {
				v.finding = i + 1
				return
			}
		}
	}
}

// choose chooses a job; false where the list does not have it.
func (v *view) choose(j store.Job) bool {
	if v.rowOf(j) == nil {
		return false
	}
	v.chosen = key(j)
	return true
}

func (o Order) compare(a, b *Row) int {
	switch o {
	case WorstFirst:
		return cmp.Compare(b.urgency(), a.urgency())
	case WidestFirst:
		return b.wheel.spread.Cmp(a.wheel.spread)
	case OldestFirst:
		return a.Job.Opened.Compare(b.Job.Opened)
	case ByBay:
		return cmp.Compare(a.Job.Bench, b.Job.Bench)
	case ByDrive:
		return cmp.Or(cmp.Compare(a.Job.Drive, b.Job.Drive), cmp.Compare(a.Job.Serial, b.Job.Serial))
	case ByStage:
		return cmp.Compare(a.Stage, b.Stage)
	}
	return 0
}

// urgency is how much a row wants looking at: open jobs before others, out before
// too close.
func (r *Row) urgency() int {
	n := int(worthOf(r.verdict())) * 2
	if n <= int(isGood)*2 {
		n = 0
	}
	if r.wheel.wide() {
		n++
	}
	if r.Job.State == store.Open {
		n += 10
	}
	return n
}

// place is the chosen row's place in the list; 0 where none is chosen.
func (v *view) place() int {
	return max(0, slices.IndexFunc(v.rows, func(r *Row) bool { return key(r.Job) == v.chosen }))
}

// row is the chosen row; nil where the list is empty.
func (v *view) row() *Row {
	if len(v.rows) == 0 {
		return nil
	}
	return v.rows[v.place()]
}

// move chooses another row, so many further down.
func (v *view) move(by int) {
	if len(v.rows) > 0 {
		v.chosen = key(v.rows[max(0, min(len(v.rows)-1, v.place()+by))].Job)
	}
}

// series is the one that is charted: the one chosen, else that of the chosen
// job's ring, else the newest.
func (v *view) series() *Series {
	if v.model == nil || len(v.model.Series) == 0 {
		return nil
	}
	all := v.model.Series
	for _, s := range all {
		if s.name() == v.charted {
			return s
		}
	}
	if r := v.row(); r != nil && v.charted == "" {
		for _, s := range all {
			if s.Sheet == r.Job.Sheet && (r.Ring == nil || r.Ring.Step == s.Step) {
				return s
			}
		}
	}
	return all[0]
}

// nextSeries charts the next one, round.
func (v *view) nextSeries() {
	all := v.model.Series
	if len(all) == 0 {
		return
	}
	i := slices.Index(all, v.series())
	v.charted = all[(i+1)%len(all)].name()
}

// chosenPoint is the chosen job's place in a series; −1 where it is not in it.
func (v *view) chosenPoint(s *Series) int {
	r := v.row()
	if r == nil {
		return -1
	}
	return slices.IndexFunc(s.Points, func(p Point) bool { return p.Job == r.Job.ID && p.Bench == r.Job.Bench })
}

// top is the listing on top of the way down; nil at a tab that is none.
func (v *view) top() *listing {
	if n := len(v.stack); n > 0 {
		return v.stack[n-1]
	}
	return nil
}

// ageWords is a time's length in one unit.
func ageWords(d time.Duration) string {
	switch {
	case d < time.Minute:
		return "now"
	case d < time.Hour:
		return fmt.Sprintf("%dmin", int(d.Minutes()))
	case d < 48*time.Hour:
		return fmt.Sprintf("%d h", int(d.Hours()))
	case d < 100*24*time.Hour:
		return fmt.Sprintf("%d d", int(d.Hours()/24))
	}
	return fmt.Sprintf("%d wk", int(d.Hours()/24/7))
}

// state is a job's state where it says more than that it is open.
func state(j store.Job) (string, draw.Tone) {
	word := string(j.State)
	if j.Training {
		return word + ", TRAINING", draw.Warn
	}
	return word, draw.Plain
}
