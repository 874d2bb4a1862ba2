package budget_test

import (
	"errors"
	"math"
	"strings"
	"testing"

	"shimwright/calc/budget"
	"shimwright/calc/stat"
)

func good(change func(*budget.Source)) []budget.Source {
	s := budget.Source{Name: "D07", Kind: budget.LimitOfError, Size: ex("0.02"), Coef: whole(1)}
	if change != nil {
		change(&s)
	}
	return []budget.Source{s}
}

func twice(change func(*budget.Source)) []budget.Source {
	return append(good(nil), good(change)...)
}

func refused(t *testing.T, name string, err error, kind stat.Kind, field, words string) {
	t.Helper()
	var p *stat.Problem
	if !errors.As(err, &p) || p.Found == "" || p.Wanted == "" {
		t.Errorf("%s: %#v is no good refusal", name, err)
		return
	}
	if p.Kind != kind || !strings.Contains(p.Field, field) || !strings.Contains(p.Error(), words) {
		t.Errorf("%s: %s, %q; want %s, field %q, words %q", name, p.Kind, p.Error(), kind, field, words)
	}
}

func TestRefusals(t *testing.T) {
	type change = *budget.Source
	for _, c := range []struct {
		name         string
		sources      []budget.Source
		kind         stat.Kind
		field, words string
	}{
		{"none", nil, stat.TooFew, "sources", "at least one"},
		{"many", make([]budget.Source, budget.MaxSources+1), stat.TooMany, "sources", "10000"},
		{"no name", good(func(s change) { s.Name = "" }), stat.OutOfRange, "source 1: name", "none"},
		{"no kind", good(func(s change) { s.Kind = 0 }), stat.OutOfRange, "source 1 (D07): kind", "0"},
		{"strange kind", good(func(s change) { s.Kind = 99 }), stat.OutOfRange, "kind", "99"},
		{"negative", good(func(s change) { s.Size = ex("-0.02") }), stat.OutOfRange, "size", "not below nought"},
		{"huge", good(func(s change) { s.Size = ex("1000000.1") }), stat.OutOfRange, "size", "at most 1000000"},
		{"far power", good(func(s change) { s.Size = ex("1e9000") }), stat.OutOfRange, "size", "power of ten of 9000"},
		{"tiny power", good(func(s change) { s.Size = ex("1e-9000") }), stat.OutOfRange, "size", "-9000"},
		{"long", good(func(s change) {
			s.Size = ex("1." + strings.Repeat("1", 60) + strings.Repeat("1", 0)).Mul(ex("1." + strings.Repeat("3", 60)))
		}), stat.OutOfRange, "size", "power"},
		{"no coefficient", good(func(s change) { s.Coef = whole(0) }), stat.OutOfRange, "coefficient", "leave out what cancels"},
		{"huge coefficient", good(func(s change) { s.Coef = whole(-2_000_000_000) }), stat.OutOfRange, "coefficient", "-2e+09"},
		{"far by", good(func(s change) { s.By = by("1e10") }), stat.OutOfRange, "by", "10000000000"},
		{"scale on nothing", good(func(s change) { s.Kind = budget.GaugeScale }), stat.OutOfRange, "by", "summed reading"},
		{"temperature of nothing", good(func(s change) { s.Kind = budget.Temperature }), stat.OutOfRange, "by", "expansion"},
		{"no k", good(func(s change) { s.Kind = budget.CertifiedPiece }), stat.OutOfRange, "coverage factor", "certificate"},
		{"k below 1", good(func(s change) { s.Kind, s.K = budget.CertifiedPiece, ex("-2") }), stat.OutOfRange, "coverage factor", "-2"},
		{"k huge", good(func(s change) { s.Kind, s.K = budget.CertifiedPiece, ex("101") }), stat.OutOfRange, "coverage factor", "at most 100"},
		{"no readings", good(func(s change) { s.Kind = budget.Repeats }), stat.OutOfRange, "readings", "1 to"},
		{"one reading", good(func(s change) { s.Kind, s.N = budget.Repeats, 1 }), stat.TooFew, "degrees of freedom", "one reading shows no spread"},
		{"pool without any", good(func(s change) { s.Pool = "shop" }), stat.TooFew, "degrees of freedom", "pooled"},
		{"dof below 1", good(func(s change) { s.DF = 0.5 }), stat.OutOfRange, "degrees of freedom", "0.5"},
		{"dof negative", good(func(s change) { s.DF = -1 }), stat.OutOfRange, "degrees of freedom", "-1"},
		{"dof no number", good(func(s change) { s.DF = math.NaN() }), stat.OutOfRange, "degrees of freedom", "NaN"},
		{"no spread", good(func(s change) { s.Size = ex("0") }), stat.NoSpread, "sources", "some uncertainty"},
		{"all cancels", twice(func(s change) { s.Coef = whole(-1) }), stat.NoSpread, "sources", "cancels"},
		{"two sizes", twice(func(s change) { s.Size = ex("0.03") }), stat.Unbalanced, "source 2 (D07): size", "another name"},
		{"two dofs", twice(func(s change) { s.DF = 4 }), stat.Unbalanced, "degrees of freedom", "another name"},
		{"two pools", append(good(func(s change) { s.DF = 4 }), good(func(s change) { s.DF, s.Pool = 4, "shop" })...), stat.Unbalanced, "pool", "another name"},
		{"two gauges", twice(func(s change) { s.Gauge = "D08" }), stat.Unbalanced, "gauge", "another name"},
		{"long name", twice(func(s change) { s.Name, s.Size = strings.Repeat("ß", 99), ex("-1") }), stat.OutOfRange, "ß…", "not below"},
	} {
		_, err := budget.Work(c.sources)
		refused(t, c.name, err, c.kind, c.field, c.words)
	}
}

