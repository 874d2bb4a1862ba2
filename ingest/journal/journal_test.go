package journal

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
)

func TestMain(m *testing.M) {
	if path := os.Getenv(victimEnv); path != "" {
		if os.Getenv(victimDoEnv) != "" {
			os.Exit(other(path))
		}
		os.Exit(victim(path))
	}
	os.Exit(m.Run())
}

// clock gives a time one second later at each call.
func clock() func() time.Time {
	var mu sync.Mutex
	now := time.UnixMicro(1770000000123456).Add(-time.Second)
	return func() time.Time {
		mu.Lock()
		defer mu.Unlock()
		now = now.Add(time.Second)
		return now
	}
}

func options() Options { return Options{Bench: "Bay 3", Run: "run-1", Now: clock()} }

// open opens a journal that is closed and verified when the test ends.
func open(t testing.TB, path string, opts Options) *Journal {
	t.Helper()
	j, err := Open(path, opts)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := j.Close(); err != nil {
			t.Errorf("closing: %v", err)
		}
		if err := verify(path); err != nil {
			t.Errorf("the test left a journal that is not whole: %v", err)
		}
	})
	return j
}

func create(t testing.TB) *Journal {
	t.Helper()
	return open(t, filepath.Join(t.TempDir(), "bay 3.journal"), options())
}

func verify(path string) error {
	r, err := OpenReader(path)
	if err != nil {
		return err
	}
	return errors.Join(r.Verify(context.Background(), nil), r.Close())
}

func put(t testing.TB, j *Journal, records ...Record) []Stored {
	t.Helper()
	stored, err := j.Append(t.Context(), records...)
	if err != nil {
		t.Fatal(err)
	}
	return stored
}

func press(job int, payload string) Record {
	return Record{Subject: fmt.Sprintf("job/%d", job), Kind: "press", Version: 1, Payload: []byte(payload)}
}

