package stock

import (
	"math"
	"testing"

	"github.com/shopspring/decimal"

	"shimwright/calc/quantity"
	"shimwright/calc/stat/checktest"
)

// Every exported entry point with input that cannot be meant: an error that
// names the input, never a panic.
func TestBadInput(t *testing.T) {
	far, dust := quantity.FromDecimal(decimal.New(1, 2e9)), quantity.FromDecimal(decimal.New(1, math.MinInt32))
	third := quantity.MustExact("0.1").Times(mustRatio(t, 1, 3))
	size := quantity.MustExact("0.10")
	made := func(field string, l Leaf) checktest.Bad {
		return checktest.Bad{Call: "NewTray", Field: field, Err: func() error { _, err := NewTray(l); return err }}
	}
	ask := func(field string, r Request) checktest.Bad {
		return checktest.Bad{Call: "Tray.MakeUp", Field: field, Err: func() error {
			tray, err := NewTray(Leaf{Size: size, Label: "0.10 mm", Count: 5})
			if err != nil {
				t.Fatal(err)
			}
			_, err = tray.MakeUp(r)
			return err
		}}
	}
	draw := func(field string, tray Tray, leaves ...Leaf) checktest.Bad {
		return checktest.Bad{Call: "Tray.Draw", Field: field, Err: func() error { _, err := tray.Draw(Pack{Leaves: leaves}); return err }}
	}
	list := []checktest.Bad{
		made("count", Leaf{Size: size}), made("count", Leaf{Size: size, Count: -1}), made("count", Leaf{Size: size, Count: math.MaxInt}),
		made("size", Leaf{Count: 1}), made("size", Leaf{Size: size.Neg(), Count: 1}), made("size", Leaf{Size: far, Count: 1}),
		made("size", Leaf{Size: dust, Count: 1}), made("size", Leaf{Size: third, Count: 1}), made("size", Leaf{Size: quantity.MustExact("1000"), Count: 1}),
		ask("wanted size", Request{Want: size.Neg()}), ask("wanted size", Request{Want: far}), ask("wanted size", Request{Want: dust}),
		ask("tolerance", Request{Want: size, Within: size.Neg()}), ask("tolerance", Request{Want: size, Within: far}),
		ask("objective", Request{Want: size, Objective: 9}),
		ask("leaves", Request{Want: size, Rules: Rules{AtLeast: -1}}), ask("leaves", Request{Want: size, Rules: Rules{AtLeast: 3, AtMost: 2}}),
		ask("answers", Request{Want: size, Answers: -1}), ask("answers", Request{Want: size, Answers: math.MaxInt}),
		draw("leaf", Tray{}, Leaf{Size: size, Label: "0.10 mm", Count: 1}),
		draw("leaf", Tray{}, Leaf{Size: size, Label: "0.10 mm"}),
		draw("leaf", Tray{}, Leaf{Size: size, Label: "0.10 mm", Count: -3}),
	}
	checktest.Refused(t, ".", list, map[string]func(){
		"Tray.Leaves":      func() { Tray{}.Leaves() },
		"Pack.String":      func() { _ = Pack{}.String() },
		"Objective.String": func() { _ = Objective(99).String() },
	})
}

// An empty stock is no fault: the answer has no pack, and says so.
func TestEmptyStock(t *testing.T) {
	a, err := Tray{}.MakeUp(Request{Want: quantity.MustExact("1.37"), Within: quantity.MustExact("0.02")})
	if err != nil || len(a.Packs) != 0 || a.Above != nil {
		t.Errorf("%+v, %v", a, err)
	}
}

func mustRatio(t *testing.T, a, b int64) quantity.Ratio {
	r, err := quantity.RatioOf(a, b)
	if err != nil {
		t.Fatal(err)
	}
	return r
}
