package bench

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"shimwright/calc/quantity"
	"shimwright/calc/sheet"
	"shimwright/devices"
	"shimwright/ingest/fact"
	"shimwright/ingest/guard"
	"shimwright/ingest/people"
)

// The commands about what must hold before a press counts.
type (
	// CheckZero makes the next press of a gauge a check of its zero; without a name
	// the one that the open step wants. Cancel takes that back.
	CheckZero struct {
		Gauge  string
		Cancel bool
	}
	// Knocked says that a gauge was knocked or dropped: its zero is not to be
	// relied on.
	Knocked struct{ Gauge string }
	// SayNeed says that bearings are rolled or seated, as the step needs; without a
	// step the open one, without a need the one that the step asks for.
	SayNeed struct{ Step, Need string }
)

// zero is what the bench knows of a gauge's zero since it was started.
type zero struct {
	guard.Zero
	job   string // at whose step it was checked
	shown quantity.Value
	at    time.Time // of the check, good or not
}

// A next is what the next press of a gauge is for, where it is no reading: its
// zero, or a check piece.
type next struct{ piece string }

func (c CheckZero) carryOut(_ context.Context, b *Bench) (Reply, error) {
	id, err := b.gaugeFor(c.Gauge)
	if err != nil {
		return Reply{}, err
	}
	if c.Cancel {
		delete(b.nexts, id)
		return Reply{Words: fmt.Sprintf("The next press of %s is a reading.", id)}, nil
	}
	st, err := b.zeroStep(id)
	if err != nil {
		return Reply{}, err
	}
	b.nexts[id] = next{}
	return Reply{Words: fmt.Sprintf("The next press of %s shows its zero for %s.", id, st.Name)}, nil
}

// zeroStep is the open step where a gauge's zero can be checked for it.
func (b *Bench) zeroStep(gauge string) (*sheet.Step, error) {
	if b.job == nil {
		return nil, errNoJob()
	}
	r, _ := b.openStep()
	g, _ := b.gauge(gauge)
	switch {
	case r == nil || !r.Step.Need(sheet.NeedsZero):
		return nil, fmt.Errorf("the step that waits checks no zero: go to the step that the gauge is wanted for")
	case g.Kind != r.Step.Gauge:
		return nil, fmt.Errorf("%s is a %s, and %s wants a %s: check the zero of that", gauge, g.Kind, r.Step.Name, r.Step.Gauge)
	}
	return r.Step, nil
}

// gaugeFor is a gauge of the bench by its name, or the only one of the kind that
// the open step wants.
func (b *Bench) gaugeFor(id string) (string, error) {
	if id != "" {
		if _, ok := b.gauge(id); !ok {
			return "", fmt.Errorf("%s is no gauge of this bench", shown(id))
		}
		return id, nil
	}
	if b.job == nil {
		return "", fmt.Errorf("no job is open: say which gauge is meant")
	}
	r, _ := b.openStep()
	var of []string
	for _, g := range b.cfg.Gauges {
		if r != nil && r.Step.Gauge != "" && g.Kind == r.Step.Gauge {
			of = append(of, g.ID)
		}
	}
	switch len(of) {
	case 0:
		return "", fmt.Errorf("no step waits for a gauge of this bench: say which gauge is meant")
	case 1:
		return of[0], nil
	}
	return "", fmt.Errorf("%s are there: say which one is meant", strings.Join(of, " and "))
}

// zeroPress takes a press as what its gauge shows on its zero.
func (b *Bench) zeroPress(ctx context.Context, s devices.Sample, st *sheet.Step) error {
	before, had := b.job.Zeroed(s.Gauge)
	var shown *quantity.Value
	if had {
		shown = &before.Reading
	}
	z := guard.CheckZero(s.Gauge, st, s.Value, shown)
	pieces, _ := b.job.InUse(st)
	f := fact.Zeroed{Gauge: s.Gauge, Step: st.Name, Pieces: pieces, Reading: s.Value, Good: z.Good, Sentence: z.Sentence, Do: z.Do, Arrived: s.At.UTC()}
	if z.Doubt {
		f.Doubts = guard.Doubted(b.job, s.Gauge, before.Seq)
	}
	own := fact.ZeroChecked{Reading: s.Value, Raw: s.Raw, Arrived: f.Arrived, Source: s.Source}
	if err := b.keep(ctx, of(gaugeSubject(s.Gauge), own), f); err != nil {
		return err
	}
	delete(b.nexts, s.Gauge)
	now := &zero{job: b.job.ID, shown: s.Value, at: s.At}
	now.Zero = guard.Zero{Good: z.Good, At: s.At, Step: st, Unit: s.Value.Unit(), Pieces: pieces}
	if old := b.zeros[s.Gauge]; !z.Good && old != nil {
		now.At = old.At
	}
	b.zeros[s.Gauge] = now
	b.say(s, st, z.Good, z.Sentence, z.Do)
	return nil
}

