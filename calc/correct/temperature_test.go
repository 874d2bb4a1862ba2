package correct_test

import (
	"encoding/csv"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"shimwright/calc/correct"
	"shimwright/calc/quantity"
)

const (
	cast    = "aluminium 356.0 (cast)"
	wrought = "aluminium 6061, 1100"
	steel   = "steel A36 / 1020"
	gauge   = "gauge-block steel (nominal, GUM H.1)"
)

// Every row of the table against the published file: Callister, table B.6, and
// GUM H.1, both seen.
func TestMaterialsAsPublished(t *testing.T) {
	f, err := os.Open(filepath.Join("..", "..", "testdata", "published", "thermal", "cte.csv"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	if got, want := len(correct.Materials()), len(rows)-1; got != want {
		t.Errorf("%d materials, %d published", got, want)
	}
	for _, r := range rows[1:] {
		m, err := correct.MaterialNamed(r[0])
		if err != nil {
			t.Error(err)
			continue
		}
		if want := ex(r[1]).Mul(ex("0.000001")); !m.PerK.Equal(want) || m.Source == "" {
			t.Errorf("%s: %s from %q, published %s", m.Name, m.PerK, m.Source, want)
		}
	}
}

// A light-alloy casing, 200 mm, 8 K off, is 0.016 to 0.019 mm longer or shorter
// than steel (common practice, no source; the coefficients are published).
func TestLightAlloyCasing(t *testing.T) {
	for _, c := range []struct {
		alloy, against, at string
		want, correction   string
		say                string
	}{
		{cast, gauge, "28", "-0.016", "-0.016000", "Measured at 28 °C it shows 0.016 mm longer than it is at 20 °C: a tenth or more of the 0.050 mm allowed. Correct for it, or let all come to one temperature and measure again."},
		{cast, steel, "28", "-0.016", "-0.015680", "a tenth or more"},
		{wrought, steel, "28", "-0.019", "-0.019040", "a tenth or more"},
		{wrought, gauge, "12", "0.019", "0.019360", "shows 0.019 mm shorter"},
		{steel, steel, "28", "0.000", "0.000000", "temperature changes nothing"},
	} {
		sum := []correct.Length{{Name: "gauge", Value: ex("200"), Body: body(t, c.against, c.at)}}
		b := must[correct.Brought](t)(correct.At20(body(t, c.alloy, c.at), sum))
		if got := b.Correction.Round(3).StringFixed(3); got != c.want {
			t.Errorf("%s against %s at %s °C: correction %s, want %s", c.alloy, c.against, c.at, got, c.want)
		}
		if !b.Correction.Equal(ex(c.correction)) || !b.Value.Equal(ex("200").Add(b.Correction)) {
			t.Errorf("%s against %s: correction %s, value %s", c.alloy, c.against, b.Correction, b.Value)
		}
		said := must[string](t)(b.Say(ex("0.05"), quantity.MM, 3))
		if !strings.Contains(said, c.say) {
			t.Errorf("said %q, want %q in it", said, c.say)
		}
	}
}

// A casing depth measured through a warm straightedge and a cold post: each
// grows for itself. Worked by hand: 75.004·11.5e-6·(−2) = −0.001725092,
// +33.38·11.5e-6·4 = 0.00153548, −12.006·11.7e-6·4 = −0.0005618808; the part
// 96.378·21.5e-6·8 = 0.016577016.
func TestEachThingGrowsForItself(t *testing.T) {
	sum := []correct.Length{
		{Name: "post", Value: ex("75.004"), Body: body(t, gauge, "18")},
		{Name: "reading", Value: ex("33.38"), Body: body(t, gauge, "24")},
		{Name: "straightedge", Value: ex("-12.006"), Body: body(t, steel, "24")},
	}
	b := must[correct.Brought](t)(correct.At20(body(t, cast, "28"), sum))
	if !b.Measured.Equal(ex("96.378")) || !b.Against.Equal(ex("-0.0007514928")) || !b.Part.Equal(ex("0.016577016")) {
		t.Errorf("measured %s, against %s, part %s", b.Measured, b.Against, b.Part)
	}
	if !b.Value.Equal(ex("96.3606714912")) {
		t.Errorf("at 20 °C %s", b.Value)
	}
}

func TestMattersFromATenth(t *testing.T) {
	b := correct.Brought{Correction: ex("-0.005")}
	for _, c := range []struct {
		tolerance string
		want      bool
	}{{"0.05", true}, {"0.0501", false}, {"0.04", true}} {
		if got := must[bool](t)(b.Matters(ex(c.tolerance))); got != c.want {
			t.Errorf("0.005 of %s matters: %v", c.tolerance, got)
		}
	}
	said := must[string](t)(b.Say(ex("0.1"), quantity.MM, 3))
	if !strings.Contains(said, "less than a tenth") {
		t.Error(said)
	}
}

func TestGrowthAndPerKelvin(t *testing.T) {
	g := must[quantity.Exact](t)(correct.Growth(ex("200"), body(t, steel, "30")))
	k := must[quantity.Exact](t)(correct.PerKelvin(ex("200"), body(t, steel, "30").Material))
	if !g.Equal(ex("0.0234")) || !k.Times(quantity.Whole(10)).Equal(g) {
		t.Errorf("growth %s, per kelvin %s", g, k)
	}
}

func TestTemperatureRefusals(t *testing.T) {
	good := []correct.Length{{Name: "post", Value: ex("75"), Body: body(t, steel, "20")}}
	with := func(l correct.Length) []correct.Length { return append(append([]correct.Length(nil), good...), l) }
	at20 := func(b correct.Body, sum []correct.Length) error { _, err := correct.At20(b, sum); return err }
	part := body(t, cast, "20")
	refused(t, "no sum", at20(part, nil), "lengths", "found 0")
	refused(t, "hot", at20(body(t, cast, "150.1"), good), "part: temperature", "from -40 to 150 °C")
	refused(t, "cold", at20(body(t, cast, "-41"), good), "part: temperature", "-41 °C")
	refused(t, "kelvin for celsius", at20(part, with(correct.Length{Name: "read", Value: ex("1"), Body: body(t, steel, "293.15")})), "length 2 (read): temperature", "293.15")
	refused(t, "no material", at20(correct.Body{At: ex("20")}, good), "part: expansion", "above nought")
	refused(t, "per million", at20(correct.Body{Material: correct.Material{PerK: ex("11.7")}, At: ex("20")}, good), "part: expansion", "0.0001")
	refused(t, "huge", at20(part, with(correct.Length{Name: "read", Value: ex("1e7"), Body: part})), "length 2", "at most")
	refused(t, "far power", at20(part, with(correct.Length{Name: "read", Value: ex("1e9000"), Body: part})), "length 2", "9000")
	_, err := correct.MaterialNamed("cheese")
	refused(t, "material", err, "material", "grey iron")
	_, err = correct.Brought{}.Matters(ex("0"))
	refused(t, "tolerance", err, "tolerance", "above nought")
	_, err = correct.Brought{}.Say(ex("-1"), quantity.MM, 3)
	refused(t, "tolerance", err, "tolerance", "above nought")
	_, err = correct.Growth(ex("-1e9"), part)
	refused(t, "length", err, "length", "-1000000000")
	_, err = correct.PerKelvin(ex("1"), correct.Material{})
	refused(t, "material", err, "material", "above nought")
}
