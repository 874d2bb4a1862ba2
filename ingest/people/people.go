// Package people folds the facts of people into who works at a bench: their
// names, roles and PINs, and who may answer for what.
//
// A PIN keeps a colleague from signing for another at the bench. It is kept as a
// bcrypt hash in the journal, whose owner can try all short PINs at leisure: it
// is no lock against him.
package people

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"

	"shimwright/devices"
	"shimwright/ingest/fact"
	"shimwright/ingest/journal"
)

// prefix begins the subject of a person's facts.
const prefix = "person/"

// Subject is whom the facts of a person are about.
func Subject(initials string) string { return prefix + initials }

// A Person is one who works at the bench, or did.
type Person struct {
	Initials string
	Name     string
	Roles    []fact.Role
	Gone     bool // has left the shop

	hash string
}

// HasPIN tells whether the person's PIN is asked for.
func (p Person) HasPIN() bool { return p.hash != "" }

// Has tells whether the person has one of the roles.
func (p Person) Has(roles ...fact.Role) bool {
	return slices.ContainsFunc(roles, func(r fact.Role) bool { return slices.Contains(p.Roles, r) })
}

// People is who is known. It is never changed: Then gives the next one. The zero
// People is nobody.
type People struct{ known map[string]Person }

// ErrUnknown: nobody here has these initials.
var ErrUnknown = errors.New("nobody here has these initials")

// Load folds what a journal says of people.
func Load(ctx context.Context, r *journal.Reader) (People, error) {
	subjects, err := r.Subjects(ctx, prefix)
	if err != nil {
		return People{}, err
	}
	p := People{known: map[string]Person{}}
	for _, subject := range subjects {
		err := r.Read(ctx, subject, 0, func(s journal.Stored) error {
			f, err := fact.Decode(s)
			if err != nil {
				return err
			}
			if err := p.fold(s.Subject, f); err != nil {
				return fmt.Errorf("fact %d: %w", s.Seq, err)
			}
			return nil
		})
		if err != nil {
			return People{}, err
		}
	}
	return p, nil
}

// Then is who is known after one more fact; facts of other subjects change
// nothing.
func (p People) Then(subject string, f fact.Fact) (People, error) {
	if !strings.HasPrefix(subject, prefix) {
		return p, nil
	}
	n := People{known: maps.Clone(p.known)}
	if n.known == nil {
		n.known = map[string]Person{}
	}
	if err := n.fold(subject, f); err != nil {
		return p, err
	}
	return n, nil
}

// fold takes one fact in.
func (p People) fold(subject string, f fact.Fact) error {
	initials := strings.TrimPrefix(subject, prefix)
	if clean, err := fact.ReadInitials(initials); err != nil {
		return err
	} else if clean != initials {
		return fmt.Errorf("the initials %s are not in capitals: this program did not write them", devices.Quote([]byte(initials)))
	}
	was, known := p.known[initials]
	now := was
	switch f := f.(type) {
	case fact.Joined:
		if err := CheckJoined(f); err != nil {
			return fmt.Errorf("%s: %w", initials, err)
		}
		now = Person{Initials: initials, Name: f.Name, Roles: slices.Clone(f.Roles), hash: was.hash}
	case fact.PINSet:
		if err := checkHash(f.Hash); err != nil {
			return fmt.Errorf("%s: %w", initials, err)
		}
		if was.Gone {
			return fmt.Errorf("%s has left and has no PIN: let the person join again first", initials)
		}
		now.hash = f.Hash
	case fact.Left:
		now.Gone, now.hash = true, ""
	default:
		return fmt.Errorf("%s: a fact %q does not belong to a person", initials, f.Kind())
	}
	if _, joined := f.(fact.Joined); !known && !joined {
		return fmt.Errorf("%s: a fact %q stands before the person joined", initials, f.Kind())
	}
	p.known[initials] = now
	return nil
}

// Roles are all roles there are.
func Roles() []fact.Role {
	return []fact.Role{fact.Fitter, fact.SecondPerson, fact.Lead, fact.GaugeKeeper}
}

// CheckJoined says in words what is wrong with a person's name or roles.
func CheckJoined(f fact.Joined) error {
	if err := fact.CheckName("the name", f.Name); err != nil {
		return err
	}
	if len(f.Roles) == 0 {
		return fmt.Errorf("no role is given: write one or more of %s", roleWords(Roles(), "and"))
	}
	for i, r := range f.Roles {
		switch {
		case !slices.Contains(Roles(), r):
			return fmt.Errorf("%s is no role: write one or more of %s", devices.Quote([]byte(r)), roleWords(Roles(), "and"))
		case slices.Contains(f.Roles[:i], r):
			return fmt.Errorf("the role %s is given twice: write it once", r)
		}
	}
	return nil
}

// roleWords joins roles for a sentence.
func roleWords(roles []fact.Role, and string) string {
	var out []string
	for _, r := range roles {
		out = append(out, string(r))
	}
	if len(out) < 2 {
		return strings.Join(out, "")
	}
	return strings.Join(out[:len(out)-1], ", ") + " " + and + " " + out[len(out)-1]
}

// Who finds who works here by his initials. ErrUnknown is where nobody has
// them; one who left is refused in words.
func (p People) Who(initials string) (Person, error) {
	clean, err := fact.ReadInitials(initials)
	if err != nil {
		return Person{}, err
	}
	who, ok := p.known[clean]
	switch {
	case !ok:
		return Person{}, fmt.Errorf("%s: %w: write those of somebody on the list (shimwright people), or put the person on it (shimwright people add)", clean, ErrUnknown)
	case who.Gone:
		return Person{}, fmt.Errorf("%s (%s) has left the shop: somebody who works here signs, or put the person on the list again (shimwright people add)", clean, who.Name)
	}
	return who, nil
}

// List is everybody, those who left too, by initials.
func (p People) List() []Person {
	return slices.SortedFunc(maps.Values(p.known), func(a, b Person) int { return cmp.Compare(a.Initials, b.Initials) })
}

// With are those who work here and have one of the roles, by initials; without
// roles all who work here.
func (p People) With(roles ...fact.Role) []Person {
	return slices.DeleteFunc(p.List(), func(w Person) bool { return w.Gone || (len(roles) > 0 && !w.Has(roles...)) })
}

// Asks tells whether signatures are asked for: somebody is on the list. A bench
// without a list goes on without.
func (p People) Asks() bool { return len(p.With()) > 0 }
