// Package virtual is a gauge without hardware: a pseudo-terminal behind a
// symbolic link, which the real serial driver opens and reads. It writes what
// its profile says, so it is the other end of the profile's decoder, and it can
// be unplugged and plugged in again.
//
// A pseudo-terminal is no wire: it has no parity, no rate and all 8 bits, so
// line settings cannot be tried on it. Closing it throws away what the reader
// has not read: wait with Drained first where that matters.
//
// It can be told to misbehave: a press that goes wrong on its way is a Mishap
// with one Trouble; what lasts (a low battery, the unit key, silence, a flood,
// unplugging) are methods. Chance is handed in, and so is the wait between pieces,
// so a test plays the same trouble again and sleeps nowhere. Two troubles can make
// a figure that nobody pressed, and no decoder can tell: a flipped bit that turns
// one digit into another, which parity is for, and a lost digit, which fixed
// digits in the profile are for.
//
// It needs a Unix; elsewhere New returns an error.
package virtual
