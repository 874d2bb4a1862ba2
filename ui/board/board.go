package board

import (
	"context"
	"fmt"
	"slices"
	"sync"
	"time"

	"github.com/gdamore/tcell/v2"
	"github.com/rivo/tview"

	"shimwright/ingest/store"
	"shimwright/ui/draw"
	"shimwright/ui/term"
)

// Options are what the board is given.
type Options struct {
	Screen  tcell.Screen     // nil: the terminal
	NoColor bool             // weight, words and shapes alone
	Now     func() time.Time // nil: time.Now
	Query   Query            // what is shown first
	Names   bool             // of persons, from the beginning
	// Tick, which may be nil, asks whether the source grew; nil is once a second.
	Tick <-chan time.Time
}

// The pace of drawing, and how often the source is asked whether it grew.
const (
	pace = time.Second / 60
	tick = time.Second
)

// ui is the screen. Its view is touched on the screen's goroutine only.
type ui struct {
	view  view
	drawn []draw.Row // the frame as it was last drawn
	src   Source
	opts  Options
	ctx   context.Context // of the run
	leave context.CancelFunc
	pages []*store.Job // where the newer pages begin

	wanted     chan asked  // the newest question alone
	answers    chan func() // what was read, to be taken in on the screen's goroutine
	running    sync.WaitGroup
	stop       context.CancelFunc // of the long reading a person asked for; nil for none
	refreshing bool               // the job that is looked at is being read anew
	behind     bool               // its pages may lack something
	reads      int                // tells an answer that is still waited for from an older one
}

// asked is what the reader is to read.
type asked struct {
	query Query
	tick  bool // nobody asked: it is a second later
}

