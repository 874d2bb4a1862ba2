package board

import (
	"bytes"
	"cmp"
	"fmt"
	"strings"
	"time"

	"shimwright/calc/overhaul"
	"shimwright/ingest/fact"
	"shimwright/ingest/job"
	"shimwright/ingest/register"
	"shimwright/ingest/store"
	"shimwright/ui/draw"
	"shimwright/ui/term"
)

// A folded is a job read for its pages.
type folded struct {
	of     store.Job
	called string // what the job is called, in words
	job    *job.Job
	res    *overhaul.Results // nil where it cannot be worked
	err    error             // why

	zone *time.Location // in which times are told
}

// jobListing is a job's page: its stages and steps.
func jobListing(f folded, names bool) *listing {
	j := f.job
	l := &listing{title: fmt.Sprintf("%s, drive %s", f.called, j.Head.Serial), page: page{job: f.of}}
	l.lines = append(l.lines, note(draw.Plain, fmt.Sprintf("%s, sheet %s issue %d, %s", j.Head.Drive, j.Head.Sheet, j.Head.Issue, jobState(j, f.res))))
	if names {
		var who []string
		for _, s := range j.Hands() {
			who = append(who, s.String())
		}
		l.lines = append(l.lines, note(draw.Plain, "Worked at it: "+cmp.Or(strings.Join(who, ", "), "nobody said who")))
	}
	if f.res == nil {
		l.lines = append(l.lines, note(draw.Stop, fmt.Sprintf("It cannot be worked: %s", f.err)))
	}
	for _, h := range j.Holds() {
		l.lines = append(l.lines, note(draw.Warn, "■ HOLD "+cmp.Or(h.Step, "the whole job")+": "+h.Reason))
	}
	if f.res != nil {
		stage := ""
		for _, r := range f.res.Steps {
			if r.Step.Stage != stage {
				stage = r.Step.Stage
				l.lines = append(l.lines, heading(stage))
			}
			l.lines = append(l.lines, stepEntry(f, r))
		}
	}
	if aside := pressesAt(j, ""); len(aside) > 0 {
		l.lines = append(l.lines, heading("no step"))
		for _, p := range aside {
			l.lines = append(l.lines, pressEntry(f, p))
		}
	}
	l.settle(0)
	return l
}

func jobState(j *job.Job, res *overhaul.Results) string {
	out := "open"
	if j.Ended() != "" {
		out = string(j.Ended())
	}
	if res != nil {
		out += fmt.Sprintf(", build state %d", res.Build)
		if res.Training {
			out += ", TRAINING"
		}
	}
	return out
}

// statusMark is a step's shape and tone.
func statusMark(s overhaul.Status) (string, draw.Tone) {
	switch s {
	case overhaul.Done:
		return "●", draw.Good
	case overhaul.Stopped:
		return "X", draw.Stop
	case overhaul.Held:
		return "■", draw.Warn
	case overhaul.Stale:
		return "~", draw.Warn
	}
	return "○", draw.Plain
}

func stepEntry(f folded, r *overhaul.Result) entry {
	shape, t := statusMark(r.Status)
	left := draw.Row{term.Text(t, shape), term.Text(draw.Plain, " "+r.Step.Name)}
	word := string(r.Status)
	tone := draw.Plain
	switch {
	case r.Problem != "":
		word, tone = draw.Cut(r.Problem, 44), t
	case r.Check != nil && r.Check.Words != "":
		mark, vt := verdictMark(r.Check.Verdict.String())
		word, tone = mark+" "+draw.Cut(verdictWord(r.Check.Verdict.String()), 44), vt
	case r.Figure != nil:
		u, places := f.job.Sheet.Unit, f.job.Sheet.Places
		word = r.Figure.Value.ShowUnit(u, places)
	case r.Text != "":
		word = draw.Cut(r.Text, 44)
	}
	if n := len(pressesAt(f.job, r.Step.Name)); n > 0 {
		word += ", " + presses(n)
	}
	return entry{left: left, right: term.Say(tone, word), open: func(u *ui) { u.push(stepListing(f, r, u.view.names, u.view.width)) }}
}

