package port

import (
	"fmt"
	"strings"

	"shimwright/devices"
)

// Listed is one serial port of this machine.
type Listed struct {
	// Name is the system's name for it now.
	Name string
	// USB is true for a USB port; what follows is set for one only, and any of
	// it may be empty.
	USB       bool
	USBSerial string
	Vendor    string // USB vendor number, four hexadecimal digits
	Product   string // USB product number, four hexadecimal digits
	Says      string // what the adapter calls itself
}

// Lister lists the serial ports of this machine. ListPorts is the real one.
type Lister func() ([]Listed, error)

// lookUp gives the name of the one port with a USB serial number.
func lookUp(serial string, list Lister) (string, error) {
	label := "USB serial number " + devices.Quote([]byte(serial))
	if !knowsUSB {
		return "", &RefusedError{Port: label, Problem: "cannot be looked up by this build of the program",
			Fix: "use a build with cgo"}
	}
	ports, err := list()
	if err != nil {
		return "", &RefusedError{Port: label, Problem: "cannot be looked up", Fix: "the list of ports could not be read, trying again",
			Err: fmt.Errorf("list serial ports: %w", err)}
	}
	var names []string
	for _, p := range ports {
		if p.USB && p.USBSerial == serial && p.Name != "" {
			names = append(names, p.Name)
		}
	}
	switch len(names) {
	case 0:
		return "", &AbsentError{Port: "the cable with " + label}
	case 1:
		return names[0], nil
	}
	return "", &RefusedError{Port: label, Problem: "is on more than one port, " + strings.Join(names, ", "),
		Fix: "write the socket's name under " + byPath + " instead"}
}
