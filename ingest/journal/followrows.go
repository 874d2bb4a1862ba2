package journal

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"
	"time"

	"shimwright/ingest/store"
)

// A cell is a column of a row in words.
type cell struct {
	words string
	micro bool // a time, in microseconds
}

// jobCellNames are the columns that jobsHeld reads, in its order.
func jobCellNames() []cell {
	return []cell{{"drive", false}, {"serial number", false}, {"sheet", false}, {"issue", false}, {"digest of the sheet", false},
		{"time of opening", true}, {"state", false}, {"end", true}, {"mark as training", false}}
}

// judgementCellNames are the columns that judgementsHeld reads, in its order.
func judgementCellNames() []cell {
	return []cell{{"job", false}, {"sheet", false}, {"step", false}, {"what was judged", false}, {"verdict", false}, {"words", false},
		{"advice", false}, {"value", false}, {"lower limit", false}, {"upper limit", false}, {"uncertainty", false}, {"mean", false},
		{"spread", false}, {"points", false}, {"build state", false}, {"mark as training", false}, {"version of the program", false},
		{"time", true}, {"leaves", false}, {"total", false}}
}

const (
	jobsHeld = `SELECT id, drive, serial, sheet, issue, digest, opened_us, state, coalesce(ended_us, ''), training
		FROM job ORDER BY id`
	judgementsHeld = `SELECT seq, job, sheet, step, what, verdict, words, advice, value, low, high,
			uncertainty, mean, spread, points, build, training, program, utc_us, leaves, total
		FROM judgement WHERE seq > ? AND seq <= ? ORDER BY seq`
)

// A jobAnew is a job's row as its facts give it, and by which facts.
type jobAnew struct {
	drive, serial, sheet, digest, state string
	issue                               int
	openedUS, endedUS                   int64
	training, seen                      bool
	opened, ended, trained              int64 // facts; 0 where there is none
}

func (j *jobAnew) cells() []string {
	ended := ""
	if j.ended != 0 {
		ended = number(j.endedUS)
	}
	return []string{j.drive, j.serial, j.sheet, strconv.Itoa(j.issue), j.digest, number(j.openedUS), j.state, ended, yes(j.training)}
}

// fact is which fact gave a column of the row.
func (j *jobAnew) fact(column int) int64 {
	const state, end, training = 6, 7, 8
	switch {
	case (column == state || column == end) && j.ended != 0:
		return j.ended
	case column == training && j.trained != 0:
		return j.trained
	}
	return j.opened
}

// A judgementAnew is a judgement's row as its fact gives it.
type judgementAnew struct {
	seq   int64
	job   string
	cells []string
}

func judgementCells(s Stored, d *store.Judgement, sheet string) ([]string, error) {
	points, err := json.Marshal(d.Points)
	leaves, leavesErr := json.Marshal(d.Leaves)
	return []string{d.Job, sheet, d.Step, d.What, d.Verdict, d.Words, d.Advice, d.Value, d.Low, d.High,
		d.Uncertainty, d.Mean, d.Spread, string(points), strconv.Itoa(d.Build), yes(d.Training), d.Program,
		number(s.UTC.UnixMicro()), string(leaves), d.Total}, errors.Join(err, leavesErr)
}

func number(n int64) string { return strconv.FormatInt(n, 10) }

func yes(is bool) string {
	if is {
		return "1"
	}
	return "0"
}

// asked is a reader's connections, or one transaction.
type asked interface {
	QueryContext(ctx context.Context, query string, args ...any) (*sql.Rows, error)
}

// A held is a row of the file: its key, and its other columns as text. It is good
// until the next one.
type held struct {
	key   sql.RawBytes
	cells []sql.RawBytes
}

