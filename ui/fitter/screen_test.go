package fitter

import (
	"context"
	"errors"
	"io"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/gdamore/tcell/v2"

	"shimwright/devices"
	"shimwright/devices/port"
	"shimwright/ingest/bench"
	"shimwright/ingest/fact"
	"shimwright/ingest/guard"
	"shimwright/ingest/journal"
)

// patience bounds how long a test waits for the screen; it is no measure.
const patience = 20 * time.Second

// glass is a simulated screen that keeps a copy of what was last shown, so that
// a test may look at it from another goroutine.
type glass struct {
	tcell.SimulationScreen
	width, height int

	mu     sync.Mutex
	text   string
	styles []tcell.Style
	shown  chan struct{}
	taken  chan struct{} // a key was taken off the screen's queue
}

func newGlass(width, height int) *glass {
	return &glass{SimulationScreen: tcell.NewSimulationScreen("UTF-8"), width: width, height: height,
		shown: make(chan struct{}, 1), taken: make(chan struct{}, 100)}
}

// PollEvent tells of each key that is taken.
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
	var b strings.Builder
	var styles []tcell.Style
	for i, c := range cells {
		if i > 0 && i%width == 0 {
			b.WriteByte('\n')
		}
		b.WriteString(string(c.Runes))
		styles = append(styles, c.Style)
	}
	g.mu.Lock()
	g.text, g.styles = b.String(), styles
	g.mu.Unlock()
	select {
	case g.shown <- struct{}{}:
	default:
	}
}

func (g *glass) now() string {
	g.mu.Lock()
	defer g.mu.Unlock()
	return g.text
}

// see waits until all the words stand on the screen.
func (g *glass) see(t *testing.T, words ...string) string {
	t.Helper()
	return g.until(t, strings.Join(words, `" and "`), func(s string) bool {
		whole := strings.Join(strings.Fields(s), " ") // words that a line's end parts
		for _, w := range words {
			if !strings.Contains(s, w) && !strings.Contains(whole, w) {
				return false
			}
		}
		return true
	})
}

// ready waits until the words stand there and the bench has answered.
func (g *glass) ready(t *testing.T, words ...string) {
	t.Helper()
	g.until(t, strings.Join(words, `" and "`)+`" and "Enter go on`, func(s string) bool {
		for _, w := range append(words, "Enter go on") {
			if !strings.Contains(s, w) {
				return false
			}
		}
		return !strings.Contains(s, "writing it down")
	})
}

func (g *glass) until(t *testing.T, what string, will func(string) bool) string {
	t.Helper()
	late := time.NewTimer(patience)
	defer late.Stop()
	for {
		if s := g.now(); will(s) {
			return s
		}
		select {
		case <-g.shown:
		case <-late.C:
			t.Fatalf("waited for %q; the screen shows\n%s", what, g.now())
		}
	}
}

// keys types text; a newline is Enter.
func (g *glass) keys(text string) {
	for _, r := range text {
		if r == '\n' {
			g.key(tcell.KeyEnter)
			continue
		}
		g.InjectKey(tcell.KeyRune, r, tcell.ModNone)
		<-g.taken
	}
}

func (g *glass) key(k tcell.Key) {
	g.InjectKey(k, 0, tcell.ModNone)
	<-g.taken
}

// resize changes the window and says so, as a terminal does.
func (g *glass) resize(width, height int) {
	g.SetSize(width, height)
	_ = g.PostEvent(tcell.NewEventResize(width, height)) // a full queue redraws anyway
}

// ended is a Run under way; wait gives its error.
type ended struct {
	t   *testing.T
	err chan error
}

func (e ended) wait() {
	e.t.Helper()
	select {
	case err := <-e.err:
		if err != nil {
			e.t.Errorf("the screen ended with %v", err)
		}
	case <-time.After(patience):
		e.t.Fatal("the screen did not end")
	}
}

func start(t *testing.T, b Bench, o Options) (*glass, ended, context.CancelFunc) {
	t.Helper()
	g := newGlass(80, 24)
	o.Screen = g
	ctx, stop := context.WithCancel(t.Context())
	e := ended{t, make(chan error, 1)}
	go func() { e.err <- Run(ctx, b, o) }()
	return g, e, stop
}

