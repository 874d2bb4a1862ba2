package record

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"shimwright/ingest/carried"
	"shimwright/ingest/fact"
	"shimwright/ingest/job"
)

// walked is a job with what only the order of its facts tells.
type walked struct {
	carried carried.Job
	facts   []fact.Fact
	job     *job.Job

	now        fact.Signature // who is at work
	buildNow   int
	build      map[int64]int // by fact: the build state after it
	by         map[int64]string
	at         map[int64]string // when it was stored
	judged     []Judged
	decisions  []Decision
	signatures []Signed
	fits       map[string]fit // by step, the last
	marks      map[string]int64
	drawn      map[string]drawn // by piece, the last time
	programs   []string
	doubts     map[int64]string // by press: why it is in doubt
	known      map[string]fact.GaugeKnown
	warmth     string
}

// fit is a pack put in.
type fit struct {
	fact.Fitted
	seq   int64
	build int
}

// drawn is a piece drawn, and when.
type drawn struct {
	fact.Drew
	at string
}

// walk folds a job and notes what each fact changes on the way.
func walk(c carried.Job) (*walked, error) {
	facts, err := c.Decode()
	if err != nil {
		return nil, err
	}
	head, ok := facts[0].(fact.Opened)
	if !ok {
		return nil, fmt.Errorf("job %s begins with fact %d, %q, and not with its opening: facts are missing", c.ID, c.Facts[0].Seq, c.Facts[0].Kind)
	}
	w := &walked{carried: c, facts: facts, buildNow: 1,
		build: map[int64]int{}, by: map[int64]string{}, at: map[int64]string{},
		fits: map[string]fit{}, marks: map[string]int64{}, drawn: map[string]drawn{}, doubts: map[int64]string{}, known: map[string]fact.GaugeKnown{}}
	if w.job, err = job.Begin(c.ID, c.Facts[0].Seq, head); err != nil {
		return nil, err
	}
	for i, f := range facts {
		s := c.Facts[i]
		if i > 0 {
			if w.job, err = w.job.Then(s.Seq, f); err != nil {
				return nil, err
			}
		}
		w.note(s, f)
	}
	return w, nil
}

func (w *walked) note(s carried.Fact, f fact.Fact) {
	w.at[s.Seq] = day(s.UTC)
	switch f := f.(type) {
	case fact.AtWork:
		w.now = f.By
	case fact.Fitted:
		w.buildNow++
		w.fits[f.Step] = fit{f, s.Seq, w.buildNow}
	case fact.Changed:
		w.buildNow++
		w.decide(s, "metal changed", f.Step, fmt.Sprintf("%s: %s; build state %d", strings.Join(f.Lengths, ", "), f.Reason, w.buildNow), fact.Signature{})
	case fact.Again:
		w.decide(s, "taken again", f.Step, f.Reason, fact.Signature{})
	case fact.MoveWanted:
		w.decide(s, "gear moved", f.Step, fmt.Sprintf("the %s by %s (longer above nought)", f.Gear, f.By), fact.Signature{})
	case fact.Drew:
		w.drawn[f.Piece] = drawn{f, w.at[s.Seq]}
	case fact.Marked:
		w.marks[f.Step] = s.Seq
	case fact.Answered:
		w.marks[f.Step] = s.Seq
	case fact.Confirmed:
		w.marks[f.Step] = s.Seq
	case fact.Judged:
		w.judged = append(w.judged, Judged{s.Seq, f.Step, f.Verdict, f.Words, f.Advice, w.at[s.Seq], f.Build, f.Program})
		if !slices.Contains(w.programs, f.Program) && f.Program != "" {
			w.programs = append(w.programs, f.Program)
		}
	default:
		w.noteDecision(s, f)
		w.noteAround(s, f)
	}
	w.build[s.Seq], w.by[s.Seq] = w.buildNow, w.now.Initials
	if len(w.job.Signatures()) == 0 {
		for i := range w.signatures {
			w.signatures[i].Void = true
		}
	}
}

