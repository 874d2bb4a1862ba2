// Package port holds one serial port open for one gauge, or for the several of
// a multiplexer: it finds, opens, reads, asks and closes it, through unplugging
// and plugging in, and says what happened as events. Counts and State are folds
// over these events; nothing else keeps count.
//
// Invariants, each learnt from what the serial library was seen to do:
//
//   - One goroutine, the caller of Run, does everything with the port. Closing
//     frees the file descriptor first, so another goroutine's late write could
//     land in another file.
//   - The read timeout is Tick, or Rest while nothing is under way; it is set
//     between reads by the goroutine that reads, because setting it during one is
//     a race. Read returning 0 and no error is a quiet line. Buffered readers take
//     that for a broken one, so none is used.
//   - A port that was unplugged and one that was closed read alike; only the
//     context tells them apart.
//   - The path is resolved first, and the resolved path is opened and judged:
//     a pseudo-terminal makes every sample virtual, whatever name led there.
//   - A port whose file descriptor is too high for select is refused in words;
//     the library would panic.
//
// What arrives while the port settles is dropped, but the decoder sees it: it
// must know where lines begin, or the tail of a line cut by the end of the
// settling time would pass for a figure. A frame that began while settling is
// a bad one.
//
// Whose a frame is: the port's one gauge, or the gauge of its channel. A frame
// of a channel without a gauge on this bench, and a bad one that does not say
// its channel, is a stray: an event with its bytes and without a gauge. Where
// the multiplexer itself says that nothing is plugged into a channel there is
// no frame; if a gauge of this bench should be there, that it is absent is said.
package port