// presses is a number of them.
func presses(n int) string {
	if n == 1 {
		return "1 press"
	}
	return fmt.Sprintf("%d presses", n)
}

// pressesAt are a job's presses at a step, in order; "" are those at none.
func pressesAt(j *job.Job, step string) []job.Press {
	var out []job.Press
	for _, p := range j.Presses {
		if p.Fact.Step == step {
			out = append(out, p)
		}
	}
	return out
}

// stepListing is a step's page: what it says, its presses, its arithmetic.
func stepListing(f folded, r *overhaul.Result, names bool, width int) *listing {
	l := &listing{title: fmt.Sprintf("%s, %s, %s", f.called, r.Step.Stage, r.Step.Name), page: page{f.of, r.Step.Name}}
	add := func(t draw.Tone, s string) {
		if s != "" {
			l.lines = append(l.lines, note(t, s))
		}
	}
	shape, t := statusMark(r.Status)
	add(t, shape+" "+strings.ToUpper(string(r.Status)))
	add(draw.Plain, r.Step.Say)
	add(draw.Strong, r.Problem)
	if r.Status == overhaul.Waiting && r.Wants != "" {
		add(draw.Plain, "Next: "+strings.TrimSuffix(r.Wants, ".")+".")
	}
	if c := r.Check; c != nil {
		if c.Words != r.Problem {
			add(draw.Strong, c.Words)
		}
		add(draw.Plain, c.Advice)
	}
	add(draw.Plain, r.Text)
	for _, c := range f.job.Concessions() {
		if c.Step == r.Step.Name {
			add(draw.Warn, "≈ CONCESSION: "+c.Found+": "+c.Reason+signedBy(c.By, names))
		}
	}
	l.lines = append(l.lines, heading("Presses"))
	all := pressesAt(f.job, r.Step.Name)
	if len(all) == 0 {
		add(draw.Plain, "  no gauge was pressed here")
	}
	for _, p := range all {
		l.lines = append(l.lines, pressEntry(f, p))
	}
	if text := arithmetic(f, r, width); text != "" {
		l.lines = append(l.lines, heading("Arithmetic"))
		for line := range strings.Lines(text) {
			if line = strings.TrimRight(line, "\n"); line != "" {
				l.lines = append(l.lines, entry{left: term.Say(draw.Plain, line)})
			}
		}
	}
	l.settle(0)
	return l
}

func signedBy(s fact.Signature, names bool) string {
	if !names || s.Initials == "" {
		return ""
	}
	return " (" + s.String() + ")"
}

// arithmetic writes a step's figures as sums.
func arithmetic(f folded, r *overhaul.Result, width int) string {
	page := draw.PageFor(f.job.Sheet)
	page.Width = max(60, min(width-4, 120))
	var b bytes.Buffer
	seen := map[*overhaul.Figure]bool{nil: true}
	figures := []*overhaul.Figure{r.Figure}
	if r.Pack != nil {
		figures = append(figures, r.Pack.Worked, r.Pack.Fitted)
	}
	if r.Check != nil {
		figures = append(figures, r.Check.Figure)
		for _, p := range r.Check.Points {
			figures = append(figures, p.Figure)
		}
	}
	for _, x := range figures {
		if !seen[x] {
			seen[x] = true
			_ = draw.Sum(&b, page, x) // a buffer takes all
		}
	}
	return b.String()
}

func outcomeMark(p job.Press) (string, draw.Tone) {
	switch {
	case p.Struck:
		return "struck", draw.Plain
	case p.Now == fact.Taken:
		return "taken", draw.Good
	case p.Now == fact.Held:
		return "HELD", draw.Warn
	}
	return "aside", draw.Plain
}

func pressEntry(f folded, p job.Press) entry {
	value := "no number"
	if p.Fact.Value != nil {
		value = p.Fact.Value.String()
	}
	word, t := outcomeMark(p)
	left := draw.Row{term.Text(draw.Plain, fmt.Sprintf("press %-5d ", p.Seq)), term.Text(t, fmt.Sprintf("%-6s ", word)), term.Text(draw.Strong, value), term.Text(draw.Plain, "  "+p.Fact.Gauge)}
	if p.Fact.Spot != "" {
		left = append(left, term.Text(draw.Plain, " at "+p.Fact.Spot))
	}
	if p.Fact.Keyed() {
		left = append(left, term.Text(draw.Warn, "  k KEYED"))
	}
	if p.Fact.Virtual() {
		left = append(left, term.Text(draw.Warn, "  virtual"))
	}
	return entry{left: left, right: term.Say(draw.Plain, when(p.Fact.Arrived, f.zone)), open: func(u *ui) { u.push(pressListing(f, p, u.view.names)) }}
}

