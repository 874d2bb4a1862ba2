package ring

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/shopspring/decimal"

	"shimwright/calc/quantity"
)

// wave is a ring made from known harmonics, rounded to 12 places.
func wave(angles []quantity.Exact, k, a, b, c, d float64) []Point {
	var out []Point
	for _, angle := range angles {
		th := angle.Float() * math.Pi / 180
		j := k + a*math.Cos(th) + b*math.Sin(th) + c*math.Cos(2*th) + d*math.Sin(2*th)
		out = append(out, Point{angle, []quantity.Exact{quantity.FromDecimal(decimal.NewFromFloat(j).Round(12))}})
	}
	return out
}

// angles is n angles, each in its own share of the turn, in random order.
func angles(rng *rand.Rand, n int) []quantity.Exact {
	var out []quantity.Exact
	for i := range n {
		tenths := int64(3600*i/n) + rng.Int64N(int64(1800/n))
		out = append(out, quantity.FromDecimal(decimal.New(tenths, -1)))
	}
	rng.Shuffle(n, func(i, j int) { out[i], out[j] = out[j], out[i] })
	return out
}

func fitOf(t testing.TB, points []Point, s Sense) Fit {
	t.Helper()
	f, err := FitPoints(points, s)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

func TestFitRecoversHarmonics(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 1))
	for range 2000 {
		n := 3 + rng.IntN(10)
		amount := func() float64 { return (rng.Float64() - 0.5) / 5 }
		k, a, b, c, d := 0.2+amount(), amount(), amount(), amount(), amount()
		at := angles(rng, n)
		switch n {
		case 3:
			c, d = 0, 0 // three points see neither
		case 4:
			at, d = []quantity.Exact{whole(90), whole(0), whole(270), whole(180)}, 0
		}
		f := fitOf(t, wave(at, k, a, b, c, d), Clockwise)
		if n > 4 && f.Twice.Sight != Whole {
			continue // an unlucky spread of points
		}
		for _, x := range []struct {
			what      string
			got, want float64
		}{
			{"constant", f.Constant, k}, {"a", f.Once.Cos, a}, {"b", f.Once.Sin, b}, {"c", f.Twice.Cos, c}, {"d", f.Twice.Sin, d},
			{"residual", f.Residual, 0}, {"A", f.Once.Amplitude, math.Hypot(a, b)},
		} {
			near(t, x.what, x.got, x.want, 1e-10)
		}
		checkExtremes(t, f)
		if t.Failed() {
			t.Fatalf("angles %v", at)
		}
	}
}

// checkExtremes holds the fitted low and high against a fine search.
func checkExtremes(t *testing.T, f Fit) {
	t.Helper()
	low, high := math.Inf(1), math.Inf(-1)
	for d := 0.0; d < 360; d += 0.25 {
		v, _ := f.at(d)
		low, high = min(low, v), max(high, v)
	}
	size := f.Once.Amplitude + f.Twice.Amplitude
	near(t, "low", f.Low.Value.Float(), f.Constant+low, 1e-5*size+1e-9)
	near(t, "high", f.High.Value.Float(), f.Constant+high, 1e-5*size+1e-9)
	at, _ := f.at(f.Low.At.Degrees)
	near(t, "curve at its low", at+f.Constant, f.Low.Value.Float(), 1e-9)
	if f.Low.Value.Float() > f.Constant+low+1e-9 || f.High.Value.Float() < f.Constant+high-1e-9 {
		t.Errorf("low %s or high %s is beaten by a search: %f, %f", f.Low.Value, f.High.Value, f.Constant+low, f.Constant+high)
	}
}

// Turning all angles by one amount turns the directions by it and changes
// nothing else.
func TestTurningTurnsPhaseOnly(t *testing.T) {
	rng := rand.New(rand.NewPCG(4, 1))
	for range 500 {
		n := 3 + rng.IntN(9)
		at := angles(rng, n)
		turned, by := make([]quantity.Exact, n), rng.Int64N(3600)
		for i := range at {
			tenths := (at[i].Decimal().Shift(1).IntPart() + by) % 3600
			turned[i] = quantity.FromDecimal(decimal.New(tenths, -1))
		}
		points := make([]Point, n)
		after := make([]Point, n)
		for i := range at {
			j := []quantity.Exact{quantity.FromDecimal(decimal.New(15+rng.Int64N(15), -2))}
			points[i], after[i] = Point{at[i], j}, Point{turned[i], j}
		}
		in := Input{Points: points, Band: Band{ex("0.15"), ex("0.30")}, U: ex("0.01"), SpreadLimit: limit("0.1")}
		r := judge(t, in)
		in.Points = after
		s := judge(t, in)
		checkSameButTurned(t, r, s, float64(by)/10)
		if t.Failed() {
			t.Fatalf("angles %v turned by %d tenths", at, by)
		}
	}
}

