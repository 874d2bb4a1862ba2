// Package draw writes results as plain text for people: a figure's arithmetic
// as a signed sum, a whole job's results, the loops of a sheet and a small
// drawing of each axis.
//
// It is pure: it takes results and a sheet, and writes to an io.Writer. No
// colour, no cursor; lines keep to the page's width and break between words.
// The only errors are the writer's.
//
// # Sums
//
// A sum is a column of signed figures, each with its name and where it comes
// from; "-1/2 × -0.080" tells a figure and how often it counts where the sign does
// not. Lines set further in add up to the figure of the line above them. A figure that is no finite decimal (the mean of 3 presses)
// is shown rounded half to even at quantity.WorkPlaces, 10⁻⁹; where the figures shown
// then do not add up to the total shown, a line called "rounding" makes up the
// difference, so that a pencil always agrees.
package draw
