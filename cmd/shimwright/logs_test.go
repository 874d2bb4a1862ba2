//go:build unix

package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"log/slog"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"
	"unicode"
)

// logged runs a headless bench with a log, has it worked, and gives the log once it
// has stopped.
func logged(t *testing.T, h hall, work func(p *program), args ...string) string {
	t.Helper()
	p := &program{t: t, cmd: exec.Command("shimwright", append([]string{"bench", "--headless", h.file}, args...)...), lines: make(chan map[string]any, 1000), facts: map[int64]string{}}
	var log bytes.Buffer
	p.cmd.Stderr = &log
	p.run()
	work(p)
	if err := p.in.Close(); err != nil {
		t.Fatal(err)
	}
	for range p.lines { // to its end
	}
	if err := p.cmd.Wait(); err != nil {
		t.Errorf("%v: %s", err, log.String())
	}
	return log.String()
}

// What a keeper wants to know is in the log, a JSON object a line, with what a
// gauge sends written out; a job's presses and what is secret are not.
func TestLogOfABench(t *testing.T) {
	h := openHall(t)
	h.shopAway(t)
	log := logged(t, h, func(p *program) {
		p.until("the micrometer", connected("M02"))
		p.say(`{"do": "open", "sheet": "fw3", "serial": "K-1"}`)
		p.say(`{"do": "choose", "step": "pinion head"}`)
		press(t, h.gauges, "M02", "42.37 mm")
		p.until("a press", pressed)
		for range 3 {
			if err := h.gauges["M02"].SendRaw([]byte("\x1b[31m\x9b2J\xe2\x80\xae\"\x00\r")); err != nil {
				t.Fatal(err)
			}
			p.until("a bad frame", pressed)
		}
		p.say(`{"do": "hold", "reason": "no parts", "step": "backlash"}`)
		p.ask(`{"do": "hold", "reason": "x", "step": "nowhere", "initials": "AB", "pin": "918273"}`, "error")
		if err := h.gauges["M02"].Close(); err != nil {
			t.Fatal(err)
		}
		p.until("the end of the micrometer", func(v map[string]any) bool { return v["gauge"] == "M02" && v["state"] == "gone" })
		for tried := false; !tried; { // the relay tells that nobody is there
			v := p.ask(`{"do": "shop"}`, "shop")
			_, tried = v["trouble"]
		}
	}, "--log", "json")
	seen := map[string][]map[string]any{}
	for line := range strings.Lines(log) {
		var v map[string]any
		if err := json.Unmarshal([]byte(line), &v); err != nil {
			t.Fatalf("%v: %q", err, line)
		}
		msg, _ := v["msg"].(string)
		seen[msg] = append(seen[msg], v)
		for _, text := range v {
			if s, ok := text.(string); ok && strings.ContainsFunc(s, func(r rune) bool { return !unicode.IsPrint(r) }) {
				t.Errorf("not written out: %q", s)
			}
		}
	}
	for msg, fields := range map[string][]string{
		"bench started": {"version", "journal", "bench"}, "port found": {"gauge", "port"}, "port lost": {"gauge", "words"},
		"bad frame": {"gauge", "cause", "received"}, "job opened": {"job", "sheet"}, "hold placed": {"step", "reason"},
		"relay": {"words"}, "bench stopped": nil,
	} {
		if len(seen[msg]) == 0 {
			t.Errorf("no line %q in\n%s", msg, log)
			continue
		}
		for _, f := range fields {
			if fmt.Sprint(seen[msg][0][f]) == "" || seen[msg][0][f] == nil {
				t.Errorf("%q has no %s", msg, f)
			}
		}
	}
	if n := len(seen["bad frame"]); n != 1 {
		t.Errorf("%d lines of three bad frames within a minute", n)
	}
	if len(seen["press"]) > 0 || strings.Contains(log, "918273") || strings.ContainsAny(log, "\x1b\x9b") {
		t.Errorf("in the log stands what should not:\n%s", log)
	}
}

// At debug presses are told too, as text, into a file.
func TestLogOfPresses(t *testing.T) {
	h := openHall(t)
	file := filepath.Join(t.TempDir(), "bench.log")
	stream := logged(t, h, func(p *program) {
		p.until("the micrometer", connected("M02"))
		press(t, h.gauges, "M02", "42.37 mm")
		p.until("a press", pressed)
	}, "--log-file", file, "--log-level", "debug")
	text, err := os.ReadFile(file)
	if err != nil || stream != "" {
		t.Fatalf("%v; on the error stream stands %q", err, stream)
	}
	if !strings.Contains(string(text), `level=DEBUG msg=press gauge=M02 value="42.37 mm" outcome=aside cause="no job"`) {
		t.Errorf("%s", text)
	}
}

func TestLogChoices(t *testing.T) {
	for name, c := range map[string]struct {
		choice logChoice
		screen bool
		want   string
	}{
		"nothing asked for":      {logChoice{level: "info"}, true, ""},
		"another form":           {logChoice{form: "xml", level: "info"}, false, `--log is "xml": write text or json`},
		"another level":          {logChoice{form: "json", level: "loud"}, false, `--log-level is "loud": write debug`},
		"a level with a number":  {logChoice{form: "json", level: "info+2"}, false, `write debug, info`},
		"a screen and no file":   {logChoice{form: "json", level: "info"}, true, "write --log-file"},
		"a file that cannot be":  {logChoice{level: "info", file: "/proc/none/x"}, true, "log /proc/none/x: "},
		"a form and no file":     {logChoice{form: "text", level: "warn"}, false, ""},
		"a file and no form":     {logChoice{level: "error", file: filepath.Join(t.TempDir(), "a.log")}, true, ""},
		"a file, and json in it": {logChoice{form: "json", level: "debug", file: filepath.Join(t.TempDir(), "b.log")}, true, ""},
	} {
		b, err := c.choice.open(c.screen, io.Discard)
		if (err == nil) != (c.want == "") || err != nil && !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v", name, err)
		}
		b.close()
	}
}

