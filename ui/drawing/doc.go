// Package drawing draws a setting sheet for whoever approves it: each axis with
// its faces in order and every length, pack and touch between them; each setup as
// the walk from one face to the other; each pack with its place and what one more
// of it does; and what is marked and checked. It is black on white, A4 across, as
// PDF or as SVG, and the same sheet gives the same bytes.
//
// An axis is not to scale: faces stand one after another at even distances, because
// what must be seen is their order, which gives every sign. A setup is to a scale of
// its own, by the nominal sizes and the middle of the window.
//
// A page is a list of marks in millimetres; the two forms draw the same marks. Words
// are measured in the Go typeface, which the PDF carries: Latin, Greek, Cyrillic.
// What it has no sign for is left to the reader's own typeface in SVG, and shown as
// a code in PDF. SVG names that typeface and common ones about as wide.
package drawing
