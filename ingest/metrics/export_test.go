package metrics

import (
	"slices"

	"shimwright/ingest/fact"
)

// Reasons are all reasons that a press may have as a label, "other" and "" left
// out.
func Reasons() []string {
	var out []string
	for _, r := range frameReasons() {
		out = append(out, string(r))
	}
	for _, r := range reasons() {
		if !slices.Contains(out, r.reason) {
			out = append(out, r.reason)
		}
	}
	return out
}

// ReasonOf is why a press did not count, as a label.
func ReasonOf(f fact.Pressed) string { return reasonOf(f) }
