package draw

import (
	"fmt"
	"io"
	"slices"
	"strings"

	"shimwright/calc/overhaul"
	"shimwright/calc/quantity"
	"shimwright/calc/ring"
	"shimwright/calc/sheet"
)

// Columns of a step's line: name, figure, words.
const (
	nameIn   = 2
	nameWide = 28
	figWide  = 12
	moreIn   = 6 // what stands below a step's line
)

// A Detail says how much of the arithmetic Results writes.
type Detail uint8

// The details.
const (
	Short Detail = iota // figures and verdicts
	Full                // each pack and check with its sum down to leaves
)

// Results writes a whole job's results by stage and step, then its verdicts,
// what is still to do and where the limits come from.
func Results(w io.Writer, p Page, r *overhaul.Results, d Detail) error {
	t := p.sheet()
	j := job{Page: p, t: t, r: r, detail: d, sums: newSums(p, t)}
	j.head()
	for _, stage := range r.Sheet.Stages {
		j.stage(stage)
	}
	j.standings()
	j.end()
	return t.to(w)
}

// job is one job's results being written.
type job struct {
	Page
	t      *text
	r      *overhaul.Results
	detail Detail
	sums   *sums
}

func (j job) head() {
	s := j.r.Sheet
	j.t.wrap("", 0, s.Title)
	j.t.wrap("", 0, fmt.Sprintf("Sheet %s, issue %d. Build state %d.", s.ID, s.Issue, j.r.Build))
	for _, n := range j.r.Notes {
		j.t.wrap("", 0, n)
	}
	if j.r.Training {
		j.t.wrap("", 0, "TRAINING: readings came from a virtual gauge. This job cannot be released.")
	}
}

func (j job) stage(s sheet.Stage) {
	j.t.blank()
	j.t.line(s.Name)
	for _, st := range s.Steps {
		if r := j.r.Of(st.Name); r != nil {
			j.step(r)
		}
	}
}

// step writes one step: its line, then what is wrong, then its detail.
func (j job) step(r *overhaul.Result) {
	figure, note := "", r.Text
	switch {
	case r.Pack != nil:
		figure, note = j.packLine(r)
	case r.Check != nil:
		figure, note = j.checkLine(r)
	case r.Figure != nil:
		figure = j.show(r.Figure)
		if r.Step.Measure != nil {
			note = measureNote(r)
		}
	}
	if r.Status == overhaul.Waiting {
		note = waitWords(r)
	}
	j.entry(r.Step.Name, figure, note)
	if c := r.Check; c != nil && c.Verdict != ring.NotJudged && !strings.HasPrefix(r.Problem, c.Words) {
		j.more(sentence(c.Words))
	}
	j.problem(r)
	j.measured(r)
	switch {
	case r.Pack != nil:
		j.pack(r)
	case r.Check != nil:
		j.check(r)
	}
	if r.Step.Mark == nil {
		j.sure(r)
	}
	if r.Closure != nil {
		j.closure("predicted by its loop", r.Closure)
		j.sum(r.Closure.Found, r.Closure.Predicted)
	}
}

// entry is a step's line. Words that do not fit beside the figure stand below.
func (j job) entry(name, figure, note string) {
	head := strings.Repeat(" ", nameIn) + pad(name, nameWide) + padLeft(figure, figWide)
	if note == "" {
		j.t.line(head)
		return
	}
	if columns(name) <= nameWide && columns(head)+2+columns(note) <= j.t.width {
		j.t.line(head + "  " + note)
		return
	}
	j.t.line(head)
	j.more(note)
}

// more writes words below a step's line.
func (j job) more(words string) { j.t.wrap(strings.Repeat(" ", moreIn), -1, words) }

// problem says what stops or holds a step, with the word for it in front.
func (j job) problem(r *overhaul.Result) {
	if r.Problem == "" {
		return
	}
	word := map[overhaul.Status]string{overhaul.Held: "HELD. ", overhaul.Stale: "STALE. "}[r.Status]
	say := sentence(r.Problem)
	if other := j.heldBy(r); other != "" {
		say = "It rests on the " + other + ", which is held: see there."
	}
	j.more(word + say)
	if r.Status != overhaul.Waiting && r.Wants != "" {
		j.more("Now: " + r.Wants + ".")
	}
}

// heldBy is the earlier step whose problem this one only repeats.
func (j job) heldBy(r *overhaul.Result) string {
	for _, other := range j.r.Steps {
		if other == r {
			break
		}
		if other.Problem != "" && other.Problem != r.Problem && strings.HasSuffix(r.Problem, other.Problem) {
			return other.Step.Name
		}
	}
	return ""
}

// waitWords says what a step waits for.
func waitWords(r *overhaul.Result) string {
	if _, what, ok := strings.Cut(r.Wants, " waits for "); ok {
		return "waits for " + what
	}
	if r.Left > 0 && r.Pack == nil {
		return "waits for " + r.Wants
	}
	return "waits: " + r.Wants
}

