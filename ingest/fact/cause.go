package fact

import (
	"slices"
	"strings"

	"shimwright/devices"
)

// A Cause is why a press does not count, in a word: one of Causes, so that
// presses can be counted by it. A bad frame's is the decoder's reason.
type Cause string

// The causes beside those of bad frames. They are stored: their words never
// change.
const (
	UnknownGauge   Cause = "unknown gauge"
	NoJob          Cause = "no job"
	NoStep         Cause = "no step" // nothing waited, or nothing that a gauge feeds
	OtherKind      Cause = "other kind of gauge"
	Double         Cause = "double" // too soon after another of the same gauge
	StepFull       Cause = "step full"
	ZeroFirst      Cause = "zero"                   // wants its zero checked first
	BearingsFirst  Cause = "bearings"               // which want rolling or seating first
	SayFirst       Cause = "something to say first" // a piece, or whether packs are in
	StepOnHold     Cause = "on hold"
	UnitMissed     Cause = "unit" // it would fit in another one
	LooksOtherwise Cause = "looks otherwise"
	OutOfWindow    Cause = "out of window"
	NotCertified   Cause = "certificate"
	Unexplained    Cause = "keyed without a reason"
	OtherCause     Cause = "other" // none of these, as a later program may write
)

// FrameReasons are what can be wrong with a bad frame.
func FrameReasons() []devices.Reason {
	return []devices.Reason{devices.NoNumber, devices.BadShape, devices.Absent, devices.Noise, devices.HalfLine, devices.TooLong, devices.Unsettled}
}

// Causes are all there are, OtherCause last.
func Causes() []Cause {
	var out []Cause
	for _, r := range FrameReasons() {
		out = append(out, Cause(r))
	}
	return append(out, UnknownGauge, NoJob, NoStep, OtherKind, Double, StepFull, ZeroFirst, BearingsFirst, SayFirst, StepOnHold,
		UnitMissed, LooksOtherwise, OutOfWindow, NotCertified, Unexplained, OtherCause)
}

// Why is why the press did not count when it came, one of Causes; "" for one that
// did. Of a press stored before version 2, which has no cause, it is read off the
// sentence.
func (p Pressed) Why() Cause {
	switch {
	case p.Outcome == Taken:
		return ""
	case p.Cause == "":
		return p.said()
	case slices.Contains(Causes(), p.Cause):
		return p.Cause
	}
	return OtherCause
}

// said is the cause that a sentence tells, by words of it that no other guard of
// those days used. A sentence may quote a name that holds such words: the cause
// may then be another one of the list, and never a new one.
func (p Pressed) said() Cause {
	if p.Value == nil {
		_, why, _ := strings.Cut(p.Sentence, ": ")
		for _, r := range FrameReasons() {
			if strings.HasPrefix(why, string(r)) {
				return Cause(r)
			}
		}
		return OtherCause
	}
	for _, r := range []struct {
		words string
		cause Cause
	}{
		{"is no gauge of this bench", UnknownGauge},
		{"which has no gauge on this bench", UnknownGauge},
		{"no job is open", NoJob},
		{"nothing was waiting", NoStep},
		{"waits for no gauge", NoStep},
		{"One press counted", Double},
		{": which is right?", Double},
		{"has all its presses", StepFull},
		{"ZERO FIRST", ZeroFirst},
		{"ROLL FIRST", BearingsFirst},
		{"SEAT FIRST", BearingsFirst},
		{"it cannot count yet", SayFirst},
		{"which states no unit, misses", UnitMissed},
		{"when it was taught: is this still", LooksOtherwise},
		{"nobody said why", Unexplained},
		{", which the step ", OutOfWindow},
		{"; the step ", OtherKind},
		{"was due", NotCertified},
		{"is out of use", NotCertified},
	} {
		if strings.Contains(p.Sentence, r.words) {
			return r.cause
		}
	}
	return OtherCause
}
