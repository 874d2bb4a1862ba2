//go:build soak && linux

// What the program uses of the processor while nobody does anything: the built
// program on virtual gauges, which are plugged in in this process, under a
// terminal of its own. Shares are logged, never asserted:
//
//	go test -tags soak -run SoakIdle -v -timeout 10m ./cmd/shimwright
//	SOAK=short go test -tags soak -run SoakIdle -v -timeout 2m ./cmd/shimwright

package main

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"github.com/creack/pty"

	"shimwright/cmd/shimwright/demo"
)

// clockTick is the unit of /proc/PID/stat: a hundredth of a second on every
// Linux that Go runs on.
const clockTick = 10 * time.Millisecond

func TestSoakIdle(t *testing.T) {
	lasts := time.Minute
	if os.Getenv("SOAK") == "short" {
		lasts = 2 * time.Second
	}
	program := filepath.Join(t.TempDir(), "shimwright")
	if out, err := exec.Command("go", "build", "-o", program, ".").CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	journal := boardJournal(t, 1000, embeddedText(t, "fw3")).Path()
	few, many := gaugedBench(t, 5), gaugedBench(t, 64)
	for _, c := range []struct {
		name, shows string
		args        []string
	}{
		{"bench, screen, 5 gauges", "idle bay", []string{"bench", few}},
		{"bench, screen, 64 gauges", "idle bay", []string{"bench", many}},
		{"bench, no screen, 64 gauges", `"gauge":"D63","state":"connected"`, []string{"bench", "--headless", many}},
		{"demo, screen, a job open, 5 gauges of its own", "demo bay", []string{"demo", "--by-hand"}},
		{"board over 1,000 jobs", "bay 2", []string{"board", "--journal", journal}},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := runOnTerminal(t, program, c.args...)
			r.await(c.shows)
			time.Sleep(3 * time.Second) // opening, settling, the first reading of a board
			before, began := r.used(), time.Now()
			time.Sleep(lasts)
			used, took := r.used()-before, time.Since(began)
			r.stop()
			t.Logf("%s: %.2f %% of a core (%s in %s)", c.name, 100*used.Seconds()/took.Seconds(), used, took.Round(time.Millisecond))
		})
	}
}

// gaugedBench is the bench file of so many virtual gauges, plugged in.
func gaugedBench(t *testing.T, gauges int) string {
	t.Helper()
	folder := t.TempDir()
	var b strings.Builder
	b.WriteString("bench: idle bay\njournal: idle.journal\nsheets: [fw3]\nprofiles:\n  signed line:\n    line: 9600 8N1\n" +
		"    parts: [sign, {figure: {places: 2}}, {unit: {mm: mm}}]\n    end: CR\ngauges:\n")
	for i := range gauges {
		fmt.Fprintf(&b, "  D%02d: {kind: depth gauge, limit of error: 0.02 mm, counts: out, profile: signed line, port: {path: D%02d}}\n", i, i)
	}
	path := filepath.Join(folder, "bench.yaml")
	if err := os.WriteFile(path, []byte(b.String()), 0o600); err != nil {
		t.Fatal(err)
	}
	f, err := readBenchFile(path)
	if err != nil {
		t.Fatal(err)
	}
	plugged, err := demo.PlugIn(f)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := plugged.Close(); err != nil {
			t.Error(err)
		}
	})
	return path
}

// onTerminalRun is the program on a terminal that somebody reads.
type onTerminalRun struct {
	t      *testing.T
	cmd    *exec.Cmd
	master *os.File
	ended  chan struct{} // the terminal says no more

	mu    sync.Mutex
	said  bytes.Buffer
	spoke chan struct{} // filled when more was said
}

func runOnTerminal(t *testing.T, program string, args ...string) *onTerminalRun {
	t.Helper()
	r := &onTerminalRun{t: t, cmd: exec.Command(program, args...), ended: make(chan struct{}), spoke: make(chan struct{}, 1)}
	r.cmd.Env = append(os.Environ(), "TERM=xterm-256color")
	var err error
	if r.master, err = pty.StartWithSize(r.cmd, &pty.Winsize{Rows: 40, Cols: 120}); err != nil {
		t.Fatal(err)
	}
	go func() {
		defer close(r.ended)
		b := make([]byte, 4096)
		for {
			n, err := r.master.Read(b)
			r.mu.Lock()
			r.said.Write(b[:n])
			r.mu.Unlock()
			select {
			case r.spoke <- struct{}{}:
			default:
			}
			if err != nil {
				return
			}
		}
	}()
	return r
}

// await waits until the terminal has shown some words.
func (r *onTerminalRun) await(words string) {
	r.t.Helper()
	patience := time.After(30 * time.Second)
	for {
		r.mu.Lock()
		said := r.said.String()
		r.mu.Unlock()
		if strings.Contains(said, words) {
			return
		}
		select {
		case <-r.spoke:
		case <-r.ended:
			r.t.Fatalf("it ended without %q: %q", words, said)
		case <-patience:
			r.t.Fatalf("%q did not show: %q", words, said)
		}
	}
}

// used is what the program used of the processor until now: the 14th and 15th
// field of its stat file, counted behind the name in brackets.
func (r *onTerminalRun) used() time.Duration {
	r.t.Helper()
	b, err := os.ReadFile(fmt.Sprintf("/proc/%d/stat", r.cmd.Process.Pid))
	if err != nil {
		r.t.Fatal(err)
	}
	fields := strings.Fields(string(b[bytes.LastIndexByte(b, ')')+1:]))
	var user, system int64
	if _, err := fmt.Sscan(fields[11]+" "+fields[12], &user, &system); err != nil {
		r.t.Fatal(err)
	}
	return time.Duration(user+system) * clockTick
}

// stop has the program end as if its terminal were told to, and wants no
// complaint.
func (r *onTerminalRun) stop() {
	r.t.Helper()
	if err := r.cmd.Process.Signal(syscall.SIGTERM); err != nil {
		r.t.Fatal(err)
	}
	<-r.ended
	if err := r.cmd.Wait(); err != nil {
		r.t.Errorf("it ended with %v", err)
	}
	_ = r.master.Close()
}
