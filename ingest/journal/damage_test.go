package journal

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// raw opens the file as a foreign program would.
func raw(t testing.TB, path string) *sql.DB {
	t.Helper()
	db, err := sql.Open("sqlite", path)
	if err != nil {
		t.Fatal(err)
	}
	db.SetMaxOpenConns(1)
	t.Cleanup(func() { db.Close() })
	return db
}

func run(t testing.TB, db *sql.DB, statements ...string) {
	t.Helper()
	for _, s := range statements {
		if _, err := db.Exec(s); err != nil {
			t.Fatalf("%s: %v", s, err)
		}
	}
}

// sample is a closed journal of n facts; a damaged copy of it is the test's own,
// while the sample itself is verified at the end like every test's journal.
func sample(t testing.TB, n int) (content []byte, facts []Stored) {
	t.Helper()
	j := create(t)
	for i := range n {
		facts = append(facts, put(t, j, press(2041+i%3, fmt.Sprintf("payload %d", i+1)))...)
	}
	if err := j.Close(); err != nil {
		t.Fatal(err)
	}
	content, err := os.ReadFile(j.Path())
	if err != nil {
		t.Fatal(err)
	}
	return content, facts
}

func write(t testing.TB, content []byte) (path string) {
	t.Helper()
	path = filepath.Join(t.TempDir(), "copy.journal")
	if err := os.WriteFile(path, content, 0o644); err != nil {
		t.Fatal(err)
	}
	return path
}

func TestAppendOnlyByTrigger(t *testing.T) {
	j := create(t)
	put(t, j, press(1, "a"), press(1, "b"))
	db := raw(t, j.Path())
	for _, s := range []string{
		`UPDATE fact SET payload = x'00' WHERE seq = 1`,
		`UPDATE fact SET seq = 9 WHERE seq = 2`,
		`DELETE FROM fact WHERE seq = 2`,
		`DELETE FROM fact`,
		`REPLACE INTO fact SELECT seq, utc_us, since_ns, run, subject, 'other', version, payload, hash FROM fact WHERE seq = 2`,
		`INSERT OR REPLACE INTO fact SELECT 1, utc_us, since_ns, run, subject, 'other', version, payload, hash FROM fact WHERE seq = 2`,
		`INSERT INTO fact SELECT 0, utc_us, since_ns, run, subject, kind, version, payload, hash FROM fact WHERE seq = 2`,
		`INSERT INTO fact SELECT 4, utc_us, since_ns, run, subject, kind, version, payload, hash FROM fact WHERE seq = 2`,
		`INSERT INTO fact SELECT NULL, utc_us, since_ns, run, subject, kind, version, payload, hash FROM fact WHERE seq = 2`,
		`INSERT INTO fact (seq, utc_us, since_ns, run, subject, kind, version, payload, hash) SELECT 1, 0, 0, '', '', '', 1, x'', hash FROM fact WHERE seq = 1 ON CONFLICT DO UPDATE SET kind = 'other'`,
		`UPDATE journal SET bench = 'Bay 4'`,
		`DELETE FROM journal`,
		`REPLACE INTO journal VALUES (1, 'Bay 4', 0)`,
	} {
		const byTrigger = 1811 // SQLITE_CONSTRAINT_TRIGGER
		_, err := db.Exec(s)
		var refused interface{ Code() int }
		if !errors.As(err, &refused) || refused.Code() != byTrigger {
			t.Errorf("%s\ngives %v", s, err)
		}
	}
}

