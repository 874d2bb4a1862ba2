package main

import (
	"fmt"
	"strconv"
	"strings"

	"github.com/shopspring/decimal"

	"shimwright/calc/document"
	"shimwright/calc/quantity"
	"shimwright/calc/stat"
)

// Bounds of a study file; the arithmetic has its own, and the file's size
// bounds them all.
const (
	maxStudyRows   = 10_000
	maxInStudyRow  = 100
	maxInStudyList = 100_000
)

// studyFile is a study as written. One of trials, individuals, groups and
// readings is not nil.
type studyFile struct {
	name, gauge string
	unit        quantity.Unit
	tolerance   *studyBand
	study       stat.StudySettings
	confidence  float64

	trials      []stat.Trial
	individuals []decimal.Decimal
	groups      [][]decimal.Decimal
	readings    []decimal.Decimal
	readingsAt  document.Node // where they stand
}

// studyBand is a tolerance in the study's unit, with one limit or two.
type studyBand struct {
	low, high decimal.NullDecimal
	text      string // as written
}

// readStudy reads a study file. The document stays open for what the arithmetic
// finds wrong with the readings.
func readStudy(file string, text []byte) (studyFile, *document.Document, error) {
	top, doc, err := document.Parse(file, text)
	if err != nil {
		return studyFile{}, nil, err
	}
	f := top.Fields()
	s := studyFile{study: stat.DefaultStudySettings(), confidence: 0.95}
	s.name = f.Need("study", "what is studied, as in study: bore gauge, three fitters").Name()
	s.gauge = f.Need("gauge", "the gauge that took the readings").Name()
	s.unit = readStudyUnit(f.Need("unit", "the unit of every reading, as in mm, or none"))
	s.readBand(f.Get("tolerance"))
	s.readBody(f)
	s.readSettings(f.Get("settings"))
	f.Done()
	return s, doc, doc.Err()
}

func readStudyUnit(n document.Node) quantity.Unit {
	if !n.Given() {
		return quantity.Bare
	}
	name := n.Name()
	if name == "none" || name == "" {
		return quantity.Bare
	}
	u, err := quantity.ParseUnit(name)
	if err != nil {
		n.Fail("%s, or none", err)
	}
	return u
}

// unitWords is the unit as printed.
func (f *studyFile) unitWords() string {
	if f.unit == quantity.Bare {
		return "none"
	}
	return f.unit.String()
}

// readBand reads "10.00 mm .. 10.10 mm", "at least 10 mm" or "at most 10 mm",
// without units where the study has none.
func (f *studyFile) readBand(n document.Node) {
	if !n.Given() {
		return
	}
	text := n.Text()
	b := studyBand{text: text}
	var err error
	if figure, ok := strings.CutPrefix(text, "at least "); ok {
		b.low, err = f.limit(figure)
	} else if figure, ok := strings.CutPrefix(text, "at most "); ok {
		b.high, err = f.limit(figure)
	} else if low, high, ok := strings.Cut(text, " .. "); ok {
		if b.low, err = f.limit(low); err == nil {
			b.high, err = f.limit(high)
		}
		if err == nil && !b.low.Decimal.LessThan(b.high.Decimal) {
			err = fmt.Errorf("the tolerance %q is empty or upside down: write the lower limit first", text)
		}
	} else {
		err = fmt.Errorf("%q is no tolerance: write two limits, as in %s .. %s, or at least or at most and one", text, f.example("10.00"), f.example("10.10"))
	}
	if err != nil {
		n.Fail("%s", err)
		return
	}
	f.tolerance = &b
}

func (f *studyFile) example(digits string) string {
	return strings.TrimSpace(digits + " " + f.unit.String())
}

// limit is a limit in the study's own unit, so that nothing is converted and
// every figure printed stands in the file.
func (f *studyFile) limit(text string) (decimal.NullDecimal, error) {
	text = strings.TrimSpace(text)
	if f.unit == quantity.Bare {
		v, err := quantity.Parse(text, quantity.Bare)
		return decimal.NewNullDecimal(v.Exact().Decimal()), err
	}
	v, err := quantity.ParseWithUnit(text)
	if err != nil {
		return decimal.NullDecimal{}, err
	}
	if v.Unit() != f.unit {
		return decimal.NullDecimal{}, fmt.Errorf("%q is not in the study's unit: write it in %s", text, f.unit)
	}
	return decimal.NewNullDecimal(bareDecimal(v)), nil
}

// bareDecimal is the digits of a figure, in its own unit.
func bareDecimal(v quantity.Value) decimal.Decimal { return v.In(quantity.Bare).Exact().Decimal() }

