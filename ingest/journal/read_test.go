package journal

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

func TestRead(t *testing.T) {
	j := create(t)
	const n = 3*pageFacts + 7
	for at := 0; at < n; {
		var group []Record
		for ; at < n && len(group) < MaxRecords; at++ {
			group = append(group, press(at%3, fmt.Sprint(at)))
		}
		put(t, j, group...)
	}
	for _, test := range []struct {
		subject string
		after   int64
		want    int
	}{
		{"", 0, n}, {"", n - 1, 1}, {"", n, 0}, {"", -5, n}, {"", pageFacts, n - pageFacts},
		{"job/0", 0, n/3 + 1}, {"job/1", 0, n / 3}, {"job/0", n - 3, 1}, {"job/9", 0, 0}, {"job/", 0, 0},
	} {
		got := all(t, j.Reader, test.subject, test.after)
		if len(got) != test.want {
			t.Errorf("%q after %d: %d facts, want %d", test.subject, test.after, len(got), test.want)
		}
		for i, s := range got {
			if string(s.Payload) != fmt.Sprint(s.Seq-1) || test.subject != "" && s.Subject != test.subject ||
				s.Seq <= test.after || i > 0 && s.Seq <= got[i-1].Seq {
				t.Fatalf("%q after %d: fact %d is %q of %q", test.subject, test.after, s.Seq, s.Payload, s.Subject)
			}
		}
	}
	last, found, err := j.Last(t.Context())
	if err != nil || !found || last.Seq != n || string(last.Payload) != fmt.Sprint(n-1) {
		t.Errorf("last is %+v, %v, %v", last, found, err)
	}
}

func TestReadLargePayloads(t *testing.T) {
	j := create(t)
	for i := range 5 {
		put(t, j, press(1, strings.Repeat(fmt.Sprint(i), pageBytes*2/3)))
	}
	if got := all(t, j.Reader, "job/1", 0); len(got) != 5 || got[4].Payload[0] != '4' {
		t.Errorf("%d facts", len(got))
	}
}

func TestReadEndsWithTheCallersError(t *testing.T) {
	j := create(t)
	put(t, j, press(1, "a"), press(1, "b"))
	mine, calls := errors.New("mine"), 0
	err := j.Read(t.Context(), "", 0, func(Stored) error { calls++; return mine })
	if err != mine || calls != 1 {
		t.Errorf("%v after %d calls", err, calls)
	}
}

func TestReadMayUseTheJournal(t *testing.T) {
	j := create(t)
	put(t, j, press(1, "a"), press(1, "b"))
	err := j.Read(t.Context(), "job/1", 0, func(s Stored) error {
		_, err := j.Append(t.Context(), press(2, string(s.Payload)))
		return err
	})
	if got := all(t, j.Reader, "job/2", 0); err != nil || len(got) != 2 {
		t.Errorf("%d facts copied, %v", len(got), err)
	}
}

func TestSubjects(t *testing.T) {
	j := create(t)
	for _, s := range []string{"job/10", "job/2", "gauge/D07", "bench", "job/2", "jobs", "job0", "job/ü"} {
		put(t, j, Record{s, "seen", 1, nil})
	}
	for prefix, want := range map[string][]string{
		"":          {"bench", "gauge/D07", "job/10", "job/2", "job/ü", "job0", "jobs"},
		"job/":      {"job/10", "job/2", "job/ü"},
		"job/2":     {"job/2"},
		"gauge/D08": nil,
		"z":         nil,
	} {
		got, err := j.Subjects(t.Context(), prefix)
		if diff := cmp.Diff(want, got); err != nil || diff != "" {
			t.Errorf("%q: %v\n%s", prefix, err, diff)
		}
	}
}

func TestManySubjects(t *testing.T) {
	j := create(t)
	const n = 2 * pageFacts // ends exactly with a page
	for at := 0; at < n; at += MaxRecords {
		var group []Record
		for i := range MaxRecords {
			group = append(group, press(1000+at+i, ""))
		}
		put(t, j, group...)
	}
	got, err := j.Subjects(t.Context(), "job/")
	if err != nil || len(got) != n || got[0] != "job/1000" || got[n-1] != fmt.Sprintf("job/%d", 1000+n-1) {
		t.Errorf("%d subjects, %v", len(got), err)
	}
}

