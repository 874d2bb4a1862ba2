package port

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"shimwright/devices"
)

// manyHolders is how many programs are named at most.
const manyHolders = 3

// holders looks through the open files of every process that this user may
// look into: his own, or all of them for the superuser.
func holders(path string) []string {
	var out []string
	processes, err := filepath.Glob("/proc/[0-9]*")
	if err != nil {
		return nil
	}
	for _, p := range processes {
		if len(out) < manyHolders && holds(p, path) {
			out = append(out, programOf(p))
		}
	}
	return out
}

func holds(process, path string) bool {
	files, err := os.ReadDir(process + "/fd")
	if err != nil {
		return false
	}
	for _, f := range files {
		if to, err := os.Readlink(process + "/fd/" + f.Name()); err == nil && to == path {
			return true
		}
	}
	return false
}

func programOf(process string) string {
	number := filepath.Base(process)
	if number == fmt.Sprint(os.Getpid()) {
		return itself
	}
	name, err := os.ReadFile(process + "/comm")
	if err != nil {
		return "process " + number
	}
	return fmt.Sprintf("program %s (process %s)", devices.Quote([]byte(strings.TrimSpace(string(name)))), number)
}
