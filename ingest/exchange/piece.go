package exchange

import (
	"fmt"
	"strings"
	"time"

	"shimwright/calc/quantity"
	"shimwright/devices"
	"shimwright/ingest/fact"
	"shimwright/ingest/register"
)

// Asked is what is said of a piece beside its certificate.
type Asked struct {
	Piece  string          // its number at the bench; "" takes the owner's number in the certificate
	Serial string          // the number on the piece, where it is not the bench's
	Role   string          // among the standards; "" keeps the one it has
	Length string          // which of several lengths, by a part of its name; "" where there is one
	Etched *quantity.Value // the size etched on it, where somebody read it
	Due    fact.Day        // the last day the certificate holds; the certificate does not say
}

// A Piece is a piece as a certificate makes it, and what there is to be said of
// that before it is kept.
type Piece struct {
	ID     string
	Fact   fact.Certified
	Length Length
	Words  []string // sentences: how it compares with what was known and what is etched
}

// mostApart is how far a size may be from the one that was known or is etched on
// the piece: more is another piece, or a wrong unit. Common practice for posts and
// blocks in use, no source: they wear by microns.
const mostApart = "0.1"

// PieceFrom holds a certificate to the piece it is said to be of, as the register
// has it at a time.
func PieceFrom(c PaperCertificate, a Asked, r *register.Register, at time.Time) (Piece, error) {
	id, err := pieceNumber(c, a)
	if err != nil {
		return Piece{}, err
	}
	l, err := pickLength(c.Lengths, a.Length)
	if err != nil {
		return Piece{}, err
	}
	u, k := l.Uncertainty, l.K
	out := Piece{ID: id, Length: l, Fact: fact.Certified{Standard: a.Role, Size: l.Size, Uncertainty: &u, K: &k,
		Certificate: fact.Certificate{Number: c.Number, Dated: c.Dated, Due: a.Due, Digest: c.Digest}}}
	if err := register.CheckCertified(out.Fact); err != nil {
		return out, err
	}
	if err := checkDays(c, a, at); err != nil {
		return out, err
	}
	if a.Etched != nil {
		if err := out.compare("etched on it", *a.Etched); err != nil {
			return out, err
		}
	}
	return out, out.beside(c, r, at)
}

// pieceNumber is the bench's number for the piece; a certificate of another is
// refused.
func pieceNumber(c PaperCertificate, a Asked) (string, error) {
	id := a.Piece
	if id == "" {
		for _, n := range c.Numbers {
			if n.Issuer == "owner" || n.Issuer == "customer" {
				id = n.Value
				break
			}
		}
		if id == "" {
			return "", fmt.Errorf("the certificate has no number of the owner's (%s): say which piece it is of with --piece, and with --serial the number on it", said(c.Numbers))
		}
	}
	want := a.Serial
	if want == "" {
		want = id
	}
	for _, n := range c.Numbers {
		if n.Value == want {
			return id, fact.CheckID("the piece's number", id)
		}
	}
	return "", fmt.Errorf("the certificate is of another piece: %s, and %s is none of them; where the number on piece %s is one of them, write it behind --serial",
		said(c.Numbers), devices.Quote([]byte(want)), devices.Quote([]byte(id)))
}

func said(numbers []Number) string {
	var out []string
	for _, n := range numbers {
		out = append(out, fmt.Sprintf("%s by its %s", devices.Quote([]byte(n.Value)), clean(firstOf(n.Issuer, mostName))))
	}
	return strings.Join(out, ", ")
}

func pickLength(all []Length, name string) (Length, error) {
	var fit []Length
	var names []string
	for _, l := range all {
		names = append(names, fmt.Sprintf("%q %s", l.Name, l.Size))
		if strings.Contains(strings.ToLower(l.Name), strings.ToLower(name)) {
			fit = append(fit, l)
		}
	}
	if len(fit) == 1 {
		return fit[0], nil
	}
	return Length{}, fmt.Errorf("the certificate gives %d lengths that could be the size: %s; choose one by a part of its name, with --length", len(all), strings.Join(names, "; "))
}

func checkDays(c PaperCertificate, a Asked, at time.Time) error {
	switch {
	case fact.DayOf(at).Before(c.Dated):
		return fmt.Errorf("the certificate is dated %s, which is yet to come: look at the computer's clock, or have it corrected", c.Dated)
	case register.Overdue(a.Due, at):
		return fmt.Errorf("the certificate was due on %s: it has expired; have the piece certified anew", a.Due)
	}
	return nil
}

// beside compares with what the register has: an older certificate does not take
// the place of a newer one, and a size far from the last is another piece's.
func (p *Piece) beside(c PaperCertificate, r *register.Register, at time.Time) error {
	was, err := r.Piece(p.ID, at)
	if err != nil {
		p.Words = append(p.Words, fmt.Sprintf("Piece %s is new in the register.", p.ID))
		return nil
	}
	if p.Fact.Standard == "" {
		p.Fact.Standard = was.Standard
	}
	old := was.Certificate
	switch {
	case old.Digest == p.Fact.Certificate.Digest && was.Withdrawn == "" && old.Due.Equal(p.Fact.Certificate.Due):
		return fmt.Errorf("this very certificate is in the register already, since %s", was.Since.In(at.Location()).Format(time.DateTime))
	case !old.Dated.IsZero() && c.Dated.Before(old.Dated):
		return fmt.Errorf("the register has a newer certificate of piece %s, %s of %s; this one is of %s", p.ID, old.Number, old.Dated, c.Dated)
	case was.Withdrawn != "":
		p.Words = append(p.Words, fmt.Sprintf("Piece %s is withdrawn: %s. This puts it in use again.", p.ID, was.Withdrawn))
		return nil
	}
	return p.compare("in the register", was.Size)
}

// compare says how far the certified size is from another.
func (p *Piece) compare(where string, other quantity.Value) error {
	words, err := Believe(p.Fact.Size, where, other)
	if err != nil {
		return err
	}
	p.Words = append(p.Words, words)
	return nil
}

// Believe says in a sentence how far a newly certified size is from another of the
// same piece, both lengths. What is too far to be that piece's is refused.
func Believe(size quantity.Value, where string, other quantity.Value) (string, error) {
	if other.Unit().Dimension() != quantity.Length {
		return "", fmt.Errorf("the size %s is %s: write a length with its unit, as in 75.00 mm", where, other)
	}
	off := size.Exact().Sub(other.Exact())
	words := fmt.Sprintf("The size %s is %s: the certified one is %s", where, other, apart(off))
	if quantity.MustExact(mostApart).Less(off.Abs()) {
		return "", fmt.Errorf("%s, and at most %s mm is believed: is it this piece? Where it was reworked, withdraw it first (shimwright pieces withdraw)", words, mostApart)
	}
	return words + ".", nil
}

func apart(off quantity.Exact) string {
	switch off.Sign() {
	case 0:
		return "the same"
	case -1:
		return off.Neg().String() + " mm less"
	}
	return off.String() + " mm more"
}
