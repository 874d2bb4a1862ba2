package draw

import (
	"fmt"
	"io"
	"strings"
	"testing"

	"shimwright/calc/quantity"
	"shimwright/calc/ring"
)

// ringOf makes a ring of figures at even angles, judged where all are there; ""
// is a spot not read yet.
func ringOf(t testing.TB, band ring.Band, figures ...string) Ring {
	t.Helper()
	out := Ring{Band: &band, Unit: quantity.MM, Places: 3}
	var points []ring.Point
	for i, f := range figures {
		angle := quantity.MustExact(fmt.Sprint(360 * float64(i) / float64(len(figures))))
		s := Spot{Angle: angle.Float()}
		if f == "" {
			s.Next = len(points) == i
		} else {
			x := quantity.MustExact(f)
			s.Value = &x
			points = append(points, ring.Point{Angle: angle, Repeats: []quantity.Exact{x}})
		}
		out.Spots = append(out.Spots, s)
	}
	if len(points) < len(figures) || len(points) < ring.MinPoints {
		return out
	}
	r, err := ring.Judge(ring.Input{Points: points, Band: band, U: quantity.MustExact("0.01")})
	if err != nil {
		t.Fatal(err)
	}
	out.Fit = &r.Fit
	for i := range out.Spots {
		out.Spots[i].Verdict = r.Points[i].Verdict
	}
	return out
}

func rowsText(rows []Row) string {
	var b strings.Builder
	for _, r := range rows {
		b.WriteString(r.Text() + "\n")
	}
	return b.String()
}

func TestRings(t *testing.T) {
	band := ring.Band{Low: quantity.MustExact("0.15"), High: quantity.MustExact("0.25")}
	var many []string
	for i := range 24 {
		many = append(many, fmt.Sprintf("0.%d", 190+i%5*6))
	}
	for name, figures := range map[string][]string{
		"none":         {"", "", "", ""},
		"one":          {"0.21", "", "", ""},
		"three of six": {"0.21", "0.20", "0.19", "", "", ""},
		"good":         {"0.21", "0.20", "0.22", "0.21"},
		"too wide":     {"0.34", "0.33", "0.35", "0.34"},
		"spread":       {"0.16", "0.22", "0.30", "0.24"},
		"hidden tooth": {"0.17", "0.17", "0.27", "0.27"},
		"even":         {"0.20", "0.20", "0.20", "0.20"},
		"twenty-four":  many,
	} {
		r := ringOf(t, band, figures...)
		var b strings.Builder
		for _, l := range []Look{{Width: 46, Height: 17}, {Width: 46, Height: 17, ASCII: true}, {Width: 80, Height: 32}, {Width: 24, Height: 5}} {
			rows := r.Rows(l)
			fmt.Fprintf(&b, "--- %d by %d\n%s", l.Width, l.Height, rowsText(rows))
			for i, row := range rows {
				if row.Cells() > l.Width {
					t.Errorf("%s: row %d takes %d of %d cells", name, i, row.Cells(), l.Width)
				}
			}
		}
		fmt.Fprintf(&b, "--- in words\n%s", r.Words())
		golden(t, "ring_"+strings.ReplaceAll(name, " ", "-"), func(w io.Writer) error { _, err := io.WriteString(w, b.String()); return err })
	}
}

// No room is too small to be asked for.
func TestRingInNoRoom(t *testing.T) {
	band := ring.Band{Low: quantity.MustExact("0.15"), High: quantity.MustExact("0.25")}
	r := ringOf(t, band, "0.21", "0.20", "0.22", "0.21")
	for w := range 30 {
		for h := range 12 {
			for _, row := range r.Rows(Look{Width: w, Height: h}) {
				if row.Cells() > w {
					t.Fatalf("%d by %d: %q", w, h, row.Text())
				}
			}
		}
	}
}
