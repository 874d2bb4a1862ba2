package fitter

import (
	"context"
	"slices"
	"sync"
	"time"

	"github.com/gdamore/tcell/v2"
	"github.com/rivo/tview"

	"shimwright/calc/quantity"
	"shimwright/ingest/bench"
	"shimwright/ingest/fact"
	"shimwright/ui/draw"
	"shimwright/ui/term"
)

// A Bench is what the screen shows and commands: a running bench.
type Bench interface {
	Snapshot() *bench.Snapshot
	Watch() (woken <-chan struct{}, stop func())
	Do(context.Context, bench.Command) (bench.Reply, error)
}

// Options are what the screen is given.
type Options struct {
	Screen  tcell.Screen     // nil: the terminal
	Bell    func(n int)      // beeps n times; nil for none. It may take its time
	NoColor bool             // weight, words and shapes alone
	Now     func() time.Time // for ages; nil: time.Now
	Press   func()           // presses the gauge that the step wants, on key p; nil for none
	ASCII   bool             // plain characters alone
	Comma   bool             // figures with a decimal comma
	Unit    quantity.Unit    // that lengths are shown in; Bare is the sheet's
	Sheets  []Choice         // what a job may be opened by
	Leaving string           // what leaving does to the job; "" says that nothing is lost
	// Shop, which may be nil, says how shipping facts to a shop stands.
	Shop func(now time.Time) Shop
}

// Shop is how shipping facts to a shop stands, in words; the zero one is that
// there is none.
type Shop struct {
	Words string
	Look  bool // a person must see to it
}

// A Choice is one of several, by what the bench calls it and in words.
type Choice struct{ ID, Words string }

// The pace of drawing: at most 60 times a second, and once a second for ages.
const (
	pace = time.Second / 60
	tick = time.Second
)

// rings is how many presses' beeps may wait; more are left out.
const rings = 8

// ui is the screen. Its view is touched on the screen's goroutine only.
type ui struct {
	view  view
	drawn []line          // the frame as it was last drawn
	taken *bench.Snapshot // the bench's, as it was last taken in
	bench Bench
	opts  Options
	ctx   context.Context // of the run: commands end with it
	leave context.CancelFunc

	answers chan func() // what came of a command, to be taken in on the screen's goroutine
	bells   chan int
	// pressing is full while a press by key p is on its way.
	pressing chan struct{}
	running  sync.WaitGroup
	rung     int64  // the last press that was beeped for
	wanted   string // the step to choose once the command on its way is answered
}

// Run shows the screen until the person leaves it or ctx is done. A command on
// its way is waited for, so that none is left half told. The error is the
// terminal's.
func Run(ctx context.Context, b Bench, opts Options) error {
	ctx, leave := context.WithCancel(ctx)
	defer leave()
	u := newUI(ctx, leave, b, opts)
	u.begin()
	started, ended := make(chan struct{}), make(chan struct{})
	app := u.app(started)
	u.running.Go(u.ring)
	u.running.Go(func() {
		select {
		case <-started:
			u.watch(app, ended)
			app.Stop()
		case <-ended:
		}
	})
	err := app.Run()
	close(ended)
	leave()
	u.running.Wait()
	return err
}

func newUI(ctx context.Context, leave context.CancelFunc, b Bench, opts Options) *ui {
	if opts.Now == nil {
		opts.Now = time.Now
	}
	return &ui{bench: b, opts: opts, ctx: ctx, leave: leave, answers: make(chan func(), 1), bells: make(chan int, rings), pressing: make(chan struct{}, 1)}
}

// setUp gives the view what the options say.
func (u *ui) setUp() {
	v := &u.view
	v.byHand, v.ascii, v.comma, v.unit = u.opts.Press != nil, u.opts.ASCII, u.opts.Comma, u.opts.Unit
	v.sheets, v.leavingWords = u.opts.Sheets, u.opts.Leaving
	v.width, v.height = leastWidth, leastHeight
}

func (u *ui) begin() {
	u.setUp()
	if s := u.bench.Snapshot(); s != nil && s.Last != nil {
		u.rung = s.Last.Seq
	}
	u.refresh()
}

// app makes the application; started is closed at its first drawing.
func (u *ui) app(started chan struct{}) *tview.Application {
	var once sync.Once
	c := &term.Canvas{
		NoColor: u.opts.NoColor, Far: true,
		Frame: func(width, height int) []draw.Row {
			u.view.width, u.view.height = width, height
			u.drawn = frame(&u.view)
			return rows(u.drawn)
		},
		Key:   u.key,
		Paste: u.paste,
		Drawn: func() { once.Do(func() { close(started) }) },
	}
	app := tview.NewApplication().SetScreen(u.opts.Screen).EnablePaste(true).SetRoot(c, true)
	app.SetInputCapture(func(e *tcell.EventKey) *tcell.EventKey {
		if e.Key() == tcell.KeyCtrlC {
			u.leave()
			return nil
		}
		return e
	})
	return app
}

// watch waits for snapshots, answers and the tick, and draws, until the run is
// over. It has ended before the application is stopped, because a drawing
// queued after that would wait for ever.
func (u *ui) watch(app *tview.Application, ended <-chan struct{}) {
	woken, stop := u.bench.Watch()
	defer stop()
	ages := time.NewTicker(tick)
	defer ages.Stop()
	take := u.refresh // once at the beginning: the bench may have moved on
	for {
		u.draw(app, take, ended)
		if !u.wait(u.pause()) {
			return
		}
		select {
		case <-u.ctx.Done():
			return
		case <-woken:
			take = u.takeAll
		case <-ages.C:
			take = u.refresh
		case answer := <-u.answers:
			take = func() { u.refresh(); answer() }
		}
	}
}