func checkSameButTurned(t *testing.T, r, s Result, by float64) {
	t.Helper()
	if verdicts(r) != verdicts(s) || r.SpreadVerdict != s.SpreadVerdict || r.LowVerdict != s.LowVerdict ||
		!r.Mean.Value().Equal(s.Mean.Value()) || r.Window.String() != s.Window.String() {
		t.Errorf("verdicts changed: %s, %s", verdicts(r), verdicts(s))
	}
	if r.Fit.Once.Sight != s.Fit.Once.Sight || r.Fit.Twice.Sight != s.Fit.Twice.Sight {
		t.Errorf("sight changed: %d %d, %d %d", r.Fit.Once.Sight, r.Fit.Twice.Sight, s.Fit.Once.Sight, s.Fit.Twice.Sight)
	}
	near(t, "A", s.Fit.Once.Amplitude, r.Fit.Once.Amplitude, 1e-12)
	near(t, "twice", s.Fit.Twice.Amplitude, r.Fit.Twice.Amplitude, 1e-12)
	near(t, "residual", s.Fit.Residual, r.Fit.Residual, 1e-9)
	near(t, "low", s.Fit.Low.Value.Float(), r.Fit.Low.Value.Float(), 2e-9)
	for _, d := range []struct {
		what    string
		a, b    Direction
		repeats float64
	}{
		{"once high", r.Fit.Once.High, s.Fit.Once.High, 360},
		{"once low", r.Fit.Once.Low, s.Fit.Once.Low, 360},
		{"twice high", r.Fit.Twice.High, s.Fit.Twice.High, 180},
	} {
		if d.a.Known != d.b.Known {
			t.Errorf("%s known %v, then %v", d.what, d.a.Known, d.b.Known)
			continue
		}
		if d.a.Known {
			off := tidy(d.b.Degrees-d.a.Degrees-by, d.repeats)
			near(t, d.what+" turned", min(off, d.repeats-off), 0, 1e-5)
		}
	}
}

// The same ring in another unit: every length times one number.
func TestUnitChangesNothing(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 1))
	inch := ex("25.4")
	for range 300 {
		n := 3 + rng.IntN(6)
		at := angles(rng, n)
		var points, scaled []Point
		for i := range at {
			j := quantity.FromDecimal(decimal.New(100+rng.Int64N(300), -4))
			points = append(points, Point{at[i], []quantity.Exact{j}})
			scaled = append(scaled, Point{at[i], []quantity.Exact{j.Mul(inch)}})
		}
		r := judge(t, Input{Points: points, Band: Band{ex("0.010"), ex("0.030")}, U: ex("0.001"), SpreadLimit: limit("0.015")})
		lim := ex("0.015").Mul(inch)
		s := judge(t, Input{Points: scaled, Band: Band{ex("0.010").Mul(inch), ex("0.030").Mul(inch)}, U: ex("0.001").Mul(inch), SpreadLimit: &lim})
		if verdicts(r) != verdicts(s) || r.SpreadVerdict != s.SpreadVerdict || r.Window.Empty() != s.Window.Empty() ||
			!s.Window.From.Equal(r.Window.From.Mul(inch)) || r.Fit.Once.High.Known != s.Fit.Once.High.Known {
			t.Fatalf("verdicts %s and %s", verdicts(r), verdicts(s))
		}
		near(t, "A", s.Fit.Once.Amplitude, 25.4*r.Fit.Once.Amplitude, 1e-12)
		if r.Fit.Once.Amplitude > 1e-6 {
			near(t, "direction", s.Fit.Once.High.Degrees, r.Fit.Once.High.Degrees, 1e-5)
		}
	}
}

// Equally spaced points: the textbook discrete Fourier sums (from memory).
func TestFitIsFourierWhenEquallySpaced(t *testing.T) {
	rng := rand.New(rand.NewPCG(6, 1))
	for n := 3; n <= 24; n++ {
		var points []Point
		var j []float64
		for i := range n {
			x := quantity.FromDecimal(decimal.New(rng.Int64N(4000), -4))
			points = append(points, Point{over(whole(360), int64(n)).Times(quantity.Whole(int64(i))), []quantity.Exact{x}})
			j = append(j, x.Float())
		}
		f := fitOf(t, points, Clockwise)
		var m, a, b, c, d float64
		for i, x := range j {
			th := 2 * math.Pi * float64(i) / float64(n)
			m += x / float64(n)
			a += 2 * x * math.Cos(th) / float64(n)
			b += 2 * x * math.Sin(th) / float64(n)
			c += 2 * x * math.Cos(2*th) / float64(n)
			d += 2 * x * math.Sin(2*th) / float64(n)
		}
		near(t, "m", f.Constant, m, 1e-12)
		near(t, "a", f.Once.Cos, a, 1e-12)
		near(t, "b", f.Once.Sin, b, 1e-12)
		if n == 4 {
			near(t, "a of four", a, (j[0]-j[2])/2, 1e-12)
			near(t, "b of four", b, (j[1]-j[3])/2, 1e-12)
			near(t, "c of four", f.Twice.Cos, (j[0]-j[1]+j[2]-j[3])/4, 1e-12)
			near(t, "d of four", f.Twice.Sin, 0, 1e-12)
		}
		if n > 4 {
			near(t, "c", f.Twice.Cos, c, 1e-12)
			near(t, "d", f.Twice.Sin, d, 1e-12)
			if f.Freedom != n-5 {
				t.Errorf("%d points: freedom %d, want %d", n, f.Freedom, n-5)
			}
		}
	}
}

