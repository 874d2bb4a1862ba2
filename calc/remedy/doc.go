// Package remedy says what to change when a check fails, in exact figures and
// in words that an apprentice can act on.
//
// # What it knows
//
// A re-shim (reshim.go) moves a gear so that every point of a backlash ring
// falls into its band, and keeps the shaft's setting. What one more of a pack
// does is its Row, worked by the network for the state the shaft is in; two
// rows are two equations, so like places come out as a transfer and unlike ones
// as the same change in both, and no sign is typed here:
//
//	F₁·d₁ + F₂·d₂ = change of the setting (nought, or within its limit)
//	G₁·d₁ + G₂·d₂ = move of the gear, AWAY or OUT above nought
//	k × move      = change of every point of the ring
//
// A setting is changed with the backlash kept (setting.go) by the same two
// equations, with the part that the change of state itself adds. A pinion move
// is followed by the wheel (pinion.go). After the fit, what was found is held
// against what was predicted (found.go). A spacer set by turning torque is
// found by trials (spacer.go). A contact marking is looked up in a table
// (marking.go), because manuals differ. More readings are asked for where the
// ring cannot tell (extra.go).
//
// # How packs are chosen
//
// Both packs are chosen together, from the leaves of the tray and those that
// are in the drive now (choose.go). Of all choices that pass, the order is:
//
//  1. the mean nearest to the middle of the window, counted in whole steps of
//     U, because nearer than the ring can be read is worth nothing
//  2. of two as far, the looser: kinder when hot, and a smaller move from loose
//  3. the setting nearest to what it should be, again in whole steps of U
//  4. the fewest leaves put in or taken out
//  5. the mean nearest to the middle, exactly; the looser; the setting nearest,
//     exactly; the fewest leaves
//
// The search is complete unless Advice.CutShort says otherwise; its limits are
// the constants of choose.go. A pack that keeps some of its leaves counts as it
// was measured, plus what is put in, less what is taken out; a pack made anew
// counts as the sum of its leaves.
//
// # Exactness
//
// Lengths are exact. A factor is a decimal of at most 18 digits. Rounded are:
// a learned factor, at 12 places; the slope between two torque trials, at 10⁻⁹
// N·m; run-out from a fitted ring, which is float64 in package ring.
package remedy
