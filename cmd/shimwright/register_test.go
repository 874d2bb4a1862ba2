package main

import (
	"bytes"
	"context"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"shimwright/calc/quantity"
	"shimwright/devices"
	"shimwright/ingest/fact"
	"shimwright/ingest/journal"
)

const aBenchFile = `bench: bay 2
journal: bay2.journal
profiles:
  line: {line: 9600 8N1, assume: mm, parts: [sign, figure], end: CR}
gauges:
  D07: {kind: depth gauge, limit of error: 0.02 mm, profile: line, port: {usb serial: A10K3}}
pieces:
  S-31: 75.004 mm
sheets: [fw3]
`

// aBenchFolder writes a bench file and gives its path.
func aBenchFolder(t *testing.T) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "bench.yaml")
	if err := os.WriteFile(path, []byte(aBenchFile), 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

// obeyed runs one command line.
func obeyed(in io.Reader, args ...string) (out, said string, err error) {
	root := newRoot("test", subCommands()...)
	var stdout, stderr bytes.Buffer
	root.SetIn(in)
	root.SetOut(&stdout)
	root.SetErr(&stderr)
	root.SetArgs(args)
	err = root.Execute()
	return stdout.String(), stderr.String(), err
}

func openBay(t *testing.T, bench string, now time.Time) *journal.Journal {
	t.Helper()
	j, err := journal.Open(filepath.Join(filepath.Dir(bench), "bay2.journal"),
		journal.Options{Bench: "bay 2", Run: "r", Now: func() time.Time { return now }, Rows: fact.Rows()})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = j.Close() })
	return j
}

func write(t *testing.T, j *journal.Journal, subject string, facts ...fact.Fact) {
	t.Helper()
	for _, f := range facts {
		r, err := fact.Encode(subject, f)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := j.Append(context.Background(), r); err != nil {
			t.Fatal(err)
		}
	}
}

// While a bench has its journal, what would change it is refused and says so;
// what only looks goes on.
func TestBesideARunningBench(t *testing.T) {
	bench := aBenchFolder(t)
	j := openBay(t, bench, time.Now())
	write(t, j, "person/RK", fact.Joined{Name: "Ro Kerr", Roles: []fact.Role{fact.Lead}})
	for _, args := range [][]string{
		{"people", "add", "AB", "Ada", "--role", "fitter"}, {"people", "pin", "RK"}, {"people", "left", "RK"},
		{"pieces", "certify", "S-31", "75.006 mm"}, {"pieces", "withdraw", "S-31", "bent"}, {"gauges", "certify", "D07"}, {"gauges", "withdraw", "D07", "bent"},
		{"stock", "count", "shims", "0.30 mm", "3"}, {"sheet", "approve", "fw3"},
	} {
		_, _, err := obeyed(strings.NewReader(""), append(args, "--bench", bench)...)
		if statusOf(err) != exitMachine || !strings.Contains(err.Error(), "close that program first") {
			t.Errorf("%v: status %d, %v", args, statusOf(err), err)
		}
	}
	for _, args := range [][]string{{"people"}, {"pieces"}, {"gauges"}, {"stock"}, {"trace", "D07"}} {
		if _, _, err := obeyed(strings.NewReader(""), append(args, "--bench", bench)...); err != nil {
			t.Errorf("%v: %v", args, err)
		}
	}
	copied := filepath.Join(t.TempDir(), "copy.journal")
	if out, _, err := obeyed(nil, "backup", j.Path(), copied); err != nil || !strings.Contains(out, "1 facts, the last hash is") {
		t.Errorf("%q %v", out, err)
	}
}

func TestTraceCommand(t *testing.T) {
	bench := aBenchFolder(t)
	noon := time.Date(2026, 3, 2, 12, 0, 0, 0, time.Local)
	v, err := quantity.ParseWithUnit("33.38 mm")
	if err != nil {
		t.Fatal(err)
	}
	press := fact.Pressed{Step: "x", Gauge: "D07", GaugeKind: "depth gauge", Value: &v, Pieces: []string{"S-31"}, Arrived: noon, Source: devices.SourceGauge, Outcome: fact.Taken}
	j := openBay(t, bench, noon)
	write(t, j, "job/0001", fact.Opened{Drive: "Corrie RD3", Serial: "№ 17", Sheet: "rd3", Issue: 2}, press, press)
	write(t, j, "gauge/D09", fact.Checked{Piece: "S-31", Size: v, Reading: v, Arrived: noon, Source: devices.SourceGauge})
	for _, c := range []struct {
		args []string
		want string
	}{
		{[]string{"D07", "--from", "2026-03-02", "--to", "2026-03-02"}, `Gauge D07, depth gauge: used in 1 job from 2026-03-02 to 2026-03-02.
job   serial  drive       state  first use         last use          presses
0001  № 17    Corrie RD3  open   2026-03-02 12:00  2026-03-02 12:00  2
`},
		{[]string{"S-31", "--to", "2026-03-02"}, `Piece S-31, 75.004 mm: used in 1 job from the first day to 2026-03-02.
job   serial  drive       state  first use         last use          presses
0001  № 17    Corrie RD3  open   2026-03-02 12:00  2026-03-02 12:00  2
Gauge D09 was checked on it: what it was found to err may be wrong.
`},
		{[]string{"D07", "--from", "2026-03-03", "--to", "2026-03-09"}, "Gauge D07, depth gauge: used in 0 jobs from 2026-03-03 to 2026-03-09.\n"},
	} {
		out, _, err := obeyed(nil, append([]string{"trace", "--bench", bench}, c.args...)...)
		if err != nil || out != c.want {
			t.Errorf("%v: %v\n%s", c.args, err, out)
		}
	}
}

// Whatever stands on the command line, nothing that moves a terminal's cursor
// comes back, and no error speaks of the program's insides.
func TestStrangeNamesAreTold(t *testing.T) {
	bench := aBenchFolder(t)
	for _, strange := range []string{"A\x1b[2J", "A\u202eB", "A\xff", "\u0301", "", " ", "山田", strings.Repeat("A", 10<<10), "A\nB", "A/B"} {
		for _, args := range [][]string{
			{"people", "add", strange, "Ada", "--role", "fitter"}, {"people", "add", "AB", strange, "--role", strange}, {"people", "pin", strange},
			{"people", "left", "AB", "--by", strange}, {"pieces", "certify", strange, "1 mm", "--by", strange}, {"pieces", "certify", "S-31", strange}, {"pieces", "withdraw", strange, strange},
			{"pieces", "certify", "S-31", "1 mm", "--role", "a\x1b" + strange, "--due", strange}, {"gauges", "certify", "D07\x07", "--kind", strange},
			{"stock", "count", strange, strange, "1"}, {"stock", "count", "a\x1b" + strange, "1 mm", strange}, {"trace", strange}, {"sheet", "approve", strange},
		} {
			out, said, err := obeyed(strings.NewReader(""), append(args, "--bench", bench)...)
			if err == nil {
				t.Errorf("%.40q is not refused: %s", args, out)
				continue
			}
			plain(t, strings.Join(args[:2], " "), err)
			if all := out + said + err.Error(); strings.ContainsFunc(all, func(r rune) bool { return r < ' ' && r != '\n' || r == '\u202e' || r == '\x7f' }) {
				t.Errorf("%.40q comes back raw: %.200q", args, all)
			} else if len(all) > 1500 {
				t.Errorf("%.40q: %d bytes come back", args, len(all))
			}
		}
	}
}
