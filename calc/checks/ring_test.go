package checks

import (
	"math"
	"strconv"
	"testing"

	"gonum.org/v1/gonum/mat"

	"shimwright/calc/quantity"
	"shimwright/calc/ring"
	"shimwright/calc/stat/checktest"
)

// ringRows hold the curve through a ring: evenly spaced points against the
// textbook's closed forms, uneven ones against least squares by another library.
func ringRows(t *testing.T) []checktest.Row {
	const dft = "closed form for points evenly spaced (textbook, from memory)"
	near := fitOf(t, "0", "0.16", "90", "0.22", "180", "0.30", "270", "0.24")
	tooth := fitOf(t, "0", "0.17", "90", "0.17", "180", "0.27", "270", "0.27")
	bent := fitOf(t, "0", "0.18", "90", "0.24", "180", "0.18", "270", "0.24")
	row := func(check, want string, ours float64) checktest.Row {
		return checktest.Compare(check, dft, checktest.Computed, want, dec(strconv.FormatFloat(ours, 'f', 12, 64)), checktest.All)
	}
	return append([]checktest.Row{
		row("0.16 0.22 0.30 0.24: once per turn, cosine part, (j0 − j180)/2", "-0.07", near.Once.Cos),
		row("the same, sine part, (j90 − j270)/2", "-0.01", near.Once.Sin),
		row("the same, amplitude, √(0.07² + 0.01²)", "0.0707106781", near.Once.Amplitude),
		row("the same, highest at, deg, atan2(-0.01, -0.07)", "188.130102", near.Once.High.Degrees),
		row("the same, lowest at, deg, opposite", "8.130102", near.Once.Low.Degrees),
		row("0.17 0.17 0.27 0.27: amplitude, 0.05·√2", "0.0707106781", tooth.Once.Amplitude),
		row("the same, lowest, between two points that read 0.17", "0.149289322", tooth.Low.Value.Float()),
		row("the same, where, deg", "45", tooth.Low.At.Degrees),
		row("0.18 0.24 0.18 0.24: once per turn, amplitude", "0.000000000", bent.Once.Amplitude),
		row("the same, twice per turn, cosine part", "-0.03", bent.Twice.Cos),
		row("the same, highest at, deg, ½·atan2(0, -0.03)", "90", bent.Twice.High.Degrees),
		row("the same, constant", "0.21", bent.Constant),
	}, unevenRows(t)...)
}

// unevenRows are seven points anyhow round the wheel, solved by QR factors.
func unevenRows(t *testing.T) []checktest.Row {
	angles := []string{"5", "48", "101", "160", "199", "262", "330"}
	readings := []string{"0.212", "0.231", "0.247", "0.229", "0.204", "0.187", "0.199"}
	var pairs []string
	a, y := mat.NewDense(len(angles), 5, nil), mat.NewVecDense(len(angles), nil)
	for i := range angles {
		pairs = append(pairs, angles[i], readings[i])
		th := ex(angles[i]).Float() * math.Pi / 180
		a.SetRow(i, []float64{1, math.Cos(th), math.Sin(th), math.Cos(2 * th), math.Sin(2 * th)})
		y.SetVec(i, ex(readings[i]).Float())
	}
	var x mat.VecDense
	if err := x.SolveVec(a, y); err != nil {
		t.Fatal(err)
	}
	var rest mat.VecDense
	rest.MulVec(a, &x)
	rest.SubVec(&rest, y)
	f := fitOf(t, pairs...)
	if f.Freedom != 2 {
		t.Errorf("%d degrees of freedom, want 2", f.Freedom)
	}
	var rows []checktest.Row
	for _, c := range []struct {
		what       string
		want, ours float64
	}{
		{"constant", x.AtVec(0), f.Constant},
		{"once per turn, cosine part", x.AtVec(1), f.Once.Cos}, {"once per turn, sine part", x.AtVec(2), f.Once.Sin},
		{"twice per turn, cosine part", x.AtVec(3), f.Twice.Cos}, {"twice per turn, sine part", x.AtVec(4), f.Twice.Sin},
		{"residual standard deviation", mat.Norm(&rest, 2) / math.Sqrt2, f.Residual},
	} {
		rows = append(rows, checktest.Compare(c.what, "gonum mat, least squares by QR, float64", checktest.Computed,
			strconv.FormatFloat(c.want, 'g', 9, 64), dec(strconv.FormatFloat(c.ours, 'f', 16, 64)), checktest.All))
	}
	return []checktest.Row{checktest.Least("seven uneven points", rows)}
}

// fitOf is the curve through one reading at each angle, given in pairs.
func fitOf(t *testing.T, pairs ...string) ring.Fit {
	t.Helper()
	var points []ring.Point
	for i := 0; i < len(pairs); i += 2 {
		points = append(points, ring.Point{Angle: ex(pairs[i]), Repeats: []quantity.Exact{ex(pairs[i+1])}})
	}
	f, err := ring.FitPoints(points, ring.Clockwise)
	if err != nil {
		t.Fatal(err)
	}
	return f
}
