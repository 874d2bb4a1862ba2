//go:build !soak

package bench

// rounds is how many a test of kills does in the usual run.
func rounds(usual int) int { return usual }
