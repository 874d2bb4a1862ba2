//go:build unix

package main

import (
	"bufio"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"shimwright/calc/quantity"
	"shimwright/cmd/shimwright/demo"
	"shimwright/ingest/journal"
)

// reached is how long a test waits for a line before it gives up.
const reached = 20 * time.Second

// program is a headless bench running in a process of its own.
type program struct {
	t     *testing.T
	cmd   *exec.Cmd
	in    io.WriteCloser
	lines chan map[string]any
	facts map[int64]string // every fact printed: number → hash
}

// hall is a bench file in a folder of its own with its virtual gauges.
type hall struct {
	file   string
	gauges demo.Gauges
}

func openHall(t *testing.T) hall {
	t.Helper()
	dir := t.TempDir()
	text, err := os.ReadFile("demo/fw3.bench.yaml")
	if err != nil {
		t.Fatal(err)
	}
	h := hall{file: filepath.Join(dir, "bench.yaml")}
	if err := os.WriteFile(h.file, text, 0o600); err != nil {
		t.Fatal(err)
	}
	f, err := readBenchFile(h.file)
	if err != nil {
		t.Fatal(err)
	}
	if h.gauges, err = demo.PlugIn(f); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = h.gauges.Close() })
	return h
}

// shopAway has the bench file name a shop that does not answer.
func (h hall) shopAway(t *testing.T) {
	t.Helper()
	text, err := os.ReadFile(h.file)
	if err != nil {
		t.Fatal(err)
	}
	text = append(text, "relay: {server: 127.0.0.1, port: 1, database: shop, user: bay, encrypted: no}\n"...)
	if err := os.WriteFile(h.file, text, 0o600); err != nil {
		t.Fatal(err)
	}
}

func (h hall) start(t *testing.T, facts map[int64]string) *program {
	t.Helper()
	p := &program{t: t, cmd: exec.Command("shimwright", "bench", "--headless", h.file), lines: make(chan map[string]any, 1000), facts: facts}
	p.cmd.Stderr = os.Stderr
	p.run()
	return p
}

// run starts the program and reads its lines.
func (p *program) run() {
	t := p.t
	t.Helper()
	var err error
	if p.in, err = p.cmd.StdinPipe(); err != nil {
		t.Fatal(err)
	}
	out, err := p.cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := p.cmd.Start(); err != nil {
		t.Fatal(err)
	}
	go func() {
		defer close(p.lines)
		sc := bufio.NewScanner(out)
		sc.Buffer(nil, 1<<20)
		for sc.Scan() {
			var v map[string]any
			if json.Unmarshal(sc.Bytes(), &v) == nil {
				p.lines <- v
			}
		}
	}()
}

// until reads lines until one will do; facts are kept on the way.
func (p *program) until(what string, will func(map[string]any) bool) map[string]any {
	p.t.Helper()
	timeout := time.After(reached)
	for {
		select {
		case v, ok := <-p.lines:
			if !ok {
				p.t.Fatalf("the program ended before %s", what)
			}
			p.keep(v)
			if will(v) {
				return v
			}
		case <-timeout:
			p.t.Fatalf("waited %s for %s", reached, what)
		}
	}
}

func (p *program) keep(v map[string]any) {
	if hash, ok := v["hash"].(string); ok {
		if seq, ok := v["seq"].(float64); ok {
			p.facts[int64(seq)] = hash
		}
	}
}

// say sends a command and gives its reply; an error fails the test.
func (p *program) say(format string, args ...any) map[string]any {
	p.t.Helper()
	line := fmt.Sprintf(format, args...)
	if _, err := fmt.Fprintln(p.in, line); err != nil {
		p.t.Fatal(err)
	}
	v := p.until("the reply to "+line, func(v map[string]any) bool { return v["reply"] != nil || v["error"] != nil })
	if v["error"] != nil {
		p.t.Fatalf("%s: %v", line, v["error"])
	}
	return v
}

func pressed(v map[string]any) bool { return v["kind"] == "pressed" }

func connected(gauge string) func(map[string]any) bool {
	return func(v map[string]any) bool { return v["gauge"] == gauge && v["state"] == "connected" }
}

func (p *program) kill() {
	p.t.Helper()
	if err := p.cmd.Process.Signal(syscall.SIGKILL); err != nil {
		p.t.Fatal(err)
	}
	for v := range p.lines { // what it had printed before it died
		p.keep(v)
	}
	_ = p.cmd.Wait()
}

func press(t *testing.T, g demo.Gauges, id, value string) {
	t.Helper()
	v, err := quantity.ParseWithUnit(value)
	if err != nil {
		t.Fatal(err)
	}
	if err := g[id].Press(v); err != nil {
		t.Fatal(err)
	}
}