func (u *ui) pause() *time.Timer { return time.NewTimer(pace) }

func (u *ui) wait(t *time.Timer) bool {
	defer t.Stop()
	select {
	case <-t.C:
		return true
	case <-u.ctx.Done():
		return false
	}
}

// draw has the screen's goroutine take something in, and draw where that
// changes a line: a drawing sends every cell to the terminal. It gives up only
// where the screen ended by itself.
func (u *ui) draw(app *tview.Application, take func(), ended <-chan struct{}) {
	done := make(chan struct{})
	go func() {
		app.QueueUpdate(func() {
			take()
			if !slices.EqualFunc(u.drawn, frame(&u.view), slices.Equal[line]) {
				app.ForceDraw()
			}
		})
		close(done)
	}()
	select {
	case <-done:
	case <-ended:
	}
}

// takeAll takes in the newest snapshot together with an answer that is there,
// so that a form does not outlast the step it answered.
func (u *ui) takeAll() {
	u.refresh()
	select {
	case answer := <-u.answers:
		answer()
	default:
	}
}

// refresh takes the newest snapshot in. A new press beeps.
func (u *ui) refresh() {
	v := &u.view
	was := v.snap
	u.takeIn()
	if !v.busy && v.snap != was || v.snap != nil && v.snap.Step != nil && v.snap.Step.Step.Name == v.choosing {
		v.choosing = "" // the bench is there, or has gone on since
	}
	if v.snap != nil && v.snap.Job == nil && was != nil && was.Job != nil {
		v.over, v.page = was.Job, nil
	}
	if v.snap == nil || v.snap.Last == nil || v.snap.Last.Seq <= u.rung {
		return
	}
	u.rung, v.saidAt = v.snap.Last.Seq, v.now
	v.striking = 0
	if v.form == nil {
		v.note = note{}
	}
	select {
	case u.bells <- beeps(v.snap.Last.Press.Outcome):
	default:
	}
}

// takeIn shows the bench's newest snapshot.
func (u *ui) takeIn() {
	u.view.now = u.opts.Now()
	if u.opts.Shop != nil {
		u.view.shop = u.opts.Shop(u.view.now)
	}
	if s := u.bench.Snapshot(); s != u.taken || s == nil {
		u.taken = s
		u.view.take(s)
	}
}

// beeps count: a noisy shop hears how many, not how high.
func beeps(o fact.Outcome) int {
	switch o {
	case fact.Taken:
		return 1
	case fact.Aside:
		return 2
	}
	return 3
}

// ring beeps beside the screen, because a bell may take its time.
func (u *ui) ring() {
	for {
		select {
		case <-u.ctx.Done():
			return
		case n := <-u.bells:
			if u.opts.Bell != nil {
				u.opts.Bell(n)
			}
		}
	}
}

// send has the bench carry out a command beside the screen, one at a time; it
// tells whether it did. The form it came from stays until the bench has taken
// it.
func (u *ui) send(c bench.Command, from *form) bool { return u.send2(nil, c, from) }

// send2 sends a command after another one, which may be nil; the second is
// left out where the first is refused.
func (u *ui) send2(first, c bench.Command, from *form) bool {
	v := &u.view
	if v.busy {
		v.note = note{text: "The bench is still writing down the last one: once more in a moment.", bad: true}
		if from != nil {
			from.problem = "the bench is still writing down the last one: Enter once more"
		}
		return false
	}
	v.busy, v.note = true, note{}
	u.running.Go(func() {
		var reply bench.Reply
		var err error
		if first != nil {
			_, err = u.bench.Do(u.ctx, first)
		}
		if err == nil {
			reply, err = u.bench.Do(u.ctx, c)
		}
		if _, press := c.(bench.Keyed); press {
			reply.Words = "" // the last press says it
		}
		select {
		case u.answers <- func() { u.answered(reply, err, from) }:
		case <-u.ctx.Done():
		}
	})
	return true
}

// answered takes in what came of a command.
func (u *ui) answered(r bench.Reply, err error, from *form) {
	v := &u.view
	v.busy = false
	switch {
	case err != nil && from != nil && v.form == from:
		from.failed(err)
	case err != nil:
		v.note, v.choosing = note{text: capital(err.Error()) + ".", bad: true}, ""
	default:
		if v.choosing == "" {
			v.note = note{text: r.Words}
		}
		if from != nil && v.form == from {
			v.form = nil
		}
	}
	if step := u.wanted; step != "" {
		u.choose(step)
	}
}

// choose makes a step the one that waits; while a command is on its way only
// the newest choice is kept.
func (u *ui) choose(step string) {
	if u.view.busy {
		u.wanted = step
		return
	}
	u.wanted = ""
	u.send(bench.ChooseStep{Step: step}, nil)
}

// press presses the gauge, beside the screen.
func (u *ui) press() {
	select {
	case u.pressing <- struct{}{}:
	default:
		return // one is on its way
	}
	u.running.Go(func() {
		u.opts.Press()
		<-u.pressing
	})
}

// paste types pasted text into the form; anywhere else it is left out.
func (u *ui) paste(s string) {
	if u.view.form == nil || u.view.form.sent {
		return
	}
	for _, r := range s {
		if u.view.form.asking == "" && r != '\n' {
			u.view.form.key(tcell.NewEventKey(tcell.KeyRune, r, tcell.ModNone))
		}
	}
}
