//go:build !soak

package metrics_test

// rounds is how many scrapes the usual run does.
func rounds() int { return 1000 }