// A wheel numbered the other way round has its low at the same place.
func TestSense(t *testing.T) {
	rng := rand.New(rand.NewPCG(8, 1))
	for range 200 {
		n := 3 + rng.IntN(7)
		at := angles(rng, n)
		var one, other []Point
		for i := range at {
			j := []quantity.Exact{quantity.FromDecimal(decimal.New(10+rng.Int64N(30), -2))}
			back := whole(360).Sub(at[i])
			if at[i].IsZero() {
				back = whole(0)
			}
			one, other = append(one, Point{at[i], j}), append(other, Point{back, j})
		}
		f, g := fitOf(t, one, Clockwise), fitOf(t, other, Anticlockwise)
		if off, ok := Apart(f.Once.Low, g.Once.Low); ok && off > 1e-5 {
			t.Fatalf("low at %+v one way, %+v the other", f.Once.Low, g.Once.Low)
		}
		near(t, "A", f.Once.Amplitude, g.Once.Amplitude, 1e-12)
	}
	if _, ok := Apart(Direction{}, Direction{Known: true}); ok {
		t.Error("a ring without direction was compared")
	}
	if d, ok := Apart(Direction{Known: true, Clockwise: 350}, Direction{Known: true, Clockwise: 10}); !ok || d != 20 {
		t.Errorf("350 and 10 deg are %v apart, want 20", d)
	}
}

// FuzzJudge: no panic and no NaN, whatever is given; what is given is not
// changed.
func FuzzJudge(f *testing.F) {
	f.Add([]byte{0, 0, 16, 90, 0, 22, 180, 0, 30, 14, 1, 24}, int64(150), int64(300), int64(10), uint8(0))
	f.Add([]byte{0, 0, 1, 0, 0, 1, 0, 0, 1}, int64(5), int64(-5), int64(-1), uint8(1))
	f.Add([]byte{0, 0, 1, 1, 0, 1, 2, 0, 1, 3, 0, 9}, int64(0), int64(0), int64(0), uint8(3))
	f.Fuzz(func(t *testing.T, data []byte, low, high, u int64, kind uint8) {
		milli := func(n int64) quantity.Exact { return quantity.FromDecimal(decimal.New(n, -3)) }
		in := Input{Sense: Sense(kind & 1), Rule: Rule(kind >> 1 & 1), Band: Band{milli(low), milli(high)}, U: milli(u)}
		if kind&4 != 0 {
			in.SpreadLimit = &in.U
		}
		for i := 0; i+2 < len(data); i += 3 {
			angle := whole(int64(data[i]) + 256*int64(data[i+1]&1))
			if data[i+1]&2 != 0 {
				angle = over(angle, 1+int64(data[i+1]>>2))
			}
			in.Points = append(in.Points, Point{angle, []quantity.Exact{milli(10 * int64(int8(data[i+2])))}})
		}
		r, err := Judge(in)
		if err != nil {
			return
		}
		for _, x := range []float64{
			r.Fit.Constant, r.Fit.Residual, r.Fit.Once.Cos, r.Fit.Once.Sin, r.Fit.Once.Amplitude, r.Fit.Once.High.Degrees, r.Fit.Once.Low.Clockwise,
			r.Fit.Twice.Cos, r.Fit.Twice.Sin, r.Fit.Twice.Amplitude, r.Fit.Twice.High.Degrees, r.Fit.Low.At.Degrees, r.Fit.High.At.Clockwise,
		} {
			if math.IsNaN(x) || math.IsInf(x, 0) || math.Abs(x) > 1e6 {
				t.Fatalf("%v in %+v", x, r.Fit)
			}
		}
		for _, d := range []Direction{r.Fit.Once.High, r.Fit.Once.Low, r.Fit.Low.At, r.Fit.High.At} {
			if d.Degrees < 0 || d.Degrees >= 360 || d.Clockwise < 0 || d.Clockwise >= 360 {
				t.Errorf("direction %+v", d)
			}
		}
		if r.Fit.Once.Sight == Whole && r.Fit.High.Value.Less(r.Fit.Low.Value) {
			t.Errorf("fitted low %s above high %s", r.Fit.Low.Value, r.Fit.High.Value)
		}
		if in.Rule == Guarded && !r.Window.Empty() && r.Window.From.Sign() <= 0 && r.Window.To.Sign() >= 0 {
			for _, p := range r.Points {
				if p.Verdict != Good {
					t.Errorf("no change is in the window %s, but a point is %s", r.Window, p.Verdict)
				}
			}
		}
	})
}
