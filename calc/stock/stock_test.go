package stock

import (
	"strings"
	"testing"

	"github.com/shopspring/decimal"

	"shimwright/calc/quantity"
)

// Figures of the workshop stories: invented drives, computed with exact
// decimals.
func TestWorkshopStories(t *testing.T) {
	ex := quantity.MustExact
	metric := tray(t, mm("1.00", 4), mm("0.50", 4), mm("0.30", 4), mm("0.05", 1))
	inch := tray(t, thou("3", 6), thou("5", 6), thou("10", 6), thou("20", 6), thou("30", 6))
	for _, c := range []struct {
		name  string
		from  Tray
		ask   Request
		total quantity.Exact
		miss  quantity.Exact
		pack  string
	}{
		{"pinion pack", metric, Request{Want: ex("1.370"), Within: ex("0.02")}, ex("1.35"), ex("-0.020"), "1.00 + 0.30 + 0.05"},
		{"helical shaft, fewest leaves", inch, Request{Want: inThou("50.7"), Within: inThou("2"), Objective: FewestWithin},
			inThou("50"), inThou("-0.7"), "30 + 20"},
		{"helical shaft, closest", inch, Request{Want: inThou("50.7"), Within: inThou("2")},
			inThou("51"), inThou("0.3"), "30 + 10 + 5 + 2 × 3"},
		{"nothing to fill", metric, Request{}, ex("0"), ex("0"), "no leaves"},
	} {
		t.Run(c.name, func(t *testing.T) {
			a := makeUp(t, c.from, c.ask)
			if len(a.Packs) != 1 || a.Below != nil || a.Above != nil || a.Order != nil {
				t.Fatalf("answer %+v, want one pack and nothing else", a)
			}
			p := a.Packs[0]
			if !p.Total.Equal(c.total) || !p.Error.Equal(c.miss) || p.String() != c.pack {
				t.Errorf("pack %s = %s mm, error %s; want %s = %s, %s", p, p.Total, p.Error, c.pack, c.total, c.miss)
			}
		})
	}
}

// Need 1.37 ± 0.01 from 0.10 and 0.25 only: no pack; 1.35 and 1.40 are nearest,
// and one 0.12 leaf with five of 0.25 lands exactly.
func TestNoPack(t *testing.T) {
	ex := quantity.MustExact
	from := tray(t, mm("0.10", 10), mm("0.25", 10))
	ask := Request{Want: ex("1.37"), Within: ex("0.01")}
	a := makeUp(t, from, ask)
	if len(a.Packs) != 0 || a.Below == nil || a.Above == nil || a.Order == nil {
		t.Fatalf("answer %+v, want no pack, its neighbours and an order", a)
	}
	if !a.Below.Total.Equal(ex("1.35")) || !a.Below.Error.Equal(ex("-0.02")) {
		t.Errorf("below %s, error %s; want 1.35, -0.02", a.Below.Total, a.Below.Error)
	}
	if !a.Above.Total.Equal(ex("1.40")) || !a.Above.Error.Equal(ex("0.03")) {
		t.Errorf("above %s, error %s; want 1.40, 0.03", a.Above.Total, a.Above.Error)
	}
	o := a.Order
	if !o.Size.Equal(ex("0.12")) || len(o.Pack.Leaves) != 6 || !o.Pack.Error.IsZero() || o.Unusual || o.BreaksRules {
		t.Errorf("order %s in %s (%d leaves), want 0.12 with 5 × 0.25, 6 leaves", o.Size, o.Pack, len(o.Pack.Leaves))
	}
	ask.Rules.AtMost = 5
	if o = makeUp(t, from, ask).Order; !o.Size.Equal(ex("0.12")) || !o.BreaksRules {
		t.Errorf("at most 5 leaves: order %s, breaks the rules %v; want 0.12, true", o.Size, o.BreaksRules)
	}
}

func TestNoPackAtTheEdges(t *testing.T) {
	ex := quantity.MustExact
	for _, c := range []struct {
		name                string
		from                Tray
		ask                 Request
		below, above, order string // empty: none
		unusual             bool
	}{
		{"empty tray", Tray{}, Request{Want: ex("1.2")}, "0", "", "1.2", true},
		{"tray too small", tray(t, mm("0.5", 2)), Request{Want: ex("1.2")}, "1", "", "1.2", true},
		{"thinner than any leaf", tray(t, mm("0.5", 2)), Request{Want: ex("0.2")}, "0", "0.5", "0.2", true},
		{"rules need three", tray(t, mm("0.5", 4)), Request{Want: ex("1.0"), Rules: Rules{AtLeast: 3}}, "", "1.5", "", false},
		{"more leaves than there are", tray(t, mm("0.5", 2)), Request{Want: ex("1.0"), Rules: Rules{AtLeast: 4}}, "", "", "0.5", false},
		{"nought from three", tray(t, mm("0.5", 4), mm("0.1", 2)), Request{Rules: Rules{AtLeast: 3}}, "", "0.7", "", false},
	} {
		t.Run(c.name, func(t *testing.T) {
			a := makeUp(t, c.from, c.ask)
			if len(a.Packs) != 0 {
				t.Fatalf("got pack %s", a.Packs[0])
			}
			checkTotal(t, "below", a.Below, c.below)
			checkTotal(t, "above", a.Above, c.above)
			if c.order != "" && (a.Order == nil || !a.Order.Size.Equal(ex(c.order)) || a.Order.Unusual != c.unusual) {
				t.Errorf("order %+v, want %s, unusual %v", a.Order, c.order, c.unusual)
			}
		})
	}
}