// eachHeld reads rows of so many columns behind their key.
func (r *Reader) eachHeld(ctx context.Context, from asked, query string, n int, f func(held), args ...any) error {
	rows, err := from.QueryContext(ctx, query, args...)
	if err != nil {
		return explain(r.path, "holding its rows to its facts", err)
	}
	defer rows.Close()
	h := held{cells: make([]sql.RawBytes, n)}
	into := []any{&h.key}
	for i := range h.cells {
		into = append(into, &h.cells[i])
	}
	for rows.Next() {
		if err := rows.Scan(into...); err != nil {
			return explain(r.path, "holding its rows to its facts", err)
		}
		f(h)
	}
	return explain(r.path, "holding its rows to its facts", rows.Err())
}

// holdJudgements holds the file's judgements up to a number to those that were
// worked anew, both in the order of their numbers.
func (w *anew) holdJudgements(ctx context.Context, from asked, upto int64) error {
	want := w.judged
	missing := func(j judgementAnew) {
		w.out.differs("job %s, the judgement of fact %d: it is missing", j.job, j.seq)
	}
	names := judgementCellNames()
	err := w.r.eachHeld(ctx, from, judgementsHeld, len(names), func(h held) {
		seq, err := strconv.ParseInt(string(h.key), 10, 64)
		for err == nil && len(want) > 0 && want[0].seq < seq {
			missing(want[0])
			want = want[1:]
		}
		if err != nil || len(want) == 0 || want[0].seq != seq {
			w.out.differs("job %s, a judgement numbered %s: it is one too many, no fact gives it", h.cells[0], h.key)
			return
		}
		if how := h.differs(names, want[0].cells, func(int) int64 { return seq }); how != "" {
			w.out.differs("job %s, the judgement of fact %d: %s", want[0].job, seq, how)
		}
		want = want[1:]
	}, w.below, upto)
	for _, j := range want {
		missing(j)
	}
	w.judged, w.below, w.facts = w.judged[:0], upto, 0
	return err
}

// holdJobs holds the file's list of jobs to that which was worked anew.
func (w *anew) holdJobs(ctx context.Context, from asked) error {
	names, seen := jobCellNames(), 0
	err := w.r.eachHeld(ctx, from, jobsHeld, len(names), func(h held) {
		j := w.jobs[string(h.key)]
		if j == nil {
			w.out.differs("job %s: it is one too many, no fact opens it", h.key)
			return
		}
		j.seen = true
		seen++
		if how := h.differs(names, j.cells(), j.fact); how != "" {
			w.out.differs("job %s: %s", h.key, how)
		}
	})
	if err != nil || seen == len(w.jobs) {
		return err
	}
	for _, id := range slices.Sorted(maps.Keys(w.jobs)) {
		if j := w.jobs[id]; !j.seen {
			w.out.differs("job %s: it is missing, and fact %d opens it", id, j.opened)
		}
	}
	return nil
}

// differs says how a row differs from the one wanted; "" where it does not. by is
// the fact that gives a column.
func (h held) differs(names []cell, want []string, by func(column int) int64) string {
	var how []string
	for i, is := range h.cells {
		if string(is) != want[i] {
			how = append(how, fmt.Sprintf("its %s is %s, and from fact %d follows %s", names[i].words, names[i].shown(string(is)), by(i), names[i].shown(want[i])))
		}
	}
	return strings.Join(how, "; ")
}

func (c cell) shown(text string) string {
	switch n, err := strconv.ParseInt(text, 10, 64); {
	case text == "" && c.micro:
		return "none"
	case err == nil && c.micro:
		return time.UnixMicro(n).UTC().Format("2006-01-02T15:04:05.999999Z")
	}
	return shortened(text)
}

// shortened shows a text of any length and content in a message.
func shortened(s string) string {
	const most = 60 // characters
	if r := []rune(s); len(r) > most {
		return fmt.Sprintf("%q…", string(r[:most]))
	}
	return fmt.Sprintf("%q", s)
}

// firstDifference shows where two states part.
func firstDifference(is, want []byte) string {
	const before, most = 20, 60 // bytes
	at := 0
	for at < min(len(is), len(want)) && is[at] == want[at] {
		at++
	}
	from := max(0, at-before)
	return fmt.Sprintf("%q is kept where %q follows", is[from:min(len(is), at+most)], want[from:min(len(want), at+most)])
}
