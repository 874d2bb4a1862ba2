package journal

import (
	"bufio"
	"bytes"
	"context"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"shimwright/ingest/store"
)

// victimDoEnv says what the program that is killed does, where that is not to
// append.
const victimDoEnv = "SHIMWRIGHT_TEST_DO"

// byRule is a rule of rows for tests, which makes a job of every hundredth fact.
func byRule() store.Rule[Stored] {
	return store.Rule[Stored]{Version: 7, Of: func(s Stored) (store.Change, error) {
		if s.Seq%100 != 1 {
			return store.Change{}, nil
		}
		return store.Change{Opens: &store.Job{ID: fmt.Sprint(s.Seq)}}, nil
	}}
}

func victimOptions() Options {
	return Options{Bench: "Bay 3", Run: fmt.Sprint("run-", os.Getpid()), Now: time.Now, Rows: byRule()}
}

// other does what else a victim is killed at.
func other(path string) int {
	if most, err := strconv.ParseUint(os.Getenv(victimDoEnv), 10, 64); err == nil {
		return limited(path, most)
	}
	if os.Getenv(victimDoEnv) == "look" {
		return looks(path)
	}
	j, err := Open(path, victimOptions())
	if err == nil && os.Getenv(victimDoEnv) == "backup" {
		go appendForEver(j)
		err = backUpForEver(j)
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		return 1
	}
	fmt.Println("opened")
	select {} // until it is killed
}

func appendForEver(j *Journal) {
	for {
		stored, err := j.Append(context.Background(), press(1, "while it is copied"))
		if err != nil {
			fmt.Fprintln(os.Stderr, err)
			return
		}
		fmt.Println("stored", stored[0].Seq, stored[0].Hash)
	}
}

func backUpForEver(j *Journal) error {
	for n := range victimMost {
		path := fmt.Sprintf("%s.%d.%d", j.Path(), os.Getpid(), n)
		last, err := j.Backup(context.Background(), path, nil)
		if err != nil {
			return err
		}
		fmt.Println("copied", last.Seq, last.Hash, path)
	}
	return nil
}

// killedAt runs a victim and kills it some time after it was started, or after its
// first line; it gives the lines that it printed.
func killedAt(t *testing.T, path, do string, after time.Duration, fromFirst bool) []string {
	t.Helper()
	cmd := exec.Command(os.Args[0], "-test.run=^$")
	cmd.Env = append(os.Environ(), victimEnv+"="+path, victimDoEnv+"="+do)
	var complaint bytes.Buffer
	cmd.Stderr = &complaint
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	var killer *time.Timer
	kill := func() { killer = time.AfterFunc(after, func() { cmd.Process.Kill() }) }
	if !fromFirst {
		kill()
	}
	var lines []string
	for sc := bufio.NewScanner(out); sc.Scan(); {
		if lines = append(lines, sc.Text()); fromFirst && len(lines) == 1 {
			kill()
		}
	}
	cmd.Wait()
	if complaint.Len() > 0 {
		t.Fatalf("the victim complained: %s", complaint.String())
	}
	killer.Stop()
	return lines
}

// formOne is a file as the first form had it, with so many facts.
func formOne(t *testing.T, facts int) (content []byte, hashes string) {
	t.Helper()
	path := filepath.Join(t.TempDir(), "one.journal")
	o := options()
	o.Bench = "Bay 3"
	j, err := Open(path, o)
	if err != nil {
		t.Fatal(err)
	}
	for range facts / MaxRecords {
		put(t, j, presses(MaxRecords)...)
	}
	hashes = joined(all(t, j.Reader, "", 0))
	if err := j.Close(); err != nil {
		t.Fatal(err)
	}
	db := raw(t, path)
	run(t, db, `DROP TABLE kept`, `DROP INDEX fact_decided`, `DROP TABLE job`, `DROP TABLE judgement`, `DROP TABLE derived`, `PRAGMA user_version = 1`)
	db.Close()
	content, err = os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return content, hashes
}

