//go:build soak

package metrics_test

// rounds is how many scrapes leave nothing behind:
//
//	go test -tags soak -run Soak -timeout 110s ./ingest/metrics
func rounds() int { return 10_000 }