// sheetText reads a sheet of the program, or one of the tests.
func sheetText(name string) ([]byte, error) {
	var text []byte
	var err error
	for _, folder := range []string{"../../cmd/shimwright/sheets", "../../testdata/sheets", "../../testdata/stories"} {
		if text, err = os.ReadFile(filepath.Join(folder, name+".yaml")); err == nil {
			return text, nil
		}
	}
	return nil, err
}

// realBench is a bench over a new journal, without ports.
func realBench(t *testing.T, change ...func(*bench.Config)) *bench.Bench {
	t.Helper()
	j, err := journal.Open(filepath.Join(t.TempDir(), "bench.journal"), journal.Options{Bench: "bay 2", Run: "test", Now: time.Now, Rows: fact.Rows()})
	if err != nil {
		t.Fatal(err)
	}
	tray := []fact.Leaf{{Size: mm("1.00"), Count: 9}, {Size: mm("0.30"), Count: 9}, {Size: mm("0.05"), Count: 9}}
	cfg := bench.Config{
		Name: "bay 2", Now: time.Now, Windows: guard.Usual(), Program: "test",
		Pieces: []bench.Piece{{ID: "S-31", Size: mm("75.004")}, {ID: "E-02", Size: mm("12.006")}, {ID: "S-12", Size: mm("50.003")}},
		Trays:  map[string][]fact.Leaf{"shims": tray},
		Sheets: sheetText,
		Ports:  func(port.Find, devices.Line) (port.Opened, error) { return port.Opened{}, errors.New("no ports here") },
	}
	for _, c := range change {
		c(&cfg)
	}
	b, err := bench.Open(t.Context(), j, cfg)
	if err != nil {
		t.Fatal(err)
	}
	ctx, stop := context.WithCancel(context.WithoutCancel(t.Context()))
	ran := make(chan error, 1)
	go func() { ran <- b.Run(ctx) }()
	t.Cleanup(func() {
		stop()
		if err := errors.Join(<-ran, j.Close()); err != nil {
			t.Error(err)
		}
	})
	return b
}

// A person works into a job by keys alone, with slips on the way.
func TestKeysWorkAJob(t *testing.T) {
	b := realBench(t)
	g, run, _ := start(t, b, Options{})
	g.see(t, "No job is open", "Press o to open a job")
	g.keys("o")
	g.see(t, "name of the setting sheet")
	g.keys("fw3\n")
	g.see(t, "serial number")
	g.keys("\n") // nothing typed: refused, and the form stays
	g.see(t, "is empty: write it")
	g.keys("4711\n")
	g.ready(t, "PINION PAIR NUMBER", "drive 4711")
	g.keys("\nP-4417\n")
	g.ready(t, "WHEEL PAIR NUMBER")
	g.keys("\nP-4417\n")
	g.ready(t, "PINION BEARINGS", "step 3 of 30")
	g.keys("\n")
	g.see(t, "1 new, 2 used")
	g.keys("1")
	g.ready(t, "PINION SPACER")
	g.keys("f")
	g.see(t, "as measured, in mm")
	g.keys("10.09\n")
	g.ready(t, "PINION BEARINGS ROLLED", "build state 2")
	g.keys("\n")
	g.ready(t, "PINION TURNING TORQUE", "This bench has no force gauge")
	for _, n := range []string{"38.0", "37.5", "38.5", "38.0"} {
		g.keys("k")
		g.see(t, "by hand, in N")
		g.keys(n + "\n")
		g.see(t, "Why by hand?")
		g.keys("1")
		g.until(t, n+" to be taken", func(s string) bool {
			return strings.Contains(s, n+" N from keyed") && strings.Contains(s, "Enter go on")
		})
	}
	g.ready(t, "PINION DISTANCE")

	g.keys("\n+x8\n")
	g.see(t, "/!\\", "+x8")
	for range 3 {
		g.key(tcell.KeyBackspace2)
	}
	g.keys("+8\n")
	g.see(t, "0.080 mm FARTHER", "Is that so?")
	g.keys("y")
	g.ready(t, "CASING DISTANCE")
	g.keys("\nnone\ny")
	g.ready(t, "PINION HEAD")
	g.key(tcell.KeyDown)
	g.ready(t, "PINION FACE HEIGHT", "Say which tall post stands")
	g.keys("\nS-99\n")
	g.see(t, "is no piece of this bench", "S-99")
	for range 2 {
		g.key(tcell.KeyBackspace2)
	}
	g.keys("31\n")
	g.ready(t, "S-31, 75.004 mm, is the tall post.", "straightedge stands in the setup")
	g.keys("\nE-02\n")
	g.ready(t, "E-02 12.006 mm", "▒ straightedge E-02 12.006 mm")

	g.keys("l")
	g.see(t, "the steps", "(o) pinion turning torque", "> ... pinion face height")
	g.key(tcell.KeyUp)
	g.keys("\n")
	g.ready(t, "PINION HEAD")
	g.keys("w")
	g.see(t, "why: pinion head", "There is no figure here yet")
	g.key(tcell.KeyEscape)
	g.ready(t, "PINION HEAD")
	g.keys("q")
	g.see(t, "Leave the screen?")
	g.keys("n")
	g.ready(t, "PINION HEAD")
	g.keys("qy")
	run.wait()

	if s := b.Snapshot(); s.Job == nil || len(s.Job.Presses) != 4 || s.Step.Step.Name != "pinion head" {
		t.Errorf("the bench stands elsewhere: %+v", s)
	}
}

