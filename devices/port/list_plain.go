//go:build darwin && !cgo

package port

import (
	"fmt"

	"go.bug.st/serial"
)

// knowsUSB: without cgo the names are all that can be read here.
const knowsUSB = false

// ListPorts lists the serial ports of this machine, names only.
func ListPorts() ([]Listed, error) {
	names, err := serial.GetPortsList()
	if err != nil {
		return nil, fmt.Errorf("list serial ports: %w", err)
	}
	var out []Listed
	for _, n := range names {
		out = append(out, Listed{Name: n})
	}
	return out, nil
}
