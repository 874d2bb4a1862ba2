// Package budget works out how sure a worked figure is.
//
// # Sources
//
// A figure is a signed sum of things, and each thing brings sources of error.
// A [Source] has a size, given as its kind gives it; its standard uncertainty
// follows:
//
//	limit of error ±a      u = a/√3    the error lies anywhere within ±a (GUM 4.3.7, from memory)
//	resolution d           u = d/√12   the figure lies anywhere within half a step (GUM F.2.2.1, from memory)
//	mark in steps of d     u = d/√12   the same: half a digit either way
//	repeats, s of n        u = s/√n    n−1 degrees of freedom, or those of a pooled s (GUM 4.2.3, from memory)
//	certified piece U, k   u = U/k     (GUM 4.3.3, from memory)
//	stated u               u
//	gauge zero ±a          u = a/√3    common to every reading made with that zero
//	gauge scale ±r         u = r/√3    r of what is read: it counts times the summed reading
//	temperature ±ΔT        u = ΔT/√3   it counts times length × expansion coefficient
//	expansion ±Δα          u = Δα/√3   it counts times length × (T − 20 °C)
//
// # Combination
//
// A thing met twice is one thing: its coefficients are added, with their signs,
// before anything is squared, so a straightedge that stands twice in a sum
// counts 2 and one gauge's zero in three readings of one sign counts 3.
// Different things are independent and add in quadrature (GUM 5.1 and 5.2, from
// memory):
//
//	u² = Σ (Cᵢ·uᵢ)²,   C = Σ over all places the thing is met
//
// Degrees of freedom are those of Welch and Satterthwaite (GUM G.4.1). Sources
// that rest on one pooled standard deviation are one term there: their sizes
// are wrong together.
//
// The expanded uncertainty is given with k = 2, and beside it with Student's t
// at the chance of the normal within two standard deviations, erf √2 = 95.45 %,
// for the degrees of freedom cut down to a whole number (GUM G.6.4; NIST TN 1297
// table B.1).
//
// # Units and exactness
//
// Sizes are in the unit of the figure's base (mm, N, N·m, degree), except those
// of a scale (a bare ratio), a temperature (K) and whatever By turns into that
// unit. Combined coefficients are exact. Square roots are worked in float64,
// and turned at once into decimals of [Digits] significant digits. Anything
// below 10⁻¹⁵ counts as nought.
//
// Input that cannot give a budget is refused with a [*stat.Problem] that names
// the source and its field. No result is ever NaN.
//
// CHECKS.md in the folder above lists the published figures that this package and
// package correct were held against; a test writes it.
package budget
