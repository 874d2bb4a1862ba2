package bench

import (
	"context"
	"fmt"
	"reflect"
	"slices"
	"strings"
	"time"

	"shimwright/calc/quantity"
	"shimwright/calc/sheet"
	"shimwright/devices"
	"shimwright/ingest/fact"
	"shimwright/ingest/guard"
	"shimwright/ingest/journal"
	"shimwright/ingest/register"
)

// Limits of what a job is told of the register.
const (
	mostKnown  = 500 // pieces
	mostChecks = 100 // of one gauge, the newest
)

// newestKnown is a time after whatever the register was told: what it was told
// last counts, though the clock was set back since.
func newestKnown() time.Time { return time.Date(9999, 12, 31, 0, 0, 0, 0, time.UTC) }

// fromFile makes facts of what the bench file lists and the register never saw,
// and keeps in words where they differ: the register counts.
func (b *Bench) fromFile(ctx context.Context) error {
	l := register.Lists{Trays: b.cfg.Trays}
	for _, p := range b.cfg.Pieces {
		l.Pieces = append(l.Pieces, register.FilePiece{ID: p.ID, Size: p.Size, Uncertainty: p.Uncertainty, K: p.K})
	}
	for _, g := range b.cfg.Gauges {
		l.Gauges = append(l.Gauges, register.FileGauge{ID: g.ID, Kind: g.Kind, Limit: g.Limit})
	}
	facts, words := register.FromFile(l, b.register, b.cfg.Now())
	b.words = words
	var all []about
	for _, f := range facts {
		all = append(all, about{f.Subject, f.Fact})
	}
	for some := range slices.Chunk(all, journal.MaxRecords) {
		if err := b.store(ctx, some); err != nil {
			return err
		}
	}
	return nil
}

// farOff is how far a piece's size may lie from the nominal of the standard it
// stands for, in mm.
const farOff = "0.5"

func near(size quantity.Value, std sheet.Standard) bool {
	return !quantity.MustExact(farOff).Less(size.Exact().Sub(std.Nominal.Exact()).Abs())
}

// gaugePaper is what the register says of a gauge on the day of a time; nothing
// where the lead let it count in this job.
func (b *Bench) gaugePaper(id string, at time.Time) guard.Paper {
	g, err := b.register.Gauge(id, newestKnown())
	if err != nil || b.job.Lets(id) {
		return guard.Paper{}
	}
	p := guard.Paper{Due: g.Certificate.Due, Withdrawn: g.Withdrawn != ""}
	if g.Usable(at) == nil {
		return p
	}
	own, _ := b.gauge(id)
	for _, other := range b.cfg.Gauges {
		if other.ID == id || other.Kind != own.Kind {
			continue
		}
		if o, err := b.register.Gauge(other.ID, newestKnown()); err == nil && o.Usable(at) == nil {
			p.InDate = append(p.InDate, other.ID)
		}
	}
	return p
}

// papers are what the register says of the pieces in a setup.
func (b *Bench) papers(ids []string, at time.Time) []guard.Piece {
	var out []guard.Piece
	for _, id := range ids {
		p := guard.Piece{ID: id}
		if known, err := b.register.Piece(id, newestKnown()); err == nil && !b.job.Lets(id) {
			p.Due, p.Withdrawn = known.Certificate.Due, known.Withdrawn != ""
			if known.Usable(at) != nil {
				p.InDate = b.inPlaceOf(id, at)
			}
		}
		out = append(out, p)
	}
	return out
}

// inPlaceOf are the pieces that may stand where one stands: near its size, and
// in use on the day of a time.
func (b *Bench) inPlaceOf(id string, at time.Time) []string {
	drawn, _ := b.job.Piece(id)
	std, ok := b.job.Sheet.StandardNamed(drawn.Standard)
	if !ok {
		return nil
	}
	var out []string
	for _, p := range b.register.Pieces(newestKnown()) {
		if p.ID != id && p.Usable(at) == nil && near(p.Size, std) {
			out = append(out, p.ID)
		}
	}
	return out
}

// limit is a gauge's limit of error: the register's, where it knows the gauge.
func (b *Bench) limit(g Gauge) *quantity.Value {
	if known, err := b.register.Gauge(g.ID, newestKnown()); err == nil && known.GaugeKind != "" {
		return known.Limit
	}
	return g.Limit
}