func checkTotal(t *testing.T, side string, p *Pack, want string) {
	t.Helper()
	switch {
	case p == nil && want != "":
		t.Errorf("%s: none, want %s", side, want)
	case p != nil && want == "":
		t.Errorf("%s: %s, want none", side, p.Total)
	case p != nil && !p.Total.Equal(quantity.MustExact(want)):
		t.Errorf("%s: %s, want %s", side, p.Total, want)
	}
}

func TestTies(t *testing.T) {
	ex := quantity.MustExact
	for _, c := range []struct {
		name string
		from Tray
		ask  Request
		want string // packs, best first
	}{
		{"thinner of two equally near", tray(t, mm("0.4", 1), mm("0.6", 1)),
			Request{Want: ex("0.5"), Within: ex("0.1"), Answers: 5}, "0.4, 0.6"},
		{"larger single leaves", tray(t, mm("0.1", 9), mm("0.2", 9), mm("0.3", 9)),
			Request{Want: ex("0.4"), Answers: 9}, "0.3 + 0.1, 2 × 0.2, 0.2 + 2 × 0.1, 4 × 0.1"},
		{"fewest, then nearest", tray(t, mm("0.1", 9), mm("0.35", 1), mm("0.42", 1)),
			Request{Want: ex("0.4"), Within: ex("0.05"), Objective: FewestWithin, Answers: 3}, "0.42, 0.35, 0.35 + 0.1"},
		{"a third of a millimetre", tray(t, mm("0.33", 1), mm("0.34", 1)),
			Request{Want: third(t), Within: ex("0.01"), Answers: 2}, "0.33, 0.34"},
	} {
		t.Run(c.name, func(t *testing.T) {
			var got []string
			for _, p := range makeUp(t, c.from, c.ask).Packs {
				got = append(got, p.String())
			}
			if s := strings.Join(got, ", "); s != c.want {
				t.Errorf("packs %s; want %s", s, c.want)
			}
		})
	}
}

func power(n int32) quantity.Exact { return quantity.FromDecimal(decimal.New(1, n)) }

func third(t *testing.T) quantity.Exact {
	t.Helper()
	r, err := quantity.RatioOf(1, 3)
	if err != nil {
		t.Fatal(err)
	}
	return quantity.MustExact("1").Times(r)
}

// An inch tray has a grid of its own; nothing is rounded to a metric one.
func TestInchGrid(t *testing.T) {
	g, err := gridOf(tray(t, thou("3", 1), thou("5", 1), thou("10", 1)).leaves)
	if err != nil {
		t.Fatal(err)
	}
	if got := g.size(1).String(); got != "0.0254" {
		t.Errorf("grid %s mm, want 0.0254: one thousandth of an inch", got)
	}
	mixed := tray(t, thou("3", 2), mm("0.10", 2))
	p := makeUp(t, mixed, Request{Want: quantity.MustExact("0.1762")}).Packs
	if len(p) != 1 || p[0].String() != "0.10 + 3" {
		t.Errorf("packs %v, want 0.10 mm and 3 thou", p)
	}
}

// Thickest outside is the trade's way (common practice, no source). Thinnest on
// both outer faces, at least three: US Army TM 10-3930-660-34, task 9-5.
func TestStackingOrder(t *testing.T) {
	from := tray(t, mm("1.00", 1), mm("0.30", 1), mm("0.05", 2))
	ask := Request{Want: quantity.MustExact("1.40"), Rules: Rules{AtLeast: 3}}
	if got := labels(makeUp(t, from, ask).Packs[0]); got != "1.00 0.05 0.05 0.30" {
		t.Errorf("thickest outside: %s", got)
	}
	ask.Rules.ThinnestOutside = true
	if got := labels(makeUp(t, from, ask).Packs[0]); got != "0.05 0.30 1.00 0.05" {
		t.Errorf("thinnest outside: %s", got)
	}
	one := makeUp(t, tray(t, mm("0.50", 6), mm("1.00", 1)), Request{Want: quantity.MustExact("1.00"), Rules: Rules{AtLeast: 3}})
	if len(one.Packs) != 0 || !one.Above.Total.Equal(quantity.MustExact("1.50")) {
		t.Errorf("at least three leaves: %+v", one)
	}
}

func TestMeasuredLeavesGoFirst(t *testing.T) {
	size := quantity.MustExact("0.30")
	from := tray(t,
		Leaf{Size: size, Label: "b", Count: 1},
		Leaf{Size: size, Label: "c", Count: 1, Measured: true},
		Leaf{Size: size, Label: "a", Count: 1},
		Leaf{Size: size, Label: "a", Count: 1})
	a := makeUp(t, from, Request{Want: quantity.MustExact("0.90"), Answers: 4})
	if len(a.Packs) != 1 || a.Packs[0].String() != "c + 2 × a" {
		t.Errorf("packs %v, want c and two of a, and no other answer", a.Packs)
	}
}