func TestReadingGoesByIndex(t *testing.T) {
	j := create(t)
	for _, query := range []string{factsAll, factsOf, factLast, subjectsFrom} {
		rows, err := j.Reader.db.Query("EXPLAIN QUERY PLAN "+query, "job/1", 5, 10)
		if err != nil {
			t.Fatal(err)
		}
		var plan strings.Builder
		for rows.Next() {
			var a, b, c int
			var line string
			if err := rows.Scan(&a, &b, &c, &line); err != nil {
				t.Fatal(err)
			}
			plan.WriteString(line + "\n")
		}
		rows.Close()
		scans := strings.Contains(plan.String(), "SCAN fact") && query != factLast
		if scans || strings.Contains(plan.String(), "TEMP B-TREE") {
			t.Errorf("%s\nis worked out by\n%s", query, plan.String())
		}
	}
}

func TestReadCancelledBetweenPages(t *testing.T) {
	j := create(t)
	for range pageFacts/MaxRecords + 1 {
		put(t, j, presses(MaxRecords)...)
	}
	ctx, cancel := context.WithCancel(t.Context())
	err := j.Read(ctx, "", 0, func(s Stored) error {
		if s.Seq == pageFacts {
			cancel()
		}
		return nil
	})
	wantError(t, err, context.Canceled, j.Path())
}

func presses(n int) []Record {
	records := make([]Record, n)
	for i := range records {
		records[i] = press(1, fmt.Sprint(i))
	}
	return records
}

func TestReaderBesideAWriter(t *testing.T) {
	j := create(t)
	put(t, j, press(1, "a"))
	r, err := OpenReader(j.Path())
	if err != nil {
		t.Fatal(err)
	}
	defer r.Close()
	for i := range 20 {
		s := put(t, j, press(2, fmt.Sprint(i)))
		last, found, err := r.Last(t.Context())
		if diff := cmp.Diff(s[0], last); err != nil || !found || diff != "" {
			t.Fatalf("fact %d as stored (-), as seen at once by the reader (+): %v\n%s", s[0].Seq, err, diff)
		}
	}
	if err := r.Verify(t.Context(), nil); err != nil {
		t.Error(err)
	}
	if r.Bench() != "Bay 3" || r.Path() != j.Path() {
		t.Errorf("bench %q, path %q", r.Bench(), r.Path())
	}
	if _, err := r.db.Exec(`INSERT INTO fact (seq) VALUES (1)`); !errors.Is(explain("", "", err), ErrReadOnly) {
		t.Errorf("a reader's connection may write: %v", err)
	}
}

// A reader that is in the middle of a list must not keep the log from being
// taken back into the file: it would grow without limit.
func TestReadHoldsNoTransaction(t *testing.T) {
	j := create(t)
	put(t, j, presses(3)...)
	r, err := OpenReader(j.Path())
	if err != nil {
		t.Fatal(err)
	}
	defer r.Close()
	err = r.Read(t.Context(), "", 0, func(Stored) error {
		put(t, j, press(2, "while the other reads"))
		var busy, frames, moved int
		err := j.db.QueryRow(`PRAGMA wal_checkpoint(TRUNCATE)`).Scan(&busy, &frames, &moved)
		if err != nil || busy != 0 || frames != 0 {
			t.Errorf("log not taken back: busy %d, frames %d, %v", busy, frames, err)
		}
		return nil
	})
	if err != nil {
		t.Error(err)
	}
}

func TestVerifyTellsProgress(t *testing.T) {
	j := create(t)
	for range 5 {
		put(t, j, presses(MaxRecords)...)
	}
	var told []string
	if err := j.Verify(t.Context(), func(what string, done, total int64) {
		told = append(told, fmt.Sprintf("%s %d/%d", what, done, total))
	}); err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff([]string{"checking facts 256/320", "checking facts 320/320", "checking the file's pages 0/0"}, told); diff != "" {
		t.Error(diff)
	}
}