func (c DrawPiece) carryOut(ctx context.Context, b *Bench) (Reply, error) {
	if b.job == nil {
		return Reply{}, errNoJob()
	}
	std, ok := b.job.Sheet.StandardNamed(c.Standard)
	if !ok {
		return Reply{}, fmt.Errorf("%s is no standard of sheet %s", shown(c.Standard), b.job.Sheet.ID)
	}
	p, err := b.register.Piece(c.Piece, newestKnown())
	if err != nil {
		return Reply{}, fmt.Errorf("%s is no piece of this bench: read the number on it again, or certify it (shimwright pieces certify)", shown(c.Piece))
	}
	if err := p.Usable(b.cfg.Now()); err != nil && !b.job.Lets(p.ID) {
		return Reply{}, fmt.Errorf("%w%s", err, b.others(std))
	}
	if !near(p.Size, std) {
		return Reply{}, fmt.Errorf("%s is %s, and the %s is %s: draw another piece%s", p.ID, p.Size, c.Standard, std.Nominal, b.others(std))
	}
	// One job knows a piece by one size and one role: another would change the
	// figures already worked with it.
	if was, drawn := b.job.Piece(p.ID); drawn && (was.Standard != c.Standard || !was.Size.Exact().Equal(p.Size.Exact())) {
		return Reply{}, fmt.Errorf("%s is in this job already as the %s, %s: draw another piece", p.ID, was.Standard, was.Size)
	}
	if err := b.record(ctx, fact.Drew{Standard: c.Standard, Piece: p.ID, Size: p.Size, Uncertainty: p.Uncertainty, K: p.K, Certificate: p.Certificate}); err != nil {
		return Reply{}, err
	}
	return Reply{Words: fmt.Sprintf("%s, %s, is the %s.", p.ID, p.Size, c.Standard)}, nil
}

// others names the pieces that may be drawn for a standard.
func (b *Bench) others(std sheet.Standard) string {
	const most = 6
	var out []string
	for _, p := range b.register.Pieces(newestKnown()) {
		if p.Usable(b.cfg.Now()) == nil && near(p.Size, std) && len(out) < most {
			out = append(out, p.ID)
		}
	}
	if len(out) == 0 {
		return ""
	}
	return fmt.Sprintf("; in date are %s", strings.Join(out, ", "))
}

// known are the facts of what the register has for a job that is opened: the
// pieces, what is known of each gauge beside what its presses carry, and what
// earlier jobs found of move factors.
func (b *Bench) known(ctx context.Context, s *sheet.Sheet) ([]fact.Fact, error) {
	out, err := b.earlier(ctx, s)
	if err != nil {
		return nil, err
	}
	var pieces fact.PiecesKnown
	for _, p := range b.register.Pieces(newestKnown()) {
		if p.Usable(b.cfg.Now()) == nil && len(pieces.Pieces) < mostKnown {
			pieces.Pieces = append(pieces.Pieces, fact.KnownPiece{Piece: p.ID, Standard: p.Standard, Size: p.Size, Uncertainty: p.Uncertainty, K: p.K})
		}
	}
	if len(pieces.Pieces) > 0 && len(s.Standards) > 0 {
		out = append(out, pieces)
	}
	for _, g := range b.cfg.Gauges {
		if f, ok := b.gaugeKnown(g); ok {
			out = append(out, f)
		}
	}
	return out, nil
}

// gaugeKnown is what a job is told of a gauge; false where there is nothing.
func (b *Bench) gaugeKnown(g Gauge) (fact.GaugeKnown, bool) {
	f := b.paperOf(g, fact.GaugeKnown{})
	if c := g.Corrections; c != nil {
		f.Uncertainty, f.K = c.Uncertainty, c.K
		for _, p := range c.Points {
			f.Corrections = append(f.Corrections, fact.CorrectionPoint{At: p.At, Add: p.Add})
		}
	}
	checks := b.register.Checks(g.ID)
	for _, c := range checks[max(0, len(checks)-mostChecks):] {
		f.Checks = append(f.Checks, fact.DayCheck{Day: fact.DayOf(c.At.In(b.cfg.Now().Location())), Piece: c.Size, Read: c.Reading})
	}
	return f, len(f.Corrections)+len(f.Checks) > 0
}

