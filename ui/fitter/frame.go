package fitter

import (
	"fmt"
	"strings"

	"shimwright/calc/overhaul"
	"shimwright/calc/quantity"
	"shimwright/calc/ring"
	"shimwright/calc/sheet"
)

// listFrom is the width from which the steps stand beside the work.
const (
	listFrom = 124
	listWide = 40
)

// frame draws a view: as many lines as the window is high, none wider than it.
func frame(v *view) []line {
	out := framed(v)
	for i, l := range out {
		for k := range l {
			if v.comma {
				out[i][k].text = withCommas(l[k].text)
			}
			if v.ascii {
				out[i][k].text = inPlain(l[k].text)
			}
		}
		if v.ascii {
			out[i] = out[i].cut(v.width)
		}
	}
	return out
}

// inPlain writes the signs that the screen uses with plain characters; names
// are left as they are.
func inPlain(s string) string {
	return strings.NewReplacer("↑", "^", "↓", "v", "×", "x", "−", "-", "±", "+-", "—", "-", "·", ".", "°", " deg").Replace(s)
}

func framed(v *view) []line {
	switch {
	case v.width < leastWidth || v.height < leastHeight:
		return small(v)
	case v.snap == nil:
		return fill([]line{toned(strong, "The bench is starting.")}, v.width, v.height)
	case v.page != nil:
		return pageFrame(v)
	case v.width >= listFrom && v.snap.Results != nil:
		return beside(v)
	}
	return work(v)
}

// small asks for a larger window.
func small(v *view) []line {
	words := fmt.Sprintf("This window has %d columns and %d lines. Make it larger: the screen wants %d by %d. Presses are still taken. q leaves.",
		v.width, v.height, leastWidth, leastHeight)
	return fill(lines(plain, words, v.width, v.height), v.width, v.height)
}

// fill makes of some lines exactly a screenful.
func fill(in []line, width, height int) []line {
	out := make([]line, height)
	for i := range out {
		if i < len(in) {
			out[i] = in[i].cut(width)
		}
	}
	return out
}

// beside puts the steps beside the work.
func beside(v *view) []line {
	narrow := *v
	narrow.width = v.width - listWide - 3
	left := work(&narrow)
	list := stepLines(v, listWide, v.height-2)
	for i := range left {
		row := append(left[i].pad(narrow.width), span{v.wall(), plain})
		if i > 0 && i-1 < len(list) {
			row = append(row, list[i-1]...)
		}
		left[i] = row.cut(v.width)
	}
	return left
}

func (v *view) wall() string {
	if v.ascii {
		return " | "
	}
	return " │ "
}

// work is the screen while a job is worked: head, step, readings, arithmetic
// at the top; what is next, gauges, last press, answers and keys at the foot.
func work(v *view) []line {
	foot := footLines(v)
	top := headLines(v)
	room := v.height - len(foot) - len(top)
	body := bodyLines(v, room)
	out := fill(append(top, body...), v.width, v.height-len(foot))
	for _, l := range foot {
		out = append(out, l.cut(v.width))
	}
	return out
}

// headLines say which bench, job and drive this is and how far the work is.
// What does not fit beside is shortened, then set on a line of its own: a name
// is cut only where a whole line has no room for it.
func headLines(v *view) []line {
	s := v.snap
	left := line{{s.Bench, strong}}
	if s.Job == nil {
		return []line{left.cut(v.width), nil}
	}
	left = append(left, span{"   job ", plain}, span{s.Job.ID, strong}, span{"   drive ", plain}, span{s.Job.Head.Serial, strong})
	long := line{{fmt.Sprintf("build state %d", s.Results.Build), strong}}
	short := line{{fmt.Sprintf("build %d", s.Results.Build), strong}}
	if s.Results.Training {
		long = append(long, span{"   ", plain}, span{" TRAINING: not for release ", warn})
		short = append(short, span{"  ", plain}, span{" TRAINING ", warn})
	}
	out := row(left, v.width, long, short)
	out = append(out, row(say(s.Job.Head.Drive), v.width, openWords(v, "%d of %d steps done"), openWords(v, "%d of %d done"), openWords(v, "%d of %d"), openWords(v, "%d/%d"))...)
	return append(out, say(strings.Repeat(v.rule(), v.width)))
}

func (v *view) rule() string {
	if v.ascii {
		return "-"
	}
	return "─"
}

// row puts a line at the left end and the first of some that fits beside it at
// the right end; where none fits the left one has its own line.
func row(left line, width int, rights ...line) []line {
	for _, r := range rights {
		if left.cells()+2+r.cells() <= width {
			return []line{ends(left, r, width)}
		}
	}
	return []line{left.cut(width), ends(nil, rights[0], width)}
}

