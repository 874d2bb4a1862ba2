package main

import (
	"fmt"
	"strconv"
	"strings"

	"github.com/shopspring/decimal"

	"shimwright/calc/stat"
)

// fewForLimits is the number of points below which control limits are a
// beginning only (common practice, no source).
const fewForLimits = 20

// chartWords names what a chart's two parts are of.
func (w *workedStudy) chartWords() (middle, spread string) {
	if w.groups != nil {
		return "group mean", "group range"
	}
	return "reading", "moving range"
}

// chart prints control limits, the constants behind them and what lies outside.
func (p *studyPage) chart() {
	c := p.w.chart
	middle, spread := p.w.chartWords()
	p.title("chart of " + middle + "s and " + spread + "s")
	m := beside(c.Spread.Centre, c.Middle.Lower, c.Middle.Centre, c.Middle.Upper)
	s := inStep([]decimal.Decimal{c.Spread.Lower, c.Spread.Centre, c.Spread.Upper})
	p.table([][]string{
		{"", "lower limit", "centre", "upper limit"},
		append([]string{middle}, m...), append([]string{spread}, s...),
	})
	k := c.Constants
	if p.w.groups != nil {
		p.words("Constants for %d, by formula: A2 %s, D3 %s, D4 %s.", k.N, six(k.A2), six(k.D3), six(k.D4))
	} else {
		p.words("Constants for %d, by formula: d2 %s, D3 %s, D4 %s; limits of readings 3/d2 mean moving ranges either side.",
			k.N, six(k.MeanOfRange), six(k.D3), six(k.D4))
	}
	p.words("Standard deviation by the mean range: %s.", six(c.Sigma))
	p.outside(middle, c.Middle, c.MiddlePoints)
	p.outside(spread, c.Spread, c.SpreadPoints)
	if n := len(c.MiddlePoints); n < fewForLimits {
		p.words("Limits from %d points are a beginning only: %d or more are usual.", n, fewForLimits)
	}
}

// outside lists the points outside their limits; a moving range is named by the
// two readings it lies between.
func (p *studyPage) outside(what string, l stat.Limits, points []decimal.Decimal) {
	var list []string
	for _, i := range l.Outside(points) {
		list = append(list, fmt.Sprintf("%s (%s)", p.w.pointName(what, i), six(points[i])))
	}
	if list == nil {
		p.words("No %s lies outside.", what)
		return
	}
	p.words("Outside, %s: %s.", what, strings.Join(list, ", "))
}

func (w *workedStudy) pointName(what string, i int) string {
	if what == "moving range" {
		return fmt.Sprintf("%d to %d", i+1, i+2)
	}
	return strconv.Itoa(i + 1)
}

// capability prints the indices with their confidence limits, or why not.
func (p *studyPage) capability() {
	w := p.w
	switch {
	case w.refused != "":
		p.title("capability")
		p.words("%s", w.refused)
		return
	case w.capability == nil:
		return
	}
	c := w.capability
	p.title("capability")
	sure := strconv.FormatFloat(100*c.Confidence, 'g', 6, 64) + " % confidence"
	rows := [][]string{{"", "", sure + " from", "to"}}
	if c.Cp != nil {
		rows = append(rows, []string{"Cp", three(c.Indices.Cp.Decimal), three(c.Cp.Low), three(c.Cp.High)})
	}
	rows = append(rows, []string{"Cpk", three(c.Indices.Cpk), three(c.Cpk.Low), three(c.Cpk.High)})
	for _, x := range []struct {
		name  string
		index decimal.NullDecimal
	}{{"upper side", c.Indices.Cpu}, {"lower side", c.Indices.Cpl}, {"off the middle (k)", c.Indices.K}} {
		if x.index.Valid {
			rows = append(rows, []string{x.name, three(x.index.Decimal), "", ""})
		}
	}
	p.table(rows)
	p.words("From %d readings, with the standard deviation of all of them, %s. The limits hold for readings that follow a normal distribution.", c.Summary.N, six(c.SD))
	if c.Few {
		p.words("%d or more readings are advised.", stat.AdvisedCapability)
	}
}

// tooFewWords refuses a capability from few readings.
func tooFewWords(n int) string {
	return fmt.Sprintf("No capability: %s are too few: at least %d are wanted. Even from %d the index is uncertain by about 28 %% either way.",
		countWords(n), stat.MinCapability, stat.MinCapability)
}

func three(d decimal.Decimal) string { return d.StringFixedBank(3) }
