package guard

import (
	"fmt"
	"strings"
	"time"
)

// A Piece is a certified piece that stands in the setup.
type Piece struct {
	ID     string
	Due    time.Time // the day its certificate falls due; zero where nothing is known
	InDate []string  // other pieces of its role whose certificate is in date
}

// due is a gauge or a piece whose certificate fell due.
type due struct {
	id      string
	days    int
	instead []string
}

// dated holds a press of a gauge, or one on a piece, whose certificate was due
// before it arrived. A certificate holds to the end of its day.
func dated(c Case) *Decision {
	var late []due
	if n := daysPast(c.Due, c.Sample.At); n > 0 {
		late = append(late, due{c.Sample.Gauge, n, c.InDate})
	}
	for _, p := range c.Pieces {
		if n := daysPast(p.Due, c.Sample.At); n > 0 {
			late = append(late, due{p.ID, n, p.InDate})
		}
	}
	if len(late) == 0 {
		return nil
	}
	const most = 2
	var were []string
	for _, d := range late[:min(most, len(late))] {
		were = append(were, fmt.Sprintf("%s was due %s", d.id, ago(d.days)))
	}
	if more := len(late) - most; more > 0 {
		were = append(were, fmt.Sprintf("%d more pieces were due", more))
	}
	return held(replace(late), "%s: %s from %s is kept.", strings.Join(were, ", "), c.Sample.Value, c.Sample.Gauge)
}

// daysPast is how many days after a day a time is; nought where it is not, or
// where the day is not known.
func daysPast(day, at time.Time) int {
	if day.IsZero() {
		return 0
	}
	date := func(t time.Time) time.Time {
		y, m, d := t.Date()
		return time.Date(y, m, d, 0, 0, 0, 0, time.UTC)
	}
	return max(0, int(date(at).Sub(date(day))/(24*time.Hour)))
}

func ago(days int) string {
	if days == 1 {
		return "yesterday"
	}
	return fmt.Sprintf("%d days ago", days)
}

// replace says what to use instead, and who may let it count all the same.
func replace(late []due) string {
	const lead = "the lead may let it count with a reason."
	var use []string
	for _, d := range late {
		if len(d.instead) == 0 {
			use = nil // another one for this would not help
			break
		}
		with := or(d.instead)
		if len(late) > 1 {
			with += " for " + d.id
		}
		use = append(use, with)
	}
	if len(use) == 0 {
		return "None in date can stand in for it: " + lead
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
