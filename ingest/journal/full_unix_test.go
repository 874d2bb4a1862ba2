//go:build unix

package journal

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"os/signal"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"
)

// limited appends until a limit on the size of its files stops it, says how, and
// tries twice more.
func limited(path string, most uint64) int {
	signal.Ignore(syscall.SIGXFSZ) // so that writing fails instead
	j, err := Open(path, victimOptions())
	if err == nil {
		err = syscall.Setrlimit(syscall.RLIMIT_FSIZE, &syscall.Rlimit{Cur: most, Max: most})
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		return 1
	}
	for refused := 0; refused < 3; {
		stored, err := j.Append(context.Background(), press(1, strings.Repeat("full", 100)))
		if err != nil {
			refused++
			for _, kind := range []error{ErrFull, ErrDisk, ErrUnsure} {
				if errors.Is(err, kind) {
					fmt.Printf("refused %q\n", err)
					break
				}
			}
			continue
		}
		fmt.Println("stored", stored[0].Seq, stored[0].Hash)
	}
	return 0
}

// A file that may grow no more is said in words, and what was acknowledged before
// is intact; with room again the journal goes on.
func TestFileSizeLimit(t *testing.T) {
	for _, most := range []int{150 << 10, 220 << 10, 400 << 10} {
		path := filepath.Join(t.TempDir(), "t.journal")
		cmd := exec.Command(os.Args[0], "-test.run=^$")
		cmd.Env = append(os.Environ(), victimEnv+"="+path, victimDoEnv+"="+strconv.Itoa(most))
		var complaint bytes.Buffer
		cmd.Stderr = &complaint
		out, err := cmd.Output()
		if err != nil {
			t.Fatalf("%v: %s", err, complaint.String())
		}
		j := open(t, path, victimOptions())
		facts := map[string]bool{}
		for _, s := range all(t, j.Reader, "", 0) {
			facts[fmt.Sprint("stored ", s.Seq, " ", s.Hash)] = true
		}
		stored, refused := 0, 0
		for _, l := range strings.Split(strings.TrimSpace(string(out)), "\n") {
			switch {
			case strings.HasPrefix(l, "stored "):
				if stored++; !facts[l] {
					t.Errorf("limit %d: %s was acknowledged and is gone", most, l)
				}
			case strings.HasPrefix(l, "refused "):
				if refused++; refused == 1 {
					t.Logf("limit %d, after %d facts: %s", most, stored, l)
				}
			}
		}
		if stored == 0 || refused != 3 || len(facts) > stored+1 {
			t.Errorf("limit %d: %d acknowledged, %d refused in words, %d there", most, stored, refused, len(facts))
		}
		if err := j.Verify(t.Context(), nil); err != nil {
			t.Error(err)
		}
		put(t, j, press(1, "goes on"))
		if err := j.Close(); err != nil {
			t.Error(err)
		}
	}
}
