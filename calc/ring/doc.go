// Package ring judges backlash taken at points round the wheel, and says why it
// spreads.
//
// # Figures
//
// With n points (three or more) at stated angles θ, j the mean of the repeats
// at each:
//
//	mean    m = Σj/n                      exact: a sum and a count
//	spread  highest j − lowest j          exact
//	fit     j(θ) = k + a·cos θ + b·sin θ + c·cos 2θ + d·sin 2θ
//	        by least squares; float64
//	once per turn   A = √(a²+b²), highest at atan2(b, a), lowest opposite
//	twice per turn  √(c²+d²), highest at ½·atan2(d, c) and 180° on
//
// For points equally spaced the fit is the textbook discrete Fourier sum
// (from memory): a = (2/n)·Σj·cos θ, b = (2/n)·Σj·sin θ; with four points
// a = (j0−j180)/2, b = (j90−j270)/2, c = (j0−j90+j180−j270)/4. The tests hold
// the fit to these.
//
// The mean is of the points, not of the fit: with points unequally spaced k
// differs from m.
//
// # What the points can see
//
// Three points show no twice-per-turn part at all. Four show half of it: equally
// spaced from 0 they see c, and d is invisible, so a bent wheel that is high
// midway between the points passes unseen. The fit takes in only what the points
// see, and says in words what they do not. A part counts as seen when its
// variance is at most ten times that of evenly spaced points, so an angle that
// only repeats its neighbour adds nothing. With points so close together that
// even the once-per-turn part is not seen there is no fit, and no fitted low.
//
// # Verdicts
//
// Guarded: good is inside the band by at least the expanded uncertainty U, out
// is outside it by at least U, between is too close to call (the zone rule of
// ISO 14253-1, seen in summaries). Simple: good is inside the band or on it.
// The rule holds for each point and for the lowest point of the fit; averaging
// hides no tight tooth. The band itself belongs to the sheet: common practice
// in US workshops, no source, is 0.010 to 0.013 in at four points equally
// spaced, and manuals differ from it widely.
//
// # Shift window
//
// A change of packs adds one amount to every point. The allowed change of the
// mean is from (low + U − lowest) to (high − U − highest); if that is empty no
// shim can pass and the spread has to be mended first.
//
// Everything is in mm and degrees. Where an amount comes from an angle
// (factor.go) or from the fit, it is worked in float64 and turned at once into
// a decimal: results "by factor" have 12 places, a fitted low 9.
package ring
