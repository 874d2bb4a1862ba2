//go:build unix

package journal

import (
	"errors"
	"os"

	"golang.org/x/sys/unix"
)

// flushFolder makes a new name in a folder durable.
func flushFolder(path string) error {
	f, err := os.Open(path)
	if err != nil {
		return err
	}
	return errors.Join(f.Sync(), f.Close())
}

// mayWriteIn tells whether this user may make files in a folder.
func mayWriteIn(path string) bool { return unix.Access(path, unix.W_OK|unix.X_OK) == nil }