// Killed at any instant while a file of the first form is brought to the newest
// and its rows are made: the file is of the one form or the other, every fact is
// there, and the next start brings it up.
func TestKilledAtMigration(t *testing.T) {
	content, hashes := formOne(t, 2000)
	seed := uint64(time.Now().UnixNano())
	t.Logf("seed %d", seed)
	chance := rand.New(rand.NewPCG(seed, 0))
	forms := map[int]int{}
	const quick = 30 // ms: most starts are over by then
	for round := range rounds(8) {
		path := filepath.Join(t.TempDir(), "t.journal")
		if err := os.WriteFile(path, content, 0o600); err != nil {
			t.Fatal(err)
		}
		for range 1 + chance.IntN(3) {
			killedAt(t, path, "open", time.Duration(chance.IntN(quick*1000))*time.Microsecond, false)
		}
		db := raw(t, path)
		form := 0
		if err := db.QueryRow(`PRAGMA user_version`).Scan(&form); err != nil {
			t.Fatal(err)
		}
		db.Close()
		forms[form]++
		j := open(t, path, victimOptions()) // verified when the test ends
		if joined(all(t, j.Reader, "", 0)) != hashes {
			t.Fatalf("round %d: the facts are others", round)
		}
		if n, err := j.CountJobs(t.Context()); err != nil || n != 20 {
			t.Errorf("round %d: %d jobs in the rows, %v", round, n, err)
		}
		if err := j.Close(); err != nil {
			t.Error(err)
		}
	}
	t.Logf("killed with the file of form → times: %v", forms)
	for form := range forms {
		if form != 1 && form != len(migrations()) {
			t.Errorf("a file of form %d was left", form)
		}
	}
}

// Killed while copies are made and facts stored: each acknowledged fact is there,
// and whatever bears a copy's name is whole.
func TestKilledAtBackup(t *testing.T) {
	seed := uint64(time.Now().UnixNano())
	t.Logf("seed %d", seed)
	chance := rand.New(rand.NewPCG(seed, 0))
	stored, copied := 0, 0
	path := ""
	for round := range rounds(5) {
		if round%20 == 0 { // so that no file grows without end
			path = filepath.Join(t.TempDir(), "t.journal")
		}
		lines := killedAt(t, path, "backup", time.Duration(chance.IntN(60_000))*time.Microsecond, true)
		want := map[string]bool{}
		for _, l := range lines {
			if rest, ok := strings.CutPrefix(l, "stored "); ok {
				want[rest] = true
				stored++
			} else if strings.HasPrefix(l, "copied ") {
				copied++
			}
		}
		j := open(t, path, victimOptions())
		for _, s := range all(t, j.Reader, "", 0) {
			delete(want, fmt.Sprint(s.Seq, " ", s.Hash))
		}
		if len(want) > 0 {
			t.Errorf("round %d: acknowledged facts are missing: %v", round, want)
		}
		if err := j.Close(); err != nil {
			t.Error(err)
		}
		holdCopies(t, path, lines)
	}
	t.Logf("%d facts and %d copies acknowledged", stored, copied)
}

// holdCopies verifies every copy that is there and takes it away, and misses none
// that was acknowledged.
func holdCopies(t *testing.T, path string, lines []string) {
	t.Helper()
	copies, err := filepath.Glob(path + ".*.*")
	if err != nil {
		t.Fatal(err)
	}
	is := map[string]string{}
	for _, c := range copies {
		if strings.HasSuffix(c, "-shm") || strings.HasSuffix(c, "-wal") {
			continue
		}
		r, err := OpenReader(c)
		if err != nil {
			t.Fatalf("%s: %v", c, err)
		}
		if err := r.Verify(t.Context(), nil); err != nil {
			t.Errorf("%s: %v", c, err)
		}
		last, _, err := r.Last(t.Context())
		if err != nil {
			t.Error(err)
		}
		is[c] = fmt.Sprint(last.Seq, " ", last.Hash)
		if err := r.Close(); err != nil {
			t.Error(err)
		}
		_ = os.Remove(c)
	}
	for _, l := range lines {
		var seq, hash, c string
		if n, _ := fmt.Sscanf(l, "copied %s %s %s", &seq, &hash, &c); n == 3 && is[c] != seq+" "+hash {
			t.Errorf("%s ends with %q, acknowledged was %s %s", c, is[c], seq, hash)
		}
	}
}