func TestDraw(t *testing.T) {
	from := tray(t, mm("0.10", 2), mm("0.25", 2))
	ask := Request{Want: quantity.MustExact("0.60")}
	p := makeUp(t, from, ask).Packs[0]
	rest, err := from.Draw(p)
	if err != nil {
		t.Fatal(err)
	}
	if len(rest.Leaves()) != 1 || rest.Leaves()[0].Count != 1 || rest.Leaves()[0].Label != "0.10" {
		t.Errorf("left %+v, want one leaf of 0.10", rest.Leaves())
	}
	if n := from.Leaves()[0].Count; n != 2 {
		t.Errorf("the first tray changed: %d leaves of 0.25, want 2", n)
	}
	if _, err := rest.Draw(p); err == nil || !strings.Contains(err.Error(), "not in the tray any more") {
		t.Errorf("drawing the same leaves twice: %v", err)
	}
	if _, err := from.Draw(Pack{Leaves: []Leaf{mm("0.10", -1)}}); err == nil {
		t.Error("a pack of a negative leaf was drawn")
	}
}

func TestTrayRefuses(t *testing.T) {
	var many []Leaf
	for i := range MaxSizes + 1 {
		many = append(many, Leaf{Size: quantity.MustExact("0.01").Times(quantity.Whole(int64(i + 1))), Count: 1})
	}
	for _, c := range []struct {
		name   string
		leaves []Leaf
		want   string
	}{
		{"no count", []Leaf{mm("0.1", 0)}, "count 0"},
		{"negative count", []Leaf{mm("0.1", -2)}, "count -2"},
		{"negative leaf", []Leaf{mm("0.2", 1), mm("-0.1", 1)}, `leaf 2 ("-0.1"): size -0.1 mm: a leaf has a thickness above 0`},
		{"no thickness", []Leaf{mm("0.00", 1)}, "above 0"},
		{"too thick", []Leaf{mm("100.1", 1)}, "thickest leaf is 100 mm"},
		{"too many of a kind", []Leaf{mm("0.1", MaxCount), mm("0.1", 1)}, "10001 of them"},
		{"count beyond sense", []Leaf{mm("0.1", MaxCount+1)}, "most of one kind"},
		{"not a decimal", []Leaf{{Size: third(t), Count: 1}}, "does not end as a decimal"},
		{"far too long a figure", []Leaf{{Size: power(1000000000), Count: 1}}, "at most 24"},
		{"too many sizes", many, "201 different sizes: the most is 200"},
	} {
		t.Run(c.name, func(t *testing.T) {
			if _, err := NewTray(c.leaves...); err == nil || !strings.Contains(err.Error(), c.want) {
				t.Errorf("error %v, want one with %q", err, c.want)
			}
		})
	}
}

func TestRequestRefuses(t *testing.T) {
	ex := quantity.MustExact
	usual := tray(t, mm("0.1", 1))
	var dense []Leaf
	for i := range MaxSizes {
		dense = append(dense, Leaf{Size: ex("10.001").Add(ex("0.001").Times(quantity.Whole(int64(i)))), Count: 100})
	}
	for _, c := range []struct {
		name string
		from Tray
		ask  Request
		want string
	}{
		{"negative", usual, Request{Want: ex("-1.557")}, "a pack cannot be negative"},
		{"too thick", usual, Request{Want: ex("100.001")}, "thickest pack is 100 mm"},
		{"negative tolerance", usual, Request{Within: ex("-0.01")}, "tolerance -0.01 mm: give 0 or more"},
		{"tolerance beyond sense", usual, Request{Within: ex("101")}, "tolerance 101 mm"},
		{"objective", usual, Request{Objective: 7}, "objective 7 is not known"},
		{"answers", usual, Request{Answers: 101}, "ask for 1 to 100"},
		{"rules crossed", usual, Request{Rules: Rules{AtLeast: 4, AtMost: 3}}, "swap them"},
		{"at least", usual, Request{Rules: Rules{AtLeast: -1}}, "at least -1"},
		{"at most", usual, Request{Rules: Rules{AtMost: 61}}, "at most 61"},
		{"grid", tray(t, mm("0.1", 1), mm("0.10001", 1)), Request{}, "step of only 0.00001 mm"},
		{"places", tray(t, mm("0.1", 1), mm("0.1000000000000001", 1)), Request{}, "16 places"},
		{"table", tray(t, dense...), Request{Want: ex("100")}, "the most is 8000000"},
		{"long figure", usual, Request{Want: power(-1000000000)}, "at most 24"},
		{"long tolerance", usual, Request{Within: power(1000000000)}, "at most 24"},
	} {
		t.Run(c.name, func(t *testing.T) {
			if _, err := c.from.MakeUp(c.ask); err == nil || !strings.Contains(err.Error(), c.want) {
				t.Errorf("error %v, want one with %q", err, c.want)
			}
		})
	}
}
