package correct_test

import (
	"errors"
	"strings"
	"testing"

	"shimwright/calc/correct"
	"shimwright/calc/quantity"
	"shimwright/calc/stat"
)

func ex(s string) quantity.Exact { return quantity.MustExact(s) }

func exs(text string) []quantity.Exact {
	var out []quantity.Exact
	for _, f := range strings.Fields(text) {
		out = append(out, ex(f))
	}
	return out
}

func must[T any](t testing.TB) func(T, error) T {
	return func(v T, err error) T {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
}

func body(t testing.TB, material, at string) correct.Body {
	t.Helper()
	return correct.Body{Material: must[correct.Material](t)(correct.MaterialNamed(material)), At: ex(at)}
}

// refused fails the test unless err is a Problem about the field that says the
// words.
func refused(t *testing.T, name string, err error, field, words string) {
	t.Helper()
	var p *stat.Problem
	if !errors.As(err, &p) || p.Kind == 0 || p.Found == "" || p.Wanted == "" {
		t.Errorf("%s: %#v is no good refusal", name, err)
		return
	}
	if !strings.Contains(p.Field, field) || !strings.Contains(p.Error(), words) {
		t.Errorf("%s: refused with %q, want field %q and words %q", name, p.Error(), field, words)
	}
}
