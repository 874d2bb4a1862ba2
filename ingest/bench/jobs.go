package bench

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"slices"
	"strings"

	"shimwright/calc/overhaul"
	"shimwright/calc/sheet"
	"shimwright/ingest/fact"
	"shimwright/ingest/job"
	"shimwright/ingest/people"
	"shimwright/ingest/store"
)

// Digest names a sheet's text: SHA-256 in hexadecimal.
func Digest(text []byte) string {
	sum := sha256.Sum256(text)
	return hex.EncodeToString(sum[:])
}

func (c OpenJob) carryOut(ctx context.Context, b *Bench) (Reply, error) {
	serial, err := oneLine("the drive's serial number", c.Serial)
	if err != nil {
		return Reply{}, err
	}
	if err := b.mayOpen(serial, c.Another); err != nil {
		return Reply{}, err
	}
	head, by, err := b.headOf(c, serial)
	if err != nil {
		return Reply{}, err
	}
	facts := []fact.Fact{head, b.offer()}
	if by.Initials != "" {
		facts = append(facts, fact.AtWork{By: by})
	}
	id := fmt.Sprintf("%04d", b.jobs+1)
	j, err := job.Begin(id, b.seq+1, head)
	if err != nil {
		return Reply{}, err
	}
	known, err := b.known(ctx, j.Sheet)
	if err != nil {
		return Reply{}, err
	}
	facts = append(facts, known...)
	for i, f := range facts[1:] {
		if j, err = j.Then(b.seq+int64(i+2), f); err != nil {
			return Reply{}, err
		}
	}
	res, err := j.Work()
	if err != nil {
		return Reply{}, err
	}
	if err := b.store(ctx, of("job/"+id, facts...)); err != nil {
		return Reply{}, err
	}
	b.job, b.results, b.at, b.chosen = j, res, "", ""
	b.jobs++
	b.opened(id, head)
	words := fmt.Sprintf("Job %s is open: %s, serial %s, sheet %s issue %d.", id, head.Drive, serial, head.Sheet, head.Issue)
	return Reply{Words: words + trainingWords(c, head)}, nil
}

// trainingWords say that a job is training, and why.
func trainingWords(c OpenJob, head fact.Opened) string {
	switch {
	case !head.Training:
		return ""
	case c.Training:
		return " It is a TRAINING job: it is never released."
	}
	return " Nobody approved this text of the sheet, so it is a TRAINING job and is never released: a lead approves a sheet (shimwright sheet approve)."
}

// mayOpen refuses a job too many, and a second one on a drive that is being
// worked at unless that is meant.
func (b *Bench) mayOpen(serial string, another bool) error {
	if len(b.open) >= mostOpen {
		return fmt.Errorf("%d jobs are open, and at most %d are at once: sign off, finish or abandon one first", len(b.open), mostOpen)
	}
	i := slices.IndexFunc(b.open, func(o store.Job) bool { return strings.EqualFold(o.Serial, serial) })
	if i < 0 || another {
		return nil
	}
	o := b.open[i]
	return fmt.Errorf("job %s is open on serial %s (%s): choose that one, or say that another job on this serial is meant", o.ID, o.Serial, o.Drive)
}

// headOf freezes a sheet and the decision rule for a job, with the signature of
// who opens it, where he says who he is.
func (b *Bench) headOf(c OpenJob, serial string) (fact.Opened, fact.Signature, error) {
	var none fact.Signature
	text, err := b.cfg.Sheets(c.Sheet)
	if err != nil {
		return fact.Opened{}, none, err
	}
	s, err := sheet.Read(c.Sheet, text)
	if err != nil {
		return fact.Opened{}, none, err
	}
	if _, err := overhaul.CheckExample(s); err != nil {
		return fact.Opened{}, none, fmt.Errorf("the sheet is refused: %w", err)
	}
	var by fact.Signature
	if b.who != nil {
		if by, err = b.signature(people.WorkAt, true, nil); err != nil {
			return fact.Opened{}, none, err
		}
	}
	digest := Digest(text)
	_, approved := b.register.Approved(digest)
	return fact.Opened{Drive: s.Title, Serial: serial, Sheet: s.ID, Issue: s.Issue, Digest: digest, Text: string(text),
		Rule: b.cfg.Rule.String(), Training: c.Training || !approved}, by, nil
}

// offer is the stock that a job is offered: what the register holds, or where it
// knows of no tray what the bench file says.
func (b *Bench) offer() fact.Offered {
	if len(b.register.Trays()) > 0 {
		return b.register.Offer()
	}
	return fact.Offered{Trays: b.cfg.Trays}
}

// sameOffer tells whether a job was offered this stock last.
func sameOffer(j *job.Job, f fact.Offered) bool {
	trays := j.Entries().Trays
	if len(trays) != len(f.Trays) {
		return false
	}
	for name, leaves := range f.Trays {
		if !slices.EqualFunc(trays[name], leaves, func(a sheet.Leaf, b fact.Leaf) bool {
			return a.Count == b.Count && a.Size.String() == b.Size.String()
		}) {
			return false
		}
	}
	return true
}

func (c ChooseStep) carryOut(_ context.Context, b *Bench) (Reply, error) {
	st, err := b.step(c.Step)
	if err != nil {
		return Reply{}, err
	}
	b.at, b.chosen = st.Name, st.Name
	return Reply{Words: "Now at " + st.Name + "."}, nil
}

func (c Retake) carryOut(ctx context.Context, b *Bench) (Reply, error) {
	if _, err := b.step(c.Step); err != nil {
		return Reply{}, err
	}
	reason, err := oneLine("the reason", c.Reason)
	if err != nil {
		return Reply{}, err
	}
	if err := b.record(ctx, fact.Again{Step: c.Step, Reason: reason}); err != nil {
		return Reply{}, err
	}
	return Reply{Words: c.Step + " is taken again."}, nil
}
