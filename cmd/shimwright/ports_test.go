//go:build unix

package main

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"shimwright/calc/quantity"
	"shimwright/devices/port"
	"shimwright/ingest/bench"
	"shimwright/ingest/fact"
	"shimwright/ingest/journal"
)

// Which gauge is on which port, and when it was last pressed.
func TestListPorts(t *testing.T) {
	now := time.Date(2026, 2, 3, 12, 0, 0, 0, time.UTC)
	pressed := func(v string, ago time.Duration) *fact.Pressed {
		x, err := quantity.ParseWithUnit(v)
		if err != nil {
			t.Fatal(err)
		}
		return &fact.Pressed{Value: &x, Arrived: now.Add(-ago)}
	}
	gauge := func(id, channel string, f port.Find) bench.Gauge {
		return bench.Gauge{ID: id, Channel: channel, Find: f}
	}
	listed := []port.Listed{
		{Name: "/dev/ttyUSB0", USB: true, USBSerial: "A10K3", Says: "serial cable"},
		{Name: "/dev/ttyUSB1", USB: true, Says: "serial cable"},
		{Name: "/dev/ttyUSB2", USB: true, USBSerial: "B7"},
		{Name: "/dev/ttyS0"},
	}
	gauges := []portGauge{
		{Gauge: gauge("D07", "", port.Find{USBSerial: "A10K3"}), taught: true, last: pressed("33.38 mm", 90*time.Minute)},
		{Gauge: gauge("M02", "", port.Find{Path: "/dev/serial/by-path/one"}), last: &fact.Pressed{Arrived: now.Add(-72 * time.Hour)}},
		{Gauge: gauge("I03", "1", port.Find{USBSerial: "B7"}), last: pressed("0.21 mm", 3*time.Hour)},
		{Gauge: gauge("I04", "2", port.Find{USBSerial: "B7"})},
		{Gauge: gauge("F05", "", port.Find{USBSerial: "C9"}), last: pressed("38.0 N", time.Second)},
		{Gauge: gauge("V06", "", port.Find{Path: "/dev/serial/by-id/virtual"}), last: pressed("1.00 mm", time.Second)},
		{Gauge: gauge("G08", "", port.Find{Path: "/dev/serial/by-id/gone"})},
	}
	resolve := func(p string) (string, error) {
		at, ok := map[string]string{"/dev/serial/by-path/one": "/dev/ttyUSB1", "/dev/serial/by-id/virtual": "/dev/pts/7"}[p]
		if !ok {
			return "", os.ErrNotExist
		}
		return at, nil
	}
	var out bytes.Buffer
	if err := listPorts(&out, listed, gauges, now, resolve); err != nil {
		t.Fatal(err)
	}
	const want = `port          USB serial number            adapter       gauge                             last press
/dev/ttyUSB0  A10K3                        serial cable  D07 (taught)                      33.38 mm, 90 min ago
/dev/ttyUSB1  none: find it by its socket  serial cable  M02                               no number, 3 days ago
/dev/ttyUSB2  B7                                         I03 on channel 1, I04 on channel 2  0.21 mm, 3 h ago, none
/dev/ttyS0    not USB
C9                                                       F05: on none of the ports above   38.0 N, just now
/dev/serial/by-id/virtual V06: on /dev/pts/7, which is there and none of the ports above 1.00 mm, just now
/dev/serial/by-id/gone G08: on none of the ports above none
`
	squeeze := func(s string) string {
		var lines []string
		for l := range strings.Lines(s) {
			lines = append(lines, strings.Join(strings.Fields(l), " "))
		}
		return strings.Join(lines, "\n")
	}
	if got := out.String(); squeeze(got) != squeeze(want) {
		t.Errorf("got\n%s", got)
	}
	out.Reset()
	if err := listPorts(&out, nil, nil, now, resolve); err != nil || !strings.Contains(out.String(), "no serial port was found") {
		t.Errorf("%s %v", out.String(), err)
	}
}

