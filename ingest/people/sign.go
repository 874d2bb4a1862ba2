package people

import (
	"fmt"
	"slices"
	"time"

	"shimwright/devices"
	"shimwright/ingest/fact"
)

// A Signature is who answers for something, and by what he was known.
type Signature = fact.Signature

// A Task is something that somebody answers for.
type Task uint8

// The tasks.
const (
	TakeHeld     Task = iota + 1 // let a held press count
	Concession                   // let something out of its limits be
	SecondLook                   // look at what another did
	SignFitter                   // sign a job off as the one who built it
	SignSecond                   // sign a job off as the second person
	SignLead                     // release a job
	ApproveSheet                 // allow jobs by a sheet
	KeepGauges                   // certify and withdraw pieces and gauges
	KeepPeople                   // put people on the list and take them off
	WorkAt                       // work at a job, or end a training one
	PlaceHold                    // put a step or a job on hold
	LiftHold                     // lift another's hold, or a rule's
	AbandonJob                   // end a job unfinished
	LetDue                       // let a gauge or a piece count that should not be used
)

// String is the task in words, as in "may not …".
func (t Task) String() string {
	words, _, _ := t.rule()
	return words
}

// Roles are the roles of which one is needed.
func (t Task) Roles() []fact.Role {
	_, roles, _ := t.rule()
	return roles
}

// rule is the task in words, whose it is, and whether it must be another person
// than the one whose work it is about.
func (t Task) rule() (words string, roles []fact.Role, another bool) {
	switch t {
	case TakeHeld:
		return "let a held press count", []fact.Role{fact.Fitter, fact.SecondPerson, fact.Lead}, false
	case Concession:
		return "give a concession", []fact.Role{fact.Lead}, false
	case SecondLook:
		return "give the second look", []fact.Role{fact.SecondPerson, fact.Lead}, true
	case SignFitter:
		return "sign as the fitter", []fact.Role{fact.Fitter}, false
	case SignSecond:
		return "sign as the second person", []fact.Role{fact.SecondPerson, fact.Lead}, true
	case SignLead:
		return "release the job", []fact.Role{fact.Lead}, false
	case ApproveSheet:
		return "approve a sheet", []fact.Role{fact.Lead}, false
	case KeepGauges:
		return "certify or withdraw pieces and gauges", []fact.Role{fact.GaugeKeeper, fact.Lead}, false
	case KeepPeople:
		return "change the list of people", []fact.Role{fact.Lead}, false
	case WorkAt:
		return "work at a job", []fact.Role{fact.Fitter, fact.SecondPerson, fact.Lead}, false
	case PlaceHold:
		return "put a job on hold", []fact.Role{fact.Fitter, fact.SecondPerson, fact.Lead, fact.GaugeKeeper}, false
	case LiftHold:
		return "lift a hold", []fact.Role{fact.Lead}, false
	case LetDue:
		return "let a gauge or a piece count that is due or out of use", []fact.Role{fact.Lead}, false
	case AbandonJob:
		return "abandon a job", []fact.Role{fact.Fitter, fact.Lead}, false
	default:
		return fmt.Sprintf("do task %d", uint8(t)), nil, false
	}
}

// Asked is what a person gave to answer for something.
type Asked struct {
	Task     Task
	Initials string
	PIN      string   // looked at where the person has one
	First    []string // initials of those whose work it is about; a second person is none of them
	At       time.Time
}

// Sign holds what a person gave to the list and to the task's rule, and gives
// the signature for facts to carry, with the tries after it. Errors are
// sentences that say what to do; ErrUnknown, ErrWrongPIN and ErrWait are told
// apart with errors.Is.
func (p People) Sign(t Tries, a Asked) (Signature, Tries, error) {
	who, err := p.Who(a.Initials)
	if err != nil {
		return Signature{}, t, err
	}
	words, roles, another := a.Task.rule()
	if !who.Has(roles...) {
		return Signature{}, t, fmt.Errorf("%s is %s and may not %s: %s", who.Initials, roleWords(who.Roles, "and"), words, p.whoMay(roles, a))
	}
	if another && slices.ContainsFunc(a.First, func(s string) bool { return same(s, who.Initials) }) {
		return Signature{}, t, fmt.Errorf("%s did the work and may not %s: %s", who.Initials, words, p.whoMay(roles, a))
	}
	if !who.HasPIN() {
		return Signature{Initials: who.Initials, By: fact.ByInitials}, t, nil
	}
	if t, err = t.check(who, a.PIN, a.At); err != nil {
		return Signature{}, t, err
	}
	return Signature{Initials: who.Initials, By: fact.ByPIN}, t, nil
}

func same(a, b string) bool {
	clean, err := fact.ReadInitials(a)
	return err == nil && clean == b
}

// mostNamed is how many people an error names.
const mostNamed = 8

// whoMay says who could sign instead.
func (p People) whoMay(roles []fact.Role, a Asked) string {
	_, _, another := a.Task.rule()
	var can string
	n := 0
	for _, w := range p.With(roles...) {
		if another && slices.ContainsFunc(a.First, func(s string) bool { return same(s, w.Initials) }) {
			continue
		}
		if n++; n <= mostNamed {
			if n > 1 {
				can += ", "
			}
			can += w.Initials
		}
	}
	switch {
	case n == 0:
		return fmt.Sprintf("put a %s on the list (shimwright people add)", roleWords(roles, "or"))
	case n > mostNamed:
		can += fmt.Sprintf(" or one of %d more", n-mostNamed)
	}
	return "ask " + can
}

// Check is whether a PIN is a person's, with the tries after it, whatever the
// task: before a person's own PIN is changed.
func (p People) Check(t Tries, initials, pin string, at time.Time) (Signature, Tries, error) {
	who, err := p.Who(initials)
	if err != nil {
		return Signature{}, t, err
	}
	if !who.HasPIN() {
		return Signature{Initials: who.Initials, By: fact.ByInitials}, t, nil
	}
	if t, err = t.check(who, pin, at); err != nil {
		return Signature{}, t, err
	}
	return Signature{Initials: who.Initials, By: fact.ByPIN}, t, nil
}

// Say is a signature for a record: AB, by PIN, with the name where it is known.
func (p People) Say(s Signature) string {
	if s == (Signature{}) {
		return "nobody signed"
	}
	name := devices.Quote([]byte(s.Initials))
	if who, ok := p.known[s.Initials]; ok {
		name = who.Initials + " (" + who.Name + ")"
	}
	return name + ", by " + string(s.By)
}
