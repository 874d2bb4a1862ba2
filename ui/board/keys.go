package board

import (
	"slices"
	"unicode"

	"github.com/gdamore/tcell/v2"

	"shimwright/ingest/store"
	"shimwright/ui/draw"
	"shimwright/ui/term"
)

// A binding is one key: how it is shown, when it is there, what it does.
type binding struct {
	key  string // as shown
	does string
	when func(*view) bool
	act  func(*ui)
}

func always(*view) bool { return true }
func atTab(t tab) func(*view) bool {
	return func(v *view) bool { return v.top() == nil && v.tab == t }
}
func down(v *view) bool   { return v.top() != nil }
func chosen(v *view) bool { return v.top() == nil && v.tab <= tabCharts && v.row() != nil }
func traced(v *view) bool { l := v.top(); return l != nil && l.of != "" }
func listed(v *view) bool { return v.top() == nil && v.tab <= tabCharts }
func reads(v *view) bool  { return v.progress != "" }

// bindings are the keys, those that the moment calls for first.
func bindings() []binding {
	return []binding{
		{"Esc", "stop", reads, (*ui).back},
		{"↑↓ Enter", "open", always, (*ui).enter},
		{"Esc", "back", func(v *view) bool { return down(v) && !reads(v) }, (*ui).back},
		{"d", "days", traced, (*ui).nextDays},
		{"w", "next wrong", func(v *view) bool { return chosen(v) && len(v.model.Findings) > 0 }, (*ui).nextFinding},
		{"s", "sort", atTab(tabJobs), (*ui).nextOrder},
		{"/", "find", listed, func(u *ui) { text := ""; u.view.typing = &text }},
		{"o", "open jobs", listed, (*ui).openOnly},
		{"m", "sheet", listed, (*ui).nextSheet},
		{"p", "days", listed, (*ui).nextPeriod},
		{"c", "chart", listed, func(u *ui) { u.view.nextSeries(); u.ask() }},
		{"t", "count training", listed, func(u *ui) { u.view.query.Training = !u.view.query.Training; u.ask() }},
		{"a", "all jobs", listed, (*ui).all},
		{"<", "newer", func(v *view) bool { return listed(v) && v.query.Before != nil }, (*ui).newer},
		{">", "older", func(v *view) bool { return listed(v) && v.model.More }, (*ui).older},
		{"1-4", "pages", always, nil},
		{"n", "names", always, func(u *ui) { u.view.names = !u.view.names }},
		{"q", "leave", always, func(u *ui) { u.leave() }},
	}
}

// keyRows show the keys that there are, on as many rows as they need.
func (v *view) keyRows() []draw.Row {
	if v.typing != nil {
		words := draw.Row{term.Text(draw.Strong, "find: "), term.Text(draw.Plain, *v.typing+"_"), term.Text(draw.Plain, "   a job, drive, bay or sheet; Enter finds, Esc leaves it")}
		return []draw.Row{term.Cut(words, v.width)}
	}
	var out []draw.Row
	var at draw.Row
	for _, b := range bindings() {
		if !b.when(v) {
			continue
		}
		one := draw.Row{term.Text(draw.Strong, b.key), term.Text(draw.Plain, " "+b.does)}
		if at != nil && at.Cells()+2+one.Cells() > v.width {
			out, at = append(out, at), nil
		}
		if at != nil {
			at = append(at, draw.Span{Text: "  "})
		}
		at = append(at, one...)
	}
	return append(out, at)
}

// key takes one key.
func (u *ui) key(e *tcell.EventKey) {
	v := &u.view
	if v.typing != nil {
		u.typed(e)
		return
	}
	if v.model == nil || v.width < leastWidth || v.height < leastHeight {
		if e.Rune() == 'q' || e.Key() == tcell.KeyEsc {
			u.leave()
		}
		return
	}
	switch e.Key() {
	case tcell.KeyEnter:
		u.enter()
	case tcell.KeyEsc, tcell.KeyBackspace, tcell.KeyBackspace2, tcell.KeyLeft:
		u.back()
	case tcell.KeyUp:
		u.move(-1)
	case tcell.KeyDown:
		u.move(1)
	case tcell.KeyPgUp:
		u.move(-10)
	case tcell.KeyPgDn:
		u.move(10)
	case tcell.KeyHome:
		u.move(-MostJobs)
	case tcell.KeyEnd:
		u.move(MostJobs)
	case tcell.KeyTab, tcell.KeyRight:
		u.show((v.tab + 1) % tabs)
	case tcell.KeyBacktab:
		u.show((v.tab + tabs - 1) % tabs)
	case tcell.KeyRune:
		u.rune(e.Rune())
	}
}