// Run shows the board until the person leaves it or ctx is done. The error is
// the terminal's; what cannot be read is said on the board.
func Run(ctx context.Context, src Source, opts Options) error {
	if opts.Now == nil {
		opts.Now = time.Now
	}
	ctx, leave := context.WithCancel(ctx)
	defer leave()
	u := &ui{src: src, opts: opts, ctx: ctx, leave: leave, wanted: make(chan asked, 1), answers: make(chan func(), 1)}
	u.view.query, u.view.now, u.view.names = opts.Query, opts.Now(), opts.Names
	started, ended := make(chan struct{}), make(chan struct{})
	app := u.app(started)
	u.ask()
	u.running.Go(u.read)
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

// app makes the application; started is closed at its first drawing.
func (u *ui) app(started chan struct{}) *tview.Application {
	var once sync.Once
	c := &term.Canvas{
		NoColor: u.opts.NoColor,
		Frame: func(width, height int) []draw.Row {
			u.view.width, u.view.height = width, height
			u.drawn = frame(&u.view)
			return u.drawn
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

// watch takes in what was read and draws it, until the run is over. It has ended
// before the application is stopped, because a drawing queued after that would
// wait for ever.
func (u *ui) watch(app *tview.Application, ended <-chan struct{}) {
	ages := time.NewTicker(tick)
	defer ages.Stop()
	pause := time.NewTimer(0)
	defer pause.Stop()
	for {
		take := func() {}
		select {
		case <-u.ctx.Done():
			return
		case <-ages.C:
			take = u.catchUp
		case take = <-u.answers:
		}
		u.draw(app, func() { u.view.now = u.opts.Now(); take() }, ended)
		pause.Reset(pace)
		select {
		case <-pause.C:
		case <-u.ctx.Done():
			return
		}
	}
}

// draw has the screen's goroutine take something in, and draw where that changes
// a row. It gives up only where the screen ended by itself.
func (u *ui) draw(app *tview.Application, take func(), ended <-chan struct{}) {
	done := make(chan struct{})
	go func() {
		app.QueueUpdate(func() {
			take()
			if !slices.EqualFunc(u.drawn, frame(&u.view), slices.Equal[draw.Row]) {
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

// tell hands something to the screen's goroutine.
func (u *ui) tell(ctx context.Context, take func()) {
	select {
	case u.answers <- take:
	case <-ctx.Done():
	}
}

// ask has the reader read what is wanted now; an older question is forgotten.
func (u *ui) ask() {
	a := asked{query: u.view.query}
	select {
	case <-u.wanted:
	default:
	}
	u.wanted <- a // only the screen's goroutine fills it, so there is room
}

// read answers questions and asks again at each tick, until the run is over. A
// new question stops the reading for an older one.
func (u *ui) read() {
	r := &reader{u: u, loader: NewLoader(u.src, u.opts.Now), folder: NewFolder(u.src)}
	ticks := u.opts.Tick
	if ticks == nil {
		t := time.NewTicker(tick)
		defer t.Stop()
		ticks = t.C
	}
	for {
		select {
		case <-u.ctx.Done():
			return
		case r.asked = <-u.wanted:
		case <-ticks:
			r.asked.tick = true
		}
		r.once()
	}
}

// reader is the goroutine that reads models.
type reader struct {
	u      *ui
	loader *Loader
	folder *Folder
	asked  asked
	shown  *Model
	said   bool // trouble is on the screen
	missed bool // the screen may not have got the news of a model before
}

// once reads the board once, and again where another question came meanwhile.
func (r *reader) once() {
	for {
		ctx, stop := context.WithCancel(r.u.ctx)
		newer := make(chan asked, 1)
		over := make(chan struct{})
		go func() {
			defer close(over)
			select {
			case a := <-r.u.wanted:
				newer <- a
				stop()
			case <-ctx.Done():
			}
		}()
		r.model(ctx)
		stop()
		<-over
		select {
		case r.asked = <-newer:
		default:
			return
		}
	}
}

// model reads a model, shows it, then works the closure errors for it.
func (r *reader) model(ctx context.Context) {
	u := r.u
	m, err := r.loader.Load(ctx, r.asked.query, func(what string, done, total int) {
		select { // a busy screen leaves some out
		case u.answers <- func() { u.view.progress = progressWords(what, done, total) }:
		default:
		}
	})
	switch {
	case ctx.Err() != nil:
		r.missed = true
		return
	case err != nil:
		r.said = true
		u.tell(ctx, func() { u.view.progress, u.view.trouble = "", err.Error() })
		return
	}
	if m == r.shown && !r.said && r.asked.tick {
		return
	}
	missed := r.missed
	r.shown, r.said, r.missed = m, false, true
	var series *Series
	done := make(chan struct{})
	u.tell(ctx, func() {
		defer close(done)
		u.view.progress = ""
		u.view.take(m)
		u.refresh(m, missed)
		series = u.view.series()
	})
	select {
	case <-done:
		r.missed = false
	case <-ctx.Done():
		return
	}
	if series == nil {
		return
	}
	c, err := r.folder.Closures(ctx, m, series, nil)
	if err == nil {
		u.tell(ctx, func() { u.view.closures = c })
	}
}

// progressWords say how far a long reading is.
func progressWords(what string, done, total int) string {
	if total == 0 {
		return fmt.Sprintf("%s: %d …", what, done)
	}
	return fmt.Sprintf("%s: %d of %d …", what, done, total)
}

// long reads something beside the screen that a person may stop; what it gives is
// taken in on the screen's goroutine.
func (u *ui) long(what string, do func(context.Context) (take func(), err error)) {
	u.back0()
	ctx, stop := context.WithCancel(u.ctx)
	u.stop = stop
	u.reads++
	mine := u.reads
	u.view.progress, u.view.trouble = what+" …", ""
	u.running.Go(func() {
		defer stop()
		take, err := do(ctx)
		u.tell(u.ctx, func() {
			if u.reads != mine || u.stop == nil {
				return // it was stopped
			}
			u.stop, u.view.progress = nil, ""
			if err != nil {
				u.view.trouble = err.Error()
				return
			}
			take()
		})
	})
}

// back0 stops the long reading under way; false where there is none.
func (u *ui) back0() bool {
	if u.stop == nil {
		return false
	}
	u.stop()
	u.stop, u.view.progress = nil, ""
	return true
}

// openJob reads one job and shows its page, and that of a step where one is named.
func (u *ui) openJob(of store.Job, step string) {
	if r := u.view.rowOf(of); r != nil {
		of = r.Job
	}
	zone := u.view.now.Location()
	u.long("reading job "+of.ID, func(ctx context.Context) (func(), error) {
		f, err := u.fold(ctx, of, zone)
		if err != nil {
			return nil, err
		}
		return func() {
			u.push(jobListing(f, u.view.names))
			if f.res == nil || step == "" {
				return
			}
			if r := f.res.Of(step); r != nil {
				u.push(stepListing(f, r, u.view.names, u.view.width))
			}
		}, nil
	})
}

// fold reads one job for its pages.
func (u *ui) fold(ctx context.Context, of store.Job, zone *time.Location) (folded, error) {
	j, err := u.src.Job(ctx, of)
	if err != nil {
		return folded{}, err
	}
	m := Model{Shop: u.src.Shop()}
	f := folded{of: of, called: m.called(of.Bench, of.ID), job: j, zone: zone}
	f.res, f.err = j.Work()
	return f, nil
}

// trace reads the whole journal for the jobs that used a gauge or a piece.
func (u *ui) trace(name string) {
	u.traced(name, Quarter, func(l *listing) { u.push(l) })
}

func (u *ui) traced(name string, p Period, show func(*listing)) {
	now := u.opts.Now()
	u.long("reading all facts for "+name, func(ctx context.Context) (func(), error) {
		t, err := u.src.Used(ctx, name, p.from(now), now.Add(time.Second))
		if err != nil {
			return nil, err
		}
		return func() {
			l := traceListing(name, p, t, now.Location(), u.view.model, u.view.rowOf)
			l.of, l.period = name, p
			show(l)
		}, nil
	})
}

// nextDays traces the same over other days.
func (u *ui) nextDays() {
	l := u.view.top()
	u.traced(l.of, (l.period+1)%periods, func(l *listing) {
		if n := len(u.view.stack); n > 0 {
			u.view.stack[n-1] = l
		}
	})
}
