//go:build !unix

package journal

func limited(string, uint64) int { return 1 }

// looks is tried where files have owners alone.
func looks(string) int { return 1 }