func TestStrikeHeldTakeAndAgainByKeys(t *testing.T) {
	b := realBench(t)
	do(t, b, bench.OpenJob{Sheet: "fw3", Serial: "1"})
	do(t, b, bench.ChooseStep{Step: "pinion head"})
	g, run, stop := start(t, b, Options{})
	g.ready(t, "PINION HEAD")
	do(t, b, bench.Keyed{Step: "pinion head", Value: "42.37 mm", Reason: "no cable"})
	g.see(t, "42.37 mm from keyed", "(o) TAKEN")
	do(t, b, bench.Keyed{Step: "pinion head", Value: "52.37 mm", Reason: "no cable"})
	g.see(t, "/!\\ HELD", "t take held", "1 press HELD")
	g.keys("t")
	g.see(t, "Why does 52.37 mm at pinion head count after all?")
	g.key(tcell.KeyEscape)
	g.ready(t, "t take held")

	g.key(tcell.KeyBackspace2)
	g.see(t, "Backspace again STRIKES 52.37 mm")
	g.keys("z") // any other key leaves it
	g.until(t, "the strike to be let go", func(s string) bool { return !strings.Contains(s, "STRIKES") })
	g.key(tcell.KeyBackspace2)
	g.see(t, "Backspace again STRIKES 52.37 mm")
	g.key(tcell.KeyBackspace2)
	g.ready(t, "[=] STRUCK")

	g.keys("a")
	g.see(t, "Why is pinion head taken again?")
	g.keys("fell off the bench\n")
	g.ready(t, "press 1   ____   <== next")
	if e := b.Snapshot().Job.Entries().List; e[len(e)-1].Text != "fell off the bench" {
		t.Errorf("the last entry is %+v", e[len(e)-1])
	}
	stop()
	run.wait()
}

func do(t *testing.T, b Bench, c bench.Command) {
	t.Helper()
	if _, err := b.Do(t.Context(), c); err != nil {
		t.Fatal(err)
	}
}

// stand is a bench that shows what a test gives it.
type stand struct {
	mu      sync.Mutex
	snap    *bench.Snapshot
	woken   chan struct{}
	did     chan bench.Command
	release chan error
}

func newStand(s *bench.Snapshot) *stand {
	return &stand{snap: s, woken: make(chan struct{}, 1), did: make(chan bench.Command, 100), release: make(chan error)}
}

func (s *stand) Snapshot() *bench.Snapshot {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.snap
}

func (s *stand) Watch() (<-chan struct{}, func()) { return s.woken, func() {} }

func (s *stand) show(snap *bench.Snapshot) {
	s.mu.Lock()
	s.snap = snap
	s.mu.Unlock()
	select {
	case s.woken <- struct{}{}:
	default:
	}
}

