package bench

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"slices"

	"shimwright/calc/overhaul"
	"shimwright/calc/quantity"
	"shimwright/calc/sheet"
	"shimwright/ingest/fact"
	"shimwright/ingest/job"
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
	text, err := b.cfg.Sheets(c.Sheet)
	if err != nil {
		return Reply{}, err
	}
	s, err := sheet.Read(c.Sheet, text)
	if err != nil {
		return Reply{}, err
	}
	if _, err := overhaul.CheckExample(s); err != nil {
		return Reply{}, fmt.Errorf("the sheet is refused: %w", err)
	}
	head := fact.Opened{Drive: s.Title, Serial: serial, Sheet: s.ID, Issue: s.Issue,
		Digest: Digest(text), Text: string(text), Rule: b.cfg.Rule.String()}
	offered := fact.Offered{Trays: b.cfg.Trays}
	id := fmt.Sprintf("%04d", b.jobs+1)
	j, err := job.Begin(id, b.seq+1, head)
	if err != nil {
		return Reply{}, err
	}
	if j, err = j.Then(b.seq+2, offered); err != nil {
		return Reply{}, err
	}
	res, err := j.Work()
	if err != nil {
		return Reply{}, err
	}
	if err := b.store(ctx, of("job/"+id, head, offered)); err != nil {
		return Reply{}, err
	}
	b.job, b.results, b.at, b.chosen = j, res, "", ""
	b.jobs++
	return Reply{Words: fmt.Sprintf("Job %s is open: %s, serial %s, sheet %s issue %d.", id, s.Title, serial, s.ID, s.Issue)}, nil
}

func (c ChooseStep) carryOut(_ context.Context, b *Bench) (Reply, error) {
	st, err := b.step(c.Step)
	if err != nil {
		return Reply{}, err
	}
	b.at, b.chosen = st.Name, st.Name
	return Reply{Words: "Now at " + st.Name + "."}, nil
}

func (c DrawPiece) carryOut(ctx context.Context, b *Bench) (Reply, error) {
	if b.job == nil {
		return Reply{}, fmt.Errorf("no job is open: open one first")
	}
	std, ok := b.job.Sheet.StandardNamed(c.Standard)
	if !ok {
		return Reply{}, fmt.Errorf("%q is no standard of sheet %s", c.Standard, b.job.Sheet.ID)
	}
	i := slices.IndexFunc(b.cfg.Pieces, func(p Piece) bool { return p.ID == c.Piece })
	if i < 0 {
		return Reply{}, fmt.Errorf("%q is no piece of this bench: read the number on it again", c.Piece)
	}
	p := b.cfg.Pieces[i]
	if off := p.Size.Exact().Sub(std.Nominal.Exact()).Abs(); quantity.MustExact("0.5").Less(off) {
		return Reply{}, fmt.Errorf("%s is %s, and the %s is %s: draw another piece", p.ID, p.Size, c.Standard, std.Nominal)
	}
	// One job knows a piece by one size and one role: another would change the
	// figures already worked with it.
	if was, drawn := b.job.Piece(p.ID); drawn && (was.Standard != c.Standard || !was.Size.Exact().Equal(p.Size.Exact())) {
		return Reply{}, fmt.Errorf("%s is in this job already as the %s, %s: draw another piece", p.ID, was.Standard, was.Size)
	}
	if err := b.record(ctx, fact.Drew{Standard: c.Standard, Piece: p.ID, Size: p.Size, Uncertainty: p.Uncertainty, K: p.K}); err != nil {
		return Reply{}, err
	}
	return Reply{Words: fmt.Sprintf("%s, %s, is the %s.", p.ID, p.Size, c.Standard)}, nil
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
