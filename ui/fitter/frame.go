package fitter

import (
	"fmt"
	"strings"

	"shimwright/calc/overhaul"
	"shimwright/ingest/bench"
)

// listFrom is the width from which the steps stand beside the work.
const (
	listFrom = 124
	listWide = 40
)

// frame draws a view: as many lines as the window is high, none wider than it.
func frame(v *view) []line {
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
		row := append(left[i].pad(narrow.width), span{" │ ", plain})
		if i > 0 && i-1 < len(list) {
			row = append(row, list[i-1]...)
		}
		left[i] = row.cut(v.width)
	}
	return left
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

func headLines(v *view) []line {
	s := v.snap
	left := line{{s.Bench, strong}}
	if s.Job == nil {
		return []line{left, nil}
	}
	left = append(left, span{"   job ", plain}, span{s.Job.ID, strong}, span{"   drive ", plain}, span{s.Job.Head.Serial, strong})
	right := line{{fmt.Sprintf("build state %d", s.Results.Build), strong}}
	if s.Results.Training {
		right = append(right, span{"   ", plain}, span{" TRAINING: not for release ", warn})
	}
	return []line{
		ends(left, right, v.width),
		ends(say(s.Job.Head.Drive), openWords(s), v.width),
		say(strings.Repeat("─", v.width)),
	}
}

// openWords count the steps done and what wants a decision.
func openWords(s *bench.Snapshot) line {
	n := map[overhaul.Status]int{}
	for _, x := range s.Results.Steps {
		n[x.Status]++
	}
	out := line{{fmt.Sprintf("%d of %d steps done", n[overhaul.Done], len(s.Results.Steps)), plain}}
	for _, st := range []overhaul.Status{overhaul.Stopped, overhaul.Held, overhaul.Stale} {
		if n[st] > 0 {
			out = append(out, span{fmt.Sprintf(", %d %s", n[st], st), strong})
		}
	}
	switch {
	case len(s.Held) == 1:
		out = append(out, span{", 1 press held", warn})
	case len(s.Held) > 1:
		out = append(out, span{fmt.Sprintf(", %d presses held", len(s.Held)), warn})
	}
	return out
}

// bodyLines are the step's lines in the room there is.
func bodyLines(v *view, room int) []line {
	if v.snap.Job == nil {
		return idleLines(v)
	}
	r := v.shown()
	if r == nil {
		return doneLines(v)
	}
	out := stepHead(v, r)
	left := room - len(out)
	urgent := urgentLines(v, r)
	big := readingLines(v, r)
	big = big[:min(len(big), max(0, left-len(urgent)))] // what is wrong is never left out
	rest := append(urgent, restLines(v, r)...)
	rest = rest[:min(len(rest), max(0, left-len(big)))]
	if left > len(big)+len(rest) {
		out = append(out, nil)
	}
	out = append(out, big...)
	return append(out, rest...)
}

func idleLines(v *view) []line {
	out := []line{nil, toned(strong, "No job is open.")}
	return append(out, troubleLines(v)...)
}

// doneLines say that every step is done.
func doneLines(v *view) []line {
	out := append(troubleLines(v), nil)
	rows, _ := blocks("DONE", "", v.width)
	for _, r := range rows {
		out = append(out, toned(good, "  "+r))
	}
	out = append(out, nil, say(fmt.Sprintf("  Every step of job %s is done, in build state %d.", v.snap.Job.ID, v.snap.Results.Build)))
	if v.snap.Results.Training {
		out = append(out, toned(warn, "  TRAINING: readings came from a virtual gauge. This job cannot be released."))
	}
	for _, l := range standingLines(v) {
		out = append(out, append(line{{"  ", plain}}, l...))
	}
	return out
}

// standingLines say where each wanted figure stands.
func standingLines(v *view) []line {
	var out []line
	for _, p := range v.snap.Results.Places {
		text := v.figure(p.Low)
		if !p.Low.Value.Equal(p.High.Value) {
			text += " .. " + v.figure(p.High)
		}
		if wd, ok := v.snap.Job.Sheet.WantedNamed(p.Wanted); ok && wd.SettingOf != "" {
			text += " float"
			if p.Low.Value.Sign() < 0 {
				text = v.length(p.Low.Value.Neg()) + " preload"
			}
		}
		out = append(out, line{{p.Wanted + " stands at ", plain}, {text, strong}})
	}
	return out
}
