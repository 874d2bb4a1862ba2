package overhaul_test

import (
	"fmt"
	"strings"
	"testing"

	"shimwright/calc/overhaul"
	"shimwright/calc/sheet"
)

// longSheet is a sheet of n gaps, each with a mark, two measures, its pack and
// a record: 5·n steps, on one axis each, with its job.
func longSheet(t testing.TB, n int) (*sheet.Sheet, sheet.Entries) {
	t.Helper()
	var axes, wanted, steps, entries strings.Builder
	for i := range n {
		fmt.Fprintf(&axes, "  axis %d: [a%d, b%d, c%d, d%d, e%d]\n", i, i, i, i, i, i)
		fmt.Fprintf(&wanted, "  gap %d: {between: [b%d, c%d], gap: 0.05 mm .. 0.15 mm}\n", i, i, i)
		fmt.Fprintf(&steps, `      - record: note %d
      - mark: stamp %d
        found: [d%d, e%d]
        nominal: 10.00 mm
        digits: 0.01 mm
        plus: longer
      - measure: recess %d
        found: [a%d, d%d]
        setup: {depth: [post], across: straightedge}
        gauge: depth gauge
        window: 0.00 mm .. 90.00 mm
        presses: 3
        agree: 0.02 mm
      - measure: stack %d
        found: [c%d, e%d]
        setup: {height: [post, straightedge]}
        gauge: depth gauge
        window: 0.00 mm .. 90.00 mm
        presses: 3
        agree: 0.02 mm
      - pack: pack %d
        between: [a%d, b%d]
        place: {words: in the gap, one more is: no change, gear goes: nowhere}
        makes: gap %d
        within: 0.02 mm
        stock: shims
`, i, i, i, i, i, i, i, i, i, i, i, i, i, i)
		fmt.Fprintf(&entries, `  - {step: note %d, answer: seen}
  - {step: stamp %d, digits: +3}
  - {step: recess %d, pieces: [P, E], presses: [20.01 mm, 20.00 mm, 20.01 mm]}
  - {step: stack %d, pieces: [P, E], presses: [10.01 mm, 10.00 mm, 10.01 mm]}
`, i, i, i, i)
	}
	body := `sheet: long
issue: 1
title: Many gaps
manual: none (invented)
units: mm
standards:
  post:         {nominal: 25 mm}
  straightedge: {nominal: 12 mm}
axes:
` + axes.String() + "wanted:\n" + wanted.String() + "stages:\n  - stage: gaps\n    steps:\n" + steps.String()
	s := parse(t, body)
	e := parseEntries(t, s, `readings for: long
pieces:
  P: {standard: post, size: 25.002 mm}
  E: {standard: straightedge, size: 12.006 mm}
stock:
  shims: [{leaf: 5.00 mm, count: 90}, {leaf: 1.00 mm, count: 90}, {leaf: 0.50 mm, count: 90}, {leaf: 0.10 mm, count: 90}, {leaf: 0.05 mm, count: 90}]
entries:
`+entries.String())
	return s, e
}

// BenchmarkWork works whole jobs as at one press: what a press costs.
func BenchmarkWork(b *testing.B) {
	b.Run("rd3", func(b *testing.B) {
		s := readSheet(b, "rd3.yaml")
		benchmark(b, s, parseEntries(b, s, text(b, "rd3-job.yaml")))
	})
	b.Run("a ring with its re-shim", func(b *testing.B) {
		s := parse(b, storyText(b, "dm3.yaml"))
		benchmark(b, s, parseEntries(b, s, storyText(b, "two-answers.yaml")))
	})
	b.Run("100 steps", func(b *testing.B) {
		s, e := longSheet(b, 20)
		benchmark(b, s, e)
	})
	b.Run("100 steps without stock", func(b *testing.B) {
		s, e := longSheet(b, 20)
		e.Trays = nil
		benchmark(b, s, e)
	})
}

// BenchmarkSteps doubles the steps of a sheet, to the most axes that a sheet may have.
func BenchmarkSteps(b *testing.B) {
	for _, gaps := range []int{1, 2, 4, 8, 16, 20} {
		b.Run(fmt.Sprint("n=", 5*gaps), func(b *testing.B) {
			s, e := longSheet(b, gaps)
			benchmark(b, s, e)
		})
	}
}

// BenchmarkWhatIf works a job twice and says what differs.
func BenchmarkWhatIf(b *testing.B) {
	b.Run("a ring with other packs", func(b *testing.B) {
		s := parse(b, storyText(b, "dm3.yaml"))
		benchmarkWhatIf(b, s, parseEntries(b, s, storyText(b, "two-answers.yaml")), storyText(b, "instead/packs-instead.yaml"))
	})
	b.Run("100 steps", func(b *testing.B) {
		s, e := longSheet(b, 20)
		benchmarkWhatIf(b, s, e, "readings for: long\nentries: [{step: stamp 7, digits: -3}]\n")
	})
}

func benchmarkWhatIf(b *testing.B, s *sheet.Sheet, job sheet.Entries, instead string) {
	b.Helper()
	put, err := sheet.ReadInstead(s, "instead.yaml", []byte(instead), job)
	if err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		res, err := overhaul.WhatIf(s, job, put)
		if err != nil || len(res.Differences) == 0 {
			b.Fatal(err)
		}
	}
}

func benchmark(b *testing.B, s *sheet.Sheet, e sheet.Entries) {
	b.Helper()
	b.ReportAllocs()
	for b.Loop() {
		if _, err := overhaul.Work(s, e); err != nil {
			b.Fatal(err)
		}
	}
}

// The long job comes out, so that the benchmark times work that is done.
func TestLongSheetComesOut(t *testing.T) {
	s, e := longSheet(t, 20)
	if n := len(s.Steps()); n != 100 {
		t.Fatalf("%d steps", n)
	}
	res, err := overhaul.Work(s, e)
	if err != nil {
		t.Fatal(err)
	}
	for i := range 20 {
		// 25.002 + r − 12.006 + 10.03 − (37.008 − s) − 0.10, three times over
		got := worked(t, res, fmt.Sprintf("pack %d", i))
		same(t, "three times the pack", got.Add(got).Add(got), plus(mm("60.02"), mm("30.02"), mm("-42.246")))
	}
}