func (s *stand) Do(ctx context.Context, c bench.Command) (bench.Reply, error) {
	s.did <- c
	select {
	case err := <-s.release:
		return bench.Reply{Words: "so it is"}, err
	case <-ctx.Done():
		return bench.Reply{}, ctx.Err()
	}
}

func TestLeaveWhileACommandIsOnItsWay(t *testing.T) {
	st := newStand(worked(t, "pinion bearings rolled").snapshot())
	g, run, _ := start(t, st, Options{})
	g.see(t, "PINION BEARINGS ROLLED")
	g.keys("\n")
	if _, ok := (<-st.did).(bench.Confirm); !ok {
		t.Fatal("Enter does not confirm")
	}
	g.see(t, "writing it down")
	g.keys("\n") // a second one is not sent beside it
	g.see(t, "once more in a moment")
	g.keys("qy")
	run.wait()
	select {
	case c := <-st.did:
		t.Errorf("%T was sent too", c)
	default:
	}
}

// While a command is on its way only the newest choice of a step is kept.
func TestChoicesAreKeptToTheNewest(t *testing.T) {
	st := newStand(worked(t, "pinion bearings rolled").snapshot())
	g, run, stop := start(t, st, Options{})
	g.see(t, "PINION BEARINGS ROLLED")
	for range 3 {
		g.key(tcell.KeyDown)
	}
	g.see(t, "CASING DISTANCE")
	st.release <- nil
	if c := <-st.did; c != (bench.ChooseStep{Step: "pinion turning torque"}) {
		t.Errorf("first %+v", c)
	}
	if c := <-st.did; c != (bench.ChooseStep{Step: "casing distance"}) {
		t.Errorf("then %+v", c)
	}
	st.release <- errors.New("no job is open: open one first")
	g.see(t, "No job is open: open one first.", "PINION BEARINGS ROLLED")
	stop()
	run.wait()
}

func TestBeepsCount(t *testing.T) {
	s := worked(t, "pinion face height").pieces("tall post", "S-31", "75.004", "straightedge", "E-02", "12.006")
	st := newStand(s.snapshot())
	beeps := make(chan int, 10)
	g, run, stop := start(t, st, Options{Bell: func(n int) { beeps <- n }})
	g.see(t, "PINION FACE HEIGHT")
	for _, c := range []struct {
		gauge, figure string
		want          int
	}{{"D07", "33.38 mm", 1}, {"D07", "3.38 mm", 3}, {"I03", "0.38 mm", 2}} {
		s.press(c.gauge, c.figure)
		st.show(s.snapshot())
		if got := <-beeps; got != c.want {
			t.Errorf("%s on %s beeps %d times, want %d", c.figure, c.gauge, got, c.want)
		}
	}
	stop()
	run.wait()
	if len(beeps) > 0 {
		t.Errorf("%d beeps too many: the press from before the screen must not beep", len(beeps))
	}
}

func TestPressByKey(t *testing.T) {
	s := worked(t, "wheel run-out")
	pressed := make(chan struct{}, 1)
	g, run, stop := start(t, newStand(s.snapshot()), Options{Press: func() { pressed <- struct{}{} }})
	g.see(t, "p PRESS the gauge")
	g.keys("p")
	<-pressed
	stop()
	run.wait()

	g, run, stop = start(t, newStand(s.snapshot()), Options{})
	if text := g.see(t, "WHEEL RUN-OUT", "q leave"); strings.Contains(text, "PRESS the gauge") {
		t.Errorf("p is shown, and nothing is behind it:\n%s", text)
	}
	stop()
	run.wait()
}

func TestResize(t *testing.T) {
	g, run, stop := start(t, newStand(worked(t, "backlash").snapshot()), Options{})
	g.see(t, "BACKLASH", "q leave")
	g.resize(60, 20)
	g.see(t, "Make it larger")
	g.keys("\nxw") // nothing but q does anything there
	g.resize(61, 20)
	g.see(t, "This window has 61 columns") // so that the keys are through before it is large again
	g.resize(132, 43)
	g.see(t, "> ... backlash", "PRESS the dial indicator at 0 deg")
	g.resize(40, 10)
	g.see(t, "This window has 40 columns and 10 lines. Make it larger", "Presses are still taken. q leaves.")
	g.keys("q")
	run.wait()
	stop()
}

