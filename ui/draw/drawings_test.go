package draw

import (
	"fmt"
	"io"
	"strings"
	"testing"

	"shimwright/calc/quantity"
	"shimwright/calc/stock"
)

// drawn writes drawings in both looks, each under its name.
type drawn struct {
	t *testing.T
	b strings.Builder
}

func (d *drawn) add(name string, of func(Look) []Row, width, height int) {
	for _, ascii := range []bool{false, true} {
		rows := of(Look{Width: width, Height: height, ASCII: ascii})
		fmt.Fprintf(&d.b, "--- %s\n%s", name, rowsText(rows))
		for i, r := range rows {
			if r.Cells() > width {
				d.t.Errorf("%s: row %d takes %d of %d cells: %q", name, i, r.Cells(), width, r.Text())
			}
			for _, c := range r.Text() {
				if ascii && c > 0x7E && c != '…' && c != '×' && c != '±' {
					d.t.Errorf("%s: %q is no plain character", name, c)
				}
			}
		}
	}
}

func (d *drawn) to(file string) {
	golden(d.t, file, func(w io.Writer) error { _, err := io.WriteString(w, d.b.String()); return err })
}

func TestSetups(t *testing.T) {
	d := drawn{t: t}
	for _, file := range []string{"fw3.yaml", "inch.yaml"} {
		s := readSheet(t, file)
		for _, st := range s.Steps() {
			if st.Measure != nil {
				named := func(std string) string { return "S-" + fmt.Sprint(len(std)) + " 75.004 mm" }
				d.add(st.Name, func(l Look) []Row { return Setup(s, st, named, l) }, 46, 9)
			}
		}
	}
	d.to("setups")
}

func TestFaces(t *testing.T) {
	d := drawn{t: t}
	s := readSheet(t, "fw3.yaml")
	for _, name := range []string{"pinion face height", "pinion pack", "wheel pack", "closing pack", "helical pack"} {
		st, _ := s.Step(name)
		d.add(name, func(l Look) []Row { return Faces(s, LoopOf(s, st), l) }, 80, 20)
	}
	d.to("faces")
}

func leafOf(size string, n int) stock.Leaf {
	return stock.Leaf{Size: quantity.MustExact(size), Label: size + " mm", Count: n}
}

func TestPacks(t *testing.T) {
	d := drawn{t: t}
	x := quantity.MustExact
	want, below := x("1.370"), x("-1.660")
	three := []stock.Leaf{leafOf("1.00", 1), leafOf("0.05", 1), leafOf("0.30", 1)}
	tray := []stock.Leaf{leafOf("1.00", 6), leafOf("0.30", 6), leafOf("0.20", 4), leafOf("0.05", 6)}
	for name, p := range map[string]Packs{
		"made up": {Wanted: &want, Within: x("0.025"), Unit: quantity.MM, Places: 3, Stock: tray, Rows: []Leaved{
			{Name: "make up", Total: x("1.35"), Leaves: three, Does: "pinion 0.020 mm IN"},
			{Name: "or", Total: x("1.39"), Leaves: []stock.Leaf{leafOf("1.00", 1), leafOf("0.39", 1)}},
			{Name: "fitted", Total: x("1.352"), Does: "pinion 0.018 mm IN"},
		}},
		"no pack": {Wanted: &want, Within: x("0.01"), Unit: quantity.MM, Places: 3, Rows: []Leaved{
			{Name: "near", Total: x("1.35"), Leaves: []stock.Leaf{leafOf("0.10", 1), leafOf("0.25", 1)}, Does: "pinion 0.020 mm IN"},
			{Name: "near", Total: x("1.40"), Leaves: []stock.Leaf{leafOf("0.10", 1), leafOf("0.25", 1)}},
		}},
		"measured alone": {Unit: quantity.MM, Places: 3, Rows: []Leaved{{Name: "fitted", Total: x("10.09")}}},
		"nothing":        {Unit: quantity.MM, Places: 3},
		"below nought":   {Wanted: &below, Within: x("0.025"), Unit: quantity.MM, Places: 3, Stock: []stock.Leaf{leafOf("0.10", 10)}},
	} {
		one := drawn{t: t}
		one.add(name, p.Draw, 80, 20)
		one.to("packs_" + strings.ReplaceAll(name, " ", "-"))
	}
	d.add("none", Packs{}.Draw, 12, 3)
}

func TestFlanks(t *testing.T) {
	d := drawn{t: t}
	marks := []string{"central", "slightly to toe", "high", "low", "heel", "toe", "crossed at random"}
	for _, seen := range []string{"", "slightly to toe", "heel", "crossed at random"} {
		f := Flank{Name: "drive", Marks: marks, Good: marks[:2], Seen: seen}
		d.add(strings.TrimSpace("seen "+seen), f.Rows, 78, 9)
	}
	d.add("many", Flank{Name: "coast [red]\x1b[1m", Marks: []string{"high at the toe", "toe, high", "low at the heel", "central"}}.Rows, 78, 9)
	d.to("flanks")
	f := Flank{Marks: marks}
	for _, c := range []struct{ from, right, down, want int }{
		{0, 0, 0, 1}, {1, 1, 0, 5}, {1, -1, 0, 2}, {2, -1, 0, 6}, {1, 0, -1, 3}, {1, 0, 1, 4}, {6, -1, 0, 6}, {3, 0, 1, 1}, {7, 1, 0, 7},
	} {
		if got := f.Near(c.from, c.right, c.down); got != c.want {
			t.Errorf("from %d by %d, %d: %d, want %d", c.from, c.right, c.down, got, c.want)
		}
	}
}