// sentence begins with a capital and ends with a full stop.
func sentence(s string) string {
	if s == "" {
		return s
	}
	s = strings.ToUpper(s[:1]) + s[1:]
	if strings.HasSuffix(s, ".") || strings.HasSuffix(s, "?") {
		return s
	}
	return s + "."
}

func measureNote(r *overhaul.Result) string {
	n := 0
	for _, p := range r.Presses {
		if !p.Stale {
			n++
		}
	}
	say := ""
	if slices.ContainsFunc(r.Presses, func(p overhaul.Press) bool { return p.Correction != nil && !p.Stale }) {
		say = ", corrected by the gauge's table"
	}
	if r.Expansion != nil && r.Expansion.Corrected {
		say += ", brought to 20 °C"
	}
	if n == 1 {
		return "one press" + say
	}
	return fmt.Sprintf("mean of %d presses%s", n, say)
}

// sum writes the arithmetic of figures where the whole detail is wanted.
func (j job) sum(figures ...*overhaul.Figure) {
	if j.detail != Full {
		return
	}
	for _, f := range figures {
		if f == nil || f.Leaf != nil || j.sums.shown[f] {
			continue
		}
		j.sums.shown[f] = true
		j.t.line(strings.Repeat(" ", moreIn) + title(f) + ":")
		j.sums.figure(f, moreIn+2)
	}
}

func (j job) packLine(r *overhaul.Result) (figure, note string) {
	p := r.Pack
	switch {
	case p.Worked != nil:
		return j.show(p.Worked), "makes the " + p.Wanted
	case p.Fitted != nil && r.Step.Pack.Before:
		return j.show(p.Fitted), "as it was in the build before"
	case p.Fitted != nil && r.Step.Pack.SetBy == "":
		return j.show(p.Fitted), "as fitted"
	case p.Fitted != nil:
		return j.show(p.Fitted), "as fitted; set by " + r.Step.Pack.SetBy
	}
	return "", ""
}

// pack writes below a pack's line what one more does, what it is made up of,
// what is fitted, how its two ways agree.
func (j job) pack(r *overhaul.Result) {
	p := r.Pack
	if r.Status == overhaul.Waiting && p.Worked == nil && p.Fitted == nil {
		return
	}
	if p.OneMore != "" && r.Status != overhaul.Stopped {
		j.more("One more of it, " + r.Step.Pack.Place + ": " + p.OneMore + ".")
	}
	if p.Squeeze != "" && r.Status != overhaul.Stopped {
		j.more(p.Squeeze)
	}
	if r.Status != overhaul.Stopped {
		j.makeup(p)
	}
	if p.Fitted != nil && p.Worked != nil {
		j.more(fmt.Sprintf("Fitted %s, %s.", j.show(p.Fitted), j.off(p.Error, p.ErrorDoes)))
	}
	j.keep(p)
	if c := p.Closure; c != nil {
		j.closure(twoWays(r.Step.Pack), c)
	}
	j.sum(p.Worked, p.Other)
	if p.Fitted != nil && len(p.Fitted.Leaves()) > 1 {
		j.sum(p.Fitted)
	}
}

func (j job) makeup(p *overhaul.Pack) {
	switch {
	case p.NoTray:
		j.more("No make-up: the stock that the sheet names is not among these entries.")
	case p.Makeup == nil:
	case len(p.Makeup.Packs) == 0:
		j.noMakeup(p)
	default:
		best := p.Makeup.Packs[0]
		j.more(fmt.Sprintf("Make up: %s, %s.", best, j.off(best.Error, p.Effect)))
		var others []string
		for _, o := range p.Makeup.Packs[1:] {
			others = append(others, fmt.Sprintf("%s (%s)", o, j.thickness(o.Error)))
		}
		if len(others) > 0 {
			j.more("Or: " + strings.Join(others, "; ") + ".")
		}
	}
}

// off says how far a pack is from its figure and what that does.
func (j job) off(e quantity.Exact, does string) string {
	if e.IsZero() {
		return "exact"
	}
	return join(j.thickness(e), strings.TrimSpace(does))
}

func (j job) thickness(e quantity.Exact) string {
	switch e.Sign() {
	case 1:
		return j.length(e) + " too thick"
	case -1:
		return j.length(e.Abs()) + " too thin"
	}
	return "exact"
}

func (j job) closure(other string, c *overhaul.Closure) {
	verdict := "GOOD"
	if !c.Good {
		verdict = "NOT GOOD"
	}
	j.more(fmt.Sprintf("%s %s, so apart by %s; %s is allowed: %s.", sentenceHead(other), j.show(c.Predicted),
		j.length(c.Value), j.length(c.Limit), verdict))
	j.closed(c)
}

func sentenceHead(s string) string { return strings.ToUpper(s[:1]) + s[1:] }