func (w *walked) noteDecision(s carried.Fact, f fact.Fact) {
	switch f := f.(type) {
	case fact.Took:
		w.decide(s, "held press let count", "", fmt.Sprintf("press %d: %s", f.Press, f.Reason), f.By)
	case fact.OnHold:
		why := f.Reason
		if f.Rule != "" {
			why += " (by the rule: " + f.Rule + ")"
		}
		w.decide(s, "held", f.Step, why, f.By)
	case fact.Lifted:
		w.decide(s, "hold lifted", "", fmt.Sprintf("hold %d: %s", f.Hold, f.Reason), f.By)
	case fact.Conceded:
		words := f.Found + ". Let be: " + f.Reason
		if f.Limit != "" {
			words = "limits " + f.Limit + "; " + words
		}
		w.decide(s, "concession", f.Step, words, f.By)
	case fact.LookedOver:
		w.decide(s, "second look", "", fmt.Sprintf("press %d was looked at by another person", f.Press), f.By)
	case fact.Finished:
		w.decide(s, "finished as training", "", "never released", f.By)
	case fact.Abandoned:
		w.decide(s, "abandoned", "", f.Reason, f.By)
	case fact.Signed:
		w.signatures = append(w.signatures, Signed{Seq: s.Seq, As: string(f.As), By: f.By.String(),
			At: w.at[s.Seq], Meaning: meaning(f), Under: s.Before})
	}
}

// noteAround notes what surrounds presses.
func (w *walked) noteAround(s carried.Fact, f fact.Fact) {
	switch f := f.(type) {
	case fact.Zeroed:
		what := "zero checked"
		if !f.Good {
			what = "zero refused"
		}
		w.decide(s, what, f.Step, strings.TrimSpace(fmt.Sprintf("%s shows %s. %s %s", f.Gauge, f.Reading, f.Sentence, f.Do)), fact.Signature{})
		for _, press := range f.Doubts {
			w.doubts[press] = fmt.Sprintf("in doubt since fact %d: its gauge's zero had moved", s.Seq)
		}
	case fact.Knocked:
		w.decide(s, "gauge knocked", "", "a gauge was knocked or dropped", f.By)
	case fact.NeedSaid:
		w.decide(s, "said", f.Step, f.Need, f.By)
	case fact.LetCount:
		w.decide(s, "let count out of date", "", strings.Join(f.What, ", ")+": "+f.Reason, f.By)
	case fact.Warmth:
		w.warmth = "part " + f.Part + ", standards " + f.Standards
		if f.Gauge != "" {
			w.warmth += ", gauge " + f.Gauge
		}
	case fact.SealPulled:
		w.decide(s, "seal pulled", f.Step, fmt.Sprintf("with the seal %s, without %s", f.With, f.Without), fact.Signature{})
	case fact.GaugeKnown:
		w.known[f.Gauge] = f
	case fact.Earlier:
		w.decide(s, "earlier jobs", f.Step, fmt.Sprintf("%s of other jobs are known to its move factor", count(len(f.Moves), "move", "moves")), fact.Signature{})
	}
}

func (w *walked) decide(s carried.Fact, what, step, words string, by fact.Signature) {
	who := by.String()
	if who == "" {
		who = w.now.Initials
	}
	w.decisions = append(w.decisions, Decision{Seq: s.Seq, What: what, Step: step, Words: words, At: w.at[s.Seq], By: who})
}

// meaning is what a signature says.
func meaning(f fact.Signed) string {
	say := map[fact.Role]string{
		fact.Fitter:       "I built this drive, and the readings of this record are those I took",
		fact.SecondPerson: "I looked over this build, and did none of its work",
		fact.Lead:         "I release this drive by the limits of its sheet and the concessions listed",
	}[f.As]
	if say == "" {
		say = "I answer for this record as " + string(f.As)
	}
	if f.Ends {
		say += "; the job ends with it"
	}
	return say
}

// pressTime is when a reading arrived.
func pressTime(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return day(t)
}
