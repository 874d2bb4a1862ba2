package port

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"go.bug.st/serial"

	"shimwright/devices"
)

func TestFindCheck(t *testing.T) {
	for path, want := range map[string]string{
		byID + "usb-cable_1-if00":  "",
		byPath + "pci-0-usb-0:1:1": "",
		"/dev/pts/3":               "",
		"/dev/ttys003":             "",
		"/tmp/bench/depth":         "",
		"/dev/ttyUSB0":             "changes when cables are plugged in another order",
		"/dev/ttyACM1":             "write the cable's USB serial number",
		"/dev/ttyS0":               "changes when",
		"/dev/cu.usbserial-1":      "changes when",
		"COM3":                     "changes when",
		`\\.\com12`:                "changes when",
		"bench/depth":              "not a full, plain path",
		byID + "../../ttyUSB0":     "not a full, plain path",
		"/dev//ttyUSB0":            "not a full, plain path",
		"/dev/\x1b[2J/x":           "",
		"":                         "no port is given",
	} {
		err := Find{Path: path}.Check()
		if want == "" && err != nil || want != "" && (err == nil || !strings.Contains(err.Error(), want)) {
			t.Errorf("%q: want %q, got %v", path, want, err)
		}
	}
	if err := (Find{Path: "/dev/pts/3", USBSerial: "A1"}).Check(); err == nil || !strings.Contains(err.Error(), "only one") {
		t.Errorf("both given: %v", err)
	}
	if err := (Find{USBSerial: "A1"}).Check(); err != nil {
		t.Error(err)
	}
}

// A link to something that is no pseudo-terminal is refused, whatever its name.
func TestResolve(t *testing.T) {
	dir := t.TempDir()
	link := filepath.Join(dir, "gauge")
	if err := os.Symlink("/dev/null", link); err != nil {
		t.Fatal(err)
	}
	var refused *RefusedError
	if _, err := (Find{Path: link}).resolve(thisMachine(nil)); !errors.As(err, &refused) || !strings.Contains(err.Error(), "leads to /dev/null, which is no pseudo-terminal: write the cable's USB") {
		t.Errorf("got %v", err)
	}
	var absent *AbsentError
	if _, err := (Find{Path: filepath.Join(dir, "none")}).resolve(thisMachine(nil)); !errors.As(err, &absent) || !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("got %v", err)
	}
	loop := filepath.Join(dir, "loop")
	if err := os.Symlink(loop, loop); err != nil {
		t.Fatal(err)
	}
	if _, err := (Find{Path: loop}).resolve(thisMachine(nil)); !errors.As(err, &refused) {
		t.Errorf("got %v", err)
	}
}

