//go:build unix

package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"shimwright/calc/quantity"
	"shimwright/cmd/shimwright/demo"
	"shimwright/devices"
	"shimwright/devices/capture"
	"shimwright/devices/port"
	"shimwright/ingest/bench"
	"shimwright/ingest/fact"
	"shimwright/ui/draw"
)

// A jobRun is what a job came to: its presses and judgements, and its results as
// printed.
type jobRun struct{ said, results string }

// worked has the demonstration's fitter work a job over a bench, and stops it.
func worked(t *testing.T, st *stage, b *running, told *bytes.Buffer, hand demo.Hand) jobRun {
	t.Helper()
	ctx, stop := context.WithCancel(t.Context())
	ran := make(chan error, 1)
	go func() { ran <- b.Run(ctx) }()
	f := st.fitter(b, demoChoice{fast: true})
	f.Gauges = hand
	err := f.Work(ctx)
	stop()
	if err := errors.Join(err, <-ran, b.close()); err != nil {
		t.Fatal(err)
	}
	var out bytes.Buffer
	if err := draw.Results(&out, draw.PageFor(st.sheet), b.Snapshot().Results, draw.Full); err != nil {
		t.Fatal(err)
	}
	return jobRun{told.String(), out.String()}
}

// telling writes what each press and judgement came to.
func telling(w io.Writer) func(bench.Recorded) {
	return func(r bench.Recorded) {
		switch f := r.Fact.(type) {
		case fact.Pressed:
			fmt.Fprintf(w, "%s %s %s %v %q %s %s: %s\n", f.Step, f.Spot, f.Gauge, f.Value, f.Raw, f.Source, f.Outcome, f.Sentence)
		case fact.Judged:
			fmt.Fprintf(w, "%s: %s %s %s\n", f.Step, f.Verdict, f.Value, f.Words)
		}
	}
}

// released lets what was captured of a gauge through when the fitter presses it,
// so that the presses fall between the commands as they did.
type released map[string]chan struct{}

func (r released) Has(gauge string) bool                      { return r[gauge] != nil }
func (r released) Press(gauge string, _ quantity.Value) error { r[gauge] <- struct{}{}; return nil }
func (r released) Raw(gauge string, _ []byte) error           { r[gauge] <- struct{}{}; return nil }

// held is a port that waits to be released before each line.
type held struct {
	port.Port
	next  <-chan struct{}
	done  <-chan struct{}
	begun *bool
}

func (h held) Read(b []byte) (int, error) {
	n, err := h.Port.Read(b)
	if n > 0 && !*h.begun {
		select {
		case <-h.next:
		case <-h.done:
			return 0, errors.New("the test is over")
		}
	}
	if n > 0 {
		*h.begun = !strings.ContainsAny(string(b[n-1:n]), "\r\n")
	}
	return n, err
}

// A job captured and played back has the same presses, judgements and results,
// and is training.
func TestCapturedJobPlayed(t *testing.T) {
	folder := filepath.Join(t.TempDir(), "tape")
	st, err := setStage(demoChoice{sheet: "fw3", fast: true, capture: folder})
	if err != nil {
		t.Fatal(err)
	}
	defer func() {
		if err := st.strike(); err != nil {
			t.Error(err)
		}
	}()
	st.file.Windows.Double = 4 * time.Millisecond
	var told bytes.Buffer
	b, err := openBench(t.Context(), st.file, st.folder, st.wires, telling(&told))
	if err != nil {
		t.Fatal(err)
	}
	first := worked(t, st, b, &told, st.gauges)
	if err := st.gauges.Close(); err != nil { // what is played needs no gauge
		t.Fatal(err)
	}

	w := wires{play: folder, speed: 1}
	hand, done := released{}, make(chan struct{})
	defer close(done)
	for _, g := range st.file.Gauges {
		hand[g.ID] = make(chan struct{}, 1)
	}
	var again bytes.Buffer
	b = playedBench(t, st, w, telling(&again), func(gauge string, p port.Port) port.Port {
		return held{p, hand[gauge], done, new(bool)}
	})
	second := worked(t, st, b, &again, hand)
	if diff := cmp.Diff(first.said, second.said); diff != "" {
		t.Errorf("presses and judgements differ:\n%s", diff)
	}
	if diff := cmp.Diff(first.results, second.results); diff != "" {
		t.Errorf("results differ:\n%s", diff)
	}
	if !b.Snapshot().Results.Training || strings.Contains(second.said, " gauge taken") {
		t.Error("what is played passes for a gauge")
	}
	if _, err := os.Stat(filepath.Join(folder, "played.journal")); err != nil {
		t.Error(err)
	}
}

// playedBench is a bench on captures, each port changed once more.
func playedBench(t *testing.T, st *stage, w wires, told func(bench.Recorded), change func(string, port.Port) port.Port) *running {
	t.Helper()
	w.between = func(cfg port.Config, open port.Opener) (port.Config, port.Opener, error) {
		return cfg, func(f port.Find, l devices.Line) (port.Opened, error) {
			o, err := open(f, l)
			if err == nil {
				o.Port = change(cfg.Gauge, o.Port)
			}
			return o, err
		}, nil
	}
	b, err := openBench(t.Context(), st.file, st.folder, w, told)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func TestPlayRefuses(t *testing.T) {
	dir := t.TempDir()
	write := func(name, text string) {
		t.Helper()
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	refused := func(speed int, want string) {
		t.Helper()
		if _, err := play(dir, speed, time.Now); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%v, want %q", err, want)
		}
	}
	refused(1, "there is no file *.capture in")
	const head = `{"capture":1,"began":"2026-03-04T05:06:07Z","gauge":"D07","port":"/dev/x","profile":"x","line":"9600 8N1"}` + "\n"
	write("D07.capture", head)
	refused(0, "write 1 for as fast as it was")
	refused(101, "101 times as fast")
	write("copy.capture", head)
	refused(1, "another capture in the folder is of the same gauges")
	write("copy.capture", "nonsense\n")
	refused(1, "line 1 of the capture")
	if err := os.Remove(filepath.Join(dir, "copy.capture")); err != nil {
		t.Fatal(err)
	}
	through, err := play(dir, 1, time.Now)
	if err != nil {
		t.Fatal(err)
	}
	_, open, err := through(port.Config{Gauge: "D09"}, nil)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := open(port.Find{Path: "/dev/y"}, devices.Line{}); err == nil || !strings.Contains(err.Error(), "no capture is played there") {
		t.Error(err)
	}
}

// A capture is never written over, and its file's name holds nothing odd.
func TestTape(t *testing.T) {
	tp := &tape{folder: filepath.Join(t.TempDir(), "new", "tape")}
	cfg := port.Config{Channels: map[string]string{"2": "D/07", "1": "Ä"}, Now: time.Now, Profile: devices.Defaults(), Find: port.Find{USBSerial: "A1"}}
	if _, _, err := tp.record(cfg, nil); err != nil {
		t.Fatal(err)
	}
	if err := tp.close(); err != nil {
		t.Error(err)
	}
	c, err := capture.Load(filepath.Join(tp.folder, "D_07-_.capture"))
	if err != nil || c.Channels["2"] != "D/07" || c.Port != "A1" {
		t.Errorf("%+v, %v", c, err)
	}
	if _, _, err := tp.record(cfg, nil); err == nil || !strings.Contains(err.Error(), "give --capture a new folder") {
		t.Error(err)
	}
	var none *tape
	if err := none.close(); err != nil {
		t.Error(err)
	}
}
