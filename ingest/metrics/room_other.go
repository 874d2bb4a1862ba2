//go:build !linux && !darwin && !freebsd

package metrics

import "errors"

// Room is how many bytes are free for a journal: this system does not tell here.
func Room(string) (int64, error) { return 0, errors.ErrUnsupported }
