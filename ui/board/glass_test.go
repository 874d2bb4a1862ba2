package board

import (
	"context"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/gdamore/tcell/v2"
	"github.com/google/go-cmp/cmp"
	"github.com/rivo/uniseg"
)

var update = flag.Bool("update", false, "write the golden frames anew")

// patience bounds how long a test waits for the screen; it is no measure.
const patience = 20 * time.Second

// glass is a simulated screen that keeps a copy of what was last shown.
type glass struct {
	tcell.SimulationScreen
	width, height int

	mu           sync.Mutex
	text, styles string
	shown        chan struct{}
	taken        chan struct{} // a key was taken off the screen's queue
}

func newGlass(width, height int) *glass {
	return &glass{SimulationScreen: tcell.NewSimulationScreen("UTF-8"), width: width, height: height,
		shown: make(chan struct{}, 1), taken: make(chan struct{}, 100)}
}

func (g *glass) PollEvent() tcell.Event {
	e := g.SimulationScreen.PollEvent()
	if _, ok := e.(*tcell.EventKey); ok {
		g.taken <- struct{}{}
	}
	return e
}

func (g *glass) Init() error {
	err := g.SimulationScreen.Init()
	g.SetSize(g.width, g.height)
	return err
}

func (g *glass) Show() {
	g.SimulationScreen.Show()
	cells, width, _ := g.GetContents()
	var text, styles strings.Builder
	wide := false
	for i, c := range cells {
		if i > 0 && i%width == 0 {
			text.WriteByte('\n')
			styles.WriteByte('\n')
		}
		styles.WriteString(styleMark(c.Style))
		if wide {
			wide = false // the second cell of a wide character
			continue
		}
		s := string(c.Runes)
		text.WriteString(s)
		wide = uniseg.StringWidth(s) == 2
	}
	g.mu.Lock()
	g.text, g.styles = text.String(), styles.String()
	g.mu.Unlock()
	select {
	case g.shown <- struct{}{}:
	default:
	}
}

// styleMark is a cell's look in a letter.
func styleMark(s tcell.Style) string {
	fg, _, attr := s.Decompose()
	switch {
	case attr&tcell.AttrReverse != 0:
		return "X"
	case attr&tcell.AttrDim != 0:
		return "-"
	case fg == tcell.ColorTeal:
		return "g"
	case fg == tcell.ColorOlive:
		return "w"
	case attr&tcell.AttrBold != 0:
		return "s"
	}
	return "."
}

func (g *glass) now() (text, styles string) {
	g.mu.Lock()
	defer g.mu.Unlock()
	return g.text, g.styles
}

// see waits until all the words stand on the screen.
func (g *glass) see(t *testing.T, words ...string) string {
	t.Helper()
	return g.until(t, strings.Join(words, `" and "`), func(s string) bool {
		for _, w := range words {
			if !strings.Contains(s, w) {
				return false
			}
		}
		return true
	})
}

// gone waits until words stand there no more.
func (g *glass) gone(t *testing.T, words string) string {
	t.Helper()
	return g.until(t, "no more "+words, func(s string) bool { return !strings.Contains(s, words) })
}

func (g *glass) until(t *testing.T, what string, will func(string) bool) string {
	t.Helper()
	late := time.NewTimer(patience)
	defer late.Stop()
	for {
		if s, _ := g.now(); will(s) {
			return s
		}
		select {
		case <-g.shown:
		case <-late.C:
			s, _ := g.now()
			t.Fatalf("waited for %q; the screen shows\n%s", what, s)
		}
	}
}

// keys presses keys: letters, and names in angle brackets, as in <enter>.
func (g *glass) keys(text string) {
	named := map[string]tcell.Key{"enter": tcell.KeyEnter, "esc": tcell.KeyEsc, "up": tcell.KeyUp, "down": tcell.KeyDown, "home": tcell.KeyHome, "end": tcell.KeyEnd, "tab": tcell.KeyTab, "back": tcell.KeyBackspace2}
	for text != "" {
		if name, rest, ok := strings.Cut(strings.TrimPrefix(text, "<"), ">"); ok && text[0] == '<' && named[name] != 0 {
			g.InjectKey(named[name], 0, tcell.ModNone)
			text = rest
		} else {
			r := []rune(text)[0]
			g.InjectKey(tcell.KeyRune, r, tcell.ModNone)
			text = text[len(string(r)):]
		}
		<-g.taken
	}
}

func (g *glass) resize(width, height int) {
	g.SetSize(width, height)
	_ = g.PostEvent(tcell.NewEventResize(width, height)) // a full queue redraws anyway
}

// running is a Run under way.
type running struct {
	*glass
	tick chan time.Time
	stop context.CancelFunc
	err  chan error
}

// show runs the board over a source until the test ends.
func show(t *testing.T, src Source, width, height int, o Options) *running {
	t.Helper()
	r := &running{glass: newGlass(width, height), tick: make(chan time.Time), err: make(chan error, 1)}
	o.Screen, o.Now, o.Tick = r.glass, now, r.tick
	ctx, stop := context.WithCancel(t.Context())
	r.stop = stop
	go func() { r.err <- Run(ctx, src, o) }()
	t.Cleanup(func() { stop(); r.wait(t) })
	return r
}

// wait waits until the board has ended.
func (r *running) wait(t *testing.T) {
	t.Helper()
	select {
	case err := <-r.err:
		if err != nil {
			t.Errorf("the board ended with %v", err)
		}
		r.err <- nil // for who waits after this
	case <-time.After(patience):
		t.Error("the board did not end")
	}
}

// golden compares what is shown with its file: the text, then how it stands out.
func (r *running) golden(t *testing.T, name string) {
	t.Helper()
	text, styles := r.now()
	var b strings.Builder
	for line := range strings.Lines(text + "\n") {
		fmt.Fprintln(&b, strings.TrimRight(line, " \n"))
	}
	b.WriteString("--- s strong, g good, w warn, X stop, - faint ---\n")
	for line := range strings.Lines(styles + "\n") {
		fmt.Fprintln(&b, strings.TrimRight(line, ".\n"))
	}
	compare(t, name, strings.TrimRight(b.String(), "\n")+"\n")
}

func compare(t *testing.T, name, got string) {
	t.Helper()
	path := filepath.Join("testdata", name+".txt")
	if *update {
		if err := os.WriteFile(path, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(string(want), got); d != "" {
		t.Errorf("%s has changed; look at it, then run with -update (-want +got):\n%s", path, d)
	}
}
