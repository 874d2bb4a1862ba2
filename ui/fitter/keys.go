package fitter

import (
	"shimwright/calc/overhaul"
	"shimwright/calc/sheet"
	"shimwright/ingest/bench"
)

// A binding is one key: how it is shown, what it does in a word and in words for
// those who ask, when it is there, and the doing.
type binding struct {
	key, does, long string
	when            func(*view) bool
	act             func(*ui)
}

// bindings are the keys of the work screen, those that the moment calls for
// first.
func bindings() []binding {
	return append(asked(), append(atWork(), atJob()...)...)
}

// asked are the keys that answer what the step asks.
func asked() []binding {
	return []binding{
		{"y", "is in", "says that the pack asked for is in", asksPack, func(u *ui) { u.sayIn(true) }},
		{"n", "not in", "says that the pack asked for is not in", asksPack, func(u *ui) { u.sayIn(false) }},
		{"b", "bearings done", "says that the bearings are rolled or seated, as the step needs", needsSaid, (*ui).sayNeed},
		{"z", "check zero", "makes the gauge's next press a check of its zero; again: not", needsZero, (*ui).checkZero},
		{"o", "open a job", "opens a job on a drive", noneOpen, func(u *ui) { u.view.form = openForm(&u.view) }},
		{"p", "PRESS the gauge", "presses the gauge that the step wants", canPress, func(u *ui) { u.press() }},
		{"t", "take held", "lets a held press count, with a reason", hasHeld, (*ui).take},
	}
}

// atWork are the keys on the step shown.
func atWork() []binding {
	return []binding{
		{"g", "move gear", "moves a gear on purpose: the packs follow", canMove, func(u *ui) { u.view.form = moveForm(&u.view, u.view.shown()) }},
		{"f", "fit", "fits a pack by what is typed", isPack, func(u *ui) { u.view.form = fitForm(&u.view, u.view.shown()) }},
		{"e", "enter anew", "enters what was typed anew, with a reason", isTyped, func(u *ui) { u.view.form = anewForm(&u.view, u.view.shown()) }},
		{"v", "drawing", "the drawing: ring and re-shim, pack and stock, marking, setup", hasDrawing, func(u *ui) { u.view.page = drawPage(&u.view) }},
		{"d", "draw piece", "says which certified piece stands in the setup", hasSetup, func(u *ui) { u.view.form = pieceForm(&u.view, u.view.shown()) }},
		{"a", "again", "takes this step again, with a reason", hasEntries, func(u *ui) { u.view.form = againForm(u.view.shown()) }},
		{"w", "why", "explains every figure here, down to the bytes sent", hasJob, func(u *ui) { u.view.page = whyPage(&u.view) }},
		{"s", "sum", "the sum alone", hasJob, func(u *ui) { u.view.page = sumPage(&u.view) }},
		{"k", "key in", "keys a reading in; it stays marked KEYED", takesPress, func(u *ui) { u.view.form = keyedForm(&u.view, u.view.shown()) }},
	}
}

// atJob are the keys on the job and the bench.
func atJob() []binding {
	return []binding{
		{"l", "steps", "the list of steps, to go to any", hasJob, (*ui).list},
		{"j", "jobs", "the open jobs: choose one, open another", hasBench, func(u *ui) { u.view.form = jobsForm(&u.view) }},
		{"h", "hold", "puts this step on hold, or lifts the hold", canHold, func(u *ui) { u.view.form = holdForm(&u.view) }},
		{"i", "ask gauge", "asks the wanted gauge for what it shows", canAsk, func(u *ui) { u.send(bench.AskGauge{}, nil) }},
		{"r", "gauge knocked", "says that the wanted gauge was knocked or dropped", canAsk, func(u *ui) { u.send(bench.Knocked{}, nil) }},
		{"u", "units", "shows lengths in mm, in or thou, in turn", hasJob, (*ui).otherUnit},
		{"c", "changed metal", "says that metal was changed which no pack tells", atStep, func(u *ui) { u.view.form = metalForm(&u.view, u.view.shown()) }},
		{"x", "end job", "signs the job off, finishes or abandons it, says who works at it", hasJob, func(u *ui) { u.view.form = endForm(&u.view) }},
		{"m", "more", "the list of what else can be said, by letters:", hasBench, (*ui).sayMore},
		{"?", "keys", "this list", always, func(u *ui) { u.view.page = keysPage() }},
		{"q", "leave", "leaves the screen; nothing is lost", always, func(u *ui) { u.view.leaving = true }},
	}
}

// lastKeys are shown however little room there is: they lead to all the others
// and out.
const lastKeys = 3

func always(*view) bool       { return true }
func hasJob(v *view) bool     { return v.snap != nil && v.snap.Job != nil }
func atStep(v *view) bool     { return v.shown() != nil }
func hasBench(v *view) bool   { return v.snap != nil }
func hasDrawing(v *view) bool { return drawPage(v) != nil }

func noneOpen(v *view) bool {
	return v.snap != nil && (v.snap.Job == nil || v.snap.Results.Next() == nil)
}

// canAsk: the step wants presses of a gauge, which may be one that answers.
func canAsk(v *view) bool {
	return takesPress(v) && v.gauge(v.shown().Step.Gauge) != nil
}

func canHold(v *view) bool { return hasJob(v) }

func hasHeld(v *view) bool  { _, ok := v.held(); return ok }
func asksPack(v *view) bool { return v.packAsked() != "" }

// canPress: a fitted pack may be pressed again, to measure another one.
func canPress(v *view) bool {
	if !v.byHand || !hasJob(v) || v.snap.Step == nil {
		return false
	}
	st := v.snap.Step.Step
	if v.snap.Step.Status == overhaul.Stopped {
		return false
	}
	return v.snap.Step.Left > 0 || st.Pack != nil && st.Pack.Presses > 0
}

func isPack(v *view) bool {
	r := v.shown()
	return r != nil && r.Step.Kind == sheet.KindPack && r.Status != overhaul.Stopped
}

// isTyped: what the step holds was typed, and can be typed anew.
func isTyped(v *view) bool {
	r := v.shown()
	return r != nil && r.Status != overhaul.Waiting && r.Pack == nil && entryForm(v, r) != nil
}

func hasSetup(v *view) bool {
	r := v.shown()
	return r != nil && r.Step.Measure != nil && len(r.Step.Measure.Setup.Standards()) > 0
}

// takesPress: a reading of a length or a check may be keyed in; what a pack
// measures is typed when it is fitted.
func takesPress(v *view) bool {
	r := v.shown()
	return r != nil && r.Step.Gauge != "" && r.Left > 0 && r.Step.Pack == nil
}

// hasEntries tells whether the step shown holds something to take again. A
// fitted pack is not: another one is measured and fitted.
func hasEntries(v *view) bool {
	r := v.shown()
	if r != nil && r.Pack != nil {
		return r.Pack.Fitted == nil && len(r.Presses) > 0
	}
	return r != nil && (r.Status != overhaul.Waiting || len(r.Presses) > 0)
}

// canMove: a gear is moved after a backlash or a marking that was judged.
func canMove(v *view) bool {
	r := v.shown()
	if r == nil || r.Check == nil || r.Status == overhaul.Waiting {
		return false
	}
	return r.Step.Check.What == sheet.Backlash || r.Step.Check.What == sheet.Marking
}
