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
	if _, err := (Find{Path: link}).resolve(nil); !errors.As(err, &refused) || !strings.Contains(err.Error(), "leads to /dev/null, which is no pseudo-terminal: write the cable's USB") {
		t.Errorf("got %v", err)
	}
	var absent *AbsentError
	if _, err := (Find{Path: filepath.Join(dir, "none")}).resolve(nil); !errors.As(err, &absent) || !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("got %v", err)
	}
	loop := filepath.Join(dir, "loop")
	if err := os.Symlink(loop, loop); err != nil {
		t.Fatal(err)
	}
	if _, err := (Find{Path: loop}).resolve(nil); !errors.As(err, &refused) {
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
	got, err := Find{USBSerial: "A1"}.resolve(list)
	if err != nil || got.source != devices.SourceGauge || filepath.Base(got.path) != "port" {
		t.Errorf("got %+v, %v", got, err)
	}
	var absent *AbsentError
	if _, err := (Find{USBSerial: "C3\x1b"}).resolve(list); !errors.As(err, &absent) || err.Error() != `the cable with USB serial number "C3\x1b" is not there: plug the gauge in` {
		t.Errorf("got %v", err)
	}
	var refused *RefusedError
	if _, err := (Find{USBSerial: "B2"}).resolve(list); !errors.As(err, &refused) || !strings.Contains(err.Error(), "more than one port, /dev/ttyUSB1, /dev/ttyUSB2: write the socket's name") {
		t.Errorf("got %v", err)
	}
	broken := errors.New("broken")
	if _, err := (Find{USBSerial: "A1"}).resolve(func() ([]Listed, error) { return nil, broken }); !errors.As(err, &refused) || !errors.Is(err, broken) {
		t.Errorf("got %v", err)
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

func TestCodesInWords(t *testing.T) {
	line, err := devices.ParseLine("4800 7E2")
	if err != nil {
		t.Fatal(err)
	}
	for code, want := range map[serial.PortErrorCode]string{
		serial.PortNotFound:           "/dev/x is not there: plug the gauge in",
		serial.PortBusy:               "/dev/x is in use: close the other program that has it open",
		serial.PermissionDenied:       "/dev/x may not be opened by this user: add the user to the group",
		serial.InvalidSerialPort:      "/dev/x is not a serial port, or cannot do 4800 7E2: write the port",
		serial.InvalidParity:          "/dev/x cannot do 4800 7E2: set the gauge and its profile",
		serial.FunctionNotImplemented: "/dev/x cannot be opened: cause: trying again",
	} {
		got := codeInWords("/dev/x", line, code, errors.New("cause"))
		if !strings.HasPrefix(got.Error(), want) {
			t.Errorf("want %q, got %q", want, got)
		}
	}
}