func TestRefusalsOfOneThingInTwoWays(t *testing.T) {
	piece := budget.Source{Name: "S-31", Kind: budget.CertifiedPiece, Size: ex("0.002"), K: ex("2"), Coef: whole(1)}
	other := piece
	other.K = ex("3")
	_, err := budget.Work([]budget.Source{piece, other})
	refused(t, "two k", err, stat.Unbalanced, "coverage factor", "S-31")
	mean := budget.Source{Name: "press", Kind: budget.Repeats, Size: ex("0.002"), N: 3, Coef: whole(1)}
	more := mean
	more.N = 4
	_, err = budget.Work([]budget.Source{mean, more})
	refused(t, "two n", err, stat.Unbalanced, "readings", "press")
}

func TestGuardAndConfidenceRefusals(t *testing.T) {
	b := work(t, good(nil)...)
	for _, c := range []struct {
		guard        budget.Guard
		field, words string
	}{
		{budget.Guard{Way: 9}, "guard way", "way 9"},
		{budget.Guard{K: ex("-1")}, "guard factor", "above nought"},
		{budget.Guard{K: ex("101")}, "guard factor", "at most 100"},
		{budget.Guard{K: ex("1e999")}, "guard factor", "power"},
	} {
		_, err := c.guard.Band(b)
		refused(t, c.field, err, stat.OutOfRange, c.field, c.words)
	}
	for _, confidence := range []float64{0, 1, math.NaN(), math.Inf(1), -3} {
		_, err := b.ExpandedAt(confidence)
		refused(t, "confidence", err, stat.OutOfRange, "confidence", "0.95")
	}
	if _, err := (budget.Budget{}).ExpandedAt(0.95); err != nil {
		t.Errorf("the zero budget: %v", err)
	}
	if got := (budget.Budget{}).Halve(); got != nil {
		t.Errorf("the zero budget has gains: %v", got)
	}
}

func TestWords(t *testing.T) {
	want := []string{"kind 0", "limit of error", "resolution", "repeats", "certified piece", "mark rounding", "stated", "gauge zero", "gauge scale", "temperature", "expansion", "kind 11"}
	for i, w := range want {
		if got := budget.Kind(i).String(); got != w {
			t.Errorf("kind %d is %q, want %q", i, got, w)
		}
	}
	for i, w := range []string{"fixed k", "Student's t", "simple", "way 3"} {
		if got := budget.Way(i).String(); got != w {
			t.Errorf("way %d is %q, want %q", i, got, w)
		}
	}
}
