package main

import (
	"fmt"
	"regexp"
)

// relayLine makes a benchmark's line of what the soak of the relays logs, which
// is a test and not a benchmark: so many relays at once, and a bare COPY of the
// same rows by as many connections before and after. Without such a log it is
// empty.
func relayLine(text []byte) string {
	m := regexp.MustCompile(`(\d+) relays, \d+ facts: (\d+) facts/s in \S+; COPY of the same rows (\d+) and (\d+) rows/s`).FindSubmatch(text)
	if m == nil {
		return ""
	}
	var before, after float64
	if _, err := fmt.Sscan(string(m[3])+" "+string(m[4]), &before, &after); err != nil {
		return ""
	}
	return fmt.Sprintf("\npkg: shimwright/ingest/relay\nBenchmarkRelays/%s_at_once 1 %s facts/s@ours %.0f facts/s@peer=COPY\n", m[1], m[2], (before+after)/2)
}
