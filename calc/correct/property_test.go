package correct_test

import (
	"math/rand/v2"
	"testing"

	"github.com/shopspring/decimal"

	"shimwright/calc/correct"
	"shimwright/calc/quantity"
)

func random(rng *rand.Rand, most int64, places int32) quantity.Exact {
	return quantity.FromDecimal(decimal.New(rng.Int64N(2*most+1)-most, -places))
}

// A part and all it is measured by, of one material at one temperature, needs
// no correction; at 20 °C nothing does; and the correction is a sum: that of
// two lengths is theirs together.
func TestTemperatureProperties(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 20))
	all := correct.Materials()
	some := func() correct.Body {
		return correct.Body{Material: all[rng.IntN(len(all))], At: random(rng, 300, 1).Add(ex("20"))}
	}
	for range 500 {
		part, other := some(), some()
		a, b := correct.Length{Value: random(rng, 300_000, 3), Body: other}, correct.Length{Value: random(rng, 300_000, 3), Body: part}
		bring := func(body correct.Body, sum ...correct.Length) correct.Brought {
			return must[correct.Brought](t)(correct.At20(body, sum))
		}
		if got := bring(part, b); !got.Correction.IsZero() {
			t.Fatalf("alike needs %s", got.Correction)
		}
		both := bring(part, a, b)
		if !both.Correction.Equal(bring(part, a).Correction) {
			t.Fatalf("together %s, apart %s", both.Correction, bring(part, a).Correction)
		}
		cool := part
		cool.At = ex("20")
		a.Body.At = ex("20")
		if got := bring(cool, a); !got.Value.Equal(a.Value) {
			t.Fatalf("at 20 °C %s became %s", a.Value, got.Value)
		}
	}
}

// A correction lies between those of the points on either side, the table's own
// points come out as they are, and a straight table is a straight line.
func TestTableProperties(t *testing.T) {
	rng := rand.New(rand.NewPCG(2, 20))
	for range 300 {
		var points, straight []correct.Point
		at := random(rng, 10_000, 2)
		for range 2 + rng.IntN(8) {
			points = append(points, correct.Point{At: at, Add: random(rng, 20, 3)})
			straight = append(straight, correct.Point{At: at, Add: at.Mul(ex("-0.00037")).Add(ex("0.002"))})
			at = at.Add(ex("0.01")).Add(random(rng, 1000, 2).Abs())
		}
		tab, line := must[correct.Table](t)(correct.NewTable(points)), must[correct.Table](t)(correct.NewTable(straight))
		for i, p := range points {
			if got := must[quantity.Exact](t)(tab.Correction(p.At)); !got.Equal(p.Add) {
				t.Fatalf("point %d gives %s, want %s", i, got, p.Add)
			}
			if i == 0 {
				continue
			}
			q := points[i-1]
			share := must[quantity.Ratio](t)(quantity.RatioOf(rng.Int64N(100), 99+rng.Int64N(100)))
			x := q.At.Add(p.At.Sub(q.At).Times(share))
			c := must[quantity.Exact](t)(tab.Correction(x))
			if want := q.Add.Add(p.Add.Sub(q.Add).Times(share)); !c.Equal(want) {
				t.Fatalf("at %s %s, want %s", x, c, want)
			}
			if got := must[quantity.Exact](t)(line.Correction(x)); !got.Equal(x.Mul(ex("-0.00037")).Add(ex("0.002"))) {
				t.Fatalf("straight at %s: %s", x, got)
			}
		}
	}
}

// A steady climb has its own slope; a turned series has the opposite; a shift
// of all checks changes neither slope nor movement.
func TestDriftProperties(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 20))
	for range 300 {
		n, step, shift := 2+rng.IntN(20), random(rng, 50, 4), random(rng, 50, 4)
		var climb, wild, turned, shifted []correct.Check
		for i := range n {
			e := random(rng, 100, 3)
			climb = append(climb, correct.Check{Read: step.Times(quantity.Whole(int64(i)))})
			wild = append(wild, correct.Check{Read: e})
			turned = append(turned, correct.Check{Read: e.Neg()})
			shifted = append(shifted, correct.Check{Read: e.Add(shift)})
		}
		watch := func(c []correct.Check) correct.Drift { return must[correct.Drift](t)(correct.Watch(c, ex("0.01"))) }
		if got := watch(climb).PerCheck; !got.Equal(step) {
			t.Fatalf("a climb of %s has slope %s", step, got)
		}
		w, u, s := watch(wild), watch(turned), watch(shifted)
		if !w.PerCheck.Equal(u.PerCheck.Neg()) || w.State != u.State || w.LastGood != u.LastGood {
			t.Fatalf("turned: %s and %s", w.PerCheck, u.PerCheck)
		}
		if !w.PerCheck.Equal(s.PerCheck) || !w.Moved.Equal(s.Moved) {
			t.Fatalf("shifted by %s: %s and %s", shift, w.PerCheck, s.PerCheck)
		}
	}
}

// Turning the sign turns falling to rising, and readings before the run do not
// matter.
func TestSettlingProperties(t *testing.T) {
	rng := rand.New(rand.NewPCG(4, 20))
	for range 1000 {
		var up, down []quantity.Exact
		for range 1 + rng.IntN(7) {
			r := random(rng, 5, 2)
			up, down = append(up, r), append(down, r.Neg())
		}
		a := must[correct.Settling](t)(correct.Settle(up, correct.SettleRule{}))
		b := must[correct.Settling](t)(correct.Settle(down, correct.SettleRule{}))
		if a.Settled() != b.Settled() || len(a.Run) != len(b.Run) || !a.Settled() && a.Trend == b.Trend {
			t.Fatalf("%v: %s and turned %s", up, a.Trend, b.Trend)
		}
		if a.Settled() {
			continue
		}
		again := must[correct.Settling](t)(correct.Settle(a.Run, correct.SettleRule{}))
		if again.Trend != a.Trend || len(again.Run) != len(a.Run) {
			t.Fatalf("%v: the run alone is %s", a.Run, again.Trend)
		}
	}
}
