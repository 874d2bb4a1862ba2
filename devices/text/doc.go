// Package text decodes gauges that send a line of text for each press or as the
// answer to a prompt, multiplexers among them, and writes such lines for virtual
// gauges, both from one devices.Profile.
//
// Cutting the bytes into lines comes first and knows only the profile's end, or
// its length and gap, its longest frame and its half-line time; parsing sees one
// whole line. So noise costs the line it hit and, where it ate the end of a
// line, the line behind it; never more. Where nothing ends a line, a bad one
// costs all up to the next gap: only that tells where a line begins.
//
// A gap is judged by Tick alone, which says that the line was found quiet. A
// program that was held up reads the second half of a line late though nothing
// was late on the wire; judged by the time of the reads, that half would pass
// for a figure of its own.
//
// A line that lost a digit on its way still looks like a line. Only a fixed
// number of digits, or parity on the wire, tells: profiles should fix the
// digits wherever the gauge does.
package text
