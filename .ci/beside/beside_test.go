package main

import (
	"flag"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

var update = flag.Bool("update", false, "write testdata/table.md instead of comparing with it")

// TestTable reads made-up output of two runs, with all that a suite can come to,
// and holds the whole page to the one that was looked at.
func TestTable(t *testing.T) {
	f, err := readRuns("testdata")
	if err != nil {
		t.Fatal(err)
	}
	var b strings.Builder
	if err := f.write(&b, claims(), "A machine of the test."); err != nil {
		t.Fatal(err)
	}
	path := filepath.Join("testdata", "table.md")
	if *update {
		if err := os.WriteFile(path, []byte(b.String()), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if b.String() != string(want) {
		t.Errorf("the page is not as it was looked at; -update writes\n%s", b.String())
	}
}

func TestReadRunsRefusesAnotherFolder(t *testing.T) {
	if _, err := readRuns(t.TempDir()); err == nil || !strings.Contains(err.Error(), "no folder of a run") {
		t.Error(err)
	}
}

// Runs are told by their numbers, however many there are.
func TestRunsInOrder(t *testing.T) {
	folder := t.TempDir()
	for n := 1; n <= 11; n++ {
		run := filepath.Join(folder, "run"+strconv.Itoa(n))
		if err := os.Mkdir(run, 0o700); err != nil {
			t.Fatal(err)
		}
		status := "0"
		if n == 2 {
			status = "exit status 1"
		}
		for name, text := range map[string]string{"stat.txt": "pkg: shimwright/calc/stat\nBenchmarkX 1 5 ns/op\n", "stat.status": status} {
			if err := os.WriteFile(filepath.Join(run, name), []byte(text), 0o600); err != nil {
				t.Fatal(err)
			}
		}
	}
	f, err := readRuns(folder)
	if err != nil || f.runs != 11 || len(f.notRun) != 1 || !strings.HasPrefix(f.notRun[0], "stat failed in run 2 ") {
		t.Errorf("%d runs, %v: %v", f.runs, f.notRun, err)
	}
}

// A curve drawn after each law is told for it, by its slope too.
func TestGrowth(t *testing.T) {
	for _, l := range laws() {
		var curve []point
		for n := 16; n <= 1<<14; n *= 2 {
			curve = append(curve, point{n, 40 * l.of(float64(n))})
		}
		if got := growth(upper(curve)); !strings.HasPrefix(got, l.name) || strings.Contains(got, "roughly") {
			t.Errorf("%s is told for %s", l.name, got)
		}
	}
	// what an operation costs at any size does not hide what grows
	var curve []point
	for n := 1; n <= 1<<16; n *= 2 {
		curve = append(curve, point{n, 500 + 3*float64(n)})
	}
	if got, s := growth(upper(curve)), slope(upper(curve)); !strings.HasPrefix(got, "linear") || math.Abs(s-1) > 0.15 {
		t.Errorf("linear above a constant is told for %s, slope %.2f", got, s)
	}
	noisy := []point{{8, 10}, {16, 90}, {32, 12}, {64, 100}}
	if got := growth(noisy); !strings.Contains(got, "roughly") {
		t.Errorf("noise is told for %s", got)
	}
}

func TestFigure(t *testing.T) {
	for _, c := range []struct {
		v    float64
		want string
	}{{0, "0"}, {0.0454, "0.0454"}, {1.5, "1.5"}, {12.34, "12.3"}, {99.96, "100"}, {100, "100"}, {1234.5, "1,234"}, {1e6, "1,000,000"}, {-1234, "-1,234"}, {-999, "-999"}, {1e-9, "0"}} {
		if got := figure(c.v); got != c.want {
			t.Errorf("%v is shown as %s, want %s", c.v, got, c.want)
		}
	}
	for unit, want := range map[string]string{"ns/op": "1.5 µs", "p50-us": "1.5 ms", "open-ms": "1.5 s", "digits": "1,500 digits"} {
		if got := amount(unit, 1500); got != want {
			t.Errorf("%s: %s, want %s", unit, got, want)
		}
	}
}

// The words that the relays' soak logs are read; others are not taken for them.
func TestRelayLine(t *testing.T) {
	log, err := os.ReadFile("testdata/run1/relays.txt")
	if err != nil {
		t.Fatal(err)
	}
	const want = "BenchmarkRelays/200_at_once 1 21000 facts/s@ours 42000 facts/s@peer=COPY 35.000 lag-p50-ms 1200.000 lag-p99-ms\n"
	if got := relayLine(log); !strings.HasSuffix(got, want) {
		t.Errorf("%q", got)
	}
	if got := relayLine([]byte("PASS\n")); got != "" {
		t.Errorf("%q", got)
	}
}
