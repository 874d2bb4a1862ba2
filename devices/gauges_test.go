package devices_test

import (
	"fmt"
	"os"
	"regexp"
	"strings"
	"testing"

	"shimwright/devices/decodertest"
)

// GAUGES.md has a row for each form, with a line that the form has, its origin
// and fuzz targets that there are.
func TestGaugesDocument(t *testing.T) {
	doc, err := os.ReadFile("GAUGES.md")
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range decodertest.All() {
		_, row, ok := strings.Cut(string(doc), "\n| "+f.Name+" | `")
		if !ok {
			t.Errorf("no row for %q", f.Name)
			continue
		}
		row, _, _ = strings.Cut(row, "\n")
		cells := strings.Split(row, " | ")
		if len(cells) != 4 {
			t.Errorf("the row of %q has %d cells, not form, line, profile, origin, fuzz target", f.Name, len(cells)+1)
			continue
		}
		line, _, _ := strings.Cut(cells[0], "`")
		if !sent(f, line) {
			t.Errorf("the line %q is not one of the form %q", line, f.Name)
		}
		if !strings.HasPrefix(cells[2], "S") && !strings.HasPrefix(cells[2], "M") {
			t.Errorf("the origin of %q is %q, neither S nor M", f.Name, cells[2])
		}
		checkTargets(t, f.Name, cells[3])
	}
}

// sent tells whether a line, or its bytes in hex, is a good one of the form.
func sent(f decodertest.Form, line string) bool {
	for _, g := range f.Good {
		if strings.TrimRight(g.Bytes, "\r\n") == line || fmt.Sprintf("% X", g.Bytes) == line {
			return true
		}
	}
	return false
}

// checkTargets finds each fuzz target named as in text.FuzzBlanks.
func checkTargets(t *testing.T, form, cell string) {
	t.Helper()
	targets := regexp.MustCompile("`([a-z]+)\\.(Fuzz[A-Za-z]+)`").FindAllStringSubmatch(cell, -1)
	if len(targets) == 0 {
		t.Errorf("%q names no fuzz target", form)
	}
	for _, m := range targets {
		source, err := os.ReadFile(m[1] + "/" + m[1] + "_test.go")
		if err != nil || !strings.Contains(string(source), "\nfunc "+m[2]+"(f *testing.F)") {
			t.Errorf("%q: there is no %s in %s, %v", form, m[2], m[1], err)
		}
	}
}
