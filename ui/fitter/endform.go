package fitter

import (
	"fmt"

	"shimwright/ingest/bench"
)

// The ends of a job, and who works at it, as they are offered.
const (
	endSign    = "sign it off"
	endFinish  = "finish it as training"
	endAbandon = "abandon it"
	endHands   = "say who works at it"
)

// endForm asks what becomes of the job in front. A job with something open is not
// sent to be signed off: a page lists what is.
func endForm(v *view) *form {
	first := endSign
	if v.snap.Results.Training {
		first = endFinish
	}
	return &form{
		fields: []field{{ask: fmt.Sprintf("What becomes of job %s?", v.snap.Job.ID), options: []string{first, endAbandon, endHands}}},
		look: func(a []string) *page {
			if a[0] == endSign && len(v.snap.Unfinished) > 0 {
				return unfinishedPage()
			}
			return nil
		},
		then: func(a []string) *form {
			switch a[0] {
			case endSign:
				return signForm(v)
			case endAbandon:
				return signedBy(v, &form{
					fields:  []field{{ask: "Why is it abandoned?", free: true, options: []string{"opened by mistake", "the drive is scrapped", "the customer takes it back"}}},
					command: func(a []string) bench.Command { return bench.Abandon{Reason: a[0]} },
				})
			case endHands:
				return initialsForm("Who works at it from here on? The initials:", bench.StartWork{})
			}
			if v.snap.Asks {
				return initialsForm("Your initials:", bench.Finish{})
			}
			return nil
		},
		command: func([]string) bench.Command { return bench.Finish{} },
	}
}

// signForm asks for the next signature that is wanted.
func signForm(v *view) *form {
	as := ""
	if len(v.snap.Wanted) > 0 {
		as = string(v.snap.Wanted[0])
	}
	return initialsForm(fmt.Sprintf("Signed as the %s, that all of it is as the sheet wants. The initials:", as), bench.SignOff{As: as})
}

// initialsForm asks who does something that always wants a name.
func initialsForm(ask string, c bench.Command) *form {
	return inName(&form{command: func([]string) bench.Command { return c }}, ask)
}

// unfinishedPage lists what keeps the job from being signed off.
func unfinishedPage() *page {
	return &page{title: "open before sign-off", key: "x", lines: func(v *view, width, _ int) []line {
		const most = 4 // lines of one thing
		var out []line
		for _, words := range v.snap.Unfinished {
			for i, l := range lines(plain, capital(words)+".", width-4, most) {
				mark := "    "
				if i == 0 {
					mark = "  - "
				}
				out = append(out, append(line{{mark, plain}}, l...))
			}
		}
		if len(out) == 0 {
			return []line{say("Nothing is open.")}
		}
		return out
	}}
}
