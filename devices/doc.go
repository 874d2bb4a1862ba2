// Package devices is what every gauge driver shares: bytes go in, samples come
// out.
//
// A Profile says, as data, how one gauge talks: its line settings, the parts of
// its line, what ends it, how long a half line may lie. A Decoder made from a
// profile turns bytes into Frames and is pure: time is handed in, it owns no
// port, no goroutine and no clock, and what it keeps is bounded. A Sample is a
// good frame with the gauge's name and the Source, which is set by the driver
// that read it and by nothing else.
//
// Invariants:
//
//   - Figures are the digits the gauge sent; nothing is rounded, converted or
//     guessed. A unit that was not sent is the profile's, and the frame says so.
//   - One emit for each whole frame, good or bad. A doubled frame is two
//     frames; whether it is one press is the business of those who know the job.
//   - Raw bytes go with every frame, bad ones too, and never reach a terminal
//     unescaped: FrameError quotes them.
//
// The children: text decodes text lines, packed decodes packed-decimal frames,
// asked asks gauges that answer when asked, kinds lists the decoders, port holds
// one port open, virtual is a gauge on a pseudo-terminal, capture keeps what a
// port reads, decodertest is what every decoder must pass. GAUGES.md lists the
// forms supported.
package devices
