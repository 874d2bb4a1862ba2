package fact

import (
	"testing"
)

// The cause of a press that was stored before causes were is read off its
// sentence, as the guards of those days wrote it.
func TestWhyOfOldPresses(t *testing.T) {
	for _, c := range []struct {
		want     Cause
		sentence string
		figure   bool
	}{
		{"bearings", "ROLL FIRST: nobody has said that the bearings are rolled. 0.20 mm does not count.", true},
		{"bearings", "SEAT FIRST: the bearings were seated 60 min ago, which holds for 10 min. 0.20 mm does not count.", true},
		{"began before the port had settled", "From I03: began before the port had settled (received \"\").", false},
		{"certificate", "I03 is out of use: 0.20 mm from I03 is kept.", true},
		{"certificate", "I03 was due 3 days ago: 0.20 mm from I03 is kept.", true},
		{"double", "0.30 mm and 0.20 mm came from I03 within 800ms: which is right?", true},
		{"double", "One press counted: 0.20 mm came again from I03 within 800ms.", true},
		{"half a line", "From I03: half a line: it has \"; the step \" in it (received \"+0\\x01\").", false},
		{"keyed without a reason", "0.20 mm was KEYED and nobody said why.", true},
		{"looks otherwise", "0.20 mm from I03, which sent in with 4 decimals when it was taught: is this still I03?", true},
		{"no gauge on this channel", "From I03: no gauge on this channel (received \"\").", false},
		{"no job", "0.20 mm from I03: no job is open.", true},
		{"no number", "From I03: no number (received \"\").", false},
		{"no step", "0.20 mm from I03: nothing was waiting.", true},
		{"no step", "0.20 mm from I03: the step \"pinion pair number\" waits for no gauge.", true},
		{"noise on the line", "From I03: noise on the line: it has \"; the step \" in it (received \"+0\\x01\").", false},
		{"not a line of this gauge", "From I03: not a line of this gauge (received \"\").", false},
		{"other", "From I03: something else.", false},
		{"other", "This is no sentence of a guard.", true},
		{"other kind of gauge", "3 N from I03 is a force; the step \"backlash\" wants a length.", true},
		{"other kind of gauge", "That was I03, a micrometer; the step \"backlash\" wants a dial indicator.", true},
		{"out of window", "55 mm from I03 misses 0.00 mm .. 0.80 mm, which the step \"backlash\" wants.", true},
		{"something to say first", "0.20 mm from I03 is kept: it cannot count yet.", true},
		{"step full", "0.20 mm from I03: the step \"backlash\" has all its presses.", true},
		{"too long", "From I03: too long (received \"\").", false},
		{"unit", "7 from I03, which states no unit, misses 0.00 mm .. 0.80 mm. Read as thou it would be 0.1778 mm, which fits.", true},
		{"unknown gauge", "0.20 mm came on channel 3, which has no gauge on this bench.", true},
		{"unknown gauge", "I03 is no gauge of this bench.", true},
		{"zero", "ZERO FIRST: I03 has had no zero check. 0.20 mm does not count.", true},
	} {
		p := Pressed{Gauge: "I03", Outcome: Held, Sentence: c.sentence}
		if c.figure {
			p.Value = pointer("0.20 mm")
		}
		if got := p.Why(); got != c.want {
			t.Errorf("%q has the cause %q, want %q", c.sentence, got, c.want)
		}
		if p.Outcome = Taken; p.Why() != "" {
			t.Errorf("taken, and the cause is %q", p.Why())
		}
	}
}

// A stored cause counts, whatever the sentence says, and one that is not known is
// "other".
func TestWhy(t *testing.T) {
	for stored, want := range map[Cause]Cause{OutOfWindow: OutOfWindow, StepOnHold: StepOnHold, "noise on the line": "noise on the line", "the moon": OtherCause} {
		p := Pressed{Outcome: Held, Cause: stored, Value: pointer("0.20 mm"), Sentence: "ZERO FIRST"}
		if got := p.Why(); got != want {
			t.Errorf("stored as %q, read as %q", stored, got)
		}
	}
}
