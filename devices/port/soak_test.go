//go:build soak && linux

// The soak programs: what a bench's ports do for long, or often. They run for
// minutes, so they stand behind a build tag; SOAK=short gives each under 5 s:
//
//	go test -tags soak -run Soak -v -timeout 5m ./devices/port
//	SOAK=short go test -tags soak -run Soak -v -timeout 90s ./devices/port
//
// What they assert is counts. Times and loads are logged, and the last ones
// measured are in GAUGES.md.

package port_test

import (
	"bufio"
	"context"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"shimwright/calc/quantity"
	"shimwright/devices"
	"shimwright/devices/decodertest"
	"shimwright/devices/kinds"
	"shimwright/devices/port"
	"shimwright/devices/virtual"
)

const (
	soakGauges = 64
	soakEvery  = 20 * time.Millisecond // 50 presses a second
	soakFolder = "SHIMWRIGHT_SOAK_FOLDER"
	apartBy    = 10000 // how far the figures of two gauges lie apart
)

func short() bool { return os.Getenv("SOAK") == "short" }

// numbered is the figure of a press, different for every press of every gauge.
func numbered(gauge, press int) string {
	n := gauge*apartBy + press
	return fmt.Sprintf("%d.%02d mm", n/100, n%100)
}

func soakProfile() devices.Profile { return decodertest.Named("sign and leading noughts").Profile }

func soakLink(folder string, i int) string { return filepath.Join(folder, fmt.Sprintf("gauge%02d", i)) }

// TestSoakGauges is the other process of TestSoakPresses: it has the gauges.
func TestSoakGauges(t *testing.T) {
	folder := os.Getenv(soakFolder)
	if folder == "" {
		t.Skip("run by TestSoakPresses")
	}
	var gauges []*virtual.Gauge
	for i := range soakGauges {
		g, err := virtual.New(soakProfile(), soakLink(folder, i))
		ok(t, err)
		defer g.Close()
		gauges = append(gauges, g)
	}
	fmt.Println("soak: plugged in")
	var presses int
	if _, err := fmt.Scanln(&presses); err != nil {
		t.Fatal(err)
	}
	start := time.Now()
	var all sync.WaitGroup
	for i, g := range gauges {
		all.Go(func() {
			for n := range presses {
				// Spread over the interval, and on time in the long run.
				time.Sleep(time.Until(start.Add(time.Duration(n)*soakEvery + time.Duration(i)*soakEvery/soakGauges)))
				v, err := quantity.ParseWithUnit(numbered(i, n))
				if err == nil {
					err = g.Press(v)
				}
				if err != nil {
					t.Error(err)
					return
				}
			}
			if err := g.Drained(context.Background()); err != nil {
				t.Error(err)
			}
		})
	}
	all.Wait()
	fmt.Println("soak: all pressed")
	// The gauges stay plugged in until the reader has had all.
	if _, err := io.Copy(io.Discard, os.Stdin); err != nil {
		t.Error(err)
	}
}

// A soaked is what came of one gauge; its port's goroutine alone writes it.
type soaked struct {
	counts port.Counts
	next   int
	wrong  []string
	// settled is told of the port's settling, done of its last press.
	settled, done chan<- int
}

func (s *soaked) take(i, presses int, e port.Event) {
	s.counts = s.counts.Add(e)
	switch e.What {
	case port.Settled:
		s.settled <- i
	case port.Connected:
	case port.Sample:
		if got := e.Sample.Value.String(); got != numbered(i, s.next) {
			s.fail("press %d was read as %s", s.next, got)
		}
		if s.next++; s.next == presses {
			s.done <- i
		}
	default:
		s.fail("%s: %v", e.What, e.Err)
	}
}

// fail keeps the first words alone.
func (s *soaked) fail(format string, args ...any) {
	if len(s.wrong) < 5 {
		s.wrong = append(s.wrong, fmt.Sprintf(format, args...))
	}
}