// paperOf is what a job knew of a gauge, with the certificate and the form of bytes
// that the gauge has now.
func (b *Bench) paperOf(g Gauge, was fact.GaugeKnown) fact.GaugeKnown {
	form := fact.FormOf(g.Profile, g.Channel)
	was.Gauge, was.Form, was.Certificate = g.ID, &form, fact.Certificate{}
	if known, err := b.register.Gauge(g.ID, newestKnown()); err == nil {
		was.Certificate = known.Certificate
	}
	return was
}

// untold is what the job in front was not told yet of a gauge that it is about to
// have a press of; false where it knows.
func (b *Bench) untold(id string) (fact.GaugeKnown, bool) {
	g, ok := b.gauge(id)
	if !ok {
		return fact.GaugeKnown{}, false
	}
	was, _ := b.job.GaugeKnown(id)
	now := b.paperOf(g, was)
	return now, was.Form == nil || was.Certificate != now.Certificate || !reflect.DeepEqual(was.Form, now.Form)
}

// CheckPiece makes the next press of a gauge a reading on a certified piece, for
// the gauge's log; without a name the gauge that the open step wants. Cancel
// takes that back.
type CheckPiece struct {
	Gauge, Piece string
	Cancel       bool
}

func (c CheckPiece) carryOut(_ context.Context, b *Bench) (Reply, error) {
	id, err := b.gaugeFor(c.Gauge)
	if err != nil {
		return Reply{}, err
	}
	if c.Cancel {
		delete(b.nexts, id)
		return Reply{Words: fmt.Sprintf("The next press of %s is a reading.", id)}, nil
	}
	p, err := b.register.Piece(c.Piece, newestKnown())
	if err != nil {
		return Reply{}, fmt.Errorf("%s is no piece of this bench: read the number on it again", shown(c.Piece))
	}
	if err := p.Usable(b.cfg.Now()); err != nil {
		return Reply{}, err
	}
	b.nexts[id] = next{p.ID}
	return Reply{Words: fmt.Sprintf("The next press of %s is a check on %s, %s.", id, p.ID, p.Size)}, nil
}

// checkPress takes a press as a gauge's reading on a check piece. A job that is
// in front is told of it.
func (b *Bench) checkPress(ctx context.Context, s devices.Sample, piece string) error {
	p, err := b.register.Piece(piece, newestKnown())
	if err != nil {
		return err
	}
	delete(b.nexts, s.Gauge)
	f := fact.Checked{Piece: p.ID, Size: p.Size, Reading: s.Value, Raw: s.Raw, Arrived: s.At.UTC(), Source: s.Source}
	if s.Value.Unit().Dimension() != quantity.Length {
		_, err := b.press(ctx, s, nil, nil, "")
		return err
	}
	if err := b.store(ctx, of(gaugeSubject(s.Gauge), f)); err != nil {
		return err
	}
	good, sentence, do := b.checkWords(s, p)
	b.say(s, nil, good, sentence, do)
	if b.job == nil {
		return nil
	}
	g, _ := b.gauge(s.Gauge)
	known, _ := b.gaugeKnown(g)
	return b.keep(ctx, nil, known)
}

// checkWords say how a gauge stands with a check piece.
func (b *Bench) checkWords(s devices.Sample, p register.Piece) (good bool, sentence, do string) {
	off := s.Value.Exact().Sub(p.Size.Exact())
	sentence = fmt.Sprintf("%s shows %s on %s, %s: %s off", s.Gauge, s.Value, p.ID, p.Size, off.ShowUnit(quantity.MM, max(3, s.Value.Places())))
	g, _ := b.gauge(s.Gauge)
	limit := b.limit(g)
	if limit == nil || limit.Unit().Dimension() != quantity.Length {
		return true, sentence + ". It has no limit of error.", ""
	}
	if limit.Exact().Less(off.Abs()) {
		return false, fmt.Sprintf("%s, and at most %s is allowed.", sentence, limit), "Clean the gauge and the piece and check again; then take another gauge."
	}
	return true, fmt.Sprintf("%s: within its %s.", sentence, limit), ""
}
