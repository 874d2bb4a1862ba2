// Package fitter is the fitter's screen: what the bench waits for, how the last
// press came out, the arithmetic so far, and the one thing to do next.
//
// It is read from a metre away by someone with both hands busy. So the figure
// that matters stands in block figures, five rows high and larger where the
// window has the room, the next thing to do stands in a bar across the screen,
// and everything but pressing a gauge is one key, shown at the foot, those that
// the moment calls for first. What is said seldom (a seal's pulls, temperatures, a
// second look, a piece check, a setting asked about, a concession) has a letter in
// the list that key m opens, the same letter at every step. A word and a shape
// stand beside every colour; without colour nothing is lost. Nothing flashes, and
// no question runs out of time.
//
// # What holds
//
//   - The screen keeps nothing of the job: it draws the bench's newest Snapshot
//     and sends bench commands. What is only the screen's (which step is looked
//     at, a form half filled in, the unit that lengths are shown in) is the view.
//   - A frame is a pure function of the view: lines of toned text, cut to cells.
//   - In another unit the job is worked anew to be said in it, so that sentences
//     and figures agree; no sentence is ever parsed for a figure. What gauges sent,
//     what the sheet says and what leaves are marked with keeps its own unit and
//     says so: a figure without a unit is in the unit of the screen.
//   - Text from outside (names, gauges' bytes, what was typed) is never
//     interpreted. What would not print, or would upset the cells, is written
//     out as an escape that can be read.
//   - One goroutine waits for snapshots, answers and the second's tick, and
//     draws at most 60 times a second. It starts once the screen is up and has
//     ended before the screen goes. Commands run beside it, one at a time. A press
//     that is on its way when the screen ends is the bench's, and is kept.
//
// # Where what is
//
// keys.go lists the keys and when each is there, keyline.go shows them,
// dispatch.go takes one in and acts.go does what it asks. form.go asks one thing
// after another, choose.go one of several; forms.go, jobforms.go, moreforms.go and
// endform.go are the forms. frame.go sets a screenful together: step.go the step's
// head, reading.go its press in the block figures of blocks.go, repeats.go the
// others, outcome.go what a press came to, figures.go the arithmetic, next.go what
// to do, foot.go the gauges and the last press. plain.go tells the same as lines.
package fitter