// openWords count the steps done, in a form that says of how many, and what
// wants a decision.
func openWords(v *view, form string) line {
	s, n, let := v.snap, map[overhaul.Status]int{}, 0
	for _, x := range s.Results.Steps {
		if v.conceded(x) != nil {
			let++
			continue
		}
		n[x.Status]++
	}
	out := line{{fmt.Sprintf(form, n[overhaul.Done], len(s.Results.Steps)), plain}}
	for _, st := range []struct {
		status overhaul.Status
		word   string
	}{{overhaul.Stopped, "stopped"}, {overhaul.Held, "to decide"}, {overhaul.Stale, "stale"}} {
		if n[st.status] > 0 {
			out = append(out, span{fmt.Sprintf(", %d %s", n[st.status], st.word), strong})
		}
	}
	if let > 0 {
		out = append(out, span{fmt.Sprintf(", %d let be", let), strong})
	}
	switch {
	case len(s.Held) == 1:
		out = append(out, span{", 1 press HELD", warn})
	case len(s.Held) > 1:
		out = append(out, span{fmt.Sprintf(", %d presses HELD", len(s.Held)), warn})
	}
	return out
}

// bodyLines are the step's lines in the room there is.
func bodyLines(v *view, room int) []line {
	if of := formLines(v, room-1); of != nil {
		return append([]line{nil}, of...)
	}
	if v.snap.Job == nil {
		return idleLines(v)
	}
	r := v.shown()
	if r == nil {
		out := doneLines(v)
		if len(out) > room && room > 1 {
			out = append(out[:room-1], say(fmt.Sprintf("and %d more lines: w shows them all", len(out)-room+1)))
		}
		return out
	}
	out := stepHead(v, r)
	left := room - len(out)
	urgent := urgentLines(v, r)
	big := readingLines(v, r)
	big = big[:min(len(big), max(0, left-len(urgent)))] // what is wrong is never left out
	rest := append(urgent, restLines(v, r, max(1, left-len(big)-len(urgent)))...)
	rest = rest[:min(len(rest), max(0, left-len(big)))]
	// The stage's cautions stand where work at the step has not begun.
	if r.Status == overhaul.Waiting && len(r.Presses) == 0 || r.Status == overhaul.Stopped {
		rest = append(rest, cautionLines(v, r, left-len(big)-len(rest)-1)...)
	}
	if left > len(big)+len(rest) {
		out = append(out, nil)
	}
	out = append(out, big...)
	return append(out, rest...)
}

// idleLines are the screen while no job is in front: which one ended here, and
// which are open.
func idleLines(v *view) []line {
	var out []line
	if v.over != nil {
		if rows, ok := v.word("ENDED"); ok {
			for _, r := range rows {
				out = append(out, toned(good, "  "+r))
			}
		}
		out = append(out, say(fmt.Sprintf("Job %s, drive %s, has ended and is off this bench.", v.over.ID, v.over.Head.Serial)), nil)
	}
	if len(v.snap.Open) == 0 {
		out = append(out, toned(strong, "No job is open."))
	} else {
		out = append(out, toned(strong, "No job is in front. Open are:"))
	}
	for _, j := range v.snap.Open {
		out = append(out, say(fmt.Sprintf("  job %s, drive %s, %s", j.ID, j.Serial, j.Drive)).cut(v.width))
	}
	return append(append([]line{nil}, out...), troubleLines(v)...)
}

// doneLines say that every step is done, where each wanted figure stands
// against what is wanted, and how each check came out.
func doneLines(v *view) []line {
	out := append(troubleLines(v), nil)
	if rows, ok := v.word("DONE"); ok {
		for _, r := range rows {
			out = append(out, toned(good, "  "+r))
		}
	}
	out = append(out, say(fmt.Sprintf("Every step of job %s is done, in build state %d.", v.snap.Job.ID, v.snap.Results.Build)))
	if v.snap.Results.Training {
		out = append(out, toned(warn, "TRAINING: this job cannot be released."))
	}
	out = append(out, signedLines(v)...)
	out = append(out, standingLines(v)...)
	return append(out, passedLines(v)...)
}

