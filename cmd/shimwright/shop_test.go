//go:build unix

package main

import (
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/gdamore/tcell/v2"

	"shimwright/ingest/relay/shop"
	"shimwright/ingest/relay/shop/shoptest"
	"shimwright/ui/board"
)

// A wall is a board's screen, whose keys wait until they are taken.
type wall struct {
	*glass
	taken chan struct{}
}

func (w *wall) PollEvent() tcell.Event {
	e := w.glass.PollEvent()
	if _, ok := e.(*tcell.EventKey); ok {
		w.taken <- struct{}{}
	}
	return e
}

// until waits for a frame that will do.
func (w *wall) until(t *testing.T, what string, will func(string) bool) {
	t.Helper()
	late := time.After(reached)
	for {
		w.mu.Lock()
		text := w.text
		w.mu.Unlock()
		// a sentence may be broken over lines
		if will(strings.Join(strings.Fields(text), " ")) {
			return
		}
		select {
		case <-w.shown:
		case <-late:
			t.Fatalf("the board never shows %s:\n%s", what, text)
		}
	}
}

func (w *wall) see(t *testing.T, words ...string) {
	t.Helper()
	for _, x := range words {
		w.until(t, x, func(s string) bool { return strings.Contains(s, x) })
	}
}

func (w *wall) key(k tcell.Key, r rune) {
	w.InjectKey(k, r, tcell.ModNone)
	<-w.taken
}

// find has the board list what holds a text.
func (w *wall) find(text string) {
	for _, r := range "1/" + text {
		w.key(tcell.KeyRune, r)
	}
	w.key(tcell.KeyEnter, 0)
}

// lead shows a shop's board until the test ends.
func lead(t *testing.T, a shop.Address) *wall {
	t.Helper()
	src, err := openShop(t.Context(), a, true)
	if err != nil {
		t.Fatal(err)
	}
	w := &wall{newGlass(132, 43), make(chan struct{}, 100)}
	ctx, stop := context.WithCancel(context.Background())
	ticks, ended := src.watch(ctx)
	done := make(chan error, 1)
	go func() {
		done <- board.Run(ctx, src, board.Options{Screen: w, Tick: ticks, Query: board.Query{Training: true}})
	}()
	t.Cleanup(func() {
		stop()
		if err := <-done; err != nil {
			t.Error(err)
		}
		<-ended
		src.Close()
	})
	return w
}

// A bay is a bench of the demonstration under another name, with its gauges.
type bay struct {
	hall
	t    *testing.T
	name string
	line string // its relay
}

func newBay(t *testing.T, name string, a shop.Address) *bay {
	t.Helper()
	b := &bay{openHall(t), t, name, fmt.Sprintf("relay: {server: %s, port: %d, database: %s, user: %s}\n", a.Server, a.Port, a.Database, a.User)}
	text, err := os.ReadFile(b.file)
	if err != nil {
		t.Fatal(err)
	}
	before, rest, _ := strings.Cut(string(text), "\nbench: ")
	_, rest, _ = strings.Cut(rest, "\n")
	b.write(fmt.Sprintf("%s\nbench: %s\n%s", before, name, rest))
	return b
}

func (b *bay) write(text string) {
	b.t.Helper()
	if err := os.WriteFile(b.file, []byte(text+"\n"+b.line), 0o600); err != nil {
		b.t.Fatal(err)
	}
}

// ships has the bench file name the relay, or not.
func (b *bay) ships(yes bool) {
	b.t.Helper()
	text, err := os.ReadFile(b.file)
	if err != nil {
		b.t.Fatal(err)
	}
	rest, _, _ := strings.Cut(string(text), "\n"+b.line)
	line := b.line
	if !yes {
		b.line = ""
	}
	b.write(rest)
	b.line = line
}

func (b *bay) journal() string { return filepath.Join(filepath.Dir(b.file), "demo.journal") }

// put puts a journal in the place of the bay's.
func (b *bay) put(from string) {
	b.t.Helper()
	for _, end := range []string{"", "-wal", "-shm"} {
		_ = os.Remove(b.journal() + end)
	}
	text, err := os.ReadFile(from)
	if err != nil {
		b.t.Fatal(err)
	}
	if err := os.WriteFile(b.journal(), text, 0o600); err != nil {
		b.t.Fatal(err)
	}
}

// says waits until the bench prints words of its shop.
func (p *program) says(words string) {
	p.t.Helper()
	p.until("of the shop: "+words, func(v map[string]any) bool { return strings.Contains(fmt.Sprint(v["shop"]), words) })
}

