//go:build soak

// With this build tag the tests of kills do 500 rounds each, some minutes in all;
// SOAK=short gives each a few:
//
//	go test -tags soak -run Killed -v -timeout 20m ./ingest/journal ./ingest/bench
//	SOAK=short go test -tags soak -run Killed -v -timeout 90s ./ingest/journal ./ingest/bench

package journal

import "os"

func rounds(usual int) int {
	if os.Getenv("SOAK") == "short" {
		return usual
	}
	return 500
}
