package fitter

import (
	"fmt"

	"shimwright/calc/overhaul"
	"shimwright/calc/quantity"
	"shimwright/calc/sheet"
	"shimwright/ingest/bench"
)

// goOn is what Enter does: confirm, or open the form that the step wants.
func (u *ui) goOn() {
	v := &u.view
	v.note = note{}
	r := v.shown()
	switch {
	case v.snap.Job == nil:
		v.form = openForm(v)
	case r == nil:
		v.note = note{text: "Every step is done."}
	case v.settled(r):
		if on := v.nextOpen(r); on != nil {
			u.goTo(on)
		}
	case v.packAsked() != "" && !u.lacksPiece(r):
		v.note = note{text: "Say whether the " + v.packAsked() + " is in: y or n.", bad: true}
	case u.lacksPiece(r):
		v.form = pieceForm(v, r)
	case r.Left == 0 && wantsSeal(v):
		v.form = sealForm(v)
	case waitsForWarmth(r) && wantsWarmth(v):
		v.form = warmthForm(v)
	case r.Step.Kind == sheet.KindConfirm:
		u.send(bench.Confirm{Step: r.Step.Name}, nil)
	case r.Status == overhaul.Stopped && r.Step.Kind == sheet.KindPack:
		v.note = note{text: "STOP: this pack is not to be fitted.", bad: true}
	case r.Step.Kind == sheet.KindPack && r.Pack.Worked == nil && r.Step.Pack.Makes != "":
		v.note = note{text: capital(r.Wants) + ".", bad: true}
	case r.Step.Kind == sheet.KindPack:
		u.fitOn(r)
	default:
		v.form = entryForm(v, r)
		if isTyped(v) {
			v.form = anewForm(v, r)
		}
		if v.form == nil {
			v.note = note{text: "this step goes on by a press of the gauge."}
		}
	}
}

// fitOn fits a pack: at once where its presses say all that is to be said.
func (u *ui) fitOn(r *overhaul.Result) {
	v := &u.view
	switch p := r.Step.Pack; {
	case p.Presses > 0 && r.Left > 0:
		v.note = note{text: "measure the pack first: press the " + r.Step.Gauge + " over it. f types it in."}
	case p.Presses > 0 && p.Stock == "" && len(r.Presses) > 0:
		u.send(bench.Fit{Step: r.Step.Name}, nil)
	default:
		v.form = fitForm(v, r)
	}
}

func (u *ui) lacksPiece(r *overhaul.Result) bool {
	_, missing := u.view.snap.Job.InUse(r.Step)
	return missing != ""
}

// other chooses the step before or after the one shown.
func (u *ui) other(by int) {
	v := &u.view
	if v.snap.Job == nil {
		return
	}
	steps := v.snap.Results.Steps
	at := len(steps)
	if r := v.shown(); r != nil {
		at = v.number(r) - 1
	}
	if to := at + by; to >= 0 && to < len(steps) {
		u.goTo(steps[to])
	}
}

// goTo makes a step the one that the bench waits at.
func (u *ui) goTo(r *overhaul.Result) {
	u.view.note = note{}
	u.view.choosing = r.Step.Name
	u.choose(r.Step.Name)
}

func (u *ui) list() {
	p := &page{steps: true, title: "the steps", key: "l"}
	if r := u.view.shown(); r != nil {
		p.top = u.view.number(r) - 1
	}
	u.view.page = p
}

func (u *ui) sayIn(in bool) {
	r := u.view.shown()
	u.send(bench.SayIn{Step: r.Step.Name, Pack: u.view.packAsked(), In: in}, nil)
}

// take asks why a held press counts. One that came before the pieces of its
// setup were said cannot: its sum would lack them.
func (u *ui) take() {
	v := &u.view
	p, ok := v.held()
	if !ok {
		return
	}
	if st, is := v.snap.Job.Sheet.Step(p.Fact.Step); is && st.Measure != nil && len(p.Fact.Pieces) < len(st.Measure.Setup.Standards()) {
		v.note = note{text: "This press came before its pieces were said: strike it, draw the pieces (d), press again.", bad: true}
		return
	}
	v.form = takeForm(v, p)
}

// otherUnit shows lengths in the next unit.
func (u *ui) otherUnit() {
	v := &u.view
	v.unit = v.nextUnit()
	v.note = note{text: fmt.Sprintf("Lengths are shown in %s. What gauges sent and leaves are marked with keeps its own unit.", unitWords(v.unit))}
	if v.unit == v.snap.Job.Sheet.Unit {
		v.unit = quantity.Bare
	}
	u.taken = nil
	u.takeIn()
}

// strike arms at the first Backspace and strikes at the second.
func (u *ui) strike() {
	v := &u.view
	p, ok := v.strikable()
	switch {
	case v.struck: // a key held down strikes one press and no more
		v.note = note{text: "One press is struck. For another one press any other key first.", bad: true}
	case !ok:
		v.note = note{text: "There is no press to strike.", bad: true}
	case v.striking == p.Seq:
		v.striking, v.struck = 0, true
		u.send(bench.Strike{Press: p.Seq, Reason: "struck at the bench by Backspace twice"}, nil)
	default:
		v.striking, v.note = p.Seq, note{}
	}
}
