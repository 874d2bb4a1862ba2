package overhaul_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"shimwright/calc/overhaul"
	"shimwright/calc/quantity"
	"shimwright/calc/sheet"
)

const sheets = "../../testdata/sheets"

// text reads a file of the test sheets and makes swaps in it, old text then
// new; each old text must stand there exactly once.
func text(t testing.TB, name string, swaps ...string) string {
	t.Helper()
	raw, err := os.ReadFile(filepath.Join(sheets, name))
	if err != nil {
		t.Fatal(err)
	}
	return swap(t, string(raw), swaps...)
}

func swap(t testing.TB, out string, swaps ...string) string {
	t.Helper()
	for i := 0; i+1 < len(swaps); i += 2 {
		if n := strings.Count(out, swaps[i]); n != 1 {
			t.Fatalf("%q stands %d times in the text, want once", swaps[i], n)
		}
		out = strings.Replace(out, swaps[i], swaps[i+1], 1)
	}
	return out
}

func parse(t testing.TB, body string) *sheet.Sheet {
	t.Helper()
	s, err := sheet.Read("sheet.yaml", []byte(body))
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func readSheet(t testing.TB, name string, swaps ...string) *sheet.Sheet {
	t.Helper()
	return parse(t, text(t, name, swaps...))
}

func parseEntries(t testing.TB, s *sheet.Sheet, body string) sheet.Entries {
	t.Helper()
	e, err := sheet.ReadEntries(s, "readings.yaml", []byte(body))
	if err != nil {
		t.Fatal(err)
	}
	return e
}

// work works a sheet with the text of a readings file.
func work(t testing.TB, s *sheet.Sheet, readings string) *overhaul.Results {
	t.Helper()
	res, err := overhaul.Work(s, parseEntries(t, s, readings))
	if err != nil {
		t.Fatal(err)
	}
	return res
}

func of(t testing.TB, res *overhaul.Results, step string) *overhaul.Result {
	t.Helper()
	r := res.Of(step)
	if r == nil {
		t.Fatalf("no step %q", step)
	}
	return r
}

func mm(s string) quantity.Exact { return quantity.MustExact(s) }

// inch is a figure in inches, in mm.
func inch(s string) quantity.Exact { return quantity.MustExact(s).Mul(quantity.MustExact("25.4")) }

// plus sums figures.
func plus(of ...quantity.Exact) quantity.Exact {
	var out quantity.Exact
	for _, v := range of {
		out = out.Add(v)
	}
	return out
}

// same wants two figures to be equal to the last digit.
func same(t testing.TB, what string, got, want quantity.Exact) {
	t.Helper()
	if !got.Equal(want) {
		t.Errorf("%s is %s, want %s", what, got, want)
	}
}

// worked is the figure that a pack was worked to.
func worked(t testing.TB, res *overhaul.Results, step string) quantity.Exact {
	t.Helper()
	r := of(t, res, step)
	if r.Pack == nil || r.Pack.Worked == nil {
		t.Fatalf("%s is not worked: %s, wants %q, problem %q", step, r.Status, r.Wants, r.Problem)
	}
	return r.Pack.Worked.Value
}

// found is the figure of a step that finds a length.
func found(t testing.TB, res *overhaul.Results, step string) quantity.Exact {
	t.Helper()
	r := of(t, res, step)
	if r.Figure == nil {
		t.Fatalf("%s has no figure: %s, wants %q, problem %q", step, r.Status, r.Wants, r.Problem)
	}
	return r.Figure.Value
}

// status wants a step's status and that its words hold each text.
func status(t testing.TB, res *overhaul.Results, step string, want overhaul.Status, says ...string) {
	t.Helper()
	r := of(t, res, step)
	if r.Status != want {
		t.Errorf("%s is %s, want %s (wants %q, problem %q)", step, r.Status, want, r.Wants, r.Problem)
	}
	for _, s := range says {
		if !strings.Contains(r.Problem+" "+r.Wants+" "+r.Text, s) {
			t.Errorf("%s says %q, want %q in it", step, r.Problem+" "+r.Wants+" "+r.Text, s)
		}
	}
}

func contains(t testing.TB, got, want string) {
	t.Helper()
	if !strings.Contains(got, want) {
		t.Errorf("%q, want %q in it", got, want)
	}
}