// signedLines say who signed, who signs next, and what keeps him from it.
func signedLines(v *view) []line {
	var out []line
	for _, s := range v.snap.Job.Signatures() {
		out = append(out, toned(good, fmt.Sprintf("Signed as the %s by %s.", s.As, s.By)))
	}
	if v.snap.Results.Training {
		return out
	}
	switch {
	case len(v.snap.Unfinished) > 0:
		out = append(out, lines(warn, "Not to be signed yet: "+strings.Join(v.snap.Unfinished, "; ")+".", v.width, 3)...)
	case len(v.snap.Wanted) > 0:
		out = append(out, toned(strong, fmt.Sprintf("x signs it: the %s is next.", v.snap.Wanted[0])))
	}
	return out
}

// standingLines say where each wanted figure stands.
func standingLines(v *view) []line {
	var out []line
	for _, p := range v.snap.Results.Places {
		wd, _ := v.snap.Job.Sheet.WantedNamed(p.Wanted)
		text := v.setting(wd, p.Low.Value)
		if !p.Low.Value.Equal(p.High.Value) {
			text += " .. " + v.setting(wd, p.High.Value)
		}
		l := line{{p.Wanted + " stands at ", plain}, {text, strong}}
		if w := wantedWords(v, wd); w != "" {
			l = append(l, span{", wanted " + w, plain})
		}
		out = append(out, l)
	}
	return out
}

// setting is a wanted figure in words: a setting is float, or below nought
// preload.
func (v *view) setting(wd sheet.Wanted, x quantity.Exact) string {
	switch {
	case wd.SettingOf == "":
		return v.length(x)
	case x.Sign() < 0:
		return v.length(x.Neg()) + " preload"
	}
	return v.length(x) + " float"
}

// wantedWords are what is wanted: the aim or the limits, and how far the pack
// that makes it may be off; "" where it is not known.
func wantedWords(v *view, wd sheet.Wanted) string {
	out := ""
	switch {
	case wd.Banded:
		low, _, _ := strings.Cut(v.setting(wd, wd.Low), " ")
		out = low + " .. " + v.setting(wd, wd.High)
		if wd.Low.Sign() < 0 != (wd.High.Sign() < 0) {
			out = v.setting(wd, wd.Low) + " .. " + v.setting(wd, wd.High)
		}
	case wd.Given:
		out = v.setting(wd, wd.Aim)
	default:
		for _, r := range v.snap.Results.Steps {
			if r.Step.Mark != nil && r.Step.Mark.Length == wd.Name && r.Figure != nil && !r.Step.Mark.Before {
				out = v.length(r.Figure.Value.Add(movedOn(v, wd.Name)))
			}
		}
	}
	for _, st := range v.snap.Job.Sheet.Steps() {
		if p := st.Pack; p != nil && p.Makes == wd.Name && p.Within.Exact().Sign() > 0 && !wd.Banded && out != "" {
			out += " ± " + v.length(p.Within.Exact())
		}
	}
	return out
}

// movedOn is how far a gear was moved on purpose since its mark was read; longer
// above nought.
func movedOn(v *view, distance string) quantity.Exact {
	sum := quantity.Exact{}
	sh, ok := v.snap.Job.Sheet.ShaftOfGear(distance)
	for _, r := range v.snap.Results.Steps {
		if r.Check == nil || !ok {
			continue
		}
		for _, m := range r.Check.Moves {
			if m.Gear == sh.Carries {
				sum = sum.Add(m.By)
			}
		}
	}
	return sum
}

// passedLines are the checks as they came out.
func passedLines(v *view) []line {
	var out []line
	for _, r := range v.snap.Results.Steps {
		if c := r.Check; c != nil && c.Verdict != ring.NotJudged {
			l := line{verdictSpan(c.Verdict), {" " + r.Step.Name, plain}, {checkFigure(v, r), plain}}
			if let := v.conceded(r); let != nil {
				l = append(l, span{", LET BE by concession of " + let.By.String(), strong})
			}
			out = append(out, l)
		}
	}
	return out
}

// checkFigure is a check's figure with its limits.
func checkFigure(v *view, r *overhaul.Result) string {
	c := r.Check
	out := ""
	switch {
	case c.Ring != nil:
		u, places := v.bandUnit(r)
		out = fmt.Sprintf(" %s .. %s", c.Ring.Lowest.Show(u, places), c.Ring.Highest.ShowUnit(u, places))
	case c.Figure != nil:
		u, places := v.unitOf(c.Figure)
		out = " " + c.Figure.Value.ShowUnit(u, bigPlaces(u, places))
	}
	if c.Band != nil {
		u, places := v.bandUnit(r)
		out += fmt.Sprintf(", limits %s .. %s %s", limit(c.Band.Low, u, places), limit(c.Band.High, u, places), u)
	}
	return out
}
