package bench

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"shimwright/calc/overhaul"
	"shimwright/calc/ring"
	"shimwright/ingest/fact"
	"shimwright/ingest/guard"
	"shimwright/ingest/people"
	"shimwright/ingest/register"
)

type (
	// SignOff puts one signature under the job in front: as the fitter, the
	// second person or the lead; without a word, as the next one that is wanted.
	SignOff struct{ As string }
	// Finish ends a training job, which is never released.
	Finish struct{}
	// Abandon ends a job that is not to be finished.
	Abandon struct{ Reason string }
)

// signOffWhat is what a signed job's judgement is of.
const signOffWhat = "sign-off"

func (c SignOff) carryOut(ctx context.Context, b *Bench) (Reply, error) {
	if b.job == nil {
		return Reply{}, errNoJob()
	}
	if b.results.Training {
		return Reply{}, fmt.Errorf("job %s is a training job and is never released: finish it as training, or abandon it", b.job.ID)
	}
	wanted := b.signaturesWanted()
	as := fact.Role(strings.TrimSpace(c.As))
	if as == "" {
		as = wanted[0]
	}
	if !slices.Contains(wanted, as) {
		return Reply{}, fmt.Errorf("%s is no signature that job %s wants: it wants that of the %s", shown(c.As), b.job.ID, roleWords(wanted))
	}
	if as != wanted[0] {
		return Reply{}, fmt.Errorf("the %s signs first", wanted[0])
	}
	if open := b.unfinished(); len(open) > 0 {
		return Reply{}, fmt.Errorf("job %s cannot be signed off, %s: %s", b.job.ID, things(len(open)), strings.Join(open, "; "))
	}
	by, err := b.signature(taskOf(as), true, b.job.First())
	if err != nil {
		return Reply{}, err
	}
	last := len(wanted) == 1
	facts := []fact.Fact{}
	if last {
		facts = append(facts, b.signOffJudgement())
	}
	facts = append(facts, fact.Signed{As: as, By: by, Ends: last})
	if err := b.record(ctx, facts...); err != nil {
		return Reply{}, err
	}
	if !last {
		return Reply{Words: fmt.Sprintf("Job %s is signed as the %s%s; the %s signs next.", b.job.ID, as, signs(by), wanted[1])}, nil
	}
	words := fmt.Sprintf("Job %s is signed off%s.", b.job.ID, signs(by))
	b.over()
	return Reply{Words: words + b.goesOn()}, nil
}

func things(n int) string {
	if n == 1 {
		return "one thing is open"
	}
	return fmt.Sprintf("%d things are open", n)
}

func taskOf(as fact.Role) people.Task {
	switch as {
	case fact.SecondPerson:
		return people.SignSecond
	case fact.Lead:
		return people.SignLead
	}
	return people.SignFitter
}

func roleWords(roles []fact.Role) string {
	var out []string
	for _, r := range roles {
		out = append(out, string(r))
	}
	return strings.Join(out, ", then of the ")
}

// signaturesWanted are those that the job in front still wants, in order: of the
// fitter; of a second person where a step is critical and of the lead where the
// bench has a list of people.
func (b *Bench) signaturesWanted() []fact.Role {
	out := []fact.Role{fact.Fitter}
	if b.people.Asks() {
		for _, st := range b.job.Sheet.Steps() {
			if st.Critical {
				out = append(out, fact.SecondPerson)
				break
			}
		}
		if len(b.people.With(people.SignLead.Roles()...)) > 0 {
			out = append(out, fact.Lead)
		}
	}
	for _, s := range b.job.Signatures() {
		out = slices.DeleteFunc(out, func(r fact.Role) bool { return r == s.As })
	}
	return out
}

// signOffJudgement sums the job up.
func (b *Bench) signOffJudgement() fact.Judged {
	f := fact.Judged{What: signOffWhat, Verdict: ring.Good.String(), Words: "every step is done", Build: b.results.Build,
		Training: b.results.Training, Digest: b.job.Head.Digest, Program: b.cfg.Program}
	n := 0
	for _, r := range b.results.Steps {
		if r.Status != overhaul.Done {
			n++
		}
	}
	if n > 0 {
		f.Verdict = "by concession"
		f.Words = fmt.Sprintf("every step is done, %d of them by concession", n)
	}
	return f
}

