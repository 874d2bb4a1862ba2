// Package capture records what a port read, byte for byte and with times, and
// plays it back: into a decoder, or through port.Run as if the gauge were there.
// A capture is a bug report from a workshop and a test here.
//
// # Format, version 1
//
// A text file of JSON objects, one a line. The first is the head:
//
//	{"capture":1,"began":"2026-03-04T05:06:07Z","gauge":"D07","port":"/dev/serial/by-path/…","profile":"bare figure","line":"9600 8N1"}
//
//	capture   the version of the format
//	began     when the recording began, by the wall clock
//	gauge     the gauge's name; or channels: each channel's gauge
//	port      how the bench finds the port: its path, or its USB serial number
//	profile   the name of the gauge's profile
//	line      the line settings
//
// Every other line is what happened, with us, the microseconds since began; they
// never go back. What, and the keys with it:
//
//	open      the port was opened; path, and source: gauge or virtual
//	read      bytes came: text where all are ASCII without DEL, else base64
//	quiet     the line was found quiet, at us first, every 20 ms, and at until last
//	sent      bytes were sent to the gauge: text or base64
//	lost      the open port failed; words say how
//	closed    the program closed the port
//	none      there was no port to open, or it was refused; words say why, once
//	          for each reason
//	full      the file reached its limit; nothing was recorded from here on
//
// A capture opens before it reads. Time in which not even quiet was recorded is
// a program that was held up, and no silence of the gauge: where quiet was not
// found, no half line is given up.
//
// The reader is strict: an unknown key, a time that goes back, a read of a
// closed port or a line cut off is told by its line number and what is wrong
// with it, and what stands before it can still be used.
//
// A capture never passes for a gauge: whatever source it recorded, what is
// played comes from a virtual one.
package capture
