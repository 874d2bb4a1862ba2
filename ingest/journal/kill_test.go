package journal

import (
	"bufio"
	"bytes"
	"context"
	"encoding/hex"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"
)

const (
	victimEnv    = "SHIMWRIGHT_TEST_JOURNAL" // path: be the program that is killed
	victimRunEnv = "SHIMWRIGHT_TEST_RUN"
	victimMost   = 100_000 // appends; it is killed long before
)

// victim appends for ever, 1 to 3 facts at a time, and prints "seq hash" for each
// one acknowledged. Its log is taken back into the file every few pages, so that
// kills fall into that too.
func victim(path string) int {
	opts := Options{Bench: "Bay 3", Run: os.Getenv(victimRunEnv), Now: time.Now, pragmas: []string{"wal_autocheckpoint(8)"}}
	j, err := Open(path, opts)
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		return 1
	}
	for group := range victimMost {
		records := make([]Record, 1+group%3)
		for i := range records {
			records[i] = press(group, fmt.Sprintf("%s %d %d/%d", opts.Run, group, i+1, len(records)))
		}
		stored, err := j.Append(context.Background(), records...)
		if err != nil {
			fmt.Fprintln(os.Stderr, err)
			return 1
		}
		var out bytes.Buffer
		for _, s := range stored {
			fmt.Fprintln(&out, s.Seq, s.Hash)
		}
		os.Stdout.Write(out.Bytes())
	}
	return 0
}

// TestKilled: what was acknowledged is there, once; what was not is there in
// whole or not at all; the chain and the file are whole. SIGKILL is not loss of
// power: what the system had in memory survives it.
func TestKilled(t *testing.T) {
	rounds := rounds(20)
	if testing.Short() {
		rounds = 5
	}
	seed := uint64(time.Now().UnixNano())
	t.Logf("seed %d", seed)
	chance := rand.New(rand.NewPCG(seed, 0))
	path := filepath.Join(t.TempDir(), "t.journal")
	acknowledged := map[int64]string{}
	for round := range rounds {
		run := fmt.Sprintf("run-%d", round)
		killOne(t, path, run, chance, acknowledged)
		if t.Failed() {
			return
		}
		checkSurvivors(t, path, acknowledged)
	}
	t.Logf("%d facts acknowledged in %d rounds", len(acknowledged), rounds)
	open(t, path, options()) // it can still be written, and is verified once more
}

// killOne starts a victim and kills it after some acknowledgements and a moment
// more; in every fifth round it is killed while it opens the journal.
func killOne(t *testing.T, path, run string, chance *rand.Rand, acknowledged map[int64]string) {
	t.Helper()
	cmd := exec.Command(os.Args[0], "-test.run=^$")
	cmd.Env = append(os.Environ(), victimEnv+"="+path, victimRunEnv+"="+run)
	var complaint bytes.Buffer
	cmd.Stderr = &complaint
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	lines, left := bufio.NewScanner(out), 1+chance.IntN(60)
	moment := time.Duration(chance.IntN(500)) * time.Microsecond
	if chance.IntN(5) == 0 {
		left, moment = 0, time.Duration(chance.IntN(20_000))*time.Microsecond
	}
	var killer *time.Timer
	kill := func() { killer = time.AfterFunc(moment, func() { cmd.Process.Kill() }) }
	if left == 0 {
		kill()
	}
	for lines.Scan() { // to the end of the pipe: all that was printed before death
		var seq int64
		var hash string
		if _, err := fmt.Sscan(lines.Text(), &seq, &hash); err != nil || len(hash) != hex.EncodedLen(len(Hash{})) {
			t.Errorf("the victim printed %q", lines.Text())
		}
		if _, twice := acknowledged[seq]; twice {
			t.Errorf("fact %d was acknowledged twice", seq)
		}
		acknowledged[seq] = hash
		if left--; left == 0 {
			kill()
		}
	}
	cmd.Wait()
	if killer == nil || complaint.Len() > 0 {
		t.Errorf("the victim ended by itself: %s", complaint.String())
		return
	}
	killer.Stop()
}

func checkSurvivors(t *testing.T, path string, acknowledged map[int64]string) {
	t.Helper()
	r, err := OpenReader(path)
	if errors.Is(err, os.ErrNotExist) || errors.Is(err, ErrNotJournal) {
		if len(acknowledged) == 0 { // killed before it was made
			return
		}
	}
	if err != nil {
		t.Fatal(err)
	}
	defer r.Close()
	if err := r.Verify(t.Context(), nil); err != nil { // includes integrity_check
		t.Error(err)
	}
	seen, missing := map[string]bool{}, len(acknowledged)
	extra := map[string]int{} // run: facts never acknowledged
	for _, s := range all(t, r, "", 0) {
		var run string
		var group, i, n int
		if _, err := fmt.Sscanf(string(s.Payload), "%s %d %d/%d", &run, &group, &i, &n); err != nil {
			t.Fatalf("fact %d holds %q", s.Seq, s.Payload)
		}
		whole := fmt.Sprintf("%s %d %d/%d", run, group, i-1, n)
		if seen[string(s.Payload)] || run != s.Run || i > 1 && !seen[whole] {
			t.Errorf("fact %d, %q, is there twice or without its fellows", s.Seq, s.Payload)
		}
		seen[string(s.Payload)] = true
		if i == n {
			seen[fmt.Sprintf("%s %d", run, group)] = true
		}
		switch hash, ok := acknowledged[s.Seq]; {
		case !ok:
			extra[run] += 1
		case hash != s.Hash.String():
			t.Errorf("fact %d is not the one acknowledged", s.Seq)
		default:
			missing--
		}
	}
	checkWhole(t, seen, extra, missing)
}

// checkWhole: nothing acknowledged is missing, and at most the one transaction
// under way at the kill, of 3 facts at most, is there without word of it.
func checkWhole(t *testing.T, seen map[string]bool, extra map[string]int, missing int) {
	t.Helper()
	if missing != 0 {
		t.Errorf("%d acknowledged facts are missing", missing)
	}
	for run, n := range extra {
		if n > 3 {
			t.Errorf("%s: %d facts were stored but not acknowledged", run, n)
		}
	}
	for payload := range seen {
		var run string
		var group, i, n int
		if k, _ := fmt.Sscanf(payload, "%s %d %d/%d", &run, &group, &i, &n); k == 4 && !seen[fmt.Sprintf("%s %d", run, group)] {
			t.Errorf("%q is there without the rest of its transaction", payload)
		}
	}
}