// unfinished lists in words what keeps the job in front from being signed off.
func (b *Bench) unfinished() []string {
	var out []string
	for _, r := range b.results.Steps {
		if !settled(b.job, r) {
			out = append(out, stepOpen(r))
		}
	}
	out = append(out, guard.Undecided(b.job)...)
	for _, h := range b.job.Holds() {
		out = append(out, fmt.Sprintf("%s is on hold: %s", what(h.Step), trimmed(h.Reason)))
	}
	return append(out, b.unusable()...)
}

// stepOpen says why a step is not done.
func stepOpen(r *overhaul.Result) string {
	words := r.Wants
	if r.Status != overhaul.Waiting && r.Problem != "" {
		words = r.Problem
	}
	if words == "" {
		return fmt.Sprintf("%s is %s", r.Step.Name, r.Status)
	}
	return fmt.Sprintf("%s is %s (%s)", r.Step.Name, r.Status, trimmed(words))
}

// unusable are the gauges and pieces whose readings count in the job and that
// may not be used today, and that nobody let count in this job.
func (b *Bench) unusable() []string {
	now := b.cfg.Now()
	var out []string
	seen := map[string]bool{}
	look := func(id string, usable func() error) {
		if seen[id] || b.job.Lets(id) {
			return
		}
		seen[id] = true
		if err := usable(); err != nil && !errors.Is(err, register.ErrUnknown) {
			out = append(out, trimmed(err.Error()))
		}
	}
	for _, p := range b.job.Presses {
		if p.Now != fact.Taken || p.Fact.Keyed() {
			continue
		}
		look(p.Fact.Gauge, func() error {
			g, err := b.register.Gauge(p.Fact.Gauge, now)
			if err != nil {
				return err
			}
			return g.Usable(now)
		})
		for _, id := range p.Fact.Pieces {
			look(id, func() error {
				piece, err := b.register.Piece(id, now)
				if err != nil {
					return err
				}
				return piece.Usable(now)
			})
		}
	}
	return out
}

func (c Finish) carryOut(ctx context.Context, b *Bench) (Reply, error) {
	switch {
	case b.job == nil:
		return Reply{}, errNoJob()
	case !b.results.Training:
		return Reply{}, fmt.Errorf("job %s is no training job: it is signed off, or abandoned", b.job.ID)
	}
	by, err := b.signature(people.WorkAt, false, nil)
	if err != nil {
		return Reply{}, err
	}
	return b.end(ctx, fact.Finished{By: by}, "finished as training"+signs(by)+"; it is not released")
}

func (c Abandon) carryOut(ctx context.Context, b *Bench) (Reply, error) {
	if b.job == nil {
		return Reply{}, errNoJob()
	}
	reason, err := oneLine("the reason", c.Reason)
	if err != nil {
		return Reply{}, err
	}
	by, err := b.signature(people.AbandonJob, false, nil)
	if err != nil {
		return Reply{}, err
	}
	return b.end(ctx, fact.Abandoned{Reason: reason, By: by}, "abandoned"+signs(by)+": "+trimmed(reason))
}

// end records the end of the job in front.
func (b *Bench) end(ctx context.Context, f fact.Fact, how string) (Reply, error) {
	id := b.job.ID
	if err := b.record(ctx, f); err != nil {
		return Reply{}, err
	}
	b.over()
	return Reply{Words: fmt.Sprintf("Job %s is %s.", id, how) + b.goesOn()}, nil
}

// AsFound are the results of a job that were judged as found, without limits.
func AsFound(res *overhaul.Results) []fact.Judged {
	var out []fact.Judged
	for _, r := range res.Steps {
		if f, ok := JudgementOf(r); ok && f.Verdict == asFound {
			out = append(out, f)
		}
	}
	return out
}
