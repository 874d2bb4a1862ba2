// Package fitter is the fitter's screen: what the bench waits for, how the last
// press came out, the arithmetic so far, and the one thing to do next.
//
// It is read from a metre away by someone with both hands busy. So the figure
// that matters stands in block figures five rows high, the next thing to do
// stands in a bar across the screen, and everything but pressing a gauge is one
// key, shown at the foot. A word and a shape stand beside every colour; without
// colour nothing is lost. Nothing flashes, and no question runs out of time.
//
// # What holds
//
//   - The screen keeps nothing of the job: it draws the bench's newest Snapshot
//     and sends bench commands. What is only the screen's (which step is looked
//     at, a form half filled in) is the view.
//   - A frame is a pure function of the view: lines of toned text, cut to cells.
//   - Text from outside (names, gauges' bytes, what was typed) is never
//     interpreted. What would not print, or would upset the cells, is written
//     out as an escape that can be read.
//   - One goroutine waits for snapshots, answers and the second's tick, and
//     draws at most 60 times a second. It starts once the screen is up and has
//     ended before the screen goes. Commands run beside it, one at a time.
package fitter
