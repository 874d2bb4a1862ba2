//go:build unix

package port

import (
	"io/fs"
	"os"
	"os/user"
	"strconv"
	"syscall"
)

// access tells a file's group, by its number where it has no name, and its
// mode.
func access(path string) (group string, mode fs.FileMode) {
	info, err := os.Stat(path)
	if err != nil {
		return "", 0
	}
	st, ok := info.Sys().(*syscall.Stat_t)
	if !ok {
		return "", 0
	}
	group = strconv.FormatUint(uint64(st.Gid), 10)
	if g, err := user.LookupGroupId(group); err == nil {
		group = g.Name
	}
	return group, info.Mode()
}
