//go:build linux || darwin || freebsd

package metrics

import (
	"fmt"
	"path/filepath"

	"golang.org/x/sys/unix"
)

// Room is how many bytes this user may still write on a journal's disk. The error
// says why the journal cannot be written: it is away, may not be written by this
// user, or its disk takes no more writing. The error is errors.ErrUnsupported where
// the system does not tell.
func Room(journal string) (int64, error) {
	for _, path := range []string{journal, filepath.Dir(journal)} { // SQLite makes files beside it
		if err := unix.Access(path, unix.W_OK); err != nil {
			return 0, fmt.Errorf("%s: %w", path, err)
		}
	}
	var s unix.Statfs_t
	if err := unix.Statfs(journal, &s); err != nil {
		return 0, fmt.Errorf("%s: %w", journal, err)
	}
	return int64(s.Bavail) * int64(s.Bsize), nil //nolint:unconvert,gosec // their types differ between systems
}