// TestSoakPresses: 64 gauges, each pressed 50 times a second for a minute. No
// frame is lost or made up, memory stays as it is, and what the reading costs is
// told beside what doing nothing costs.
func TestSoakPresses(t *testing.T) {
	lasts, idle := time.Minute, 15*time.Second
	if short() {
		lasts, idle = 1500*time.Millisecond, 500*time.Millisecond
	}
	presses := int(lasts / soakEvery)
	checkLeaks(t)
	folder := t.TempDir()
	child := startGauges(t, folder)
	settled, done := make(chan int, soakGauges), make(chan int, soakGauges)
	results := make([]soaked, soakGauges)
	ctx, cancel := context.WithCancel(t.Context())
	defer cancel()
	var ports sync.WaitGroup
	for i := range results {
		p := soakProfile()
		d, err := kinds.Decoder(p)
		ok(t, err)
		results[i] = soaked{settled: settled, done: done}
		cfg := port.Config{Gauge: fmt.Sprint("D", i), Find: port.Find{Path: soakLink(folder, i)}, Profile: p, Decoder: d, Now: time.Now}
		ports.Go(func() {
			if err := port.Run(ctx, cfg, port.System(noPorts), func(e port.Event) { results[i].take(i, presses, e) }); err != nil {
				t.Error(err)
			}
		})
	}
	for range soakGauges {
		waitFor(t, settled, time.Minute)
	}
	nothing := measure()
	time.Sleep(idle)
	nothing.done()
	pressed := measure()
	child.tell(t, fmt.Sprint(presses))
	early := heapAfter(lasts / 4)
	for range soakGauges {
		waitFor(t, done, 2*lasts+time.Minute)
	}
	pressed.done()
	late := heap()
	cancel()
	ports.Wait()
	child.end(t)
	reportSoak(t, results, presses)
	t.Logf("%d gauges idle: %s of one core; %d presses: %s", soakGauges, nothing, soakGauges*presses, pressed)
	t.Logf("heap %d kB after a quarter of the presses, %d kB after all; resident %d kB", early>>10, late>>10, resident())
	if late > early+1<<20 {
		t.Errorf("the heap grew by %d kB", (late-early)>>10)
	}
}

func reportSoak(t *testing.T, results []soaked, presses int) {
	t.Helper()
	read := 0
	for i, r := range results {
		read += r.counts.Good
		if r.counts.Good != presses || r.counts.AllBad() != 0 || r.counts.Connects != 1 || len(r.wrong) > 0 {
			t.Errorf("gauge %d: pressed %d times, %+v, %q", i, presses, r.counts, r.wrong)
		}
	}
	t.Logf("pressed %d times, read %d", presses*len(results), read)
}

// The process with the gauges.
type gaugeProcess struct {
	cmd *exec.Cmd
	in  io.WriteCloser
	out *bufio.Reader
}

func startGauges(t *testing.T, folder string) *gaugeProcess {
	t.Helper()
	c := &gaugeProcess{cmd: exec.Command(os.Args[0], "-test.run=^TestSoakGauges$", "-test.timeout=10m")}
	c.cmd.Env = append(os.Environ(), soakFolder+"="+folder)
	var err error
	c.in, err = c.cmd.StdinPipe()
	ok(t, err)
	out, err := c.cmd.StdoutPipe()
	ok(t, err)
	c.out = bufio.NewReader(out)
	ok(t, c.cmd.Start())
	line, err := c.out.ReadString('\n')
	if err != nil || !strings.Contains(line, "plugged in") {
		t.Fatalf("the gauges' process said %q, %v", line, err)
	}
	return c
}

func (c *gaugeProcess) tell(t *testing.T, words string) {
	t.Helper()
	_, err := io.WriteString(c.in, words+"\n")
	ok(t, err)
}

func (c *gaugeProcess) end(t *testing.T) {
	t.Helper()
	ok(t, c.in.Close())
	said, err := io.ReadAll(c.out)
	ok(t, err)
	if err := c.cmd.Wait(); err != nil {
		t.Errorf("the gauges' process: %v: %s", err, said)
	}
}

func waitFor(t *testing.T, c <-chan int, patience time.Duration) {
	t.Helper()
	select {
	case <-c:
	case <-time.After(patience):
		t.Fatalf("waited %s", patience)
	}
}

// A load is what this process used of the processor, and in what time.
type load struct {
	from      time.Time
	cpu, took time.Duration
}

func measure() *load { return &load{from: time.Now(), cpu: -processor()} }

func (l *load) done() {
	l.cpu += processor()
	l.took = time.Since(l.from)
}

func (l *load) String() string {
	return fmt.Sprintf("%.1f%% (%s in %s)", 100*l.cpu.Seconds()/l.took.Seconds(), l.cpu.Round(time.Millisecond), l.took.Round(time.Millisecond))
}

func processor() time.Duration {
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		return 0
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}

func heap() uint64 {
	runtime.GC()
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	return m.HeapAlloc
}

func heapAfter(d time.Duration) uint64 {
	time.Sleep(d)
	return heap()
}

// resident is this process's memory in kB.
func resident() int {
	b, err := os.ReadFile("/proc/self/statm")
	var size, pages int
	if err == nil {
		_, err = fmt.Sscan(string(b), &size, &pages)
	}
	if err != nil {
		return 0
	}
	return pages * os.Getpagesize() >> 10
}
