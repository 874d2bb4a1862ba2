package devices_test

import (
	"os"
	"strings"
	"testing"

	"shimwright/devices/decodertest"
)

// GAUGES.md has a row for each form, with a line that the form has.
func TestGaugesDocument(t *testing.T) {
	doc, err := os.ReadFile("GAUGES.md")
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range decodertest.Forms() {
		_, row, ok := strings.Cut(string(doc), "\n| "+f.Name+" | `")
		if !ok {
			t.Errorf("no row for %q", f.Name)
			continue
		}
		line, _, _ := strings.Cut(row, "`")
		found := false
		for _, g := range f.Good {
			found = found || strings.TrimRight(g.Bytes, "\r\n") == line
		}
		if !found {
			t.Errorf("the line %q is not one of the form %q", line, f.Name)
		}
	}
}
