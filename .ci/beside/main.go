// Beside reads what the benchmarks printed, run by run, and writes one table of
// ours beside its floors and peers, and of the curves:
//
//	go run -modfile=.ci/tools.mod ./.ci/beside FOLDER
//
// FOLDER is what .ci/sidebyside writes: machine.txt, and run1, run2, … with a
// NAME.txt and a NAME.status for each suite. A benchmark says by its name, or by
// the units of its figures where it takes its ways in turn, whose figure is whose:
//
//	BenchmarkDecode/fixed/ours          BenchmarkAppend   900 p50-us@ours
//	BenchmarkDecode/fixed/floor=WHAT                      870 p50-us@floor=WHAT
//	BenchmarkDecode/fixed/peer=WHAT                       370 p50-us@peer=WHAT
//
// A floor is the least that could be done; a peer is somebody else's way to the
// same result. BenchmarkX/n=10 is a size of a curve.
package main

import (
	"fmt"
	"os"
	"path/filepath"
)

func main() {
	if len(os.Args) != 2 {
		fmt.Fprintln(os.Stderr, "give the folder that .ci/sidebyside wrote, and nothing else")
		os.Exit(2)
	}
	if err := run(os.Args[1]); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}

func run(folder string) error {
	machine, err := os.ReadFile(filepath.Join(folder, "machine.txt"))
	if err != nil {
		return err
	}
	f, err := readRuns(folder)
	if err != nil {
		return err
	}
	return f.write(os.Stdout, claims(), string(machine))
}
