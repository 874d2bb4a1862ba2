package board

import (
	"fmt"
	"strings"

	"shimwright/ingest/store"
	"shimwright/ui/draw"
	"shimwright/ui/term"
)

// The smallest window that the board is drawn in, and the width from which the
// charts stand beside the list.
const (
	leastWidth  = 80
	leastHeight = 24
	chartsFrom  = 124
	chartsWide  = 50
)

// frame draws a view: as many rows as the window is high, none wider than it.
func frame(v *view) []draw.Row {
	switch {
	case v.width < leastWidth || v.height < leastHeight:
		words := fmt.Sprintf("This window has %d columns and %d lines. Make it larger: the board wants %d by %d. q leaves.", v.width, v.height, leastWidth, leastHeight)
		return term.Fill(term.Lines(draw.Plain, words, v.width, v.height), v.width, v.height)
	case v.model == nil:
		words := "Reading the facts."
		if v.trouble != "" {
			words = v.trouble
		}
		top := append(term.Lines(draw.Strong, words, v.width, 4), term.Say(draw.Plain, v.progress), nil, term.Say(draw.Plain, "q leaves."))
		return term.Fill(top, v.width, v.height)
	}
	top := v.headRows()
	foot := v.keyRows()
	room := v.height - len(top) - len(foot)
	var body []draw.Row
	switch l := v.top(); {
	case l != nil:
		body = append([]draw.Row{l.head(v.width), nil}, l.rows(v.width, room-2)...)
	case v.tab == tabCharts:
		body = v.chartRows(v.width, room)
	case v.tab == tabWaiting:
		body = v.waiting().rows(v.width, room)
	case v.tab == tabGauges:
		body = v.gauges().rows(v.width, room)
	default:
		body = v.jobRows(room)
	}
	return append(term.Fill(append(top, body...), v.width, v.height-len(foot)), foot...)
}

// headRows are whose board it is, how things stand in a word each, the tabs and
// what is chosen.
func (v *view) headRows() []draw.Row {
	m := v.model
	left := append(term.Say(draw.Strong, m.Name), term.Text(draw.Plain, "   "))
	left = append(left, v.counts()...)
	right := term.Say(draw.Plain, "read "+m.At.Format("15:04:05"))
	switch {
	case v.progress != "":
		right = term.Say(draw.Strong, v.progress)
	}
	var bar draw.Row
	for t := range tabs {
		name := fmt.Sprintf(" %d %s ", t+1, t)
		if t == v.tab {
			bar = append(bar, term.Text(draw.Strong, fmt.Sprintf("[%d %s]", t+1, t)))
			continue
		}
		bar = append(bar, term.Text(draw.Plain, name))
	}
	chosen := m.Query.words()
	switch s := v.series(); {
	case v.tab == tabJobs:
		chosen += ", " + v.order.String()
	case v.tab == tabCharts && s != nil:
		chosen = s.name() + "; " + chosen
	}
	if m.Query.Training {
		chosen = "with TRAINING, " + chosen
	}
	room := max(0, v.width-bar.Cells()-2) // the tabs are kept whole
	head := []draw.Row{term.Ends(left, right, v.width), term.Ends(bar, term.Cut(term.Say(draw.Plain, chosen), room), v.width)}
	if v.trouble != "" {
		head = append(head, term.Lines(draw.Stop, "! "+v.trouble, v.width, mostTrouble)...)
	}
	return head
}

// mostTrouble is how many rows say why the board cannot be read.
const mostTrouble = 3

// counts are how many of what: shape, number, word.
func (v *view) counts() draw.Row {
	var open, out, close, wide, training int
	for _, r := range v.rows {
		if r.Job.Training {
			training++
		}
		if r.Job.State != store.Open {
			continue
		}
		open++
		switch w := worthOf(r.verdict()); {
		case r.wheel.wide():
			wide++
		case w == isOut:
			out++
		case w == isClose:
			close++
		}
	}
	jobs := count(len(v.rows), "job")
	if v.model.More {
		jobs = fmt.Sprintf("newest %d jobs", len(v.rows))
	}
	row := term.Say(draw.Plain, fmt.Sprintf("%s, %d open", jobs, open))
	add := func(n int, t draw.Tone, words string) {
		if n > 0 {
			row = append(row, term.Text(draw.Plain, "  "), term.Text(t, fmt.Sprintf(words, n)))
		}
	}
	add(wide, draw.Stop, "↔ %d spread")
	add(out, draw.Stop, "▲ %d out")
	add(close, draw.Warn, "? %d too close")
	hold := "■ %d hold"
	if len(v.model.Holds) > 1 {
		hold += "s"
	}
	add(len(v.model.Holds), draw.Warn, hold)
	add(len(v.model.due()), draw.Warn, "! %d due")
	add(training, draw.Plain, "T %d training")
	if out+close+wide+len(v.model.Holds) == 0 && open > 0 {
		row = append(row, term.Text(draw.Good, "  ● nothing out"))
	}
	return row
}

