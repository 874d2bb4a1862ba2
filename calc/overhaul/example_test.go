package overhaul_test

import (
	"errors"
	"fmt"
	"strings"
	"testing"

	"shimwright/calc/document"
	"shimwright/calc/overhaul"
)

func TestExampleComesOut(t *testing.T) {
	s := readSheet(t, "gk1.yaml")
	res, err := overhaul.CheckExample(s)
	if err != nil {
		t.Fatal(err)
	}
	// 7.13 + 0.42 + (40.00 − 0.03) − (25.002 + 12.006 − 11.07) − 0.10
	same(t, "the pack", worked(t, res, "end pack"), mm("21.482"))
}

// Each example is refused at its file, line and column.
func TestExampleRefused(t *testing.T) {
	whole := text(t, "gk1.yaml")
	for _, c := range []struct {
		name  string
		swaps []string
		at    string // the text whose place is named
		says  string
	}{
		{"wrong figure", []string{"end pack: 21.482 mm", "end pack: 21.483 mm"}, "end pack: 21.483", "the example gives end pack = 21.4820 mm, and 21.483 mm is written"},
		{"sign of a mark slipped", []string{"digits: -3", "digits: +3"}, "end pack: 21.482", "21.5420 mm"},
		{"blind to a mark of nought", []string{"digits: -3", "digits: 0", "21.482", "21.512"}, "end pack: 21.512", "blind to mark (marked on the part) in end pack: turned"},
		{"blind to a gasket of nought", []string{"[0.42 mm, 0.42 mm]", "[0.00 mm, 0.00 mm]", "21.482", "21.062"}, "end pack: 21.062", "blind to reading (pressed) in end pack: turned"},
		{"blind to a mark that rounding hides", []string{"digits: -3", "digits: -3", "end pack: 21.482 mm", "end pack: 21 mm"}, "end pack: 21 mm", "blind to"},
		{"waits for a step", []string{"    - {step: gasket, presses: [0.42 mm, 0.42 mm]}\n", ""}, "end pack: 21.482", "the example does not give end pack: it waits for end pack waits for gasket"},
		{"stopped", []string{"range: 0.50 mm .. 30.00 mm", "range: 0.50 mm .. 3.00 mm"}, "end pack: 21.482", "the example does not give end pack: STOP"},
		{"presses apart", []string{"[7.13 mm, 7.13 mm]", "[7.13 mm, 7.43 mm]"}, "end pack: 21.482", "lie 0.300 mm apart"},
		{"none", []string{whole[strings.Index(whole, "\nexample:"):], "\n"}, "", "the sheet has no example"},
		{"pack not given", []string{"  gives:\n    end pack: 21.482 mm\n", "  gives: {}\n"}, "pack: end pack", "does not say what end pack must come to"},
	} {
		t.Run(c.name, func(t *testing.T) {
			body := swap(t, whole, c.swaps...)
			_, err := overhaul.CheckExample(parse(t, body))
			if err == nil {
				t.Fatal("the example is taken")
			}
			var fault *document.Fault
			if !errors.As(err, &fault) {
				t.Fatalf("%v is no fault with a place", err)
			}
			line, column := 1, 1
			if c.at != "" {
				line, column = placeOf(t, body, c.at)
			}
			if want := fmt.Sprintf("sheet.yaml:%d:%d: ", line, column); !strings.HasPrefix(err.Error(), want) {
				t.Errorf("%q, want it to begin %q", err, want)
			}
			contains(t, err.Error(), c.says)
		})
	}
}

// placeOf is where a text stands, counted from 1.
func placeOf(t testing.TB, body, at string) (line, column int) {
	t.Helper()
	i := strings.Index(body, at)
	if i < 0 {
		t.Fatalf("%q is not in the sheet", at)
	}
	return strings.Count(body[:i], "\n") + 1, i - strings.LastIndex(body[:i], "\n")
}

// Any one leaf of the example, turned or dropped, is noticed: a slip in the
// sheet that turns a sign changes the pack.
func TestExampleNoticesEveryLeaf(t *testing.T) {
	s := readSheet(t, "gk1.yaml")
	res, err := overhaul.CheckExample(s)
	if err != nil {
		t.Fatal(err)
	}
	leaves := of(t, res, "end pack").Pack.Worked.Leaves()
	total := mm("0")
	for _, l := range leaves {
		total = total.Add(l.Figure.Value.Times(l.Coef))
		if l.Figure.Value.IsZero() || l.Coef.IsZero() {
			t.Errorf("%s counts for nothing", l.Figure.Name)
		}
	}
	same(t, "the sum of the leaves", total, worked(t, res, "end pack"))
	if len(leaves) != 11 { // 3 lengths of 2 presses, 2 pieces, nominal, mark, gap
		t.Errorf("%d leaves", len(leaves))
	}
}
