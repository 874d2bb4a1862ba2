// Package quantity holds figures as gauges and drawings give them, and the
// exact arithmetic on them.
//
// Three types, each for one thing:
//
//   - Value is a figure as written: its digits, the unit beside it and the
//     place of its last digit, which is the instrument's resolution. It is
//     never rounded and never loses a trailing zero.
//   - Exact is a result on the way: a decimal over a whole number, in the base
//     unit of its dimension (mm, N, N·m, degree). Sums, differences, products
//     and whole-number ratios of figures stay exact in it.
//   - Ratio is a coefficient: a ratio of whole numbers.
//
// Only Exact.Round divides: half to even, at a stated number of places. No
// float64 appears in this package.
package quantity
