package register

import (
	"fmt"
	"slices"
	"time"

	"shimwright/calc/correct"
	"shimwright/calc/quantity"
	"shimwright/devices"
	"shimwright/ingest/fact"
)

// mostChecks is how many checks of a gauge are kept in hand, the newest; the
// journal has them all.
const mostChecks = 1000

// A Gauge is a gauge as of a time.
type Gauge struct {
	ID string
	fact.GaugeCertified
	Since     time.Time // when the bench was told; zero where no certificate was ever recorded
	Withdrawn string    // why it is out of use; "" while it is in
}

// A Check is a reading on a check piece with when it was recorded.
type Check struct {
	fact.Checked
	At time.Time
}

// A Zero is what a gauge showed at its zero, with when it was recorded.
type Zero struct {
	fact.ZeroChecked
	At time.Time
}

// gauge is all that is known of one.
type gauge struct {
	history history[fact.GaugeCertified]
	checks  []Check
	zero    *Zero
}

func (r *Register) foldGauge(id string, at time.Time, f fact.Fact) error {
	g := r.gauges[id]
	switch f := f.(type) {
	case fact.GaugeCertified:
		if err := CheckGaugeCertified(f); err != nil {
			return err
		}
		g.history = g.history.then(span[fact.GaugeCertified]{since: at, what: f})
	case fact.Withdrawn:
		h, err := g.history.withdraw(at, f)
		if err != nil {
			return err
		}
		g.history = h
	case fact.Checked:
		if err := checkChecked(f); err != nil {
			return err
		}
		g.checks = append(slices.Clip(g.checks), Check{f, at})
		g.checks = g.checks[max(0, len(g.checks)-mostChecks):]
	case fact.ZeroChecked:
		g.zero = &Zero{f, at}
	default: // of its cable and its output: the bench's
		return nil
	}
	if err := fact.CheckID("the gauge's number", id); err != nil {
		return err
	}
	r.gauges[id] = g
	return nil
}

// CheckGaugeCertified says in words what is wrong with a gauge's certificate.
func CheckGaugeCertified(f fact.GaugeCertified) error {
	if err := fact.CheckName("the kind of gauge", f.GaugeKind); err != nil {
		return err
	}
	if f.Limit != nil && (f.Limit.Unit() == quantity.Bare || f.Limit.Exact().Sign() <= 0) {
		return fmt.Errorf("the limit of error is %s: write a figure above nought with its unit, as in 0.02 mm", f.Limit)
	}
	return checkCertificate(f.Certificate)
}

func checkChecked(f fact.Checked) error {
	if err := fact.CheckID("the piece's number", f.Piece); err != nil {
		return err
	}
	if err := length("the piece's size", f.Size); err != nil {
		return err
	}
	if f.Reading.Unit().Dimension() != quantity.Length {
		return fmt.Errorf("the reading on piece %s is %s: a length is wanted", f.Piece, f.Reading)
	}
	return nil
}

// Gauge is a gauge as it was at a time. ErrUnknown is where the register did not
// know it then.
func (r *Register) Gauge(id string, at time.Time) (Gauge, error) {
	g, known := r.gauges[id]
	s, then := g.history.at(at)
	if !then && (!known || len(g.history) > 0) {
		return Gauge{}, fmt.Errorf("gauge %s is %w at %s: certify it (shimwright gauges certify)",
			devices.Quote([]byte(id)), ErrUnknown, at.Format(time.DateTime))
	}
	return Gauge{ID: id, GaugeCertified: s.what, Since: s.since, Withdrawn: s.withdrawn}, nil
}

// Gauges are all gauges as they were at a time, by number, those withdrawn too.
func (r *Register) Gauges(at time.Time) []Gauge {
	var out []Gauge
	for _, id := range sorted(r.gauges) {
		if g, err := r.Gauge(id, at); err == nil {
			out = append(out, g)
		}
	}
	return out
}

// Usable says in words why the gauge may not be used on the day of a time; nil
// where it may.
func (g Gauge) Usable(at time.Time) error {
	return usable("gauge "+g.ID, g.Withdrawn, g.Certificate.Due, at, "gauges")
}

// Checks are a gauge's readings on check pieces, oldest first, the last 1000.
func (r *Register) Checks(gauge string) []Check { return slices.Clone(r.gauges[gauge].checks) }

// LastCheck is a gauge's newest reading on a check piece; false where there was
// none.
func (r *Register) LastCheck(gauge string) (Check, bool) {
	checks := r.gauges[gauge].checks
	if len(checks) == 0 {
		return Check{}, false
	}
	return checks[len(checks)-1], true
}

// Zero is what a gauge showed at its last zero check; false where there was none.
func (r *Register) Zero(gauge string) (Zero, bool) {
	if z := r.gauges[gauge].zero; z != nil {
		return *z, true
	}
	return Zero{}, false
}

// Drift is how a gauge stands with its check pieces at a time: the checks since
// the certificate that held then, which may have set the gauge anew, against
// its limit of error.
func (r *Register) Drift(id string, at time.Time) (correct.Drift, error) {
	g, err := r.Gauge(id, at)
	switch {
	case err != nil:
		return correct.Drift{}, err
	case g.Limit == nil:
		return correct.Drift{}, fmt.Errorf("gauge %s has no limit of error: write the one it is held to (shimwright gauges certify)", id)
	case g.Limit.Unit().Dimension() != quantity.Length:
		return correct.Drift{}, fmt.Errorf("gauge %s has the limit of error %s, and check pieces are lengths", id, g.Limit)
	}
	var run []correct.Check
	for _, c := range r.gauges[id].checks {
		if !c.At.After(at) && !c.At.Before(r.certifiedAt(id, at)) {
			run = append(run, correct.Check{Read: c.Reading.Exact(), Certified: c.Size.Exact()})
		}
	}
	if len(run) == 0 {
		return correct.Drift{}, fmt.Errorf("gauge %s was not checked on a piece since it was certified: check it on one", id)
	}
	d, err := correct.Watch(run, g.Limit.Exact())
	if err != nil {
		return d, fmt.Errorf("gauge %s: %w", id, err)
	}
	return d, nil
}

// certifiedAt is when the certificate that held at a time was told: being
// withdrawn begins none.
func (r *Register) certifiedAt(id string, at time.Time) time.Time {
	for _, s := range slices.Backward(r.gauges[id].history) {
		if !s.since.After(at) && s.withdrawn == "" {
			return s.since
		}
	}
	return time.Time{}
}
