// Package correct holds the rules that put a reading right before it is used,
// and those that say it should not be used yet.
//
//   - Temperature: lengths are what they are at 20 °C (ISO 1, from memory). A
//     part measured at another temperature, against standards and a gauge that
//     have temperatures of their own, is brought to 20 °C with
//     L·α·(T − 20 °C) for each ([At20]).
//   - A gauge's correction table, between whose points it is a straight line
//     ([Table]).
//   - A gauge's drift on a check piece ([Watch]).
//   - Repeats that only fall, or only rise, are still settling ([Settle]).
//
// Everything is exact: an expansion is a product of decimals, a straight line
// between two points a ratio of whole numbers. Lengths are in mm, temperatures
// in °C, expansion coefficients per K. The rules are written for lengths; those
// for gauges and repeats hold for any dimension in its base unit.
//
// Which correction is made is the sheet's to say and the record's to show;
// this package makes none on its own. Input that cannot give a figure is
// refused with a [*stat.Problem] that names the field.
package correct
