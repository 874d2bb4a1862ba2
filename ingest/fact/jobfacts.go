package fact

// What follows is decided about a whole job, by persons who answer for it.

// AtWork says who works at a job from here on. A second person is none of those
// who did.
type AtWork struct {
	By Signature `json:"by"`
}

// Chosen puts an open job in front again.
type Chosen struct{}

// OnHold stops a step, or the whole job where Step is empty, until it is lifted.
type OnHold struct {
	Step   string    `json:"step,omitempty"`
	Reason string    `json:"reason"`
	Rule   string    `json:"rule,omitempty"` // the rule that holds it; "" for a person
	By     Signature `json:"by,omitzero"`
}

// Lifted ends a hold.
type Lifted struct {
	Hold   int64     `json:"hold"` // its sequence number
	Reason string    `json:"reason"`
	Rule   string    `json:"rule,omitempty"` // the rule that lifts what it held; "" for a person
	By     Signature `json:"by,omitzero"`
}

// Conceded lets a check or a pack be that came out wrong. It holds for what was
// found and no other figure.
type Conceded struct {
	Step   string    `json:"step"`
	What   string    `json:"what"`
	Limit  string    `json:"limit,omitempty"` // lower .. upper, as judged; mm, N·m
	Found  string    `json:"found"`           // as it was said when it was judged
	Reason string    `json:"reason"`
	By     Signature `json:"by"`
}

// LookedOver is a second person's look at a press.
type LookedOver struct {
	Press int64     `json:"press"` // its sequence number
	By    Signature `json:"by"`
}

// Signed is one signature under a job. The last one wanted ends the job.
type Signed struct {
	As   Role      `json:"as"`
	By   Signature `json:"by"`
	Ends bool      `json:"ends,omitempty"`
}

// Finished ends a training job, which is never released.
type Finished struct {
	By Signature `json:"by,omitzero"`
}

// Abandoned ends a job that is not to be finished.
type Abandoned struct {
	Reason string    `json:"reason"`
	By     Signature `json:"by,omitzero"`
}