// leave ends the bench in good order.
func (p *program) leave() {
	p.t.Helper()
	if err := p.in.Close(); err != nil {
		p.t.Fatal(err)
	}
	for range p.lines { // to its end
	}
	if err := p.cmd.Wait(); err != nil {
		p.t.Error(err)
	}
}

// sent waits until the shop confirmed all that the bench recorded. The answer may
// still be on its way from the server, so it is asked again.
func (p *program) sent() {
	p.t.Helper()
	for late := time.Now().Add(reached); ; {
		v := p.ask(`{"do": "shop"}`, "shop")
		if v["sent"] != nil && v["waiting"] == nil && v["connected"] == true {
			return
		}
		if time.Now().After(late) {
			p.t.Fatalf("not all is sent: %v", v)
		}
	}
}

func (p *program) open(serial string) {
	p.t.Helper()
	p.say(`{"do": "open", "sheet": "fw3", "serial": %q}`, serial)
	p.say(`{"do": "choose", "step": "pinion head"}`)
}

// An office is a shop as the page beside the relay sets it up.
type office struct {
	*shoptest.Shop
	t    *testing.T
	lead shop.Address
}

func newOffice(t *testing.T, dsn string) *office {
	d := &office{Shop: shoptest.Bare(t, dsn), t: t}
	d.obey("shop", "prepare")
	role := d.Role(t, "lead")
	d.obey("shop", "board", role)
	d.lead = d.As(role)
	return d
}

func (d *office) obey(args ...string) string {
	d.t.Helper()
	user := "app"
	if args[0] == "board" {
		user = d.lead.User
	}
	c := exec.Command("shimwright", append(args, "--server", "127.0.0.1", "--port", fmt.Sprint(d.Port), "--database", d.Name, "--user", user)...)
	out, err := c.CombinedOutput()
	if err != nil {
		d.t.Fatalf("%v: %s", err, out)
	}
	return string(out)
}

func (d *office) bay(name, role string) *bay {
	d.t.Helper()
	role = d.Role(d.t, role)
	d.obey("shop", "bench", name, role)
	return newBay(d.t, name, d.As(role))
}

// A shop as the page beside the relay sets it up: two benches on virtual gauges
// and a board on one machine. A press at either shows on the board's page of that
// job while it is looked at. Then the troubles of copies and backups are told, at
// the bench and on the board.
func TestShop(t *testing.T) {
	d := newOffice(t, shoptest.DSN(t))
	w := lead(t, d.lead)
	w.see(t, "shop "+d.Name+" on this machine", "0 jobs")
	bays := []*bay{d.bay("bay 1", "bay1"), d.bay("bay 2", "bay2")}
	var at []*program
	for n, b := range bays {
		p := b.start(t, map[int64]string{})
		p.until("the micrometer", connected("M02"))
		p.open(fmt.Sprintf("K-%d", n+1))
		at = append(at, p)
	}
	w.see(t, "2 jobs, 2 open", "bay 1 K-1", "bay 2 K-2")
	for n, b := range bays {
		w.find(b.name)
		w.see(t, fmt.Sprintf(`with "%s"`, b.name), "1 job, 1 open")
		w.key(tcell.KeyEnter, 0)
		w.see(t, fmt.Sprintf("%s job 0001, drive K-%d", b.name, n+1), "pinion head waiting")
		began := time.Now()
		press(t, b.gauges, "M02", "42.37 mm")
		w.see(t, "pinion head waiting, 1 press")
		t.Logf("%s: from press to board %s", b.name, time.Since(began).Round(time.Millisecond))
		w.key(tcell.KeyEsc, 0)
		w.key(tcell.KeyRune, 'a')
	}
	for n, p := range at {
		p.sent()
		p.leave()
		got := d.obey("board", "--shop", "--plain", "--bay", bays[n].name, "--job", "0001")
		for _, words := range []string{bays[n].name + " job 0001", `Bytes as they came: "+42.37mm\r"`} {
			if !strings.Contains(got, words) {
				t.Errorf("%s lacks %s:\n%s", bays[n].name, words, got)
			}
		}
	}
	d.copiesAndBackups(t, w, bays)
}

