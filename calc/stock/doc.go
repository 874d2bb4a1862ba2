// Package stock makes up a shim pack from the leaves in a tray, exactly.
//
// Given a wanted thickness and a tolerance, it finds the packs that the tray
// can make, best first. Every size is a whole number of steps of one grid, the
// greatest common divisor of all the sizes in the tray, so inch and metric
// trays alike are sums of whole numbers and nothing is rounded. A table tells
// which totals can be made by which numbers of leaves; walking back through it
// gives the packs. The answer is the optimum, not an approximation, for packs
// of up to MaxLeaves leaves.
//
// # Order of preference
//
// Closest: the smallest error, then the fewest leaves. FewestWithin: the fewest
// leaves, then the smallest error. Where these leave a tie, the thinner pack of
// two equally far from the wanted size comes first, and of packs of one total
// the one with the larger single leaves (compared leaf by leaf from the
// thickest down). Leaves of one size but different label are taken measured
// first, then in the order of their labels; packs that differ only in labels
// count as one answer.
//
// # Stacking order
//
// A pack lists its leaves from one outer face to the other. The usual order is
// the thickest leaves outside, where they protect the thin ones (common
// practice, no source). Rules.ThinnestOutside is the other way: US Army
// TM 10-3930-660-34, task 9-5, asks for at least three shims in a pack with the
// thinnest on both outer faces; that is Rules{AtLeast: 3, ThinnestOutside: true}.
package stock
