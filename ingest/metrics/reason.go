package metrics

import (
	"shimwright/devices"
	"shimwright/ingest/fact"
)

// frameReason is a bad frame's reason as a label.
func frameReason(r devices.Reason) string {
	for _, known := range fact.FrameReasons() {
		if r == known {
			return string(r)
		}
	}
	return other
}

// outcomeOf is what a press came to, as a label.
func outcomeOf(f fact.Pressed) string {
	switch f.Outcome {
	case fact.Taken, fact.Held, fact.Aside:
		return string(f.Outcome)
	}
	return other
}
