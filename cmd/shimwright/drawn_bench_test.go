//go:build unix

package main

import (
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/creack/pty"

	"shimwright/ingest/bench"
	"shimwright/ingest/fact"
)

// apart is how far presses lie apart: no hand is faster, and it is no multiple of
// the screen's pace, so that presses fall anywhere in it.
const apart = 27 * time.Millisecond

// BenchmarkPressToDrawn times each press from when its gauge writes it, through
// the pseudo-terminal and the real driver, until it is durable in the journal on
// disk, and until it stands on the simulated screen. Every third press completes
// the step, which is then taken again.
func BenchmarkPressToDrawn(b *testing.B) {
	durable := make(chan time.Time, 1)
	w := underGlass(b, 80, 24, "cover recess", nil, func(r bench.Recorded) {
		if _, press := r.Fact.(fact.Pressed); press {
			durable <- time.Now()
		}
	})
	var kept, drawn, after []time.Duration
	for n := 0; b.Loop(); n++ {
		if n > 0 && n%60 == 0 {
			w.do(b, bench.Abandon{Reason: "the next one"})
			w.do(b, bench.OpenJob{Sheet: "fw3", Serial: fmt.Sprintf("T-%d", n)})
			w.do(b, bench.ChooseStep{Step: "cover recess"})
		} else if n > 0 && n%3 == 0 {
			w.do(b, bench.Retake{Step: "cover recess", Reason: "again"})
		}
		time.Sleep(apart)
		figure := fmt.Sprintf("18.7%d", 4+n%3)
		began := time.Now()
		if err := w.gauges.Press("D07", millimetres(b, figure)); err != nil {
			b.Fatal(err)
		}
		at := <-durable
		_, seen := w.glass.see(b, figure+" mm from D07 at cover recess  (o) TAKEN")
		kept, drawn, after = append(kept, at.Sub(began)), append(drawn, seen.Sub(began)), append(after, seen.Sub(at))
	}
	percentiles(b, kept, "p%d-us@floor=durable")
	percentiles(b, drawn, "p%d-us@ours")
	percentiles(b, after, "after-durable-p%d-us")
}

// percentiles reports the median and the 99th hundredth of times.
func percentiles(b *testing.B, of []time.Duration, name string) {
	slices.Sort(of)
	for _, percent := range []int{50, 99} {
		b.ReportMetric(float64(of[(len(of)-1)*percent/100].Nanoseconds())/1000, fmt.Sprintf(name, percent))
	}
}

// BenchmarkFirstFrame starts the program as a person does, in a terminal of its
// own over a journal that has a job under way, and times it from the start of the
// process to the first frame that shows the job.
func BenchmarkFirstFrame(b *testing.B) {
	w := underGlass(b, 80, 24, "cover recess", nil, nil)
	text, err := os.ReadFile("demo/fw3.bench.yaml")
	if err != nil {
		b.Fatal(err)
	}
	file := filepath.Join(w.folder, "bench.yaml")
	if err := os.WriteFile(file, text, 0o600); err != nil {
		b.Fatal(err)
	}
	if err := w.gauges.Press("D07", millimetres(b, "18.74")); err != nil {
		b.Fatal(err)
	}
	w.glass.see(b, "18.74 mm from D07", "(o) TAKEN")
	w.stop()
	w.wait(b)
	var took []time.Duration
	for b.Loop() {
		c := exec.Command("shimwright", "bench", file)
		c.Env = append(c.Environ(), "TERM=xterm-256color", "LC_ALL=C.UTF-8")
		began := time.Now()
		terminal, err := pty.StartWithSize(c, &pty.Winsize{Rows: 24, Cols: 80})
		if err != nil {
			b.Fatal(err)
		}
		untilShown(b, terminal, "COVER RECESS")
		took = append(took, time.Since(began))
		if _, err := terminal.WriteString("qy"); err != nil {
			b.Fatal(err)
		}
		_, _ = io.Copy(io.Discard, terminal) // it ends with an error of its own once the program has
		if err := c.Wait(); err != nil {
			b.Fatal(err)
		}
		if err := terminal.Close(); err != nil {
			b.Fatal(err)
		}
	}
	percentiles(b, took, "p%d-us")
}

// untilShown reads what a program writes to its terminal until it shows words.
func untilShown(b *testing.B, terminal io.Reader, words string) {
	b.Helper()
	var all strings.Builder
	buf := make([]byte, 4096)
	for !strings.Contains(all.String(), words) {
		n, err := terminal.Read(buf)
		all.Write(buf[:n])
		if err != nil {
			b.Fatalf("it ended before it showed %q: %v\n%q", words, err, all.String())
		}
	}
}