// say shows a press that is no reading of a step in the place of the last one.
func (b *Bench) say(s devices.Sample, st *sheet.Step, good bool, sentence, do string) {
	v := s.Value
	f := fact.Pressed{Gauge: s.Gauge, Value: &v, UnitStated: s.UnitStated, Battery: s.Battery, Raw: s.Raw, Arrived: s.At.UTC(), Source: s.Source,
		Outcome: fact.Taken, Sentence: sentence, Do: do}
	if st != nil {
		f.Step = st.Name
	}
	if g, ok := b.gauge(s.Gauge); ok {
		f.GaugeKind = g.Kind
	}
	if !good {
		f.Outcome, f.Cause = fact.Held, fact.NotCertified // the piece is not what its certificate says
		if st != nil {
			f.Cause = fact.ZeroFirst
		}
	}
	b.last = &Said{Press: f, Seq: b.seq}
}

// zeroOf is what is known of a gauge's zero as a press of it arrives.
func (b *Bench) zeroOf(gauge string) *guard.Zero {
	z := b.zeros[gauge]
	if z == nil {
		if was, ok := b.job.Zeroed(gauge); ok {
			return &guard.Zero{Good: true, At: was.Arrived, Unwatched: true}
		}
		return &guard.Zero{}
	}
	out := z.Zero
	if z.job != b.job.ID {
		out.Step = &sheet.Step{} // a setup of another job
	}
	return &out
}

// used notes what a press does to what is known of its gauge's zero.
func (b *Bench) used(s devices.Sample, bad error, outcome fact.Outcome) {
	z := b.zeros[s.Gauge]
	if z == nil || bad != nil {
		return
	}
	if outcome != fact.Aside {
		z.Used = s.At
	}
	if z.Unit != s.Value.Unit() {
		z.Turned = true
	}
}

func (c Knocked) carryOut(ctx context.Context, b *Bench) (Reply, error) {
	id, err := b.gaugeFor(c.Gauge)
	if err != nil {
		return Reply{}, err
	}
	var f fact.Knocked
	if b.who != nil {
		if f.By, err = b.signature(people.WorkAt, true, nil); err != nil {
			return Reply{}, err
		}
	}
	if err := b.store(ctx, of(gaugeSubject(id), f)); err != nil {
		return Reply{}, err
	}
	if z := b.zeros[id]; z != nil {
		z.Knocked = true
	}
	return Reply{Words: fmt.Sprintf("%s was knocked: its zero is checked before it is pressed where the zero matters.", id)}, nil
}

func (c SayNeed) carryOut(ctx context.Context, b *Bench) (Reply, error) {
	if b.job == nil {
		return Reply{}, errNoJob()
	}
	name := c.Step
	if r, _ := b.openStep(); name == "" && r != nil {
		name = r.Step.Name
	}
	st, err := b.step(name)
	if err != nil {
		return Reply{}, err
	}
	need, err := needOf(st, c.Need)
	if err != nil {
		return Reply{}, err
	}
	f := fact.NeedSaid{Step: st.Name, Need: need, At: b.cfg.Now().UTC()}
	if b.who != nil {
		if f.By, err = b.signature(people.WorkAt, true, nil); err != nil {
			return Reply{}, err
		}
	}
	if err := b.record(ctx, f); err != nil {
		return Reply{}, err
	}
	return Reply{Words: fmt.Sprintf("The %s, as was said at %s.", strings.Replace(need, "bearings ", "bearings are ", 1), st.Name)}, nil
}

// needOf is the sheet's word for what is said of a step.
func needOf(st *sheet.Step, said string) (string, error) {
	var asks []string
	for _, n := range st.Needs {
		if guard.NeedWords(n) != "" {
			asks = append(asks, n)
		}
	}
	switch {
	case len(asks) == 0:
		return "", fmt.Errorf("%s asks nobody whether bearings are rolled or seated", st.Name)
	case said == "" && len(asks) == 1:
		return asks[0], nil
	}
	for _, n := range asks {
		if n == said || n == "bearings "+said {
			return n, nil
		}
	}
	return "", fmt.Errorf("%s is not what %s needs: say one of %s", shown(said), st.Name, strings.Join(asks, ", "))
}

// A Need is what a person must say before a press at the open step counts.
type Need struct {
	Need  string    // the sheet's word
	Words string    // the question
	Said  time.Time // zero where nobody said it since metal was changed
}

// needs are those of a step.
func (b *Bench) needs(st *sheet.Step) []Need {
	var out []Need
	said := b.job.Said(st.Name)
	for _, n := range st.Needs {
		if words := guard.NeedWords(n); words != "" {
			out = append(out, Need{n, words, said[n]})
		}
	}
	return slices.Clip(out)
}
