package relay_test

import (
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"net"
	"os"
	"os/exec"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"shimwright/ingest/journal"
	"shimwright/ingest/relay"
	"shimwright/ingest/relay/shop/shoptest"
)

// A proxy stands between bench and shop, and cuts when told to.
type proxy struct {
	net.Listener
	to string

	mu    sync.Mutex
	after int // bytes from the bench until it cuts; 0 never
	conns map[net.Conn]bool
	cuts  int
}

func newProxy(t *testing.T, to string) *proxy {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	p := &proxy{Listener: l, to: to, conns: map[net.Conn]bool{}}
	t.Cleanup(func() { _ = l.Close(); p.cut() })
	go func() {
		for {
			c, err := l.Accept()
			if err != nil {
				return
			}
			go p.carry(c)
		}
	}()
	return p
}

func (p *proxy) carry(c net.Conn) {
	s, err := net.Dial("tcp", p.to)
	if err != nil {
		_ = c.Close()
		return
	}
	p.mu.Lock()
	p.conns[c], p.conns[s] = true, true
	p.mu.Unlock()
	go func() { _, _ = io.Copy(c, s); _ = c.Close() }()
	buf := make([]byte, 4096)
	for {
		n, err := c.Read(buf)
		if err != nil {
			break
		}
		if p.spent(n) {
			_, _ = s.Write(buf[:n/2])
			p.cut()
			break
		}
		if _, err := s.Write(buf[:n]); err != nil {
			break
		}
	}
	_ = errors.Join(s.Close(), c.Close())
}

// spent counts bytes down to the cut.
func (p *proxy) spent(n int) bool {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.after == 0 {
		return false
	}
	p.after -= n
	if p.after > 0 {
		return false
	}
	p.after = 0
	p.cuts++
	return true
}

func (p *proxy) cut() {
	p.mu.Lock()
	defer p.mu.Unlock()
	for c := range p.conns {
		_ = c.Close()
	}
	clear(p.conns)
}

// soon lets a relay try again at once: nothing is asserted of the waits here.
func soon(c *relay.Config) { c.Chance = func() float64 { return -0.99 } }

// Connections cut after a random number of bytes, in the middle of a batch and of
// its answer: each fact arrives once, in order.
func TestCut(t *testing.T) {
	s := shoptest.New(t)
	a := s.Bench(t, "bay 1", "bay1")
	p := newProxy(t, net.JoinHostPort("127.0.0.1", strconv.Itoa(s.Port)))
	a.Port = p.Addr().(*net.TCPAddr).Port
	j := newJournal(t, "bay 1")
	r := run(t, j, a, soon)
	chance := rand.New(rand.NewPCG(7, 7))
	rounds := 30
	if testing.Short() {
		rounds = 5
	}
	n := int64(0)
	for round := range rounds {
		p.mu.Lock()
		p.after = 1 + chance.IntN(400_000)
		p.mu.Unlock()
		some := 1 + chance.IntN(1500)
		write(t, j, some)
		n += int64(some)
		if round%4 == 3 {
			p.cut() // whatever is under way, the answer too
		}
		select {
		case r.woken <- struct{}{}:
		default:
		}
		r.sent(t, n)
	}
	whole(t, s, j)
	if p.cuts < rounds/5 {
		t.Errorf("only %d cuts", p.cuts)
	}
}

// The server is killed and started at random while three benches ship, and their
// connections are cut after a random number of bytes. SOAK=long does it 100 times.
func TestKilled(t *testing.T) {
	program := os.Getenv("TEST_PG_CRASH")
	if program == "" {
		t.Skip("TEST_PG_CRASH names no server that may be killed: .ci/postgres starts one")
	}
	order := func(what string) string {
		out, err := exec.Command(program, what).Output()
		if err != nil {
			var said *exec.ExitError
			errors.As(err, &said)
			t.Fatalf("%s: %v", what, err)
		}
		return strings.TrimSpace(string(out))
	}
	dsn := order("dsn")
	s := shoptest.On(t, dsn)
	p := newProxy(t, net.JoinHostPort("127.0.0.1", strconv.Itoa(s.Port)))
	const benches = 3
	var journals []*journal.Journal
	var relays []*running
	for n := range benches {
		name := fmt.Sprintf("bay %d", n+1)
		a := s.Bench(t, name, fmt.Sprintf("bay%d", n+1))
		a.Port = p.Addr().(*net.TCPAddr).Port
		journals = append(journals, newJournal(t, name))
		relays = append(relays, run(t, journals[n], a, soon))
	}
	chance := rand.New(rand.NewPCG(3, 9))
	rounds := 12
	if testing.Short() {
		rounds = 3
	}
	if os.Getenv("SOAK") == "long" {
		rounds = 100
	}
	n, facts := make([]int64, benches), int64(0)
	for range rounds {
		p.mu.Lock()
		p.after = 1 + chance.IntN(3_000_000)
		p.mu.Unlock()
		at := chance.IntN(benches)
		for i, j := range journals {
			some := 200 + chance.IntN(2000)
			write(t, j, some)
			n[i] += int64(some)
			facts += int64(some)
			relays[i].wake()
		}
		upto := relays[at].State().Sent + chance.Int64N(n[at]-relays[at].State().Sent+1)
		relays[at].await(t, "under way", func(st relay.State) bool { return st.Sent >= upto || st.Trouble != "" })
		order("kill")
		order("start")
	}
	p.mu.Lock()
	p.after = 0
	cuts := p.cuts
	p.mu.Unlock()
	s.Owner = shoptest.Open(t, dsn+" dbname="+s.Name)
	for i, j := range journals {
		relays[i].wake()
		relays[i].sent(t, n[i])
		whole(t, s, j)
	}
	t.Logf("%d facts of %d benches; the server killed %d times, connections cut %d times within a batch besides", facts, benches, rounds, cuts)
}

func (r *running) wake() {
	select {
	case r.woken <- struct{}{}:
	default:
	}
}

// A server that takes connections and never answers keeps nobody waiting but the
// relay.
func TestSilent(t *testing.T) {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	j := newJournal(t, "bay 1")
	r := run(t, j, (&shoptest.Shop{Name: "x", Port: l.Addr().(*net.TCPAddr).Port}).As("app"), nil)
	c, err := l.Accept()
	if err != nil {
		t.Fatal(err)
	}
	defer c.Close()
	write(t, j, 100) // while the relay waits for the server
	began := time.Now()
	r.stop()
	if took := time.Since(began); took > 5*time.Second {
		t.Errorf("it took %s to stop", took)
	}
}
