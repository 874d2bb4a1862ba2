package main

import (
	"bufio"
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"golang.org/x/perf/benchfmt"
)

// A what names one thing measured: a benchmark without whose way it is, and the
// unit of the figure as the benchmark wrote it, such as "ns/op" or "p50-us".
type what struct {
	pkg  string // within the module, such as "calc/stock"
	name string // such as "MakeUp/grid 0.01 closest 25 mm"
	unit string
}

// ours is the way that is measured.
const ours = "ours"

// another tells whether part of a name says what ours stands beside.
func another(part string) bool {
	return strings.HasPrefix(part, "/floor=") || strings.HasPrefix(part, "/peer=")
}

// figures are all that was read, run by run.
type figures struct {
	runs   int
	order  []what                              // as first met
	ways   map[what]map[string]map[int]float64 // by way and run; the way of a figure that names none is ours
	allocs map[what]map[string]float64         // allocations an operation, of the last run
	curves map[what]map[int]map[int]float64    // by n and run
	notRun []string                            // one sentence each
}

func newFigures() *figures {
	return &figures{ways: map[what]map[string]map[int]float64{}, allocs: map[what]map[string]float64{}, curves: map[what]map[int]map[int]float64{}}
}

// readRuns reads a folder of folders, one for each run, with a file for each
// suite: NAME.txt is what it printed and NAME.status its exit status.
func readRuns(folder string) (*figures, error) {
	f := newFigures()
	runs, err := filepath.Glob(filepath.Join(folder, "run*"))
	if err != nil || len(runs) == 0 {
		return nil, fmt.Errorf("%s holds no folder of a run (run1, run2, …): give the folder that .ci/sidebyside wrote", folder)
	}
	slices.SortFunc(runs, func(a, b string) int { return cmp.Or(cmp.Compare(len(a), len(b)), cmp.Compare(a, b)) }) // run2 before run10
	f.runs = len(runs)
	for n, run := range runs {
		files, err := filepath.Glob(filepath.Join(run, "*.txt"))
		if err != nil {
			return nil, err
		}
		for _, file := range files {
			if err := f.readSuite(n, file); err != nil {
				return nil, err
			}
		}
	}
	slices.Sort(f.notRun)
	f.notRun = slices.Compact(f.notRun)
	return f, nil
}

func (f *figures) readSuite(run int, file string) error {
	text, err := os.ReadFile(file)
	if err != nil {
		return err
	}
	suite := strings.TrimSuffix(filepath.Base(file), ".txt")
	status, err := os.ReadFile(strings.TrimSuffix(file, ".txt") + ".status")
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	n := f.read(run, text)
	f.notRun = append(f.notRun, skipped(suite, text)...)
	switch code := strings.TrimSpace(string(status)); {
	case code != "0":
		f.notRun = append(f.notRun, fmt.Sprintf("%s failed in run %d (%s): %s", suite, run+1, code, complaint(text)))
	case n == 0 && len(skipped(suite, text)) == 0:
		f.notRun = append(f.notRun, fmt.Sprintf("%s gave no figure: %s", suite, lastWords(text)))
	}
	return nil
}

// read takes in what a suite printed and tells how many benchmarks were in it.
func (f *figures) read(run int, text []byte) (count int) {
	text = append(text, relayLine(text)...)
	r := benchfmt.NewReader(bytes.NewReader(text), "")
	for r.Scan() {
		res, ok := r.Result().(*benchfmt.Result)
		if !ok {
			continue
		}
		count++
		f.take(run, strings.TrimPrefix(res.GetConfig("pkg"), "shimwright/"), res)
	}
	return count
}

