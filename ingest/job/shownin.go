package job

import (
	"shimwright/calc/overhaul"
	"shimwright/calc/quantity"
)

// WorkShownIn works the job with its lengths said in another unit to so many
// decimals: the figures, verdicts and choices are those of Work, the sentences
// about them are written anew from the same exact values. What gauges sent and
// what the sheet and the leaves are marked with keeps its own unit.
func (j *Job) WorkShownIn(u quantity.Unit, places int32) (*overhaul.Results, error) {
	other, of := *j, *j.Sheet
	of.Unit, of.Places = u, places
	other.Sheet = &of
	return other.Work()
}
