// Package stat works out quality figures from readings: summaries, charts,
// capability, gauge studies.
//
// Readings come in as decimals. Sums, sums of squares and everything made of
// them by the four operations are exact (whole numbers and ratios of them);
// a figure is rounded once, half to even at [Digits] significant digits, when
// it is handed out. A square root is likewise right in its last digit. Three
// things are not exact and say so where they are used:
//
//   - Chart constants and the constants of the average-and-range method are
//     integrals of the normal distribution, worked in float64 and turned at
//     once into [FactorDigits]-digit decimals.
//   - Quantiles of the normal, Student's t and chi-squared distributions are
//     gonum's, in float64, and are turned into such decimals before they meet
//     a reading.
//   - Tail probabilities (the P of an F test) stay float64.
//
// Input that cannot give the figure is refused with a [*Problem] that names the
// field, says what was found and what is wanted. No result is ever NaN.
//
// CHECKS.md in the folder above lists every published figure these results were
// held against and how many digits agree; the tests write it.
package stat