// take sorts one result in: a pair's where its name or its units name a way, a
// curve's where its name has an n=, else one that stands alone.
func (f *figures) take(run int, pkg string, res *benchfmt.Result) {
	name, way, n := split(res.Name)
	perOp, allocs := 0.0, -1.0
	type figure struct {
		unit  string
		value float64
	}
	var own, turns []figure
	for _, v := range res.Values {
		unit, value := v.Unit, v.Value
		if v.OrigUnit != "" {
			unit, value = v.OrigUnit, v.OrigValue
		}
		switch {
		case unit == "ns/op":
			perOp = value
		case unit == "allocs/op":
			allocs = value
		case unit == "B/op" || unit == "MB/s":
		case strings.Contains(unit, "@"):
			turns = append(turns, figure{unit, value})
		default:
			own = append(own, figure{unit, value})
		}
	}
	// A benchmark that takes its own times waits between them, so its time for an
	// operation says nothing; a rate beside a time for an operation tells the same.
	takesTimes := len(turns) > 0 || slices.ContainsFunc(own, func(f figure) bool { return strings.HasPrefix(f.unit, "p50-") })
	if perOp > 0 && !takesTimes {
		own = slices.DeleteFunc(own, func(f figure) bool { _, seconds := unitOf(f.unit); return seconds == 0 })
		own = append([]figure{{"ns/op", perOp}}, own...)
	}
	for _, t := range turns {
		unit, way, _ := strings.Cut(t.unit, "@")
		f.way(what{pkg, name, unit}, way, run, t.value)
	}
	for _, t := range own {
		w := what{pkg, name, t.unit}
		if n > 0 {
			f.curve(w, n, run, t.value)
			continue
		}
		f.way(w, way, run, t.value)
		if allocs >= 0 {
			if f.allocs[w] == nil {
				f.allocs[w] = map[string]float64{}
			}
			f.allocs[w][way] = allocs
		}
	}
}

func (f *figures) way(w what, way string, run int, value float64) {
	if f.ways[w] == nil {
		f.ways[w] = map[string]map[int]float64{}
		f.order = append(f.order, w)
	}
	if f.ways[w][way] == nil {
		f.ways[w][way] = map[int]float64{}
	}
	f.ways[w][way][run] = value
}

func (f *figures) curve(w what, n, run int, value float64) {
	if f.curves[w] == nil {
		f.curves[w] = map[int]map[int]float64{}
		f.order = append(f.order, w)
	}
	if f.curves[w][n] == nil {
		f.curves[w][n] = map[int]float64{}
	}
	f.curves[w][n][run] = value
}

// split takes a benchmark's name apart: without the number of processors, its
// way (ours where it names none) and its n (0 where it has none).
func split(name benchfmt.Name) (plain, way string, n int) {
	way = ours
	base, parts := name.Parts()
	kept := []string{string(base)}
	for i, p := range parts {
		part := string(p)
		switch {
		case i == len(parts)-1 && regexp.MustCompile(`^-\d+$`).MatchString(part):
		case part == "/"+ours:
		case another(part):
			way = part[1:]
		case strings.HasPrefix(part, "/n="):
			if at, err := strconv.Atoi(part[len("/n="):]); err == nil {
				n = at
				continue
			}
			kept = append(kept, part)
		default:
			kept = append(kept, part)
		}
	}
	return strings.ReplaceAll(strings.Join(kept, ""), "_", " "), way, n
}

// skipped are the benchmarks that would not run, with their reasons.
func skipped(suite string, text []byte) (out []string) {
	lines := bufio.NewScanner(bytes.NewReader(text))
	name := ""
	for lines.Scan() {
		line := strings.TrimSpace(lines.Text())
		if rest, ok := strings.CutPrefix(line, "--- SKIP: "); ok {
			name, _, _ = strings.Cut(rest, " (")
			continue
		}
		if name != "" {
			_, reason, ok := strings.Cut(line, ".go:")
			if _, after, found := strings.Cut(reason, ": "); ok && found {
				out = append(out, fmt.Sprintf("%s: %s was left out: %s", suite, strings.ReplaceAll(name, "_", " "), after))
			}
			name = ""
		}
	}
	return out
}

// complaint is the first thing that a failed suite's test said, else its last
// words.
func complaint(text []byte) string {
	if m := regexp.MustCompile(`(?m)^ *\w+_test\.go:\d+: (.+)$`).FindSubmatch(text); m != nil {
		return string(m[1])
	}
	return lastWords(text)
}

// lastWords are the last lines that say something, shortened.
func lastWords(text []byte) string {
	var said []string
	for line := range strings.Lines(string(text)) {
		line = strings.TrimSpace(line)
		if line != "" && line != "FAIL" && line != "PASS" && !strings.HasPrefix(line, "ok ") && !strings.HasPrefix(line, "exit status") {
			said = append(said, line)
		}
	}
	words := strings.Join(said[max(0, len(said)-2):], " / ")
	if words == "" {
		return "it printed nothing"
	}
	if r := []rune(words); len(r) > 300 {
		return string(r[:300]) + "…"
	}
	return words
}