func all(t testing.TB, r *Reader, subject string, after int64) []Stored {
	t.Helper()
	var found []Stored
	err := r.Read(t.Context(), subject, after, func(s Stored) error {
		found = append(found, s)
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return found
}

// The digests were worked out apart from this code, in another language, from
// the description of the bytes in chain.go.
func TestHashIsAsDescribed(t *testing.T) {
	j := create(t)
	got := put(t, j,
		Record{"job/2041", "press", 1, []byte(`{"value":"31.90"}`)},
		Record{"gauge/D07", "Prüfung", 7, nil})
	for i, want := range []string{
		"acd3e74a8cabbb171f436dd8539dcab103c5a1b0968ca3f4768403f18d058b8a",
		"d1a153b705a0204a5a385ab4f07483d876eddffa1b63aad0da02da3694d96332",
	} {
		if got[i].Hash.String() != want {
			t.Errorf("fact %d: hash %v, want %s", i+1, got[i].Hash, want)
		}
	}
	if want := "2b2298a449d8671732596d97d272465b69752cdb8c2a901a887bae00bbb60982"; j.first.String() != want {
		t.Errorf("origin %v, want %s", j.first, want)
	}
}

func TestHeadersOfDifferentFactsDiffer(t *testing.T) {
	base := Stored{Seq: 1, UTC: time.UnixMicro(5), Run: "ab", SinceRun: 3, Record: Record{"cd", "ef", 2, []byte("x")}}
	seen := map[string]string{}
	for name, change := range map[string]func(*Stored){
		"base":            func(*Stored) {},
		"seq":             func(s *Stored) { s.Seq = 2 },
		"utc":             func(s *Stored) { s.UTC = time.UnixMicro(6) },
		"utc before 1970": func(s *Stored) { s.UTC = time.UnixMicro(-5) },
		"since":           func(s *Stored) { s.SinceRun = -3 },
		"version":         func(s *Stored) { s.Version = 3 },
		"run to subject":  func(s *Stored) { s.Run, s.Subject = "a", "bcd" },
		"subject to kind": func(s *Stored) { s.Subject, s.Kind = "c", "def" },
		"payload length":  func(s *Stored) { s.Payload = nil },
	} {
		s := base
		change(&s)
		h := string(header(s))
		if other, ok := seen[h]; ok {
			t.Errorf("%s and %s have one header", name, other)
		}
		seen[h] = name
	}
}

func TestFactsComeBackAsGiven(t *testing.T) {
	every := make([]byte, 256)
	for i := range every {
		every[i] = byte(i)
	}
	tests := map[string][]Record{
		"one":           {press(2041, `{"value":"31.90"}`)},
		"every byte":    {{"bench", "raw", 1, every}},
		"not JSON":      {{"bench", "raw", 1, []byte(" {\"a\":1 ,\t\"a\":2}\r\n\x00")}},
		"empty":         {{"bench", "raw", 1, []byte{}}},
		"nil":           {{"bench", "raw", 1, nil}},
		"not ASCII":     {{"person/Jürgen Ångström", "Prüfung ✓", 1, []byte("ü")}},
		"three at once": {press(1, "a"), {"gauge/D07", "seen", 2, []byte("b")}, press(1, "c")},
		"largest":       {{strings.Repeat("s", MaxSubject), strings.Repeat("k", MaxKind), 1<<31 - 1, bytes.Repeat([]byte{0xa5}, MaxPayload)}},
	}
	for name, records := range tests {
		t.Run(name, func(t *testing.T) {
			j := create(t)
			stored := put(t, j, records...)
			for i, s := range stored {
				if !bytes.Equal(s.Payload, records[i].Payload) || s.Subject != records[i].Subject ||
					s.Kind != records[i].Kind || s.Version != records[i].Version {
					t.Errorf("fact %d was changed on the way in", s.Seq)
				}
			}
			if diff := cmp.Diff(stored, all(t, j.Reader, "", 0), emptyIsNil); diff != "" {
				t.Errorf("stored (-), read (+):\n%s", diff)
			}
		})
	}
}

var emptyIsNil = cmp.Comparer(func(a, b []byte) bool { return bytes.Equal(a, b) })

func TestMostRecordsAtOnce(t *testing.T) {
	j := create(t)
	records := make([]Record, MaxRecords)
	for i := range records {
		records[i] = press(i, fmt.Sprint(i))
	}
	stored := put(t, j, records...)
	if n := len(all(t, j.Reader, "", 0)); n != MaxRecords || stored[n-1].Seq != MaxRecords {
		t.Errorf("%d facts, last %d", n, stored[len(stored)-1].Seq)
	}
}

func TestTimes(t *testing.T) {
	path := filepath.Join(t.TempDir(), "t.journal")
	now := time.Date(2026, 3, 1, 8, 0, 0, 123456789, time.FixedZone("CET", 3600))
	opts := options()
	opts.Now = func() time.Time { return now }
	j := open(t, path, opts)
	now = now.Add(90 * time.Second)
	s := put(t, j, press(1, "a"), press(1, "b"))
	want := time.Date(2026, 3, 1, 7, 1, 30, 123456000, time.UTC)
	for _, s := range s {
		if s.UTC != want || s.SinceRun != 90*time.Second || s.Run != "run-1" {
			t.Errorf("stored at %v, %v into run %q", s.UTC, s.SinceRun, s.Run)
		}
	}
	now = now.AddDate(-40, 0, 0) // a clock set wrong stores all the same
	if s := put(t, j, press(1, "c"))[0]; s.UTC.Year() != 1986 || s.SinceRun >= 0 || s.Seq != 3 {
		t.Errorf("stored as %d at %v, %v into the run", s.Seq, s.UTC, s.SinceRun)
	}
}

func TestReopenGoesOn(t *testing.T) {
	path := filepath.Join(t.TempDir(), "t.journal")
	first := open(t, path, options())
	a := put(t, first, press(1, "a"))
	if err := first.Close(); err != nil {
		t.Fatal(err)
	}
	opts := options()
	opts.Run = "run-2"
	second := open(t, path, opts)
	b := put(t, second, press(1, "b"))
	if b[0].Seq != 2 || b[0].Run != "run-2" || b[0].Hash != link(a[0].Hash, b[0]) {
		t.Errorf("second run stored %+v", b[0])
	}
	if _, err := first.Append(t.Context(), press(1, "c")); !errors.Is(err, ErrClosed) {
		t.Errorf("append after close: %v", err)
	}
	if err := first.Close(); err != nil {
		t.Errorf("second close: %v", err)
	}
}

func TestRefusals(t *testing.T) {
	j := create(t)
	ok := press(1, "a")
	with := func(change func(*Record)) []Record {
		r := press(2, "b")
		change(&r)
		return []Record{ok, r}
	}
	tests := map[string]struct {
		records []Record
		says    string
	}{
		"none":            {nil, "no record was given"},
		"too many":        {make([]Record, MaxRecords+1), "65 records in one transaction, at most 64"},
		"no subject":      {with(func(r *Record) { r.Subject = "" }), "the subject is empty"},
		"long subject":    {with(func(r *Record) { r.Subject = strings.Repeat("é", 101) }), "the subject has 202 bytes, at most 200"},
		"no kind":         {with(func(r *Record) { r.Kind = "" }), "the kind is empty"},
		"long kind":       {with(func(r *Record) { r.Kind = strings.Repeat("k", 65) }), "the kind has 65 bytes, at most 64"},
		"control":         {with(func(r *Record) { r.Subject = "job/\x00" }), "cannot be printed"},
		"line end":        {with(func(r *Record) { r.Kind = "press\n" }), "cannot be printed"},
		"not UTF-8":       {with(func(r *Record) { r.Subject = "job/\xff" }), "not valid UTF-8"},
		"blank":           {with(func(r *Record) { r.Kind = " press" }), "begins or ends with a blank"},
		"no version":      {with(func(r *Record) { r.Version = 0 }), "version 0: give a whole number from 1"},
		"version below 0": {with(func(r *Record) { r.Version = -1 }), "version -1: give a whole number from 1 to 2147483647"},
		"payload":         {with(func(r *Record) { r.Payload = make([]byte, MaxPayload+1) }), "the payload has 1048577 bytes, at most 1048576"},
	}
	for name, test := range tests {
		t.Run(name, func(t *testing.T) {
			_, err := j.Append(t.Context(), test.records...)
			wantError(t, err, ErrRefused, test.says, j.Path())
			if len(test.records) == 2 {
				wantError(t, err, ErrRefused, "record 2 of 2")
			}
		})
	}
	if _, found, err := j.Last(t.Context()); found || err != nil {
		t.Errorf("a refused record left something: %v %v", found, err)
	}
}

func TestOptionsRefused(t *testing.T) {
	for says, change := range map[string]func(*Options){
		"the bench's name is empty": func(o *Options) { o.Bench = "" },
		"the run is empty":          func(o *Options) { o.Run = "" },
		"no clock was given":        func(o *Options) { o.Now = nil },
		"at most 100":               func(o *Options) { o.Run = strings.Repeat("r", 101) },
	} {
		opts := options()
		change(&opts)
		path := filepath.Join(t.TempDir(), "t.journal")
		_, err := Open(path, opts)
		wantError(t, err, ErrRefused, says, path)
	}
	_, err := Open("", options())
	wantError(t, err, ErrRefused, "the path is empty")
}

func wantError(t *testing.T, err, kind error, says ...string) {
	t.Helper()
	if !errors.Is(err, kind) {
		t.Errorf("got error %v\nwant one that is %q", err, kind)
		return
	}
	for _, s := range says {
		if !strings.Contains(err.Error(), s) {
			t.Errorf("got error %v\nwant it to say %q", err, s)
		}
	}
}

func TestAppendFromSeveral(t *testing.T) {
	j := create(t)
	const writers, each = 4, 25
	var wg sync.WaitGroup
	for w := range writers {
		wg.Go(func() {
			for i := range each {
				if _, err := j.Append(t.Context(), press(w, fmt.Sprint(i))); err != nil {
					t.Error(err)
				}
			}
		})
	}
	wg.Wait()
	for w := range writers {
		got := all(t, j.Reader, fmt.Sprintf("job/%d", w), 0)
		for i, s := range got {
			if string(s.Payload) != fmt.Sprint(i) {
				t.Errorf("writer %d: fact %d is %s", w, i, s.Payload)
			}
		}
		if len(got) != each {
			t.Errorf("writer %d: %d facts", w, len(got))
		}
	}
}

func TestCancelled(t *testing.T) {
	j := create(t)
	put(t, j, press(1, "a"))
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	_, err := j.Append(ctx, press(1, "b"))
	wantError(t, err, context.Canceled, j.Path(), "was stopped")
	_, _, err = j.Last(ctx)
	wantError(t, err, context.Canceled)
	_, err = j.Subjects(ctx, "")
	wantError(t, err, context.Canceled)
	wantError(t, j.Verify(ctx, nil), context.Canceled)
	if s := put(t, j, press(1, "c")); s[0].Seq != 2 {
		t.Errorf("stored as %d after a cancelled append", s[0].Seq)
	}
}

func TestCancelledWhileWaiting(t *testing.T) {
	j := create(t)
	j.gate <- struct{}{} // as if another Append were at work
	ctx, cancel := context.WithCancel(t.Context())
	failed := make(chan error)
	go func() {
		_, err := j.Append(ctx, press(1, "a"))
		failed <- err
	}()
	cancel()
	wantError(t, <-failed, context.Canceled)
	<-j.gate
}

func TestCancelledInTheMiddleIsAllOrNothing(t *testing.T) {
	j := create(t)
	stored := 0
	for i := range 50 {
		ctx, cancel := context.WithCancel(t.Context())
		go cancel() // before, during or after
		got, err := j.Append(ctx, press(i, "a"), press(i, "b"))
		switch {
		case err == nil:
			stored += len(got)
		case !errors.Is(err, context.Canceled):
			t.Fatal(err)
		}
	}
	if found := len(all(t, j.Reader, "", 0)); found != stored {
		t.Errorf("%d facts acknowledged, %d found", stored, found)
	}
}
