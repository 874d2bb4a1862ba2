package main

import (
	"fmt"
	"regexp"
	"time"
)

// relayLine makes benchmarks' lines of what the soak of the relays logs, which is
// a test and not a benchmark: so many relays at once, a bare COPY of the same rows
// by as many connections before and after, and how long the facts of a bench that
// works beside them wait. Without such a log it is empty.
func relayLine(text []byte) string {
	ours := regexp.MustCompile(`(\d+) relays: \d+ facts in \S+, (\d+) facts/s;`).FindSubmatch(text)
	bare := regexp.MustCompile(`bare COPY [^:]*: (\d+) rows/s of \d+ before, (\d+) rows/s of the same \d+ after`).FindSubmatch(text)
	if ours == nil || bare == nil {
		return ""
	}
	var before, after float64
	if _, err := fmt.Sscan(string(bare[1])+" "+string(bare[2]), &before, &after); err != nil {
		return ""
	}
	line := fmt.Sprintf("\npkg: shimwright/ingest/relay\nBenchmarkRelays/%s_at_once 1 %s facts/s@ours %.0f facts/s@peer=COPY", ours[1], ours[2], (before+after)/2)
	waits := regexp.MustCompile(`half of them within (\S+), 99 of 100 within (\S+),`).FindSubmatch(text)
	if waits == nil {
		return line + "\n"
	}
	for i, name := range []string{"lag-p50-ms", "lag-p99-ms"} {
		if d, err := time.ParseDuration(string(waits[i+1])); err == nil {
			line += fmt.Sprintf(" %.3f %s", d.Seconds()*1000, name)
		}
	}
	return line + "\n"
}
