package journal

import (
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
)

// errLocked is what lockFile returns when someone else has the lock.
var errLocked = errors.New("locked")

// lock is the one writer's claim on a journal, held as long as f is open.
type lock struct{ f *os.File }

// takeLock claims the side file at path, or says who has it. holder is the line
// that the next one to try will read.
func takeLock(journal, path, holder string) (*lock, error) {
	f, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE, 0o644)
	if err != nil {
		return nil, fmt.Errorf("journal %s: %w: its lock file cannot be made: look whether the folder is there and this user may write in it: %w",
			journal, ErrReadOnly, err)
	}
	err = lockFile(f)
	if err == nil {
		// The line is a courtesy: the lock counts without it, so a disk too
		// full to write it is left to the journal itself to report.
		if f.Truncate(0) == nil {
			_, _ = f.WriteAt([]byte(holder+"\n"), 0)
		}
		return &lock{f}, nil
	}
	defer f.Close()
	if !errors.Is(err, errLocked) {
		return nil, fmt.Errorf("journal %s: locking %s: %w: keep the journal on a local disk that can lock files", journal, path, err)
	}
	return nil, fmt.Errorf("journal %s: %w (%s): close that program first; to look only, open the journal for reading",
		journal, ErrHeld, readHolder(f))
}

func readHolder(f *os.File) string {
	const most = 500 // bytes; a foreign file of any size may have this name
	b, err := io.ReadAll(io.LimitReader(f, most))
	line, _, _ := strings.Cut(string(b), "\n")
	if err != nil || line == "" {
		return "it does not say who it is"
	}
	return strings.Trim(fmt.Sprintf("%q", line), `"`)
}

// release gives the claim up. The file stays: removing it would let two
// programs lock two files of one name.
func (l *lock) release() error {
	_ = l.f.Truncate(0)
	return l.f.Close()
}