// copiesAndBackups works on apart: a copied disk, a journal put back, a shop put
// back.
func (d *office) copiesAndBackups(t *testing.T, w *wall, bays []*bay) {
	b := bays[0]
	copied := filepath.Join(t.TempDir(), "copy.journal")
	if out, err := exec.Command("shimwright", "backup", b.journal(), copied).CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	d.keep(t)
	for n, x := range bays {
		p := x.start(t, map[int64]string{})
		p.open(fmt.Sprintf("L-%d", n+1))
		p.sent()
		p.leave()
	}
	newest := filepath.Join(t.TempDir(), "newest.journal")
	if out, err := exec.Command("shimwright", "backup", b.journal(), newest).CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, out)
	}

	b.put(copied) // and nothing is done with it
	p := b.start(t, map[int64]string{})
	said, plugged := false, false // in either order
	p.until("its trouble, and the micrometer", func(v map[string]any) bool {
		said = said || strings.Contains(fmt.Sprint(v["shop"]), "the journal was restored from a backup, or this disk is a copy")
		plugged = plugged || connected("M02")(v)
		return said && plugged
	})
	press(t, b.gauges, "M02", "42.37 mm")
	p.until("a press", pressed) // it works on all the same
	p.leave()
	w.see(t, "! BAY bay 1: this bench's journal is older than what the shop has of it")

	b.put(copied) // it is worked on, out of sight of the shop
	b.ships(false)
	p = b.start(t, map[int64]string{})
	p.open("M-1")
	p.leave()
	b.ships(true)
	p = b.start(t, map[int64]string{})
	p.says("a copy of this bench's journal ships too: from fact")
	p.leave()
	w.see(t, "! BAY bay 1: a copy of this bench's journal ships too: from fact", "nothing of this one is shipped until")

	d.putBack(t)
	b.put(newest)
	p = b.start(t, map[int64]string{})
	p.says("The shop's database was restored from an older backup")
	p.sent()
	p.leave()
	w.see(t, "! BAY bay 1: The shop's database was restored from an older backup", "bay 1 L-1")
	got := d.obey("board", "--shop", "--plain", "--training")
	for _, words := range []string{"BAY: bay 1: a copy of", "BAY: bay 1: this bench's journal is older", "BAY: bay 1: The shop's database was restored", "Bays that do not ship as they should: 3", "L-1"} {
		if !strings.Contains(got, words) {
			t.Errorf("the lines lack %s:\n%s", words, got)
		}
	}
}

// keep keeps the shop's rows aside, and putBack puts them back, but for what
// benches said of themselves: that would be lost with the rest.
func (d *office) keep(t *testing.T) {
	for _, table := range []string{"fact", "bench_head", "job", "judgement"} {
		shoptest.Exec(t, d.Owner, fmt.Sprintf(`CREATE TABLE public.%s AS TABLE shimwright.%[1]s`, table))
	}
}

func (d *office) putBack(t *testing.T) {
	shoptest.Exec(t, d.Owner, `CREATE TABLE public.said AS TABLE shimwright.said`)
	for _, table := range []string{"said", "fact", "bench_head", "job", "judgement"} {
		shoptest.Exec(t, d.Owner, `DELETE FROM shimwright.`+table)
	}
	for _, table := range []string{"bench_head", "fact", "job", "judgement", "said"} {
		shoptest.Exec(t, d.Owner, fmt.Sprintf(`INSERT INTO shimwright.%s SELECT * FROM public.%[1]s`, table))
	}
}

// A server that goes is said on the board, which keeps what it shows; when the
// server is back the board is too.
func TestShopGoes(t *testing.T) {
	program := os.Getenv("TEST_PG_CRASH")
	if program == "" {
		t.Skip("TEST_PG_CRASH names no server that may be killed: .ci/postgres starts one")
	}
	order := func(what string) string {
		out, err := exec.Command(program, what).Output()
		if err != nil {
			t.Fatalf("%s: %v", what, err)
		}
		return strings.TrimSpace(string(out))
	}
	d := newOffice(t, order("dsn"))
	b := d.bay("bay 1", "bay1")
	p := b.start(t, map[int64]string{})
	p.until("the micrometer", connected("M02"))
	p.open("K-1")
	w := lead(t, d.lead)
	w.see(t, "bay 1 K-1")
	order("kill")
	w.see(t, "! The shop cannot be read, and what stands here is what it was. Next try in", "bay 1 K-1")
	p.open("K-2")
	press(t, b.gauges, "M02", "42.37 mm")
	p.until("a press while there is no shop", pressed)
	order("start")
	w.see(t, "bay 1 K-2")
	w.until(t, "no more trouble", func(s string) bool { return !strings.Contains(s, "cannot be read") })
	p.leave()
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
