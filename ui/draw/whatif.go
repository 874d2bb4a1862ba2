package draw

import (
	"io"
	"strings"

	"shimwright/calc/overhaul"
)

// WhatIf writes what differs in a job with entries replaced: result by result,
// as it was and as it would be.
func WhatIf(w io.Writer, p Page, r *overhaul.Results) error {
	t := p.sheet()
	t.wrap("", 0, r.Sheet.Title)
	t.wrap("", 0, "WHAT IF. Nothing of the job is changed: what was put in instead is put in here alone.")
	if len(r.Differences) == 0 {
		t.blank()
		t.line("No result would differ.")
		return t.to(w)
	}
	of := ""
	for _, d := range r.Differences {
		if d.Of != of {
			of = d.Of
			t.blank()
			t.line(of)
		}
		writeDifference(t, d)
	}
	return t.to(w)
}

// writeDifference is one line where both fit beside each other, else two.
func writeDifference(t *text, d overhaul.Difference) {
	was, would := orNothing(d.Was), orNothing(d.Would)
	head := strings.Repeat(" ", nameIn) + pad(d.What, nameWide-nameIn)
	if line := head + was + " -> " + would; columns(d.What) < nameWide-nameIn && columns(line) <= t.width {
		t.line(line)
		return
	}
	t.line(strings.Repeat(" ", nameIn) + d.What)
	t.wrap(strings.Repeat(" ", moreIn)+"was       ", -1, was)
	t.wrap(strings.Repeat(" ", moreIn)+"would be  ", -1, would)
}

func orNothing(s string) string {
	if s == "" {
		return "nothing"
	}
	return s
}
