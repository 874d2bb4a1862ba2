package port

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"os/user"
	"path"
	"path/filepath"
	"slices"
	"strings"
	"syscall"

	"go.bug.st/serial"

	"shimwright/devices"
)

// A machine is what looking a port up, and saying in words why it cannot be
// used, needs to know of the computer. Tests feed it tables.
type machine struct {
	list   Lister
	follow func(name string) (resolved string, err error)
	// holders names the programs that have a port open, as far as the system
	// tells this user.
	holders func(path string) []string
	// access tells the group of a port's file, and what its owner's group may
	// do; the group is empty where the system does not tell.
	access    func(path string) (group string, mode fs.FileMode)
	user      string // who runs this program; empty where not known
	superuser bool
}

// itself is how holders names the program that asks.
const itself = "this program itself"

func thisMachine(list Lister) machine {
	if list == nil {
		list = func() ([]Listed, error) { return nil, nil }
	}
	m := machine{list: list, follow: followed, holders: holders, access: access, superuser: os.Geteuid() == 0}
	if u, err := user.Current(); err == nil {
		m.user = u.Username
	}
	return m
}

// followed resolves symbolic links; names that are no file, as on Windows,
// stay.
func followed(name string) (string, error) {
	if !path.IsAbs(name) {
		return name, nil
	}
	return filepath.EvalSymlinks(name)
}

// inWords tells a port that is not there from one that cannot be used.
func (m machine) inWords(path string, l devices.Line, err error) error {
	var pe *serial.PortError
	switch {
	case errors.Is(err, os.ErrNotExist), errors.Is(err, syscall.ENXIO), errors.Is(err, syscall.ENODEV), errors.Is(err, syscall.EIO):
		return &AbsentError{Port: path, Err: err}
	case errors.As(err, &pe):
		return m.codeInWords(path, l, pe.Code(), err)
	case errors.Is(err, os.ErrPermission):
		return m.forbidden(path, err)
	}
	return &RefusedError{Port: path, Problem: "cannot be opened: " + err.Error(), Fix: "trying again", Err: err}
}

func (m machine) codeInWords(path string, l devices.Line, code serial.PortErrorCode, err error) error {
	r := &RefusedError{Port: path, Err: err}
	switch code {
	case serial.PortNotFound, serial.PortClosed:
		return &AbsentError{Port: path, Err: err}
	case serial.PortBusy:
		return m.busy(path, m.holders(path), err)
	case serial.PermissionDenied:
		return m.forbidden(path, err)
	case serial.InvalidSerialPort:
		r.Problem, r.Fix = "is not a serial port, or cannot do "+l.String(), "write the port that the gauge's cable is on"
	case serial.InvalidSpeed, serial.InvalidDataBits, serial.InvalidParity, serial.InvalidStopBits:
		r.Problem, r.Fix = "cannot do "+l.String(), "set the gauge and its profile to line settings that the adapter has"
	default:
		r.Problem, r.Fix = "cannot be opened: "+err.Error(), "trying again"
	}
	return r
}

// busy says which program to close.
func (m machine) busy(path string, held []string, err error) error {
	r := &RefusedError{Port: path, Problem: "is in use", Fix: "close the other program that has it open", Err: err}
	switch {
	case slices.Contains(held, itself):
		r.Problem, r.Fix = "is in use by "+itself, "two gauges of this bench are on this port: give each its own, or its channel"
	case len(held) > 0:
		r.Problem, r.Fix = "is in use by "+strings.Join(held, ", "), "close that program, or take the gauge to another port"
	}
	return r
}

// forbidden says which group to join where the port's group would do, and what
// rule gives the port to a group where it would not.
func (m machine) forbidden(path string, err error) error {
	who := "the user"
	if m.user != "" {
		who = "user " + m.user
	}
	r := &RefusedError{Port: path, Problem: "may not be opened by " + who, Err: err}
	group, mode := m.access(path)
	switch {
	case group == "":
		r.Fix = "add " + who + " to the group that owns the port (ls -lL shows it, often dialout), then log in again"
	case group == "root" || mode&0o060 != 0o060:
		r.Fix = "its group " + group + " is no help: write into /etc/udev/rules.d/60-gauges.rules the line " +
			m.rule(path) + ", add " + who + " to group dialout, then log in again and plug the cable in again"
	case m.user == "":
		r.Fix = "add the user to group " + group + ", then log in again"
	default:
		r.Fix = "add " + who + " to group " + group + " (usermod -aG " + group + " " + m.user + "), then log in again"
	}
	return r
}

// rule is the udev rule that gives ports like this one to a group. The group's
// name is common practice, no source.
func (m machine) rule(path string) string {
	match := fmt.Sprintf("KERNEL==%q", strings.TrimRight(filepath.Base(path), "0123456789")+"*")
	if ports, err := m.list(); err == nil {
		for _, p := range ports {
			if p.Name == path && p.Vendor != "" && p.Product != "" {
				match = fmt.Sprintf("ATTRS{idVendor}==%q, ATTRS{idProduct}==%q", strings.ToLower(p.Vendor), strings.ToLower(p.Product))
			}
		}
	}
	return fmt.Sprintf(`SUBSYSTEM=="tty", %s, GROUP="dialout", MODE="0660"`, match)
}
