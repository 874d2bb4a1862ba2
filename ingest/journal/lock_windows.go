package journal

import (
	"errors"
	"os"

	"golang.org/x/sys/windows"
)

// lockFile locks one byte far behind the text: a locked range cannot be read by
// others on Windows, and the text must be.
func lockFile(f *os.File) error {
	const farAway = 0x7fffffff
	at := windows.Overlapped{OffsetHigh: farAway}
	err := windows.LockFileEx(windows.Handle(f.Fd()),
		windows.LOCKFILE_EXCLUSIVE_LOCK|windows.LOCKFILE_FAIL_IMMEDIATELY, 0, 1, 0, &at)
	if errors.Is(err, windows.ERROR_LOCK_VIOLATION) {
		return errLocked
	}
	return err
}
