package guard

import (
	"fmt"
	"strings"
	"time"

	"shimwright/ingest/fact"
)

// A Paper is what is known of the certificate of a gauge or a piece as a press
// arrives. The zero Paper says nothing, and nothing is objected.
type Paper struct {
	Due       fact.Day // the last day it holds
	Withdrawn bool     // it was taken out of use
	InDate    []string // others that may stand in for it: of its kind or its role, in date and in use
}

// A Piece is a certified piece that stands in the setup.
type Piece struct {
	ID string
	Paper
}

// unfit is a gauge or a piece that should not be used.
type unfit struct {
	id, why string
	instead []string
}

// dated holds a press of a gauge, or one on a piece, whose certificate was due
// before it arrived or that was taken out of use.
func dated(c Case) *Decision {
	var out []unfit
	for _, p := range append([]Piece{{c.Sample.Gauge, c.Paper}}, c.Pieces...) {
		if why := p.unfit(c.Sample.At); why != "" {
			out = append(out, unfit{p.ID, why, p.InDate})
		}
	}
	if len(out) == 0 {
		return nil
	}
	const most = 2
	var are []string
	for _, u := range out[:min(most, len(out))] {
		are = append(are, u.id+" "+u.why)
	}
	if more := len(out) - most; more > 0 {
		are = append(are, fmt.Sprintf("and %d more", more))
	}
	return held(fact.NotCertified, replace(out), "%s: %s from %s is kept.", strings.Join(are, ", "), c.Sample.Value, c.Sample.Gauge)
}

// Unfit are the gauge and the pieces of a press that should not be used.
func Unfit(c Case) []string {
	var out []string
	for _, p := range append([]Piece{{c.Sample.Gauge, c.Paper}}, c.Pieces...) {
		if p.unfit(c.Sample.At) != "" {
			out = append(out, p.ID)
		}
	}
	return out
}

// unfit says why a paper forbids use on the day of a time; "" where it does not.
func (p Paper) unfit(at time.Time) string {
	switch n := daysPast(p.Due, at); {
	case p.Withdrawn:
		return "is out of use"
	case n == 1:
		return "was due yesterday"
	case n > 1:
		return fmt.Sprintf("was due %d days ago", n)
	}
	return ""
}

// daysPast is how many days after a day a time is; nought where it is not, or
// where there is no day.
func daysPast(day fact.Day, at time.Time) int {
	if day.IsZero() {
		return 0
	}
	past := fact.DayOf(at).Start(time.UTC).Sub(day.Start(time.UTC))
	return max(0, int(past/(24*time.Hour)))
}

// replace says what to use instead, and who may let it count all the same.
func replace(all []unfit) string {
	const lead = "the lead may let it count with a reason."
	var use []string
	for _, u := range all {
		if len(u.instead) == 0 {
			return "None in date can stand in for " + u.id + ": " + lead
		}
		with := or(u.instead)
		if len(all) > 1 {
			with += " for " + u.id
		}
		use = append(use, with)
	}
	return "Use " + strings.Join(use, ", ") + "; " + lead
}

// or names a few of several.
func or(names []string) string {
	const most = 3
	if len(names) > most {
		names = names[:most]
	}
	if len(names) == 1 {
		return names[0]
	}
	return strings.Join(names[:len(names)-1], ", ") + " or " + names[len(names)-1]
}
