package guard

import (
	"fmt"

	"shimwright/ingest/job"
)

// Undecided lists in words the presses of a job that wait for a person: held ones,
// those in doubt since their gauge's zero was lost, and typed ones that want a
// second look.
func Undecided(j *job.Job) []string {
	var out []string
	for _, p := range j.Held() {
		out = append(out, fmt.Sprintf("press %d at %s is held", p.Seq, p.Fact.Step))
	}
	for _, seq := range j.Doubted() {
		p, _ := j.Press(seq)
		out = append(out, fmt.Sprintf("press %d at %s is in doubt, because the gauge's zero was lost after it", seq, p.Fact.Step))
	}
	for _, seq := range LooksWanted(j, j.Looked()) {
		p, _ := j.Press(seq)
		out = append(out, fmt.Sprintf("press %d, keyed at %s, wants a second person's look", seq, p.Fact.Step))
	}
	return out
}
