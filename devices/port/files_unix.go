//go:build unix

package port

import (
	"fmt"
	"os"
)

// maxFile is the first file descriptor that is refused. The serial library
// waits with select, which ends at 1024; the rest is for files that others
// open meanwhile.
const maxFile = 1000

// roomForFiles tells whether the three files of a port would get descriptors
// that select can wait for, by opening three.
func roomForFiles() error {
	for range 3 {
		f, err := os.Open(os.DevNull)
		if err != nil {
			return fmt.Errorf("no more files can be opened: %w", err)
		}
		defer f.Close()
		if n := f.Fd(); n >= maxFile {
			return fmt.Errorf("the next file would be number %d, a port needs one below %d", n, maxFile)
		}
	}
	return nil
}
