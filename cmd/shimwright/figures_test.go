//go:build unix

package main

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// measured is a hall whose bench file asks for metrics at an address.
func measured(t *testing.T, address string) hall {
	t.Helper()
	h := openHall(t)
	text, err := os.ReadFile(h.file)
	if err != nil {
		t.Fatal(err)
	}
	text = append(text, fmt.Sprintf("metrics: {listen: '%s'}\n", address)...)
	if err := os.WriteFile(h.file, text, 0o600); err != nil {
		t.Fatal(err)
	}
	return h
}

// free is an address of this machine that nobody listens on.
func free(t *testing.T) string {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	return l.Addr().String()
}

// scrape gets what a scraper does, from a bench that may only be starting.
func scrape(t *testing.T, address string) string {
	t.Helper()
	c := http.Client{Transport: &http.Transport{DisableKeepAlives: true}, Timeout: reached}
	for deadline := time.Now().Add(reached); ; time.Sleep(5 * time.Millisecond) { // nothing tells that another program listens
		resp, err := c.Get("http://" + address + "/metrics")
		if err != nil && time.Now().Before(deadline) {
			continue
		}
		if err != nil {
			t.Fatal(err)
		}
		body, err := io.ReadAll(resp.Body)
		_ = resp.Body.Close()
		if err != nil || resp.StatusCode != http.StatusOK {
			t.Fatalf("%s: %v\n%s", resp.Status, err, body)
		}
		return string(body)
	}
}

func has(t *testing.T, figures string, lines ...string) {
	t.Helper()
	for _, l := range lines {
		if !strings.Contains(figures, l+"\n") {
			t.Errorf("no line %s in\n%s", l, figures)
		}
	}
}

// A press at a headless bench is in what a scraper gets; a second bench on its
// port says so in words and works.
func TestScrapedBench(t *testing.T) {
	at := free(t)
	h := measured(t, at)
	p := h.start(t, map[int64]string{})
	p.until("the micrometer", connected("M02"))
	p.say(`{"do": "open", "sheet": "fw3", "serial": "K-1"}`)
	p.say(`{"do": "choose", "step": "pinion head"}`)
	press(t, h.gauges, "M02", "42.37 mm")
	p.until("a press", pressed)
	if err := h.gauges["M02"].SendRaw([]byte("\x81?\r")); err != nil {
		t.Fatal(err)
	}
	p.until("a bad frame", pressed)
	p.say(`{"do": "choose", "step": "pinion head"}`) // once it is answered, the frame is in what the bench shows
	has(t, scrape(t, at), `shimwright_presses_total{bay="demo bay",gauge="M02",outcome="taken",reason=""} 1`,
		`shimwright_presses_total{bay="demo bay",gauge="M02",outcome="aside",reason="noise on the line"} 1`,
		`shimwright_frames_total{bay="demo bay",gauge="M02"} 1`, `shimwright_connected{bay="demo bay",gauge="M02"} 1`,
		`shimwright_bad_frames_total{bay="demo bay",gauge="M02",reason="noise on the line"} 1`,
		`shimwright_jobs_opened_total{bay="demo bay",sheet="fw3",training="yes"} 1`,
		`shimwright_jobs_open{bay="demo bay",sheet="fw3",stage="pinion position"} 1`)
	besideAnother(t, at)
	has(t, scrape(t, at), `shimwright_frames_total{bay="demo bay",gauge="M02"} 1`)
	if err := p.in.Close(); err != nil {
		t.Fatal(err)
	}
	for range p.lines { // to its end
	}
	if err := p.cmd.Wait(); err != nil {
		t.Error(err)
	}
}

// besideAnother runs a bench whose address another one has.
func besideAnother(t *testing.T, at string) {
	t.Helper()
	h := measured(t, at)
	f, err := readBenchFile(h.file)
	if err != nil {
		t.Fatal(err)
	}
	told := make(chan string, 1)
	b, err := openBench(t.Context(), f, filepath.Dir(h.file), wires{tell: func(words string) { told <- words }}, nil)
	if err != nil {
		t.Fatal(err)
	}
	ctx, stop := context.WithCancel(t.Context())
	ran := make(chan error, 1)
	go func() { ran <- b.Run(ctx) }()
	select {
	case words := <-told:
		if !strings.Contains(words, "is another bench or program on it") || !strings.Contains(words, at) {
			t.Errorf("told %q", words)
		}
	case <-time.After(reached):
		t.Error("nothing was told of the address")
	}
	woken, end := b.Watch()
	defer end()
	timeout := time.After(reached)
	for sent := false; b.Snapshot().Last == nil; {
		if !sent && b.Snapshot().Gauges[0].State == "connected" {
			sent = true
			press(t, h.gauges, b.Snapshot().Gauges[0].ID, "42.37 mm")
		}
		select {
		case <-woken:
		case <-timeout:
			t.Fatal("its presses are not recorded")
		}
	}
	stop()
	if err := <-ran; err != nil {
		t.Error(err)
	}
	if err := b.close(); err != nil {
		t.Error(err)
	}
}

// What is told while the screen stands is told when it is left.
func TestAsidesWaitForTheScreen(t *testing.T) {
	var out bytes.Buffer
	a := asides{out: &out, wait: true}
	for n := range 30 {
		a.say(fmt.Sprintf("word %d", n))
	}
	if out.Len() > 0 {
		t.Errorf("over the screen: %q", out.String())
	}
	a.done()
	if got := out.String(); !strings.HasPrefix(got, "shimwright: word 10\n") || !strings.HasSuffix(got, "shimwright: word 29\n") {
		t.Errorf("afterwards: %q", got)
	}
}
