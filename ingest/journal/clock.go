package journal

import "time"

// ClockStep is by how much the computer's clock was set between two facts: of
// one run, how far the clock moved beyond the time that passed; between two
// runs only a step back shows, as less than nought. 0 where nothing shows.
// Facts keep their order by sequence number whatever the clock does.
func ClockStep(before, after Stored) time.Duration {
	moved := after.UTC.Sub(before.UTC)
	if before.Run == after.Run {
		return moved - (after.SinceRun - before.SinceRun)
	}
	return min(moved, 0)
}
