package bench

import (
	"shimwright/calc/overhaul"
	"shimwright/ingest/job"
)

// LetBe is the concession by which what a step came to was let be as it was
// found; false where it was not, or came out otherwise since.
func LetBe(j *job.Job, r *overhaul.Result) (job.Concession, bool) {
	f, ok := JudgementOf(r)
	if !ok {
		return job.Concession{}, false
	}
	return j.Conceded(r.Step.Name, f.Words)
}
