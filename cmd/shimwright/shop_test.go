//go:build unix

package main

import (
	"context"
	"fmt"
	"os"
	"os/exec"
	"strings"
	"testing"
	"time"

	"shimwright/ingest/relay/shop/shoptest"
	"shimwright/ingest/store"
	"shimwright/ingest/store/pg"
)

// A shop as the page beside the relay sets it up: two benches and a board on one
// machine, and what happens at either bench shows on the board.
func TestShop(t *testing.T) {
	s := shoptest.Bare(t, shoptest.DSN(t))
	obey := func(args ...string) {
		t.Helper()
		c := exec.Command("shimwright", append([]string{"shop", "--server", "127.0.0.1", "--port", fmt.Sprint(s.Port), "--database", s.Name, "--user", "app"}, args...)...)
		if out, err := c.CombinedOutput(); err != nil {
			t.Fatalf("%v: %s", err, out)
		}
	}
	obey("prepare")
	lead := s.Role(t, "lead")
	obey("board", lead)
	board, err := pg.Open(t.Context(), s.As(lead))
	if err != nil {
		t.Fatal(err)
	}
	defer board.Close()
	heard, ready := make(chan pg.Batch, 1000), make(chan struct{})
	ctx, stop := context.WithCancel(t.Context())
	ended := make(chan struct{})
	go func() {
		_ = board.Listen(ctx, func() { close(ready) }, func(b pg.Batch) { heard <- b }) // its end is ours
		close(ended)
	}()
	defer func() { stop(); <-ended }()
	<-ready
	for n := 1; n <= 2; n++ {
		bay := fmt.Sprintf("bay %d", n)
		role := s.Role(t, fmt.Sprintf("bay%d", n))
		obey("bench", bay, role)
		h := openHall(t)
		text, err := os.ReadFile(h.file)
		if err != nil {
			t.Fatal(err)
		}
		name, rest, _ := strings.Cut(string(text), "\nbench: ")
		_, rest, _ = strings.Cut(rest, "\n")
		text = fmt.Appendf(nil, "%s\nbench: %s\n%s\nrelay: {server: 127.0.0.1, port: %d, database: %s, user: %s}\n", name, bay, rest, s.Port, s.Name, role)
		if err := os.WriteFile(h.file, text, 0o600); err != nil {
			t.Fatal(err)
		}
		p := h.start(t, map[int64]string{})
		p.say(`{"do": "open", "sheet": "fw3", "serial": "K-1"}`)
		shows(t, board, heard, bay)
		v := p.ask(`{"do": "shop"}`, "shop")
		for n := 0; v["sent"] == nil && n < 5000; n++ { // the answer may still be on its way from the server
			v = p.ask(`{"do": "shop"}`, "shop")
		}
		if !strings.HasPrefix(fmt.Sprint(v["shop"]), "Shop: connected") || v["sent"] == nil {
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
}

// shows waits until a bench's job is on the board, by word of its batches alone.
func shows(t *testing.T, board *pg.Store, heard chan pg.Batch, bay string) {
	t.Helper()
	late := time.After(20 * time.Second)
	for {
		select {
		case b := <-heard:
			if b.Bench != bay {
				continue
			}
			jobs, err := board.Jobs(t.Context(), store.JobQuery{Bench: bay})
			if err != nil {
				t.Fatal(err)
			}
			if len(jobs) == 1 && jobs[0].Serial == "K-1" && jobs[0].State == store.Open {
				return
			}
		case <-late:
			t.Fatalf("the job of %s never shows", bay)
		}
	}
}

// A bench without a relay says so.
func TestNoShop(t *testing.T) {
	h := openHall(t)
	p := h.start(t, map[int64]string{})
	if v := p.ask(`{"do": "shop"}`, "shop"); !strings.Contains(fmt.Sprint(v["shop"]), "stay on this machine") {
		t.Errorf("%v", v)
	}
	p.kill()
}
