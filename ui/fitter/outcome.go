package fitter

import (
	"fmt"
	"strings"
	"time"

	"shimwright/ingest/fact"
	"shimwright/ingest/job"
)

// aSecond is how long the word of a press stays large.
const aSecond = time.Second

// freshLines are what the newest press came to, in block letters, while it is
// not a second old; nil after that.
func freshLines(v *view) []line {
	last := v.snap.Last
	if last == nil || v.saidAt.IsZero() || v.now.Sub(v.saidAt) >= aSecond || v.now.Before(v.saidAt) {
		return nil
	}
	p := job.Press{Seq: last.Seq, Fact: last.Press, Now: last.Press.Outcome}
	word := map[fact.Outcome]string{fact.Taken: "TAKEN", fact.Held: "HELD", fact.Aside: "ASIDE"}[p.Now]
	rows, ok := v.largest(word, "", blockNarrow, 1, 1)
	if v.scale() > 2 {
		rows, ok = v.word(word)
	}
	if !ok {
		return nil
	}
	out := []line{say(shapeOf(p.Now) + " " + pressFigure(p) + ", " + beepWords(p.Now))}
	for _, row := range rows {
		out = append(out, toned(outcomeTone(p), row))
	}
	return append(out, say("at "+strings.TrimSpace(last.Press.Step+" "+last.Press.Spot)))
}

func shapeOf(o fact.Outcome) string {
	switch o {
	case fact.Taken:
		return "(o)"
	case fact.Held:
		return "/!\\"
	}
	return "[-]"
}

func beepWords(o fact.Outcome) string {
	if n := beeps(o); n > 1 {
		return fmt.Sprintf("%d beeps", n)
	}
	return "1 beep"
}

func outcomeTone(p job.Press) tone {
	switch {
	case p.Struck || p.Now == fact.Aside:
		return plain
	case p.Now == fact.Held:
		return warn
	}
	return good
}

// outcomeWord is what a press came to, as shape and word.
func outcomeWord(p job.Press) string {
	switch {
	case p.Struck:
		return "[=] STRUCK"
	case p.Now == fact.Taken:
		return "(o) TAKEN"
	case p.Now == fact.Held:
		return "/!\\ HELD"
	}
	return "[-] ASIDE"
}

// outcomeLines are the word and the sentence of a press.
func outcomeLines(v *view, p job.Press) []line {
	word := outcomeWord(p)
	sentence := p.Fact.Sentence
	if p.Reason != "" {
		sentence += " " + capital(p.Reason) + "."
	}
	if p.Fact.Keyed() {
		sentence = "KEYED by hand: " + sentence
	}
	return hanging(span{word, outcomeTone(p)}, sentence, v.width, 2)
}

func clock(p job.Press) string { return p.Fact.Arrived.Format("15:04:05") }

// hanging puts words behind a word that stands out; further lines hang under
// them.
func hanging(word span, words string, width, most int) []line {
	n := cells(word.text) + 2
	var out []line
	for i, s := range wrap(words, width-n, most) {
		if i == 0 {
			out = append(out, line{word, {"  " + s, plain}})
			continue
		}
		out = append(out, say(strings.Repeat(" ", n)+s))
	}
	return out
}