// pressListing is a press's page, down to the bytes.
func pressListing(f folded, p job.Press, names bool) *listing {
	l := &listing{title: fmt.Sprintf("%s, press %d", f.called, p.Seq)}
	add := func(name, says string) {
		if says != "" {
			l.lines = append(l.lines, note(draw.Plain, fmt.Sprintf("%s: %s", name, says)))
		}
	}
	word, t := outcomeMark(p)
	l.lines = append(l.lines, note(t, word))
	x := p.Fact
	add("Bytes as they came", cmp.Or(x.Bytes(), "none"))
	if len(x.Raw) > 0 {
		add("In hexadecimal", fmt.Sprintf("% x", x.Raw))
	}
	if x.Value != nil {
		unit := "the unit was not sent with it"
		if x.UnitStated {
			unit = "the unit was sent with it"
		}
		add("Figure", x.Value.String()+", "+unit)
	}
	add("Step", x.Step)
	add("Spot", x.Spot)
	add("Gauge", x.Gauge+", "+x.GaugeKind)
	if x.Limit != nil {
		add("Limit of error", x.Limit.String())
	}
	add("Pieces", strings.Join(x.Pieces, ", "))
	add("Arrived", x.Arrived.In(f.zone).Format("2006-01-02 15:04:05.000"))
	add("Source", x.Source.String())
	if x.Battery {
		add("Battery", "low")
	}
	add("Said", strings.TrimSpace(x.Sentence+" "+x.Do))
	add("Keyed because", x.Reason)
	if p.Reason != "" {
		by, _ := f.job.TookBy(p.Seq)
		add("Later", p.Reason+signedBy(by, names))
	}
	if by, ok := f.job.Look(p.Seq); ok {
		add("Second look", "given"+signedBy(by, names))
	}
	return l
}

// traceListing is the page of the jobs that used a gauge or a piece.
func traceListing(name string, p Period, t register.Trace, zone *time.Location, m *Model, rowOf func(store.Job) *Row) *listing {
	l := &listing{title: fmt.Sprintf("%s, %s: used in %s", name, p, count(len(t.Jobs), "job"))}
	l.lines = append(l.lines, note(draw.Plain, "d changes the days. Held presses and those set aside count too."))
	if t.Cut != "" {
		l.lines = append(l.lines, note(draw.Warn, t.Cut))
	}
	if len(t.Jobs) == 0 {
		l.lines = append(l.lines, note(draw.Plain, "No job used it."))
	}
	for _, u := range t.Jobs {
		left := draw.Row{term.Text(draw.Strong, m.called(u.Job.Bench, u.Job.ID)), term.Text(draw.Plain, "  drive "+u.Job.Serial+"  "+u.Job.Drive)}
		if r := rowOf(u.Job); r != nil && r.Ring != nil {
			shape, tone := verdictMark(r.verdict())
			left = append(left, term.Text(tone, "  "+shape+" "+verdictWord(r.verdict())))
		}
		word, tone := state(u.Job)
		right := draw.Row{term.Text(tone, word), term.Text(draw.Plain, fmt.Sprintf("  %s  %s", presses(u.Presses), when(u.First, zone)))}
		l.lines = append(l.lines, entry{left: left, right: right, open: openStep(u.Job, "")})
	}
	for _, g := range t.Checks {
		l.lines = append(l.lines, note(draw.Warn, "Gauge "+g+" was checked on it: what it was found to err may be wrong."))
	}
	l.settle(0)
	return l
}

// openStep leads to a job's page, and to one of its steps where one is named.
func openStep(of store.Job, step string) func(*ui) {
	return func(u *ui) { u.openJob(of, step) }
}
