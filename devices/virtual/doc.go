// Package virtual is a gauge without hardware: a pseudo-terminal behind a
// symbolic link, which the real serial driver opens and reads. It writes what
// its profile says, so it is the other end of the profile's decoder, and it can
// be unplugged and plugged in again.
//
// A pseudo-terminal is no wire: it has no parity, no rate and all 8 bits, so
// line settings cannot be tried on it. Closing it throws away what the reader
// has not read: wait with Drained first where that matters.
//
// It needs a Unix; elsewhere New returns an error.
package virtual