// findingRows say what goes wrong, and of the first why, in so many rows.
func (v *view) findingRows(width, most int) []draw.Row {
	all := v.model.Findings
	if len(all) == 0 {
		return []draw.Row{term.Say(draw.Good, "● Nothing wants looking at.")}
	}
	var out []draw.Row
	for i, f := range all {
		if len(out) >= most {
			break
		}
		head := f.Shape + " " + f.Word + " "
		n, each := draw.Cells(head), 1
		if most > 6 {
			each = 2
		}
		for k, line := range term.Wrap(f.Says, width-n-1, each) {
			lead := term.Text(f.Tone, head)
			if k > 0 {
				lead = draw.Span{Text: strings.Repeat(" ", n)}
			}
			out = append(out, draw.Row{lead, {Text: " "}, {Text: line, Tone: draw.Strong}})
		}
		if f.Why != "" && (i == 0 || each > 1) {
			for _, line := range term.Wrap(f.Why, width-n-1, each) {
				out = append(out, draw.Row{{Text: strings.Repeat(" ", n+1)}, {Text: line}})
			}
		}
	}
	if len(out) > most {
		out = out[:most]
	}
	return out
}

// jobRows are the list with what goes wrong above it, and the chosen job below;
// where there is room the charts stand beside.
func (v *view) jobRows(room int) []draw.Row {
	wide := v.width >= chartsFrom
	most, panel := 3, 10
	if room > 30 {
		most, panel = 8, room/2
	}
	out := v.findingRows(v.width, most)
	if room > 30 {
		out = append(out, term.Say(draw.Faint, strings.Repeat("─", v.width)))
	}
	room -= len(out)
	width := v.width
	if wide {
		width -= chartsWide + 3
	}
	rest := room - panel
	left := append([]draw.Row{listHead()}, v.listRows(width, rest-2)...)
	left = term.Fill(left, width, rest-1)
	left = append(left, v.panelRows(width, panel+1)...)
	if !wide {
		return append(out, left...)
	}
	return append(out, term.Beside(left, v.sideRows(chartsWide, room), width, " │ ")...)
}

// columns of the list, in cells.
const (
	colJob, colBay, colDrive, colStage, colPoints, colSpread, colVerdict, colAge = 6, 6, 10, 11, 20, 7, 12, 5
)

// listHead names the columns.
func listHead() draw.Row {
	return listRow("  ", draw.Strong, cellsOf("job", "bay", "drive", "stage", "points", "spread", "verdict", "age"))
}

type column struct {
	text string
	tone draw.Tone
}

func cellsOf(texts ...string) []column {
	var out []column
	for _, t := range texts {
		out = append(out, column{t, draw.Strong})
	}
	return out
}

func listRow(mark string, t draw.Tone, in []column) draw.Row {
	widths := [...]int{colJob, colBay, colDrive, colStage, colPoints, colSpread, colVerdict, colAge}
	out := draw.Row{{Text: mark, Tone: t}}
	for i, c := range in {
		most := widths[i] - 1
		if i == len(widths)-1 {
			most++ // nothing stands behind it
		}
		text := draw.Cut(c.text, most)
		out = append(out, draw.Span{Text: text + strings.Repeat(" ", widths[i]-draw.Cells(text)), Tone: c.tone})
	}
	return out
}

// listRows are the rows round the chosen one.
func (v *view) listRows(width, room int) []draw.Row {
	if len(v.rows) == 0 {
		return term.Lines(draw.Plain, "No job matches: "+v.model.Query.words()+". Press a for all.", width, room)
	}
	at := v.place()
	from := max(0, min(at-room/2, len(v.rows)-room))
	var out []draw.Row
	for i := from; i < min(len(v.rows), from+room); i++ {
		out = append(out, v.listRow(v.rows[i], i == at))
	}
	return out
}

func (v *view) listRow(r *Row, chosen bool) draw.Row {
	mark, t := "  ", draw.Plain
	if chosen {
		mark, t = "> ", draw.Strong
	}
	if r.Job.Training {
		mark = mark[:1] + "T"
	}
	spread, spreadTone := "", draw.Plain
	if r.isRing {
		spread = r.show(r.wheel.spread)
		if r.wheel.wide() {
			spread, spreadTone = "↔"+spread, draw.Stop
		}
	}
	shape, tone := verdictMark(r.verdict())
	verdict := shape + " " + verdictWord(r.verdict())
	if r.Last == nil {
		verdict = ""
	}
	return listRow(mark, t, []column{
		{r.Job.ID, t}, {r.Job.Bench, t}, {r.calledShort(), t}, {stageWords(r), t}, {r.pointsText(), t},
		{spread, spreadTone}, {verdict, tone}, {ageWords(r.age(v.now)), draw.Plain},
	})
}

// calledShort is a drive's number, and its name where there is room for all of
// it: the chosen job has both below.
func (r *Row) calledShort() string {
	if both := r.Job.Serial + " " + r.Job.Drive; draw.Cells(both) < colDrive {
		return both
	}
	return r.Job.Serial
}

// stageWords are the stage of an open job, or how it ended.
func stageWords(r *Row) string {
	if r.Job.State != store.Open {
		return string(r.Job.State)
	}
	return r.Stage
}
