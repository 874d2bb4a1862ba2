// Package overhaul works a job: from a sheet and the entries put in it gives
// every length, pack and check with its arithmetic down to leaves.
//
// Work is the one door. It is a pure function: no clock, no register, no file,
// so that the screen, a replay, an audit and a test see the same results. It
// works the whole job at each call.
//
// A press is corrected by its gauge's table first, then the mean is taken; a
// measured length is brought to 20 °C where the sheet asks for it. What is worth
// knowing and changes no figure stands in notes: repeats that only fall, a gauge
// that drifts on its check piece, what temperature does.
//
// A figure is a sum of terms, each with a whole-number ratio, each term again a
// figure, down to leaves: a press, a certified piece, a mark, a shim as
// measured. A wanted figure that cannot be worked yet says what it waits for.
// A pack that comes out below nought stops with the reason; its absolute value
// is never taken. A check is stale when metal of its loop, in its state, was
// changed after it was pressed.
package overhaul
