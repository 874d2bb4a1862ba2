package checks

import (
	"encoding/csv"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/shopspring/decimal"

	"shimwright/calc/overhaul"
	"shimwright/calc/quantity"
	"shimwright/calc/sheet"
)

// top is a file of the testdata that several packages share.
func top(parts ...string) string {
	return filepath.Join(append([]string{"..", "..", "testdata"}, parts...)...)
}

func readFile(t testing.TB, path string) string {
	t.Helper()
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

// readRows reads a file of comma-separated values, without its head.
func readRows(t testing.TB, path string) [][]string {
	t.Helper()
	rows, err := csv.NewReader(strings.NewReader(readFile(t, path))).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	return rows[1:]
}

func readJSON(t testing.TB, path string, into any) {
	t.Helper()
	if err := json.Unmarshal([]byte(readFile(t, path)), into); err != nil {
		t.Fatal(err)
	}
}

func dec(s string) decimal.Decimal { return decimal.RequireFromString(s) }
func ex(s string) quantity.Exact   { return quantity.MustExact(s) }

func value(t testing.TB, text string) quantity.Value {
	t.Helper()
	v, err := quantity.ParseWithUnit(text)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// readSheet reads a sheet of testdata/sheets with swaps made in it, old text then
// new; each old text must stand there once.
func readSheet(t testing.TB, name string, swaps ...string) *sheet.Sheet {
	t.Helper()
	body := readFile(t, top("sheets", name))
	for i := 0; i+1 < len(swaps); i += 2 {
		if n := strings.Count(body, swaps[i]); n != 1 {
			t.Fatalf("%s: %q stands %d times, want once", name, swaps[i], n)
		}
		body = strings.Replace(body, swaps[i], swaps[i+1], 1)
	}
	s, err := sheet.Read(name, []byte(body))
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func work(t testing.TB, s *sheet.Sheet, readings string) *overhaul.Results {
	t.Helper()
	e, err := sheet.ReadEntries(s, "readings.yaml", []byte(readings))
	if err != nil {
		t.Fatal(err)
	}
	r, err := overhaul.Work(s, e)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func of(t testing.TB, r *overhaul.Results, step string) *overhaul.Result {
	t.Helper()
	out := r.Of(step)
	if out == nil {
		t.Fatalf("no step %q", step)
	}
	return out
}

// worked is a pack's figure, which must be worked.
func worked(t testing.TB, r *overhaul.Results, pack string) quantity.Exact {
	t.Helper()
	p := of(t, r, pack).Pack
	if p == nil || p.Worked == nil {
		t.Fatalf("%s is not worked: %s", pack, of(t, r, pack).Problem)
	}
	return p.Worked.Value
}

func parse(t testing.TB, body string) *sheet.Sheet {
	t.Helper()
	s, err := sheet.Read("sheet.yaml", []byte(body))
	if err != nil {
		t.Fatal(err)
	}
	return s
}
