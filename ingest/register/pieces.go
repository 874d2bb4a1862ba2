package register

import (
	"fmt"
	"time"

	"shimwright/calc/quantity"
	"shimwright/devices"
	"shimwright/ingest/fact"
)

// A Piece is a certified piece as of a time.
type Piece struct {
	ID string
	fact.Certified
	Since     time.Time // when the bench was told
	Withdrawn string    // why it is out of use; "" while it is in
}

func (r *Register) foldPiece(id string, at time.Time, f fact.Fact) error {
	if err := fact.CheckID("the piece's number", id); err != nil {
		return err
	}
	h, known := r.pieces[id]
	switch f := f.(type) {
	case fact.Certified:
		if err := CheckCertified(f); err != nil {
			return err
		}
		r.pieces[id] = h.then(span[fact.Certified]{since: at, what: f})
	case fact.Withdrawn:
		if !known {
			return fmt.Errorf("%s: %w: certify it first", id, ErrUnknown)
		}
		h, err := h.withdraw(at, f)
		if err != nil {
			return err
		}
		r.pieces[id] = h
	default:
		return errAlien("a piece")
	}
	return nil
}

// mostSize is the largest size believed, in mm.
const mostSize = "10000"

// CheckCertified says in words what is wrong with a piece's certificate.
func CheckCertified(f fact.Certified) error {
	if err := length("the certified size", f.Size); err != nil {
		return err
	}
	if f.Standard != "" {
		if err := fact.CheckName("the role", f.Standard); err != nil {
			return err
		}
	}
	switch {
	case (f.Uncertainty == nil) != (f.K == nil):
		return fmt.Errorf("an uncertainty and its coverage factor k go together: give both as the certificate has them, or neither")
	case f.Uncertainty == nil:
	case f.K.Unit() != quantity.Bare || f.K.Exact().Sign() <= 0:
		return fmt.Errorf("the coverage factor is %s: write a number above nought, as in 2", f.K)
	default:
		if err := length("the uncertainty", *f.Uncertainty); err != nil {
			return err
		}
	}
	return checkCertificate(f.Certificate)
}

// length holds a figure to a length above nought.
func length(what string, v quantity.Value) error {
	switch {
	case v.Unit().Dimension() != quantity.Length:
		return fmt.Errorf("%s is %s: write a length with its unit, as in 75.004 mm", what, v)
	case v.Exact().Sign() <= 0:
		return fmt.Errorf("%s is %s: write a length above nought", what, v)
	case quantity.MustExact(mostSize).Less(v.Exact()):
		return fmt.Errorf("%s is %s: at most %s mm is believed; is the unit right?", what, v, mostSize)
	}
	return nil
}

func checkCertificate(c fact.Certificate) error {
	if c.Number != "" {
		if err := fact.CheckName("the certificate's number", c.Number); err != nil {
			return err
		}
	}
	if !c.Dated.IsZero() && !c.Due.IsZero() && c.Due.Before(c.Dated) {
		return fmt.Errorf("the certificate of %s is due on %s, before it was written: correct one of them", c.Dated, c.Due)
	}
	return checkDigest(c.Digest)
}

func checkDigest(s string) error {
	if s == "" {
		return nil
	}
	if len(s) != 64 {
		return fmt.Errorf("%s is no digest: 64 hexadecimal digits are", devices.Quote([]byte(s)))
	}
	for _, c := range s {
		if (c < '0' || c > '9') && (c < 'a' || c > 'f') {
			return fmt.Errorf("%s is no digest: 64 hexadecimal digits are", devices.Quote([]byte(s)))
		}
	}
	return nil
}

// Piece is a piece as it was at a time. ErrUnknown is where the register did not
// know it then.
func (r *Register) Piece(id string, at time.Time) (Piece, error) {
	h, known := r.pieces[id]
	s, then := h.at(at)
	switch {
	case !known:
		return Piece{}, fmt.Errorf("piece %s is %w: certify it (shimwright pieces certify), or write one of %s",
			devices.Quote([]byte(id)), ErrUnknown, named(append(sorted(r.pieces), "none")[:max(1, len(r.pieces))]))
	case !then:
		return Piece{}, fmt.Errorf("piece %s is %w at %s: it was certified at %s", id, ErrUnknown, at.Format(time.DateTime), h[0].since.Format(time.DateTime))
	}
	return Piece{ID: id, Certified: s.what, Since: s.since, Withdrawn: s.withdrawn}, nil
}

// Pieces are all pieces as they were at a time, by number, those withdrawn too.
func (r *Register) Pieces(at time.Time) []Piece {
	var out []Piece
	for _, id := range sorted(r.pieces) {
		if p, err := r.Piece(id, at); err == nil {
			out = append(out, p)
		}
	}
	return out
}

// Usable says in words why the piece may not be used on the day of a time; nil
// where it may.
func (p Piece) Usable(at time.Time) error {
	return usable("piece "+p.ID, p.Withdrawn, p.Certificate.Due, at, "pieces")
}

func usable(what, withdrawn string, due fact.Day, at time.Time, command string) error {
	switch {
	case withdrawn != "":
		return fmt.Errorf("%s is withdrawn: %s: take another, or certify it anew (shimwright %s certify)", what, withdrawn, command)
	case Overdue(due, at):
		return fmt.Errorf("%s was due on %s: take another, or have it certified anew (shimwright %s certify)", what, due, command)
	}
	return nil
}

// Overdue tells whether a due date has passed on the day of a time. On the date
// itself it has not; no date never passes.
func Overdue(due fact.Day, at time.Time) bool {
	return !due.IsZero() && due.Before(fact.DayOf(at))
}
