package metrics

import (
	"strings"

	"shimwright/devices"
	"shimwright/ingest/fact"
)

// frameReasons are what can be wrong with a bad frame.
func frameReasons() []devices.Reason {
	return []devices.Reason{devices.NoNumber, devices.BadShape, devices.Absent, devices.Noise, devices.HalfLine, devices.TooLong, devices.Unsettled}
}

// frameReason is a bad frame's reason as a label.
func frameReason(r devices.Reason) string {
	for _, known := range frameReasons() {
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

// reasons tell why a press did not count by words of its sentence that no other
// guard uses. A sentence may quote a name that holds such words: the reason may
// then be another one of this list, and never a new one.
func reasons() []struct{ words, reason string } {
	return []struct{ words, reason string }{
		{"is no gauge of this bench", "unknown gauge"},
		{"which has no gauge on this bench", "unknown gauge"},
		{"no job is open", "no job"},
		{"nothing was waiting", "no step"},
		{"waits for no gauge", "no step"},
		{"One press counted", "double"},
		{": which is right?", "double"},
		{"has all its presses", "step full"},
		{"ZERO FIRST", "zero"},
		{"ROLL FIRST", "bearings"},
		{"SEAT FIRST", "bearings"},
		{"it cannot count yet", "something to say first"},
		{"which states no unit, misses", "unit"},
		{"when it was taught: is this still", "looks otherwise"},
		{"nobody said why", "keyed without a reason"},
		{", which the step ", "out of window"},
		{"; the step ", "other kind of gauge"},
		{"was due", "certificate"},
		{"is out of use", "certificate"},
	}
}

// reasonOf is why a press did not count, as a label; "" for one that did.
func reasonOf(f fact.Pressed) string {
	if f.Outcome == fact.Taken {
		return ""
	}
	if f.Value == nil {
		_, why, _ := strings.Cut(f.Sentence, ": ")
		for _, r := range frameReasons() {
			if strings.HasPrefix(why, string(r)) {
				return string(r)
			}
		}
		return other
	}
	for _, r := range reasons() {
		if strings.Contains(f.Sentence, r.words) {
			return r.reason
		}
	}
	return other
}