func TestTheContextEndsTheScreen(t *testing.T) {
	_, run, stop := start(t, newStand(nil), Options{})
	stop()
	run.wait()
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	g := newGlass(80, 24)
	if err := Run(ctx, newStand(nil), Options{Screen: g}); err != nil {
		t.Error(err)
	}
}

func TestCtrlCLeaves(t *testing.T) {
	g, run, _ := start(t, newStand(newScene(t).snapshot()), Options{})
	g.see(t, "PINION PAIR NUMBER")
	g.key(tcell.KeyCtrlC)
	run.wait()
}

// Without colour no cell has one, and the bar and a stop are still told.
func TestNoColor(t *testing.T) {
	for _, noColor := range []bool{true, false} {
		s := worked(t, "pinion pack").mark("casing distance", "+299").goTo("pinion pack")
		g, run, stop := start(t, newStand(s.snapshot()), Options{NoColor: noColor})
		g.see(t, "[X] STOPPED", "STOP here")
		g.mu.Lock()
		colours, turned := 0, 0
		for _, st := range g.styles {
			fg, bg, attr := st.Decompose()
			if fg != tcell.ColorDefault || bg != tcell.ColorDefault {
				colours++
			}
			if attr&tcell.AttrReverse != 0 {
				turned++
			}
		}
		g.mu.Unlock()
		if (colours == 0) != noColor {
			t.Errorf("no colour %v: %d cells have one", noColor, colours)
		}
		if turned < 80 {
			t.Errorf("no colour %v: only %d cells are turned round", noColor, turned)
		}
		stop()
		run.wait()
	}
}

// Names and gauges' text of every sort are shown as they are or made visible,
// and no cell of them leaves its region.
func TestHostileText(t *testing.T) {
	text, err := os.ReadFile(sheetFile)
	if err != nil {
		t.Fatal(err)
	}
	for name, bad := range map[string]string{
		"tag":       `[red]x[-:-:-]["region"]y[""]`,
		"escape":    "\x1b[2J\x1b]0;title\a\r\n\t",
		"wide":      strings.Repeat("歯車", 150),
		"combining": strings.Repeat("e\u0301\u0302\u0303\u0304\u0305", 60),
		"joined":    strings.Repeat("👩\u200d🔧\U0001F3FD\U0001F1E9\U0001F1EA", 40),
		"turned":    "\u202eabc\u2066\u200f\u200b\ufeff",
		"long":      strings.Repeat("W", 300),
		"no text":   "\xff\xfe\x80",
	} {
		t.Run(name, func(t *testing.T) {
			s := sceneOf(t, string(text), bad)
			s.gauges[0].ID, s.gauges[0].State = bad, "gone"
			s.gauges[2].Words = bad
			s.goTo("pinion face height").pieces("tall post", bad, "75.004", "straightedge", "E-02", "12.006")
			s.press(bad, "33.38 mm")
			s.answer("pinion pair number", bad).goTo("pinion face height")
			snap := s.snapshot()
			snap.Bench, snap.Trouble = bad, bad
			for _, size := range [][2]int{{80, 24}, {100, 30}, {132, 43}} {
				v := &view{snap: snap, width: size[0], height: size[1], now: s.now, note: note{text: bad, bad: true}}
				shown := drawing(t, v)
				if strings.ContainsAny(shown, "\x1b\a\u202e\u200b") {
					t.Errorf("shown as sent: %q", shown)
				}
				v.form = &form{fields: []field{{ask: bad, typed: bad}}, problem: bad}
				drawing(t, v)
				v.form, v.page = nil, whyPage(v)
				drawing(t, v)
				v.page = &page{steps: true, title: bad}
				drawing(t, v)
			}
			st := newStand(snap)
			g, run, stop := start(t, st, Options{})
			got := g.see(t, "PINION FACE HEIGHT", ">>>")
			if name == "tag" && !strings.Contains(got, "[red]x[-:-:-]") {
				t.Errorf("the tag was taken for one:\n%s", got)
			}
			if name == "escape" && !strings.Contains(got, `\x1b[2J`) || strings.Contains(got, "\x1b") {
				t.Errorf("the escape is not written out:\n%s", got)
			}
			stop()
			run.wait()
		})
	}
}