func TestLookUp(t *testing.T) {
	if !knowsUSB {
		t.Skip("this build cannot read USB serial numbers")
	}
	dir := t.TempDir()
	there := filepath.Join(dir, "port")
	if err := os.WriteFile(there, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	list := func() ([]Listed, error) {
		return []Listed{
			{Name: "/dev/ttyS0"},
			{Name: there, USB: true, USBSerial: "A1"},
			{Name: "", USB: true, USBSerial: "A1"},
			{Name: "/dev/ttyUSB1", USB: true, USBSerial: "B2"},
			{Name: "/dev/ttyUSB2", USB: true, USBSerial: "B2"},
			{Name: "/dev/ttyUSB3", USB: true},
		}, nil
	}
	got, err := Find{USBSerial: "A1"}.resolve(thisMachine(list))
	if err != nil || got.source != devices.SourceGauge || filepath.Base(got.path) != "port" {
		t.Errorf("got %+v, %v", got, err)
	}
	var refused *RefusedError
	broken := errors.New("broken")
	if _, err := (Find{USBSerial: "A1"}).resolve(thisMachine(func() ([]Listed, error) { return nil, broken })); !errors.As(err, &refused) || !errors.Is(err, broken) {
		t.Errorf("got %v", err)
	}
}

// table is a machine with these ports, whose links lead where they say.
func table(ports ...Listed) machine {
	links := map[string]string{}
	for _, p := range ports {
		links[p.Name] = p.Name
		if p.Socket != "" {
			links[p.Socket] = p.Name
		}
	}
	return machine{
		list: func() ([]Listed, error) { return ports, nil },
		follow: func(name string) (string, error) {
			if to, ok := links[name]; ok {
				return to, nil
			}
			return "", fs.ErrNotExist
		},
		holders: func(string) []string { return nil },
		access:  func(string) (string, fs.FileMode) { return "dialout", 0o660 },
		user:    "bay1",
	}
}

// A gauge is found by its cable's serial number or by its socket, whatever the
// port is called today.
func TestFoundOnMachines(t *testing.T) {
	if !knowsUSB {
		t.Skip("this build cannot read USB serial numbers")
	}
	usb := func(name, serial, socket string) Listed {
		return Listed{Name: name, USB: true, USBSerial: serial, Socket: byPath + socket}
	}
	first := table(usb("/dev/ttyUSB0", "A1", "hub-1"), usb("/dev/ttyUSB1", "B2", "hub-2"), Listed{Name: "/dev/ttyS0"})
	shuffled := table(usb("/dev/ttyUSB0", "B2", "hub-2"), usb("/dev/ttyUSB1", "A1", "hub-1"))
	moved := table(usb("/dev/ttyUSB0", "A1", "hub-2"), usb("/dev/ttyUSB1", "B2", "hub-1"))
	shared := table(usb("/dev/ttyUSB0", "0001", "hub-1"), usb("/dev/ttyUSB1", "0001", "hub-2"))
	bare := table(usb("/dev/ttyUSB0", "", "hub-1"), usb("/dev/ttyACM0", "", "hub-2"))
	unnamed := table(Listed{Name: "COM4", USB: true, USBSerial: "Z"}, Listed{Name: "COM5", USB: true, USBSerial: "Z"})
	for _, c := range []struct {
		name string
		m    machine
		find Find
		path string // where found
		want string // the whole words where not
	}{
		{"serial", first, Find{USBSerial: "A1"}, "/dev/ttyUSB0", ""},
		{"serial, names shuffled", shuffled, Find{USBSerial: "A1"}, "/dev/ttyUSB1", ""},
		{"serial, sockets changed", moved, Find{USBSerial: "A1"}, "/dev/ttyUSB0", ""},
		{"socket", first, Find{Path: byPath + "hub-2"}, "/dev/ttyUSB1", ""},
		{"socket, names shuffled", shuffled, Find{Path: byPath + "hub-2"}, "/dev/ttyUSB0", ""},
		{"socket of a shared serial", shared, Find{Path: byPath + "hub-2"}, "/dev/ttyUSB1", ""},
		{"socket of no serial", bare, Find{Path: byPath + "hub-2"}, "/dev/ttyACM0", ""},
		{"another letter case", first, Find{USBSerial: "a1"}, "",
			`the cable with USB serial number "a1" is not there: plug the gauge in`},
		{"control bytes", first, Find{USBSerial: "C3\x1b"}, "",
			`the cable with USB serial number "C3\x1b" is not there: plug the gauge in`},
		{"empty socket", first, Find{Path: byPath + "hub-3"}, "",
			"/dev/serial/by-path/hub-3 is not there: plug the gauge in"},
		{"one serial, two adapters", shared, Find{USBSerial: "0001"}, "",
			`USB serial number "0001" is on more than one port, /dev/ttyUSB0, /dev/ttyUSB1: ` +
				"write the socket's name under /dev/serial/by-path/ instead: " +
				"/dev/serial/by-path/hub-1 is now /dev/ttyUSB0, /dev/serial/by-path/hub-2 is now /dev/ttyUSB1"},
		{"no serial", bare, Find{USBSerial: "A1"}, "",
			`the cable with USB serial number "A1" is not there: plug the gauge in; ` +
				"there is a cable without a serial number, on /dev/ttyUSB0, /dev/ttyACM0: if the gauge is on that one, " +
				"write the socket's name under /dev/serial/by-path/ instead: " +
				"/dev/serial/by-path/hub-1 is now /dev/ttyUSB0, /dev/serial/by-path/hub-2 is now /dev/ttyACM0"},
		{"no socket names", unnamed, Find{USBSerial: "Z"}, "",
			`USB serial number "Z" is on more than one port, COM4, COM5: write the socket's name under /dev/serial/by-path/ instead`},
	} {
		got, err := c.find.resolve(c.m)
		switch {
		case c.want == "" && (err != nil || got != found{c.path, devices.SourceGauge}):
			t.Errorf("%s: got %+v, %v", c.name, got, err)
		case c.want != "" && (err == nil || err.Error() != c.want):
			t.Errorf("%s:\nwant %s\n got %v", c.name, c.want, err)
		}
	}
}

// Sockets are read from a folder of links.
func TestSockets(t *testing.T) {
	dir := t.TempDir()
	port := filepath.Join(dir, "ttyUSB0")
	if err := os.WriteFile(port, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	links := filepath.Join(dir, "by-path")
	if err := os.Mkdir(links, 0o700); err != nil {
		t.Fatal(err)
	}
	for name, to := range map[string]string{"hub-1": "../ttyUSB0", "hub-1-again": "../ttyUSB0", "hub-2": "../ttyUSB9"} {
		if err := os.Symlink(to, filepath.Join(links, name)); err != nil {
			t.Fatal(err)
		}
	}
	real, err := filepath.EvalSymlinks(port)
	if err != nil {
		t.Fatal(err)
	}
	if got := sockets(links); len(got) != 1 || got[real] != filepath.Join(links, "hub-1") {
		t.Errorf("got %v", got)
	}
	if got := sockets(filepath.Join(dir, "none")); len(got) != 0 {
		t.Errorf("got %v", got)
	}
}

// Listing works on a machine without any port, and names every port it lists.
func TestListPorts(t *testing.T) {
	ports, err := ListPorts()
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range ports {
		if p.Name == "" {
			t.Errorf("a port without a name: %+v", p)
		}
	}
}

// What cannot be used is said with what to do about it.
func TestRefusedInWords(t *testing.T) {
	line, err := devices.ParseLine("4800 7E2")
	if err != nil {
		t.Fatal(err)
	}
	plain := table(Listed{Name: "/dev/ttyUSB0", USB: true, Vendor: "12AB", Product: "0001"})
	with := func(change func(*machine)) machine { m := plain; change(&m); return m }
	for _, c := range []struct {
		name, path string
		m          machine
		code       serial.PortErrorCode
		want       string
	}{
		{"not there", "/dev/x", plain, serial.PortNotFound, "/dev/x is not there: plug the gauge in"},
		{"busy", "/dev/x", plain, serial.PortBusy, "/dev/x is in use: close the other program that has it open"},
		{"busy, holder told", "/dev/x", with(func(m *machine) {
			m.holders = func(string) []string { return []string{`program "label printer" (process 812)`} }
		}), serial.PortBusy,
			`/dev/x is in use by program "label printer" (process 812): close that program, or take the gauge to another port`},
		{"busy, two gauges", "/dev/x", with(func(m *machine) { m.holders = func(string) []string { return []string{itself} } }), serial.PortBusy,
			"/dev/x is in use by this program itself: two gauges of this bench are on this port: give each its own, or its channel"},
		{"group would do", "/dev/x", plain, serial.PermissionDenied,
			"/dev/x may not be opened by user bay1: add user bay1 to group dialout (usermod -aG dialout bay1), then log in again"},
		{"group has no right", "/dev/ttyUSB0", with(func(m *machine) { m.access = func(string) (string, fs.FileMode) { return "tty", 0o620 } }), serial.PermissionDenied,
			"/dev/ttyUSB0 may not be opened by user bay1: its group tty is no help: write into /etc/udev/rules.d/60-gauges.rules the line " +
				`SUBSYSTEM=="tty", ATTRS{idVendor}=="12ab", ATTRS{idProduct}=="0001", GROUP="dialout", MODE="0660", ` +
				"add user bay1 to group dialout, then log in again and plug the cable in again"},
		{"root's own, adapter not known", "/dev/ttyACM12", with(func(m *machine) { m.access = func(string) (string, fs.FileMode) { return "root", 0o660 } }), serial.PermissionDenied,
			"/dev/ttyACM12 may not be opened by user bay1: its group root is no help: write into /etc/udev/rules.d/60-gauges.rules the line " +
				`SUBSYSTEM=="tty", KERNEL=="ttyACM*", GROUP="dialout", MODE="0660", ` +
				"add user bay1 to group dialout, then log in again and plug the cable in again"},
		{"nothing told", "/dev/x", with(func(m *machine) { m.user, m.access = "", func(string) (string, fs.FileMode) { return "", 0 } }), serial.PermissionDenied,
			"/dev/x may not be opened by the user: add the user to the group that owns the port (ls -lL shows it, often dialout), then log in again"},
		{"no port", "/dev/x", plain, serial.InvalidSerialPort, "/dev/x is not a serial port, or cannot do 4800 7E2: write the port that the gauge's cable is on"},
		{"parity", "/dev/x", plain, serial.InvalidParity, "/dev/x cannot do 4800 7E2: set the gauge and its profile to line settings that the adapter has"},
		{"other", "/dev/x", plain, serial.FunctionNotImplemented, "/dev/x cannot be opened: cause: trying again"},
	} {
		if got := c.m.codeInWords(c.path, line, c.code, errors.New("cause")); got.Error() != c.want {
			t.Errorf("%s:\nwant %s\n got %s", c.name, c.want, got)
		}
	}
}

// The superuser, whom the system does not keep out, is kept out of a port that
// another program reads; anybody else finds out by opening it.
func TestSuperuserKeptOut(t *testing.T) {
	if !knowsUSB {
		t.Skip("this build cannot read USB serial numbers")
	}
	file := filepath.Join(t.TempDir(), "port")
	if err := os.WriteFile(file, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	m := table(Listed{Name: file, USB: true, USBSerial: "A1"})
	m.holders = func(string) []string { return []string{"program \"label printer\" (process 812)"} }
	for superuser, want := range map[bool]string{true: "is in use by program", false: "is not a serial port"} {
		m.superuser = superuser
		_, err := m.opener()(Find{USBSerial: "A1"}, devices.Defaults().Line)
		var refused *RefusedError
		if !errors.As(err, &refused) || !strings.Contains(err.Error(), want) {
			t.Errorf("superuser %t: want %q, got %v", superuser, want, err)
		}
	}
}
