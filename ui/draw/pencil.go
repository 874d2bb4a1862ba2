package draw

import (
	"fmt"
	"io"
	"strings"

	"shimwright/calc/budget"
	"shimwright/calc/overhaul"
)

// Pencil writes every figure of a job once, in the order of work, as a sum that
// can be followed with a pencil: down to leaves, or to a figure that stands above
// it. Below each figure stands its uncertainty U with its parts: U is twice the
// root of the sum of their squares. It gives no advice and no verdict.
func Pencil(w io.Writer, p Page, r *overhaul.Results) error {
	t := p.sheet()
	j := job{Page: p, t: t, r: r, detail: Full, sums: newSums(p, t)}
	for _, x := range r.Steps {
		j.pencil(x)
	}
	return t.to(w)
}

func (j job) pencil(r *overhaul.Result) {
	switch {
	case r.Step.Measure != nil && r.Figure != nil:
		j.once(r.Step.Name, r.Figure)
	case r.Pack != nil:
		j.pencilPack(r)
	case r.Check != nil:
		j.once(r.Step.Name, r.Check.Figure)
		if ring := r.Check.Ring; ring != nil && r.Check.Figure == nil {
			mean, spread := ringFigures(r.Check)
			j.once(r.Step.Name+", mean", mean)
			j.once(r.Step.Name+", spread", spread)
		}
	}
	if r.Step.Mark == nil && r.Pack == nil {
		j.parts(r)
	}
	if c := r.Closure; c != nil {
		j.once(r.Step.Name+", found", c.Found)
		j.once(r.Step.Name+", predicted", c.Predicted)
		j.apart(c)
	}
}

func (j job) pencilPack(r *overhaul.Result) {
	p := r.Pack
	j.once(r.Step.Name, p.Worked)
	j.parts(r)
	if p.Other != nil {
		j.once(r.Step.Name+", the other way", p.Other)
	}
	if p.Closure != nil {
		j.apart(p.Closure)
	}
	j.once(r.Step.Name+", as fitted", p.Fitted)
	if p.Fitted != nil && p.Worked != nil {
		j.t.wrap("  ", -1, fmt.Sprintf("As fitted less worked: %s - %s = %s, %s.", j.show(p.Fitted), j.show(p.Worked), j.length(p.Error), j.off(p.Error, p.ErrorDoes)))
	}
}

func (j job) apart(c *overhaul.Closure) {
	say := fmt.Sprintf("Found less predicted: %s - %s = %s; %s is allowed", j.show(c.Found), j.show(c.Predicted), j.length(c.Value), j.length(c.Limit))
	if c.Budget != nil && len(c.Budget.Lines) > 0 {
		say += fmt.Sprintf("; U %s (k = 2)", c.Budget.Expanded.ShowUnit(j.Unit, j.Places))
	}
	j.t.wrap("  ", -1, say+".")
}

// once writes a figure that was not written yet: on its own line where it is one
// leaf or one mean of presses, else as a column.
func (j job) once(name string, f *overhaul.Figure) {
	if f == nil || j.sums.shown[f] {
		return
	}
	j.sums.shown[f] = true
	if j.t.b.Len() > 0 {
		j.t.blank()
	}
	if f.By == nil && (f.Leaf != nil || isPlainMean(f) || only(f) != nil && isPlainMean(only(f))) {
		say, _ := words(f, j.unitOf(f))
		say = strings.TrimPrefix(strings.TrimPrefix(say, f.Name+", "), "reading, ")
		j.t.wrap("", moreIn, fmt.Sprintf("%s: %s = %s", name, j.full(f), say))
		return
	}
	j.t.wrap("", moreIn, name+nameless(name, f))
	u := j.unitOf(f)
	rows, shut := j.sums.rows(f)
	j.sums.column(rows, append(shut, j.sums.total(f, u)), nameIn)
}

// nameless is how a figure comes about, where its name is said already.
func nameless(name string, f *overhaul.Figure) string {
	if say := strings.TrimPrefix(title(f), f.Name); say != "" && !strings.Contains(name, say) {
		return say
	}
	return ""
}

// full is a figure with every decimal it has.
func (j job) full(f *overhaul.Figure) string {
	u := j.unitOf(f)
	d := inFull(f.Value, u)
	say := digits(d, j.places(u)) + " " + u.String()
	if d.Sign() < 0 {
		say = "-" + say
	}
	return say
}

// parts writes what a figure's uncertainty is made of, in one paragraph.
func (j job) parts(r *overhaul.Result) {
	b := r.Budget
	if b == nil {
		return
	}
	u, places := j.budgetUnit(r)
	var of []string
	small := 0
	for _, l := range b.Lines {
		if l.Share.IsZero() {
			small++
			continue
		}
		say := l.Part.ShowUnit(u, places) + " " + strings.TrimPrefix(partWords(l), "the ")
		if c := strings.TrimPrefix(l.Coef.String(), "-"); c != "1" && l.Kind != budget.Temperature && l.Kind != budget.Expansion {
			say += ", counts " + c
		}
		of = append(of, say)
	}
	if small > 0 {
		of = append(of, fmt.Sprintf("%d too small to change it", small))
	}
	if len(of) > 0 {
		j.t.wrap("  ", -1, fmt.Sprintf("U %s, of %s.", b.Expanded.ShowUnit(u, places), strings.Join(of, "; ")))
	}
	if len(b.Unknown) > 0 {
		j.t.wrap("  ", -1, "Not counted, for nothing says how sure: "+strings.Join(b.Unknown, "; ")+".")
	}
}
