//go:build unix

package exchange

import (
	"errors"
	"os"
)

// flushFolder makes a new name in a folder durable.
func flushFolder(path string) error {
	f, err := os.Open(path)
	if err != nil {
		return err
	}
	return errors.Join(f.Sync(), f.Close())
}