// readBody reads the one list of readings that says what kind of study this is.
func (f *studyFile) readBody(top *document.Fields) {
	trials, chart, readings := top.Get("trials"), top.Get("chart"), top.Get("readings")
	var given []document.Node
	for _, n := range []document.Node{trials, chart, readings} {
		if n.Given() {
			given = append(given, n)
		}
	}
	switch len(given) {
	case 0:
		top.Node().Fail("no readings stand here: write trials, chart or readings")
		return
	case 1:
		f.readingsAt = given[0]
	default:
		given[1].Fail("a study has one of trials, chart and readings: put the others into a file of their own")
		return
	}
	switch {
	case trials.Given():
		f.readTrials(trials)
	case chart.Given():
		f.readChart(chart)
	default:
		f.readings = f.numbers(readings)
	}
}

// readChart reads individuals, or groups of one size.
func (f *studyFile) readChart(n document.Node) {
	c := n.Fields()
	individuals, groups := c.Get("individuals"), c.Get("groups")
	c.Done()
	if individuals.Given() == groups.Given() {
		n.Fail("a chart is of individuals or of groups: write one of the two")
		return
	}
	if individuals.Given() {
		f.readingsAt = individuals
		f.individuals = f.numbers(individuals)
		return
	}
	f.readingsAt = groups
	for _, g := range groups.List(maxStudyRows) {
		row := f.numbers(g)
		if len(f.groups) > 0 && len(row) != len(f.groups[0]) {
			g.Fail("this group has %s and the first has %d: groups are of one size", countWords(len(row)), len(f.groups[0]))
		}
		f.groups = append(f.groups, row)
	}
}

func countWords(readings int) string {
	if readings == 1 {
		return "1 reading"
	}
	return strconv.Itoa(readings) + " readings"
}

// readTrials reads the rows of a crossed study. Every row has as many readings,
// and no part and person come twice.
func (f *studyFile) readTrials(n document.Node) {
	type cell struct{ part, person string }
	seen, first := map[cell]bool{}, 0
	f.trials = []stat.Trial{}
	for _, row := range n.List(maxStudyRows) {
		r := row.Fields()
		c := cell{r.Need("part", "which part was measured").Name(), r.Need("person", "who measured it").Name()}
		list := r.Need("readings", "what was read, as in [10.041, 10.043]")
		readings := f.numbersAtMost(list, maxInStudyRow)
		r.Done()
		if first == 0 {
			first = len(readings)
		}
		switch {
		case seen[c]:
			row.Fail("part %s by %s stands here a second time: write all its readings in one row", c.part, c.person)
		case len(readings) != first && list.Given():
			list.Fail("this row has %s and the first has %d: every person measures every part as often", countWords(len(readings)), first)
		}
		seen[c] = true
		for _, x := range readings {
			f.trials = append(f.trials, stat.Trial{Part: c.part, Operator: c.person, Reading: x})
		}
	}
	if f.tolerance != nil && (!f.tolerance.low.Valid || !f.tolerance.high.Valid) {
		n.Fail("a study of parts and people takes a tolerance with two limits, or none: shares of a tolerance need its width")
	}
}

func (f *studyFile) numbers(n document.Node) []decimal.Decimal {
	return f.numbersAtMost(n, maxInStudyList)
}

// numbersAtMost reads a list of figures in the study's unit, written without it.
func (f *studyFile) numbersAtMost(n document.Node, limit int) []decimal.Decimal {
	items := n.List(limit)
	out := make([]decimal.Decimal, len(items))
	for i, item := range items {
		if item.IsText() {
			if v, err := quantity.ParseWithUnit(item.Text()); err == nil {
				item.Fail("the unit of this study is %s, written once at its head: write %s alone, in that unit", f.unitWords(), v.Digits())
				continue
			}
		}
		out[i] = item.Number().Exact().Decimal()
	}
	return out
}

// readSettings reads the settings that this kind of study has.
func (f *studyFile) readSettings(n document.Node) {
	s := n.Fields()
	if f.trials == nil {
		f.confidence = chance(s.Get("confidence"), f.confidence, stat.MinConfidence, stat.MaxConfidence)
		s.Done()
		return
	}
	f.study.PoolAbove = chance(s.Get("pool above"), f.study.PoolAbove, 0, 1)
	if w := s.Get("width"); w.Given() {
		f.study.Width = w.Number().Exact().Decimal()
		if f.study.Width.Sign() <= 0 || f.study.Width.GreaterThan(decimal.NewFromInt(12)) {
			w.Fail("a width is above 0 and at most 12 standard deviations, as in 6")
		}
	}
	if c := s.Get("categories"); c.Given() && c.OneOf("cut down", "nearest") == "nearest" {
		f.study.Categories = stat.Nearest
	}
	if f.tolerance != nil {
		f.study.Tolerance = decimal.NewNullDecimal(f.tolerance.high.Decimal.Sub(f.tolerance.low.Decimal))
	}
	s.Done()
}

// chance reads a number from low to high; the usual one where none is written.
func chance(n document.Node, usual, low, high float64) float64 {
	if !n.Given() {
		return usual
	}
	x := n.Number().Exact().Float()
	if x < low || x > high {
		n.Fail("a number from %v to %v is wanted here, as in %v", low, high, usual)
		return usual
	}
	return x
}