// Each edit is made through a foreign connection, with the triggers dropped and
// put back, as a careful editor would.
func TestVerifyFindsEdits(t *testing.T) {
	content, _ := sample(t, 20)
	const columns = `utc_us, since_ns, run, subject, kind, version, payload, hash`
	exchange := func(what string) []string {
		return []string{
			`CREATE TEMP TABLE was AS SELECT * FROM fact WHERE seq IN (7, 8)`,
			fmt.Sprintf(`UPDATE fact SET (%[1]s) = (SELECT %[1]s FROM was WHERE was.seq = 15 - fact.seq) WHERE seq IN (7, 8)`, what),
		}
	}
	tests := map[string]struct {
		edit []string
		seq  int64
		says string
	}{
		"payload byte":     {[]string{`UPDATE fact SET payload = CAST('paxload 7' AS BLOB) WHERE seq = 7`}, 7, "it was changed"},
		"kind":             {[]string{`UPDATE fact SET kind = 'strike' WHERE seq = 7`}, 7, "it was changed"},
		"subject":          {[]string{`UPDATE fact SET subject = 'job/1' WHERE seq = 7`}, 7, "it was changed"},
		"version":          {[]string{`UPDATE fact SET version = 2 WHERE seq = 7`}, 7, "it was changed"},
		"run":              {[]string{`UPDATE fact SET run = 'run-9' WHERE seq = 7`}, 7, "it was changed"},
		"time":             {[]string{`UPDATE fact SET utc_us = utc_us + 1 WHERE seq = 7`}, 7, "it was changed"},
		"time since":       {[]string{`UPDATE fact SET since_ns = 0 WHERE seq = 7`}, 7, "it was changed"},
		"hash":             {[]string{`UPDATE fact SET hash = zeroblob(32) WHERE seq = 7`}, 7, "it was changed"},
		"first":            {[]string{`UPDATE fact SET kind = 'strike' WHERE seq = 1`}, 1, "one of them was changed"},
		"last":             {[]string{`UPDATE fact SET kind = 'strike' WHERE seq = 20`}, 20, "it was changed"},
		"removed":          {[]string{`DELETE FROM fact WHERE seq = 7`}, 7, "it is missing"},
		"several removed":  {[]string{`DELETE FROM fact WHERE seq BETWEEN 7 AND 9`}, 7, "facts 7 to 9 are missing"},
		"first removed":    {[]string{`DELETE FROM fact WHERE seq = 1`}, 1, "it is missing"},
		"removed, closed":  {[]string{`DELETE FROM fact WHERE seq = 7`, `UPDATE fact SET seq = seq - 1 WHERE seq > 7`}, 7, "it was changed"},
		"exchanged whole":  {exchange(columns), 7, "it was changed"},
		"exchanged figure": {exchange(`payload`), 7, "it was changed"},
		"put in before":    {[]string{`INSERT INTO fact SELECT 0, ` + columns + ` FROM fact WHERE seq = 1`}, 0, "it was put in"},
		"put in at end":    {[]string{`INSERT INTO fact SELECT 21, ` + columns + ` FROM fact WHERE seq = 20`}, 21, "it was changed"},
		"bench":            {[]string{`UPDATE journal SET bench = 'Bay 4'`}, 1, "the journal's bench name"},
		"making":           {[]string{`UPDATE journal SET made_us = 0`}, 1, "the journal's bench name"},
		"whose gone":       {[]string{`DELETE FROM journal`}, 0, "whose journal it is has gone"},
	}
	for name, test := range tests {
		t.Run(name, func(t *testing.T) {
			path := write(t, content)
			editCarefully(t, path, test.edit...)
			err := verify(path)
			var broken *Break
			wantError(t, err, ErrDamaged, test.says, path)
			if !errors.As(err, &broken) || broken.Seq != test.seq {
				t.Errorf("broken at %+v, want fact %d", broken, test.seq)
			}
		})
	}
}

func editCarefully(t *testing.T, path string, edit ...string) {
	t.Helper()
	db := raw(t, path)
	rows, err := db.Query(`SELECT name, sql FROM sqlite_schema WHERE type = 'trigger'`)
	if err != nil {
		t.Fatal(err)
	}
	var drop, again []string
	for rows.Next() {
		var name, text string
		if err := rows.Scan(&name, &text); err != nil {
			t.Fatal(err)
		}
		drop, again = append(drop, "DROP TRIGGER "+name), append(again, text)
	}
	run(t, db, slices.Concat(drop, edit, again)...)
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
}

