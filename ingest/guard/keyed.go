package guard

import (
	"fmt"

	"shimwright/calc/sheet"
	"shimwright/devices"
	"shimwright/ingest/fact"
	"shimwright/ingest/job"
)

// explained holds a figure that was typed and nobody said why.
func explained(c Case) *Decision {
	if c.Sample.Source != devices.SourceKeyed || !c.Unexplained {
		return nil
	}
	return held(fact.Unexplained, "Press the gauge's own button, or key it again and say why.", "%s was KEYED and nobody said why.", c.Sample.Value)
}

// typed marks a figure that was typed, and asks for a second look where the step
// is critical: one figure in some thousands is typed wrong, however careful the
// typist.
func typed(c Case) (sentence, do string) {
	switch {
	case c.Sample.Source != devices.SourceKeyed:
		return "", ""
	case c.Step.Critical:
		return "KEYED.", "A second person must look at it before sign-off."
	}
	return "KEYED.", ""
}

// WantsLook tells whether a second person must look at a press: it was typed,
// and the step is critical.
func WantsLook(st *sheet.Step, p fact.Pressed) bool { return st.Critical && p.Keyed() }

// LooksWanted are the numbers of a job's presses that still wait for a second
// person: typed at a critical step, counting or held, and not looked at yet.
func LooksWanted(j *job.Job, looked map[int64]bool) []int64 {
	var out []int64
	for _, p := range j.Presses {
		st, ok := j.Sheet.Step(p.Fact.Step)
		if !ok || !WantsLook(st, p.Fact) || p.Now == fact.Aside || looked[p.Seq] {
			continue
		}
		if p.Seq > j.Begun(p.Fact.Step) {
			out = append(out, p.Seq)
		}
	}
	return out
}

// MayLook refuses a second look by the person who typed the figure, or by
// nobody. The error says what to do.
func MayLook(keyedBy, by string) error {
	switch {
	case by == "":
		return fmt.Errorf("nobody says who looked: name the second person")
	case by == keyedBy:
		return fmt.Errorf("%s typed this figure: another person must look at it", by)
	}
	return nil
}
