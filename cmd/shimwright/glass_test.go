//go:build unix

package main

import (
	"context"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/gdamore/tcell/v2"

	"shimwright/devices"
	"shimwright/devices/port"
	"shimwright/ingest/bench"
	"shimwright/ui/fitter"
)

// patience bounds how long a test waits for what must come; it is no measure.
const patience = 30 * time.Second

// glass is a simulated screen that keeps what was last shown, and when.
type glass struct {
	tcell.SimulationScreen
	width, height int

	mu    sync.Mutex
	text  string
	at    time.Time // when it was shown
	shown chan struct{}
	gone  chan struct{} // closed once the screen is given back
	once  sync.Once
}

func newGlass(width, height int) *glass {
	return &glass{SimulationScreen: tcell.NewSimulationScreen("UTF-8"), width: width, height: height, shown: make(chan struct{}, 1), gone: make(chan struct{})}
}

func (g *glass) Init() error {
	err := g.SimulationScreen.Init()
	g.SetSize(g.width, g.height)
	return err
}

func (g *glass) Fini() {
	g.SimulationScreen.Fini()
	g.once.Do(func() { close(g.gone) })
}

func (g *glass) Show() {
	g.SimulationScreen.Show()
	at := time.Now()
	cells, width, _ := g.GetContents()
	var b strings.Builder
	for i, c := range cells {
		if i > 0 && i%width == 0 {
			b.WriteByte('\n')
		}
		b.WriteString(string(c.Runes))
	}
	g.mu.Lock()
	g.text, g.at = b.String(), at
	g.mu.Unlock()
	select {
	case g.shown <- struct{}{}:
	default:
	}
}

// see waits until the words stand on the screen; it gives the screen and when it
// was shown.
func (g *glass) see(t testing.TB, words ...string) (string, time.Time) {
	t.Helper()
	late := time.NewTimer(patience)
	defer late.Stop()
	for {
		g.mu.Lock()
		text, at := g.text, g.at
		g.mu.Unlock()
		all := true
		for _, w := range words {
			all = all && strings.Contains(text, w)
		}
		if all {
			return text, at
		}
		select {
		case <-g.shown:
		case <-late.C:
			t.Fatalf("waited for %q; the screen shows\n%s", words, text)
		}
	}
}

// workplace is the demonstration's bench under a simulated screen: virtual gauges
// behind pseudo-terminals, the real driver, a journal on disk.
type workplace struct {
	*stage
	bench *running
	glass *glass
	stop  context.CancelFunc
	ended chan error
	left  bool
}

// underGlass opens a workplace with a job at a step.
func underGlass(t testing.TB, width, height int, step string, between through, told func(bench.Recorded)) *workplace {
	t.Helper()
	st, err := setStage(demoChoice{sheet: "fw3"})
	if err != nil {
		t.Fatal(err)
	}
	st.file.Windows.Double = time.Millisecond
	w := &workplace{stage: st, glass: newGlass(width, height), ended: make(chan error, 1)}
	if w.bench, err = openBench(t.Context(), st.file, st.folder, wires{between: between}, told); err != nil {
		t.Fatal(err)
	}
	ctx, stop := context.WithCancel(context.WithoutCancel(t.Context()))
	w.stop = stop
	go func() {
		w.ended <- underScreen(ctx, w.bench, fitter.Options{Screen: w.glass, Now: time.Now})
	}()
	t.Cleanup(func() {
		stop()
		w.wait(t)
		if err := st.strike(); err != nil {
			t.Error(err)
		}
	})
	w.do(t, bench.OpenJob{Sheet: "fw3", Serial: "T-1"})
	w.do(t, bench.ChooseStep{Step: step})
	w.glass.see(t, strings.ToUpper(step), "D07 (o) connected")
	return w
}

func (w *workplace) do(t testing.TB, c bench.Command) {
	t.Helper()
	if _, err := w.bench.Do(t.Context(), c); err != nil {
		t.Fatal(err)
	}
}

// wait waits until screen and bench have ended, and closes the journal.
func (w *workplace) wait(t testing.TB) {
	t.Helper()
	if w.left {
		return
	}
	w.left = true
	select {
	case err := <-w.ended:
		if err != nil {
			t.Error(err)
		}
	case <-time.After(patience):
		t.Fatal("the screen and its bench did not end")
	}
	if err := w.bench.close(); err != nil {
		t.Error(err)
	}
}

// A gate keeps what was read from a gauge's port from going on, once it is shut.
type gate struct {
	gauge string
	mu    sync.Mutex
	shut  bool
	held  chan struct{} // something was read and waits
	open  chan struct{}
}

func newGate(gauge string) *gate {
	return &gate{gauge: gauge, held: make(chan struct{}, 1), open: make(chan struct{})}
}

func (g *gate) between(cfg port.Config, open port.Opener) (port.Config, port.Opener, error) {
	if cfg.Gauge != g.gauge {
		return cfg, open, nil
	}
	return cfg, func(f port.Find, l devices.Line) (port.Opened, error) {
		o, err := open(f, l)
		if err == nil {
			o.Port = gated{o.Port, g}
		}
		return o, err
	}, nil
}

func (g *gate) close() {
	g.mu.Lock()
	defer g.mu.Unlock()
	g.shut = true
}

// gated is a port behind a gate.
type gated struct {
	port.Port
	gate *gate
}

func (p gated) Read(b []byte) (int, error) {
	n, err := p.Port.Read(b)
	p.gate.mu.Lock()
	shut := p.gate.shut && n > 0
	p.gate.shut = p.gate.shut && !shut
	p.gate.mu.Unlock()
	if shut {
		p.gate.held <- struct{}{}
		<-p.gate.open
	}
	return n, err
}
