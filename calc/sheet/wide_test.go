package sheet_test

import (
	"fmt"
	"strings"
	"testing"

	"shimwright/calc/sheet"
)

// wide is a sheet near its bounds: 5 axes of 200 faces, 995 drawn lengths and
// 400 steps, each a mark of a wanted distance along a whole axis.
func wide() string {
	var b strings.Builder
	b.WriteString("sheet: wide\nissue: 1\ntitle: Wide\nmanual: invented\nunits: mm\naxes:\n")
	for a := range 5 {
		fmt.Fprintf(&b, "  a%d: [", a)
		for f := range 200 {
			fmt.Fprintf(&b, "%s f%d-%d", []string{"", ","}[min(f, 1)], a, f)
		}
		b.WriteString("]\n")
	}
	b.WriteString("not measured:\n")
	for a := range 5 {
		for f := range 199 {
			fmt.Fprintf(&b, "  l%d-%d: [f%d-%d, f%d-%d]\n", a, f, a, f, a, f+1)
		}
	}
	b.WriteString("stages:\n")
	for i := range 400 {
		if i%200 == 0 {
			fmt.Fprintf(&b, "  - stage: s%d\n    steps:\n", i)
		}
		fmt.Fprintf(&b, "      - {mark: m%d, wanted: [f%d-0, f%d-199], nominal: 1 mm, digits: thou, plus: longer}\n", i, i%5, i%5)
	}
	return b.String()
}

// A sheet and readings near their bounds are read; how long that takes is
// looked at by eye.
func TestWideSheetIsRead(t *testing.T) {
	s := mustRead(t, "wide.yaml", []byte(wide()))
	if len(s.Steps()) != 400 || len(s.Net.Lengths()) != 995+400 {
		t.Errorf("%d steps, %d lengths", len(s.Steps()), len(s.Net.Lengths()))
	}
	e, err := sheet.ReadEntries(s, "wide.yaml", []byte(wideReadings()))
	if err != nil || len(e.List) != 5000 {
		t.Errorf("%d entries, %v", len(e.List), err)
	}
}

func wideReadings() string {
	var b strings.Builder
	b.WriteString("readings for: wide\nentries:\n")
	for i := range 5000 {
		fmt.Fprintf(&b, "  - {step: m%d, digits: +8}\n", i%400)
	}
	return b.String()
}

func BenchmarkReadWide(b *testing.B) {
	text := []byte(wide())
	b.Run("sheet", func(b *testing.B) {
		for b.Loop() {
			if _, err := sheet.Read("wide.yaml", text); err != nil {
				b.Fatal(err)
			}
		}
	})
	s := mustRead(b, "wide.yaml", text)
	readings := []byte(wideReadings())
	b.Run("readings", func(b *testing.B) {
		for b.Loop() {
			if _, err := sheet.ReadEntries(s, "wide.yaml", readings); err != nil {
				b.Fatal(err)
			}
		}
	})
}
