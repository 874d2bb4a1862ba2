package board

import (
	"fmt"
	"time"

	"shimwright/ingest/store"
)

// A Period is how far back the list goes.
type Period uint8

// The periods.
const (
	Ever Period = iota
	Fortnight
	Quarter
	Year
	periods
)

// String is the period in words.
func (p Period) String() string {
	return [...]string{"all time", "last 14 days", "last 90 days", "last 365 days"}[p%periods]
}

// from is when a period begins; zero for all time.
func (p Period) from(now time.Time) time.Time {
	days := [...]int{0, 14, 90, 365}[p%periods]
	if days == 0 {
		return time.Time{}
	}
	return now.AddDate(0, 0, -days)
}

// A Query chooses the jobs of the list; the zero query is the newest of all.
type Query struct {
	Bench    string // of a shop's; "" is all
	State    store.State
	Sheet    string
	Period   Period
	Text     string // somewhere in its number, bay, drive, serial number, sheet or state
	Training bool   // training jobs count in charts and shares too
	// Before goes on behind the last job of an earlier list.
	Before *store.Job
}

// words say what is chosen.
func (q Query) words() string {
	out := "all jobs"
	if q.State != "" {
		out = string(q.State) + " jobs"
	}
	if q.Bench != "" {
		out += " of " + q.Bench
	}
	if q.Sheet != "" {
		out += " of sheet " + q.Sheet
	}
	if q.Period != 0 || q.State != "" || q.Bench != "" || q.Sheet != "" {
		out += ", " + q.Period.String() // "all jobs" alone are those of all time
	}
	if q.Text != "" {
		out += fmt.Sprintf(", with %q", q.Text)
	}
	return out
}

func (q Query) jobs(now time.Time) store.JobQuery {
	return store.JobQuery{Bench: q.Bench, State: q.State, Sheet: q.Sheet, From: q.Period.from(now), Before: q.Before, Limit: MostJobs}
}

// An Order is what the list is sorted by.
type Order uint8

// The orders.
const (
	WorstFirst Order = iota
	NewestFirst
	WidestFirst
	OldestFirst
	ByBay
	ByDrive
	ByStage
	orders
)

// String is the order in words.
func (o Order) String() string {
	return [...]string{"worst first", "newest first", "widest spread first", "oldest first", "by bay", "by drive", "by stage"}[o%orders]
}