// The screen as lines is worked like the screen.
func TestPlainLines(t *testing.T) {
	b := realBench(t)
	in, typed := io.Pipe()
	out := &writtenLines{heard: make(chan struct{}, 1)}
	ended := make(chan error, 1)
	ctx, stop := context.WithCancel(t.Context())
	defer stop()
	go func() { ended <- Plain(ctx, b, in, out, Options{Sheets: []Choice{{"fw3", "Harrow"}}}) }()
	say := func(s string) {
		if _, err := io.WriteString(typed, s+"\n"); err != nil {
			t.Fatal(err)
		}
	}
	out.await(t, "Press o to open a job.")
	say("o")
	out.await(t, "Which setting sheet?")
	say("1")
	out.await(t, "The drive's serial number:")
	say("T-1")
	out.await(t, "PINION PAIR NUMBER")
	say("")
	out.await(t, "Pinion pair number:")
	say("P-1")
	out.await(t, "WHEEL PAIR NUMBER")
	say("10")
	out.await(t, "PINION FACE HEIGHT", "The setup: up tall post, up straightedge, down the reading.")
	say("w")
	out.await(t, "--- why: pinion face height")
	say("m")
	out.await(t, "What is to be said? t temperatures")
	say("t")
	out.await(t, "How warm is the part, in °C")
	say("26.0 +- 0.5")
	out.await(t, "How warm are the standards")
	say("21.0")
	out.await(t, "How warm is the gauge")
	say("")
	out.await(t, "The part is at 26.0 °C ± 0.5 °C, the standards at 21.0 °C.")
	say("h")
	out.await(t, "What is put on hold?")
	say("1")
	out.await(t, "Why? 1 parts are waited for") // the figure chose; no Enter went to the next question
	say("1")
	out.await(t, "is on hold: parts are waited for")
	say("?")
	out.await(t, "m t", "m c", "how warm the part, the standards and the gauge are")
	say("q")
	out.await(t, "Leave the screen?")
	say("y")
	if err := <-ended; err != nil {
		t.Fatal(err)
	}
	if err := errors.Join(in.Close(), typed.Close()); err != nil {
		t.Fatal(err)
	}
}

// Lines that come all at once, as from a file, are answered one after the other.
func TestPlainLinesAtOnce(t *testing.T) {
	b := realBench(t)
	out := &writtenLines{heard: make(chan struct{}, 1)}
	in := strings.NewReader("o\n1\nT-1\n\nP-1\n\nP-2\n")
	if err := Plain(t.Context(), b, in, out, Options{Sheets: []Choice{{"fw3", "Harrow"}}}); err != nil {
		t.Fatal(err)
	}
	if s := b.Snapshot(); s.Job == nil || s.Step == nil || s.Step.Step.Name != "pinion bearings" {
		t.Errorf("the lines did not get as far as the third step:\n%s", out.text)
	}
}

// writtenLines is what was written, to be waited for.
type writtenLines struct {
	mu    sync.Mutex
	text  string
	heard chan struct{}
}

func (l *writtenLines) Write(p []byte) (int, error) {
	l.mu.Lock()
	l.text += string(p)
	l.mu.Unlock()
	select {
	case l.heard <- struct{}{}:
	default:
	}
	return len(p), nil
}

// await waits until all the words were written, and forgets what was.
func (l *writtenLines) await(t *testing.T, words ...string) {
	t.Helper()
	late := time.NewTimer(patience)
	defer late.Stop()
	for {
		l.mu.Lock()
		all := true
		for _, w := range words {
			all = all && strings.Contains(l.text, w)
		}
		if all {
			l.text = ""
		}
		text := l.text
		l.mu.Unlock()
		if all {
			return
		}
		select {
		case <-l.heard:
		case <-late.C:
			t.Fatalf("waited for %q; written was\n%s", words, text)
		}
	}
}
