// Package packed decodes and writes packed-decimal frames: 13 groups of four
// bits, sent low bit first.
//
//	group    1-4    5         6-11            12              13
//	         F      sign      figure          point           unit
//	                0 plus    six digits,     decimals,       0 mm
//	                8 minus   highest first   0 to 5          1 or 8 inch
//
// The order of the groups, the sign and the millimetre are as public
// descriptions of such frames have them. Inch is 8 in one of them and 1 from
// memory, so both are read and 8 is written; any other unit is refused, since a
// wrong guess would be a figure 25.4 times off.
//
// No digit, sign, point or unit is F, so four of them mark a beginning wherever
// they come: after noise or a lost byte the next frame is found without
// waiting.
package packed