// A bench killed right after it prints a fact has the fact when it starts
// again, and the job goes on where it was.
func TestKilledBenchGoesOn(t *testing.T) {
	h := openHall(t)
	facts := map[int64]string{}
	p := h.start(t, facts)
	p.until("the micrometer", connected("M02"))
	p.say(`{"do": "open", "sheet": "fw3", "serial": "K-1"}`)
	p.say(`{"do": "choose", "step": "pinion head"}`)
	press(t, h.gauges, "M02", "42.37 mm")
	v := p.until("a press", pressed)
	if f, _ := v["fact"].(map[string]any); f["outcome"] != "taken" {
		t.Fatalf("the press came out as %v", v)
	}
	p.kill()

	for round := range 4 {
		p = h.start(t, facts)
		v := p.until("the job to go on", func(v map[string]any) bool { return v["reply"] != nil })
		if reply, _ := v["reply"].(string); !strings.Contains(reply, "Job 0001 goes on") {
			t.Fatalf("round %d: %v", round, v)
		}
		if round == 0 && (v["next"] != "pinion head" || v["wants"] != "1 more press of 2") {
			t.Errorf("the job goes on at %v wanting %v, want pinion head and 1 more press of 2", v["next"], v["wants"])
		}
		p.until("the micrometer", connected("M02"))
		p.say(`{"do": "retake", "step": "pinion head", "reason": "once more"}`)
		press(t, h.gauges, "M02", "42.37 mm")
		p.until("a press", pressed)
		p.kill()
	}
	holdJournal(t, filepath.Join(filepath.Dir(h.file), "demo.journal"), facts)
}

// holdJournal sees that the chain is whole and every printed fact is in it.
func holdJournal(t *testing.T, path string, facts map[int64]string) {
	t.Helper()
	r, err := journal.OpenReader(path)
	if err != nil {
		t.Fatal(err)
	}
	defer r.Close()
	if err := r.Verify(context.Background(), nil); err != nil {
		t.Errorf("the chain is broken: %v", err)
	}
	found := map[int64]string{}
	err = r.Read(context.Background(), "", 0, func(s journal.Stored) error {
		found[s.Seq] = s.Hash.String()
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if len(facts) < 10 {
		t.Errorf("only %d facts were printed", len(facts))
	}
	for seq, hash := range facts {
		if found[seq] != hash {
			t.Errorf("fact %d was printed with hash %s, and the journal has %q", seq, hash, found[seq])
		}
	}
}

// What is typed wrong is refused in words and changes nothing.
func TestHeadlessRefuses(t *testing.T) {
	h := openHall(t)
	p := h.start(t, map[int64]string{})
	for _, c := range []struct{ line, want string }{
		{`nonsense`, "not a command"},
		{`{"step": "x"}`, `no \"do\"`},
		{`{"do": "dance"}`, "no command"},
		{`{"do": "confirm", "stepp": "x"}`, "there is no field"},
		{`{"do": "confirm", "step": "x"}`, "no job is open"},
		{`{"do": "open", "sheet": "zz", "serial": "1"}`, "no sheet of this bench"},
		{`{"do": "open", "sheet": "fw3", "serial": ""}`, "is empty"},
	} {
		if _, err := fmt.Fprintln(p.in, c.line); err != nil {
			t.Fatal(err)
		}
		v := p.until("an error", func(v map[string]any) bool { return v["error"] != nil || v["reply"] != nil })
		if got := fmt.Sprintf("%q", v["error"]); !strings.Contains(got, c.want) {
			t.Errorf("%s: %v, want %q", c.line, got, c.want)
		}
	}
	if err := p.in.Close(); err != nil {
		t.Fatal(err)
	}
	for v := range p.lines {
		if v["hash"] != nil {
			t.Errorf("a refused command left a fact: %v", v)
		}
	}
	if err := p.cmd.Wait(); err != nil {
		t.Errorf("the end of standard input should stop it quietly: %v", err)
	}
}

// How the gauges stand is told when it is asked for, and records nothing.
func TestHeadlessGauges(t *testing.T) {
	h := openHall(t)
	p := h.start(t, map[int64]string{})
	p.until("the micrometer", connected("M02"))
	press(t, h.gauges, "M02", "42.37 mm")
	p.until("a press", pressed)
	for _, c := range []struct{ line, want string }{
		{`{"do": "gauges", "gauge": "M02"}`, "it takes no fields"},
		{`{"do": "ask", "gauge": "M02"}`, "press its button"},
	} {
		if _, err := fmt.Fprintln(p.in, c.line); err != nil {
			t.Fatal(err)
		}
		v := p.until("an error", func(v map[string]any) bool { return v["error"] != nil })
		if got := fmt.Sprint(v["error"]); !strings.Contains(got, c.want) {
			t.Errorf("%s: %s", c.line, got)
		}
	}
	// The bench has answered since, so the press is in what it shows.
	if _, err := fmt.Fprintln(p.in, `{"do": "gauges"}`); err != nil {
		t.Fatal(err)
	}
	v := p.until("the gauges", func(v map[string]any) bool { return v["gauges"] != nil })
	var m02 map[string]any
	list, _ := v["gauges"].([]any)
	for _, g := range list {
		if g, _ := g.(map[string]any); g["gauge"] == "M02" {
			m02 = g
		}
	}
	if len(list) != 5 || m02["good"] != 1.0 || m02["state"] != "connected" || m02["reconnects"] != 0.0 || m02["last_press"] == nil {
		t.Errorf("%v", v)
	}
	if err := p.in.Close(); err != nil {
		t.Fatal(err)
	}
	for range p.lines { // to its end
	}
	if err := p.cmd.Wait(); err != nil {
		t.Error(err)
	}
}