// A press teaches which cable carries a gauge; the journal knows it from then on.
func TestTeach(t *testing.T) {
	h := openHall(t)
	dir := filepath.Dir(h.file)
	now, err := filepath.EvalSymlinks(filepath.Join(dir, "D07"))
	if err != nil {
		t.Fatal(err)
	}
	list := func() ([]port.Listed, error) { return []port.Listed{{Name: now, USB: true, USBSerial: "A10K3"}}, nil }
	press(t, h.gauges, "D07", "0.00 mm")
	press(t, h.gauges, "D07", "150.00 mm")
	var out bytes.Buffer
	err = teach(t.Context(), teaching{gauge: "D07", file: h.file, presses: 2, wait: time.Minute}, list, &out)
	if err != nil {
		t.Fatalf("%v\n%s", err, out.String())
	}
	for _, want := range []string{"Press D07 2 times", "150.00 mm (2 of 2)", `D07 is on the cable with USB serial number "A10K3"`} {
		if !strings.Contains(out.String(), want) {
			t.Errorf("want %q in\n%s", want, out.String())
		}
	}
	// D07's and M02's cables are changed; a press on D07 sets both right.
	out.Reset()
	press(t, h.gauges, "M02", "0.00 mm")
	if err := teach(t.Context(), teaching{gauge: "D07", swap: "M02", file: h.file, presses: 1, wait: time.Minute}, list, &out); err != nil {
		t.Fatalf("%v\n%s", err, out.String())
	}
	for _, want := range []string{"D07 is on the port " + filepath.Join(dir, "M02"), `M02 is on the cable with USB serial number "A10K3"`} {
		if !strings.Contains(out.String(), want) {
			t.Errorf("want %q in\n%s", want, out.String())
		}
	}
	press(t, h.gauges, "D07", "0.00 mm")
	if err := teach(t.Context(), teaching{gauge: "D07", swap: "M02", file: h.file, presses: 1, wait: time.Minute}, list, &out); err != nil {
		t.Fatalf("%v\n%s", err, out.String())
	}
	known, err := gaugesOf(t.Context(), h.file)
	if err != nil || !known[0].taught || known[0].Find.USBSerial != "A10K3" || known[1].Find.Path != filepath.Join(dir, "M02") {
		t.Errorf("%+v, %v", known[0], err)
	}
	// D07's cable is not offered to another gauge.
	out.Reset()
	err = teach(t.Context(), teaching{gauge: "M02", file: h.file, presses: 1, wait: 50 * time.Millisecond}, list, &out)
	if err == nil || !strings.Contains(err.Error(), "0 of 1 presses came from M02: waited 50ms") || !strings.Contains(out.String(), "is D07's") {
		t.Errorf("%v\n%s", err, out.String())
	}
}

func TestTeachRefuses(t *testing.T) {
	h := openHall(t)
	none := func() ([]port.Listed, error) { return nil, nil }
	for _, c := range []struct {
		t    teaching
		want string
	}{
		{teaching{gauge: "D99", file: h.file, presses: 1, wait: time.Minute}, `"D99" is no gauge of`},
		{teaching{gauge: "D07", file: h.file, wait: time.Minute}, "write 1 to 20 presses"},
		{teaching{gauge: "D07", file: "nowhere.yaml", presses: 1, wait: time.Minute}, "no such file"},
	} {
		if err := teach(t.Context(), c.t, none, &bytes.Buffer{}); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%v, want %q", err, c.want)
		}
	}
	f, err := readBenchFile(h.file)
	if err != nil {
		t.Fatal(err)
	}
	j, err := journal.Open(f.Journal, journal.Options{Bench: f.Name, Run: "bench", Now: time.Now, Rows: fact.Rows()})
	if err != nil {
		t.Fatal(err)
	}
	defer j.Close()
	err = teach(context.Background(), teaching{gauge: "D07", file: h.file, presses: 1, wait: time.Minute}, none, &bytes.Buffer{})
	if err == nil || !strings.Contains(err.Error(), "stop the bench first") {
		t.Error(err)
	}
}
