package port

import (
	"fmt"
	"os"
	"path/filepath"
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
	// Socket is the name of the socket it is plugged into, under
	// /dev/serial/by-path; empty where the system keeps no such names.
	Socket string
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
	var same, nameless []Listed
	for _, p := range ports {
		switch {
		case !p.USB || p.Name == "":
		case p.USBSerial == serial:
			same = append(same, p)
		case p.USBSerial == "":
			nameless = append(nameless, p)
		}
	}
	switch {
	case len(same) == 1:
		return same[0].Name, nil
	case len(same) > 1:
		return "", &RefusedError{Port: label, Problem: "is on more than one port, " + named(same), Fix: bySocket(same)}
	case len(nameless) > 0:
		return "", &AbsentError{Port: "the cable with " + label,
			Hint: "there is a cable without a serial number, on " + named(nameless) + ": if the gauge is on that one, " + bySocket(nameless)}
	}
	return "", &AbsentError{Port: "the cable with " + label}
}

// named lists ports by the names they have now.
func named(ports []Listed) string {
	var names []string
	for _, p := range ports {
		names = append(names, p.Name)
	}
	return strings.Join(names, ", ")
}

// bySocket says how to tell ports apart that their serial numbers do not.
func bySocket(ports []Listed) string {
	words := "write the socket's name under " + byPath + " instead"
	for i, p := range ports {
		if p.Socket == "" {
			continue
		}
		sep := ", "
		if i == 0 {
			sep = ": "
		}
		words += fmt.Sprintf("%s%s is now %s", sep, p.Socket, p.Name)
	}
	return words
}

// sockets gives the socket's name of each port, from a folder of links as udev
// keeps it. A port with several names has the first of them in the alphabet's
// order; without the folder nothing has a name.
func sockets(folder string) map[string]string {
	out := map[string]string{}
	names, err := os.ReadDir(folder) // sorted
	if err != nil {
		return out
	}
	for _, n := range names {
		link := filepath.Join(folder, n.Name())
		port, err := filepath.EvalSymlinks(link)
		if err == nil && out[port] == "" {
			out[port] = link
		}
	}
	return out
}
