package fitter

import (
	"bufio"
	"context"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"github.com/gdamore/tcell/v2"

	"shimwright/calc/overhaul"
	"shimwright/ingest/bench"
)

// The page that plain lines are set on: as wide as reads well, and high enough
// for all there is to say.
const (
	plainWide = 100
	plainHigh = 1000
)

// Tell writes what the screen shows of a bench as plain lines: the same words,
// without layout, for those who hear it and for logs. The error is the writer's.
func Tell(w io.Writer, s *bench.Snapshot, opts Options) error {
	u := &ui{opts: opts}
	u.setUp()
	u.view.take(s)
	if opts.Now != nil {
		u.view.now = opts.Now()
	}
	for _, l := range told(&u.view) {
		if _, err := fmt.Fprintln(w, l); err != nil {
			return err
		}
	}
	return nil
}

// Plain runs the screen's work as lines: what is new is written as it comes, and
// a line read is a key, or while something is asked the answer. An empty line is
// Enter; "strike" strikes the last press, a number goes to that step, up and
// down to the step before and after. It ends when in ends, on q and y, and when
// ctx is done.
func Plain(ctx context.Context, b Bench, in io.Reader, out io.Writer, opts Options) error {
	ctx, leave := context.WithCancel(ctx)
	defer leave()
	u := newUI(ctx, leave, b, opts)
	u.begin()
	u.running.Go(u.ring)
	defer u.running.Wait()
	defer leave()
	typed := make(chan string)
	go func() {
		defer close(typed)
		lines := bufio.NewScanner(in)
		for lines.Scan() {
			select {
			case typed <- lines.Text():
			case <-ctx.Done():
				return
			}
		}
	}()
	woken, stop := b.Watch()
	defer stop()
	p := &plainOut{ui: u, out: out}
	for p.tell(); p.err == nil && ctx.Err() == nil; p.tell() {
		next := typed
		if u.view.busy {
			next = nil // a line waits until what the one before it asked for is written down
		}
		select {
		case <-ctx.Done():
		case <-woken:
			u.takeAll()
		case answer := <-u.answers:
			u.refresh()
			answer()
		case l, ok := <-next:
			if !ok {
				return p.err
			}
			u.refresh()
			p.take(l)
		}
	}
	return p.err
}

// plainOut writes what is new.
type plainOut struct {
	ui   *ui
	out  io.Writer
	last []string
	err  error
}

func (p *plainOut) line(s string) {
	if p.err == nil {
		_, p.err = fmt.Fprintln(p.out, s)
	}
}

// tell writes the lines that were not there before.
func (p *plainOut) tell() {
	v := &p.ui.view
	if v.page != nil {
		pages := stepLines
		if !v.page.steps {
			pages = func(v *view, width, room int) []line { return v.page.lines(v, width, room) }
		}
		p.line("--- " + v.page.title)
		for _, l := range pages(v, plainWide, plainHigh) {
			p.line(strings.TrimRight(v.written(l), " "))
		}
		p.line("---")
		v.page = nil
	}
	now := told(v)
	for _, l := range now {
		if !slices.Contains(p.last, l) {
			p.line(l)
		}
	}
	p.last = now
}

// take is one line read: keys, or an answer.
func (p *plainOut) take(l string) {
	u := p.ui
	v := &u.view
	p.last = nil // what was asked for is told again
	key := func(k tcell.Key, r rune) { u.key(tcell.NewEventKey(k, r, tcell.ModNone)) }
	if f := v.form; f != nil {
		at := f.at
		for _, r := range l {
			key(tcell.KeyRune, r)
		}
		// A figure or a letter may have chosen and gone on by itself.
		if v.form == f && f.at == at && !f.sent && f.asking == "" || l == "" {
			key(tcell.KeyEnter, 0)
		}
		return
	}
	n, err := strconv.Atoi(strings.TrimSpace(l))
	switch {
	case l == "":
		key(tcell.KeyEnter, 0)
	case l == "up":
		key(tcell.KeyUp, 0)
	case l == "down":
		key(tcell.KeyDown, 0)
	case l == "strike":
		key(tcell.KeyBackspace, 0)
		key(tcell.KeyBackspace, 0)
	case err == nil && hasJob(v) && n >= 1 && n <= len(v.snap.Results.Steps):
		u.goTo(v.snap.Results.Steps[n-1])
	case len([]rune(l)) == 1:
		key(tcell.KeyRune, []rune(l)[0])
	default:
		v.note = note{text: "write one key, the number of a step, up, down or strike; ? tells the keys", bad: true}
	}
}

// written is a line's text as it is shown.
func (v *view) written(l line) string {
	s := visible(l.text())
	if v.comma {
		s = withCommas(s)
	}
	return s
}

// told are the lines that tell a view.
func told(view *view) []string {
	v := *view
	v.width, v.height, v.ascii = plainWide, plainHigh, true
	var out []string
	add := func(of ...line) {
		for _, l := range of {
			if s := strings.TrimRight(v.written(l), " "); s != "" {
				out = append(out, s)
			}
		}
	}
	switch {
	case v.snap == nil:
		return []string{"The bench is starting."}
	case v.form != nil:
		add(formLines(&v, plainHigh)...)
		add(say(">>> " + v.form.question()))
		add(v.form.lines(plainWide)...)
		return out
	case v.snap.Job == nil:
		add(say(v.snap.Bench))
		add(idleLines(&v)...)
	default:
		head := headLines(&v)
		add(head[:len(head)-1]...)
		add(stepTold(&v, v.shown())...)
	}
	add(gaugeLines(&v)...)
	if v.shop.Words != "" {
		add(say(v.shop.Words))
	}
	add(answerLines(&v)...)
	if called := v.calledWords(); called != "" {
		add(say("m says more: " + called))
	}
	add(say(">>> " + next(&v)))
	return out
}

// stepTold are a step's lines: where it is, what is in, what came of it.
func stepTold(v *view, r *overhaul.Result) []line {
	if r == nil {
		return append(append(troubleLines(v), say("Every step is done.")), append(standingLines(v), passedLines(v)...)...)
	}
	out := stepHead(v, r)
	if m := r.Step.Measure; m != nil && m.Setup.Name != "direct" {
		out = append(out, say("The setup: "+m.Setup.Words()+"."))
	}
	out = append(out, urgentLines(v, r)...)
	if p, stray, ok := v.shownPress(r); ok {
		out = append(out, outcomeLines(v, p)...)
		out = append(out, strayLines(v, stray)...)
	}
	if _, isRing := v.ring(r); !isRing && r.Check != nil && r.Check.Words != "" {
		out = append(out, hanging(verdictSpan(r.Check.Verdict), capital(r.Check.Words)+".", v.width, plainHigh)...)
	}
	switch _, isRing := v.ring(r); {
	case isRing:
		out = append(append(append(out, ringSide(v, r, v.width)...), lowLine(v, r)...), ringBelow(v, r, v.width)...)
		return append(out, cautionLines(v, r, plainHigh)...)
	case r.Pack != nil:
		out = append(out, packSide(v, r)...)
		if r.Left > 0 || len(r.Presses) > 0 {
			out = append(out, slotLines(v, r, r.Step.Pack.Agree)...)
		}
	case len(r.Step.Slots()) > 0:
		out = append(out, repeatLines(v, r)...)
	}
	out = append(out, restLines(v, r, 0)...)
	return append(out, cautionLines(v, r, plainHigh)...)
}
