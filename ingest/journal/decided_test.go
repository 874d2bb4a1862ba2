package journal

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// The index and the question have one condition; else SQLite refuses the question
// or walks all facts.
func TestDecidedHasItsIndex(t *testing.T) {
	squeeze := func(s string) string { return strings.Join(strings.Fields(s), " ") }
	if want := strings.Trim(squeeze(isDecided), "()"); !strings.Contains(squeeze(decidedForm), "WHERE "+want) {
		t.Errorf("the index says %s and the question %s", squeeze(decidedForm), want)
	}
}

func decisions() []Record {
	of := func(kind, payload string) Record {
		return Record{Subject: "job/1", Kind: kind, Version: 1, Payload: []byte(payload)}
	}
	return []Record{
		of("on hold", `{"reason":"a crack"}`),
		of("pressed", `{"source":"gauge","sentence":"\"source\":\"keyed\""}`),
		of("pressed", `{"source":"keyed"}`),
		of("judged", `{}`),
		of("lifted", `{"hold":1}`),
		of("conceded", `{}`),
	}
}

func decidedOf(t *testing.T, r *Reader, after int64, most int) string {
	t.Helper()
	found, err := r.Decided(t.Context(), after, most)
	if err != nil {
		t.Fatal(err)
	}
	var seqs []string
	for _, s := range found {
		seqs = append(seqs, fmt.Sprint(s.Seq, " ", s.Kind))
	}
	return strings.Join(seqs, ", ")
}

func TestDecided(t *testing.T) {
	j := create(t)
	if got := decidedOf(t, j.Reader, 0, 10); got != "" {
		t.Errorf("an empty journal gives %s", got)
	}
	put(t, j, decisions()...)
	if got, want := decidedOf(t, j.Reader, 0, 10), "6 conceded, 5 lifted, 3 pressed, 1 on hold"; got != want {
		t.Errorf("%s, want %s", got, want)
	}
	if got, want := decidedOf(t, j.Reader, 3, 1), "6 conceded"; got != want {
		t.Errorf("%s, want %s", got, want)
	}
	if n, err := j.RowsMade(t.Context()); n != 0 || err != nil {
		t.Errorf("rows by rule %d, %v", n, err)
	}
}

// Files of forms 1 and 2 are brought up with every fact and hash as it was, and
// a reader sends to the bench until they are.
func TestDecidedFromOlderForms(t *testing.T) {
	form1, err := os.ReadFile(filepath.Join("testdata", "form1.journal"))
	if err != nil {
		t.Fatal(err)
	}
	for name, path := range map[string]string{"form 1": write(t, form1), "form 2": formTwo(t)} {
		t.Run(name, func(t *testing.T) {
			db := raw(t, path)
			var bench, before string
			if err := db.QueryRow(`SELECT bench FROM journal`).Scan(&bench); err != nil {
				t.Fatal(err)
			}
			hashes := `SELECT coalesce(group_concat(hex(hash)), '') FROM (SELECT hash FROM fact ORDER BY seq)`
			if err := db.QueryRow(hashes).Scan(&before); err != nil {
				t.Fatal(err)
			}
			db.Close()
			_, err := OpenReader(path)
			wantError(t, err, ErrOlder, "run the bench on it once")
			o := options()
			o.Bench = bench
			j := open(t, path, o)
			if got := all(t, j.Reader, "", 0); strings.ToLower(before) != joined(got) {
				t.Error("facts or hashes changed")
			}
			n := decidedOf(t, j.Reader, 0, 1000)
			put(t, j, decisions()...)
			if got := decidedOf(t, j.Reader, 0, 1000); !strings.HasSuffix(got, n) || strings.Count(got, ",") < 3 {
				t.Errorf("before %q, after %q", n, got)
			}
		})
	}
}

func joined(facts []Stored) string {
	var out []string
	for _, s := range facts {
		out = append(out, s.Hash.String())
	}
	return strings.Join(out, ",")
}

// formTwo is a journal taken back to form 2, as the program before wrote it.
func formTwo(t *testing.T) string {
	path := filepath.Join(t.TempDir(), "two.journal")
	j, err := Open(path, options())
	if err != nil {
		t.Fatal(err)
	}
	put(t, j, slices.Concat(decisions(), decisions())...)
	if err := j.Close(); err != nil {
		t.Fatal(err)
	}
	db := raw(t, path)
	run(t, db, `DROP TABLE kept; DROP INDEX judgement_by_sheet_alone; DROP INDEX fact_decided;
		ALTER TABLE judgement DROP COLUMN leaves; ALTER TABLE judgement DROP COLUMN total`, `PRAGMA user_version = 2`)
	db.Close()
	return path
}