func (u *ui) rune(r rune) {
	if r >= '1' && r < '1'+rune(tabs) {
		u.show(tab(r - '1'))
		return
	}
	for _, b := range bindings() {
		if b.key == string(unicode.ToLower(r)) && b.when(&u.view) {
			b.act(u)
			return
		}
	}
}

// mostTyped is how many characters may be looked for.
const mostTyped = 60

// typed takes a key while a text is typed.
func (u *ui) typed(e *tcell.EventKey) {
	v := &u.view
	switch e.Key() {
	case tcell.KeyEnter:
		v.query.Text, v.query.Before, v.typing, v.chosen = *v.typing, nil, nil, ""
		u.ask()
	case tcell.KeyEsc:
		v.typing = nil
	case tcell.KeyBackspace, tcell.KeyBackspace2:
		if r := []rune(*v.typing); len(r) > 0 {
			*v.typing = string(r[:len(r)-1])
		}
	case tcell.KeyRune:
		if len([]rune(*v.typing)) < mostTyped {
			*v.typing += string(e.Rune())
		}
	}
}

func (u *ui) show(t tab) {
	u.view.stack, u.view.tab = nil, t
	u.back0()
}

// enter opens what is chosen.
func (u *ui) enter() {
	v := &u.view
	l := v.listing()
	if l == nil {
		if r := v.row(); r != nil {
			u.openJob(r.Job, "")
		}
		return
	}
	if l.at < len(l.lines) && l.lines[l.at].open != nil {
		l.lines[l.at].open(u)
	}
}

// listing is the page of lines that is shown; nil for the list of jobs and the
// charts.
func (v *view) listing() *listing {
	switch l := v.top(); {
	case l != nil:
		return l
	case v.tab == tabWaiting:
		return v.waiting()
	case v.tab == tabGauges:
		return v.gauges()
	}
	return nil
}

// move goes up or down.
func (u *ui) move(by int) {
	v := &u.view
	l := v.listing()
	if l == nil {
		was := v.series()
		if v.move(by); v.series() != was {
			u.ask() // its closure errors
		}
		return
	}
	l.settle(by)
	if v.top() == nil {
		v.at[v.tab] = l.at
	}
}

// back goes one page up, or stops what is being read.
func (u *ui) back() {
	v := &u.view
	if u.back0() {
		return
	}
	if n := len(v.stack); n > 0 {
		v.stack = v.stack[:n-1]
	}
}

func (u *ui) push(l *listing) { u.view.stack = append(u.view.stack, l) }

func (u *ui) nextOrder() {
	v := &u.view
	v.order = (v.order + 1) % orders
	v.sort()
}

func (u *ui) openOnly() {
	q := &u.view.query
	if q.Before = nil; q.State == store.Open {
		q.State = ""
	} else {
		q.State = store.Open
	}
	u.ask()
}

// nextSheet chooses one sheet of those on the list, then all again.
func (u *ui) nextSheet() {
	v := &u.view
	at := slices.Index(v.sheets, v.query.Sheet)
	v.query.Sheet, v.query.Before = "", nil
	if at+1 < len(v.sheets) {
		v.query.Sheet = v.sheets[at+1]
	}
	u.ask()
}

func (u *ui) nextPeriod() {
	q := &u.view.query
	q.Period, q.Before = (q.Period+1)%periods, nil
	u.ask()
}

func (u *ui) all() {
	u.view.query = Query{Training: u.view.query.Training}
	u.pages = nil
	u.ask()
}

// older and newer turn pages of MostJobs.
func (u *ui) older() {
	v := &u.view
	oldest := v.model.Rows[len(v.model.Rows)-1].Job
	u.pages = append(u.pages, v.query.Before)
	v.query.Before, v.chosen = &oldest, ""
	u.ask()
}

func (u *ui) newer() {
	v := &u.view
	v.query.Before = nil
	if n := len(u.pages); n > 0 {
		v.query.Before = u.pages[n-1]
		u.pages = u.pages[:n-1]
	}
	v.chosen = ""
	u.ask()
}

// nextFinding goes to the job that the next finding is about.
func (u *ui) nextFinding() {
	v := &u.view
	all := v.model.Findings
	for range all {
		f, was := all[v.finding%len(all)], v.chosen
		v.finding++
		if f.Job != "" && v.choose(f.job()) && v.chosen != was {
			return
		}
	}
}

// paste types pasted text where one is typed; anywhere else it is left out.
func (u *ui) paste(s string) {
	for _, r := range s {
		if u.view.typing != nil && r != '\n' && r != '\r' {
			u.typed(tcell.NewEventKey(tcell.KeyRune, r, tcell.ModNone))
		}
	}
}