// An editor who works every hash out anew is found only by a hash kept
// elsewhere, and so is who cuts facts off at the end: the package says so.
func TestWhatTheChainCannotShow(t *testing.T) {
	content, facts := sample(t, 5)
	path := write(t, content)
	editCarefully(t, path, `DELETE FROM fact WHERE seq = 5`)
	r, err := OpenReader(path)
	if err != nil {
		t.Fatal(err)
	}
	defer r.Close()
	if err := r.Verify(t.Context(), nil); err != nil {
		t.Errorf("facts cut off at the end were seen without another copy of the hash: %v", err)
	}
	if last, _, err := r.Last(t.Context()); err != nil || last.Hash == facts[4].Hash {
		t.Errorf("the last hash does not show it: %v", err)
	}
}

func TestVerifyMissesTriggers(t *testing.T) {
	content, _ := sample(t, 3)
	path := write(t, content)
	run(t, raw(t, path), `DROP TRIGGER keep_fact_delete`)
	wantError(t, verify(path), ErrDamaged, "5 of the 6 triggers")
}

func TestVerifyFindsAFalseIndex(t *testing.T) {
	content, _ := sample(t, 3)
	path := write(t, content)
	db := raw(t, path)
	run(t, db, `PRAGMA writable_schema = ON`,
		`UPDATE sqlite_schema SET sql = 'CREATE INDEX fact_by_subject ON fact (kind, seq)' WHERE name = 'fact_by_subject'`)
	db.Close()
	wantError(t, verify(path), ErrDamaged, "SQLite finds", "fact_by_subject")
}

// Whatever byte of the file is changed: either something says so, or every fact
// reads as it was written, by number and by subject.
func TestFlippedBytes(t *testing.T) {
	content, facts := sample(t, 60)
	flips := 400
	if testing.Short() {
		flips = 50
	}
	chance := rand.New(rand.NewPCG(1, 2))
	found, payloads := 0, 0
	for range flips {
		at, bit := chance.IntN(len(content)), byte(1)<<chance.IntN(8)
		copied := slices.Clone(content)
		copied[at] ^= bit
		err := readWhole(t, write(t, copied), facts)
		if errors.Is(err, errDiffers) {
			t.Errorf("byte %d, bit %#x: verified, but %v", at, bit, err)
		}
		if err != nil {
			found++
			if !strings.Contains(err.Error(), "journal") {
				t.Errorf("byte %d, bit %#x: the error names no journal: %v", at, bit, err)
			}
		}
		if errors.As(err, new(*Break)) {
			payloads++
		}
	}
	t.Logf("of %d flips %d were found, %d of them by number; the others changed no fact", flips, found, payloads)
}

var errDiffers = errors.New("facts differ from those written")

func readWhole(t *testing.T, path string, facts []Stored) error {
	r, err := OpenReader(path)
	if err != nil {
		return err
	}
	defer r.Close()
	if err := r.Verify(context.Background(), nil); err != nil {
		return err
	}
	if !cmp.Equal(all(t, r, "", 0), facts) {
		return errDiffers
	}
	for i := range 3 {
		subject := fmt.Sprintf("job/%d", 2041+i)
		of := func(s Stored) bool { return s.Subject != subject }
		if !cmp.Equal(all(t, r, subject, 0), slices.DeleteFunc(slices.Clone(facts), of)) {
			return errDiffers
		}
	}
	return nil
}

func TestCutOff(t *testing.T) {
	content, _ := sample(t, 300)
	for _, keep := range []int{1, 99, 100, 4096, len(content) / 2, len(content) - 1} {
		path := write(t, content[:keep])
		err := verify(path)
		if !errors.Is(err, ErrDamaged) && !errors.Is(err, ErrNotJournal) {
			t.Errorf("cut to %d of %d bytes: %v", keep, len(content), err)
		}
		if err != nil && !strings.Contains(err.Error(), path) {
			t.Errorf("cut to %d of %d bytes: no path in %v", keep, len(content), err)
		}
	}
}

func TestOverwrittenPage(t *testing.T) {
	content, _ := sample(t, 300)
	for page := 1; page < len(content)/4096; page++ {
		copied := slices.Clone(content)
		for i := range 4096 {
			copied[page*4096+i] = 0x5a
		}
		path := write(t, copied)
		wantError(t, verify(path), ErrDamaged, path, "keep this file as it is")
	}
}
