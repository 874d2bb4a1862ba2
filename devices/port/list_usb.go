//go:build !darwin || cgo

package port

import (
	"fmt"

	"go.bug.st/serial/enumerator"
)

// knowsUSB: this build can read USB serial numbers.
const knowsUSB = true

// ListPorts lists the serial ports of this machine. Pseudo-terminals are never
// among them.
func ListPorts() ([]Listed, error) {
	ports, err := enumerator.GetDetailedPortsList()
	if err != nil {
		return nil, fmt.Errorf("list serial ports: %w", err)
	}
	socket := sockets(byPath)
	var out []Listed
	for _, p := range ports {
		if p == nil || p.Name == "" { // a port that left while it was looked at
			continue
		}
		out = append(out, Listed{Name: p.Name, USB: p.IsUSB, USBSerial: p.SerialNumber,
			Vendor: p.VID, Product: p.PID, Says: p.Product, Socket: socket[p.Name]})
	}
	return out, nil
}