// stuckWriter takes nothing until it is freed.
type stuckWriter struct {
	stuck, free chan struct{}
	bytes.Buffer
}

func (w *stuckWriter) Write(p []byte) (int, error) {
	select {
	case w.stuck <- struct{}{}:
	default:
	}
	<-w.free
	return w.Buffer.Write(p)
}

// Whoever tells the log something does not wait for it, and what finds no room is
// counted.
func TestLogHoldsNobodyUp(t *testing.T) {
	w := &stuckWriter{stuck: make(chan struct{}, 1), free: make(chan struct{})}
	b, err := logChoice{form: "json", level: "info"}.open(false, w)
	if err != nil {
		t.Fatal(err)
	}
	b.say(slog.LevelInfo, "first")
	<-w.stuck
	for range mostQueued + 100 {
		b.say(slog.LevelInfo, "more", slog.String("words", strings.Repeat("x", 10_000)))
	}
	close(w.free)
	b.close()
	b.say(slog.LevelInfo, "after its end")
	lines := strings.Split(strings.TrimSpace(w.String()), "\n")
	if len(lines) != mostQueued+1 || !strings.Contains(w.String(), `"lines_lost_before":100`) || len(lines[5]) > mostInALine+200 {
		t.Errorf("%d lines, the first %s", len(lines), lines[0])
	}
}

// Lines of one sort about one gauge are told so often in a minute, and then how
// many were left out.
func TestLogTellsAlikeSeldom(t *testing.T) {
	b := &benchLog{alike: map[string]*alike{}}
	at := time.Date(2026, 3, 2, 12, 0, 0, 0, time.UTC)
	told := 0
	for n := range 100 {
		if _, ok := b.mayTell("bad frame D07", 3, at.Add(time.Duration(n)*time.Millisecond)); ok {
			told++
		}
	}
	if _, ok := b.mayTell("bad frame M02", 3, at); !ok || told != 3 {
		t.Errorf("%d told of one gauge, of another: %v", told, ok)
	}
	if left, ok := b.mayTell("bad frame D07", 3, at.Add(2*time.Minute)); !ok || left != 97 {
		t.Errorf("after two minutes: %v, %d left out", ok, left)
	}
	if _, ok := b.mayTell("bad frame D07", 3, at.Add(-time.Hour)); !ok {
		t.Error("a clock that is set back silences it")
	}
}

// A log's file and the one before it are of bounded size and lose no line between
// them.
func TestLogFileIsBounded(t *testing.T) {
	path := filepath.Join(t.TempDir(), "a.log")
	l, err := openLogFile(path)
	if err != nil {
		t.Fatal(err)
	}
	l.most = 1000
	for n := range 500 {
		if _, err := fmt.Fprintf(l, "line %03d\n", n); err != nil {
			t.Fatal(err)
		}
	}
	if err := l.close(); err != nil {
		t.Fatal(err)
	}
	old, err := os.ReadFile(path + ".1")
	if err != nil {
		t.Fatal(err)
	}
	now, err := os.ReadFile(path)
	if err != nil || len(old) > 1000 || len(now) > 1000 || !strings.HasSuffix(string(now), "line 499\n") {
		t.Fatalf("%v: %d bytes before, %d now", err, len(old), len(now))
	}
	both := string(old) + string(now)
	if first := strings.SplitN(both, "\n", 2)[0]; !strings.Contains(both, "line 450\n") || len(both) != 9*(500-int(n3(first))) {
		t.Errorf("it begins with %q and has %d bytes", first, len(both))
	}
}

// A log's file that cannot be put aside grows no further, and goes on once it can.
func TestLogFileThatCannotBeBegunAnew(t *testing.T) {
	path := filepath.Join(t.TempDir(), "a.log")
	inTheWay := filepath.Join(path+".1", "a folder is in the way")
	if err := os.MkdirAll(inTheWay, 0o700); err != nil {
		t.Fatal(err)
	}
	l, err := openLogFile(path)
	if err != nil {
		t.Fatal(err)
	}
	l.most = 100
	for n := range 50 {
		if _, err := fmt.Fprintf(l, "line %03d\n", n); (err == nil) != (n < 11) {
			t.Fatalf("line %d: %v", n, err)
		}
	}
	if info, err := os.Stat(path); err != nil || info.Size() > 100 {
		t.Errorf("%v: the file has %d bytes", err, info.Size())
	}
	if err := os.RemoveAll(path + ".1"); err != nil {
		t.Fatal(err)
	}
	if _, err := fmt.Fprintf(l, "line 050\n"); err != nil {
		t.Error(err)
	}
	if err := l.close(); err != nil {
		t.Fatal(err)
	}
	if now, err := os.ReadFile(path); err != nil || string(now) != "line 050\n" {
		t.Errorf("%v: it holds %q", err, now)
	}
}

// n3 is the number of a line of the tests above.
func n3(line string) (n int64) {
	_, _ = fmt.Sscanf(line, "line %d", &n)
	return n
}
