package record

import (
	"bytes"
	"errors"
	"flag"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"shimwright/devices"
	"shimwright/ingest/carried"
)

var update = flag.Bool("update", false, "write the golden files anew")

func jobs() map[string]func(testing.TB) carried.Job {
	return map[string]func(testing.TB) carried.Job{"smallest": smallest, "demo": demo, "crowded": crowded}
}

func golden(t *testing.T, name string, got []byte) {
	t.Helper()
	path := filepath.Join("testdata", name)
	if *update {
		if err := os.MkdirAll("testdata", 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, got, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(string(want), string(got)); diff != "" {
		t.Errorf("%s: %s", name, diff)
	}
}

func TestText(t *testing.T) {
	for name, make := range jobs() {
		var b bytes.Buffer
		if err := recordOf(t, make(t)).Text(&b); err != nil {
			t.Fatal(err)
		}
		golden(t, name+".txt", b.Bytes())
	}
}

func TestLabel(t *testing.T) {
	for name, make := range jobs() {
		var b bytes.Buffer
		if err := recordOf(t, make(t)).LabelText(&b); err != nil {
			t.Fatal(err)
		}
		golden(t, name+"-label.txt", b.Bytes())
	}
}

func TestNoFactsNoRecord(t *testing.T) {
	if _, err := From(carried.Job{Bench: "b", ID: "1"}); !errors.Is(err, ErrNoFacts) {
		t.Error(err)
	}
}

// The day of presses that were not made on the first one stands over them.
func TestPressesOfALaterDay(t *testing.T) {
	m := newMaker(t, "0001", devices.SourceGauge, headOf(t))
	m.send(m.press("recess", "", "D07", "depth gauge", "7.31 mm"))
	m.at = m.at.AddDate(0, 0, 1)
	m.send(m.press("recess", "", "D07", "depth gauge", "7.32 mm"))
	m.send(m.press("recess", "", "D07", "depth gauge", "7.33 mm"))
	var b bytes.Buffer
	if err := recordOf(t, m.job()).Text(&b); err != nil {
		t.Fatal(err)
	}
	found := regexp.MustCompile(`(?m)^ +recess · D07 · build 1(?: · (\S+))?\n(?: +7\.3\d mm .*\n)+`).FindAllStringSubmatch(b.String(), -1)
	if len(found) != 2 || found[0][1] != "" || found[1][1] != "2026-02-04" || strings.Count(found[1][0], " mm (") != 2 {
		t.Errorf("%q in\n%s", found, b.String())
	}
}
