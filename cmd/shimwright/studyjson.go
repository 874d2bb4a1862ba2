package main

import (
	"encoding/json"
	"io"
	"strconv"

	"github.com/shopspring/decimal"

	"shimwright/calc/stat"
)

// The JSON of study. JSON.md describes every field; fields are only ever added.
// A number is a text, at most 15 significant digits.

type jsonStudy struct {
	Format     string          `json:"format"`
	Program    string          `json:"program"`
	Name       string          `json:"study"`
	Gauge      string          `json:"gauge"`
	Unit       string          `json:"unit"`
	Tolerance  *jsonTolerance  `json:"tolerance,omitempty"`
	Summary    jsonSummary     `json:"summary"`
	Crossed    *jsonCrossed    `json:"crossed,omitempty"`
	Chart      *jsonChart      `json:"chart,omitempty"`
	Capability *jsonCapability `json:"capability,omitempty"`
	Refused    string          `json:"no_capability,omitempty"`
}

type jsonTolerance struct {
	Lower string `json:"lower,omitempty"`
	Upper string `json:"upper,omitempty"`
}

type jsonSummary struct {
	Count    int    `json:"count"`
	Least    string `json:"least"`
	Greatest string `json:"greatest"`
	Range    string `json:"range"`
	Median   string `json:"median"`
	Mean     string `json:"mean"`
	SD       string `json:"sd,omitempty"`
	SDOfMean string `json:"sd_of_mean,omitempty"`
	Lag1     string `json:"lag_one,omitempty"`
}

type jsonCrossed struct {
	Parts        int              `json:"parts"`
	Times        int              `json:"times"`
	Table        []jsonVariance   `json:"variances"`
	PoolAbove    string           `json:"pool_above"`
	Pooled       bool             `json:"pooled"`
	PooledTable  []jsonVariance   `json:"variances_pooled,omitempty"`
	Width        string           `json:"width"`
	Shares       []jsonShare      `json:"shares"`
	Distinct     string           `json:"distinct"`
	Categories   int              `json:"categories"`
	Rounding     string           `json:"categories_by"`
	AverageRange jsonAverageRange `json:"average_and_range"`
	People       []jsonPerson     `json:"people"`
}

type jsonVariance struct {
	Of         string `json:"of"`
	Freedom    int    `json:"freedom"`
	SumSquares string `json:"sum_of_squares"`
	MeanSquare string `json:"mean_square"`
	F          string `json:"f,omitempty"`
	P          string `json:"p,omitempty"`
}

type jsonShare struct {
	Of           string `json:"of"`
	Raw          string `json:"raw_variance"`
	Variance     string `json:"variance"`
	SD           string `json:"sd"`
	Contribution string `json:"percent_contribution"`
	Study        string `json:"percent_study"`
	OfTolerance  string `json:"percent_tolerance,omitempty"`
}

type jsonAverageRange struct {
	MeanRange   string      `json:"mean_range"`
	PeopleRange string      `json:"range_of_people"`
	PartsRange  string      `json:"range_of_parts"`
	K1          string      `json:"k_one"`
	K2          string      `json:"k_two"`
	K3          string      `json:"k_three"`
	Shares      []jsonShare `json:"shares"`
	Distinct    string      `json:"distinct"`
	Categories  int         `json:"categories"`
}

type jsonPerson struct {
	Name      string `json:"person"`
	Mean      string `json:"mean"`
	MeanRange string `json:"mean_range"`
}

type jsonChart struct {
	Of        string        `json:"of"`
	GroupSize int           `json:"constants_for"`
	D2        string        `json:"d_two"`
	A2        string        `json:"a_two"`
	D3        string        `json:"d_three"`
	D4        string        `json:"d_four"`
	Sigma     string        `json:"sd_by_range"`
	Middle    jsonChartLine `json:"middle"`
	Spread    jsonChartLine `json:"spread"`
}

type jsonChartLine struct {
	Of      string   `json:"of"`
	Lower   string   `json:"lower"`
	Centre  string   `json:"centre"`
	Upper   string   `json:"upper"`
	Points  []string `json:"points"`
	Outside []int    `json:"outside"`
}

type jsonCapability struct {
	Count      int           `json:"count"`
	SD         string        `json:"sd"`
	Confidence string        `json:"confidence"`
	Cp         string        `json:"cp,omitempty"`
	CpLimits   *jsonInterval `json:"cp_limits,omitempty"`
	Cpk        string        `json:"cpk"`
	CpkLimits  jsonInterval  `json:"cpk_limits"`
	Cpu        string        `json:"cpu,omitempty"`
	Cpl        string        `json:"cpl,omitempty"`
	K          string        `json:"k,omitempty"`
	Few        bool          `json:"few,omitempty"`
}

type jsonInterval struct {
	Low  string `json:"low"`
	High string `json:"high"`
}

func (w *workedStudy) writeJSON(out io.Writer, version string) error {
	j := jsonStudy{
		Format: "shimwright study 1", Program: version, Name: w.name, Gauge: w.gauge, Unit: w.unitWords(),
		Summary: w.jsonSummary(), Refused: w.refused,
	}
	if b := w.tolerance; b != nil {
		j.Tolerance = &jsonTolerance{inJSONIf(b.low), inJSONIf(b.high)}
	}
	if w.crossed != nil {
		j.Crossed = w.jsonCrossed()
	}
	if w.chart != nil {
		j.Chart = w.jsonChart()
	}
	if w.capability != nil {
		j.Capability = jsonCapabilityOf(w.capability)
	}
	e := json.NewEncoder(out)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	return e.Encode(j)
}

func (w *workedStudy) jsonSummary() jsonSummary {
	s := w.summary
	j := jsonSummary{Count: s.N, Least: inJSON(s.Min), Greatest: inJSON(s.Max), Range: inJSON(s.Range),
		Median: inJSON(s.Median), Mean: inJSON(s.Mean.Round(wholeMean))}
	if sd, err := s.SD(); err == nil {
		j.SD = inJSON(sd)
	}
	if w.crossed != nil {
		return j
	}
	if sd, err := s.SDOfMean(); err == nil {
		j.SDOfMean = inJSON(sd)
	}
	if r, err := s.Lag1(); err == nil && w.groups == nil {
		j.Lag1 = inJSON(r)
	}
	return j
}

func (w *workedStudy) jsonCrossed() *jsonCrossed {
	c := w.crossed
	j := &jsonCrossed{
		Parts: len(c.Parts), Times: c.Trials,
		Table: []jsonVariance{
			jsonVarianceOf("part", c.Part, c.PartTest), jsonVarianceOf("person", c.Operator, c.OperatorTest),
			jsonVarianceOf("part by person", c.Interaction, c.InteractionTest),
			jsonVarianceOf("repeatability", c.Repeatability, stat.Test{}), jsonVarianceOf("total", c.Total, stat.Test{}),
		},
		PoolAbove: strconv.FormatFloat(w.study.PoolAbove, 'f', -1, 64), Pooled: c.Pooled,
		Width: w.study.Width.String(), Shares: jsonShares(c.Shares, false),
		Distinct: inJSON(c.Shares.Distinct), Categories: c.Shares.Categories, Rounding: "cut down",
		AverageRange: jsonAverageRangeOf(c.AverageRange),
	}
	if w.study.Categories == stat.Nearest {
		j.Rounding = "nearest"
	}
	if c.Pooled {
		j.PooledTable = []jsonVariance{
			jsonVarianceOf("part", c.Part, c.PooledPartTest), jsonVarianceOf("person", c.Operator, c.PooledOperatorTest),
			jsonVarianceOf("repeatability", c.Error, stat.Test{}), jsonVarianceOf("total", c.Total, stat.Test{}),
		}
	}
	for _, f := range w.people {
		j.People = append(j.People, jsonPerson{f.name, inJSON(f.mean), inJSON(f.meanRange)})
	}
	return j
}

func jsonVarianceOf(of string, r stat.Row, t stat.Test) jsonVariance {
	j := jsonVariance{Of: of, Freedom: r.DF, SumSquares: inJSON(r.SumSquares), MeanSquare: inJSON(r.MeanSquare)}
	if t.Made {
		j.F, j.P = inJSON(t.F), strconv.FormatFloat(t.P, 'g', 6, 64)
	}
	return j
}

func jsonShares(s stat.Shares, byRange bool) []jsonShare {
	names := map[string]string{"- person": "person", "- part by person": "part by person"}
	var out []jsonShare
	for _, n := range sharesOf(s, byRange) {
		j := jsonShare{Of: n.name, Raw: inJSON(n.share.Raw), Variance: inJSON(n.share.Variance), SD: inJSON(n.share.SD),
			Contribution: inJSON(n.share.Contribution), Study: inJSON(n.share.Study), OfTolerance: inJSONIf(n.share.OfTolerance)}
		if plain, ok := names[n.name]; ok {
			j.Of = plain
		}
		out = append(out, j)
	}
	return out
}

func jsonAverageRangeOf(a stat.AverageRange) jsonAverageRange {
	return jsonAverageRange{
		MeanRange: inJSON(a.MeanRange), PeopleRange: inJSON(a.OperatorRange), PartsRange: inJSON(a.PartRange),
		K1: inJSON(a.K1), K2: inJSON(a.K2), K3: inJSON(a.K3), Shares: jsonShares(a.Shares, true),
		Distinct: inJSON(a.Shares.Distinct), Categories: a.Shares.Categories,
	}
}

func (w *workedStudy) jsonChart() *jsonChart {
	c := w.chart
	k := c.Constants
	of := "individuals"
	if w.groups != nil {
		of = "groups"
	}
	middle, spread := w.chartWords()
	return &jsonChart{
		Of: of, GroupSize: k.N, D2: inJSON(k.MeanOfRange), A2: inJSON(k.A2), D3: inJSON(k.D3), D4: inJSON(k.D4),
		Sigma:  inJSON(c.Sigma),
		Middle: jsonChartLineOf(middle, c.Middle, c.MiddlePoints),
		Spread: jsonChartLineOf(spread, c.Spread, c.SpreadPoints),
	}
}

func jsonChartLineOf(of string, l stat.Limits, points []decimal.Decimal) jsonChartLine {
	j := jsonChartLine{Of: of, Lower: inJSON(l.Lower), Centre: inJSON(l.Centre), Upper: inJSON(l.Upper), Outside: []int{}}
	for _, x := range points {
		j.Points = append(j.Points, inJSON(x))
	}
	for _, i := range l.Outside(points) {
		j.Outside = append(j.Outside, i+1)
	}
	return j
}

func jsonCapabilityOf(c *stat.Capability) *jsonCapability {
	j := &jsonCapability{
		Count: c.Summary.N, SD: inJSON(c.SD), Confidence: strconv.FormatFloat(c.Confidence, 'f', -1, 64),
		Cp: inJSONIf(c.Indices.Cp), Cpk: inJSON(c.Indices.Cpk), CpkLimits: jsonInterval{inJSON(c.Cpk.Low), inJSON(c.Cpk.High)},
		Cpu: inJSONIf(c.Indices.Cpu), Cpl: inJSONIf(c.Indices.Cpl), K: inJSONIf(c.Indices.K), Few: c.Few,
	}
	if c.Cp != nil {
		j.CpLimits = &jsonInterval{inJSON(c.Cp.Low), inJSON(c.Cp.High)}
	}
	return j
}

// wholeMean is decimals enough for 15 significant digits of a mean of readings,
// which have at most 9.
const wholeMean = 24

// inJSON is a number at 15 significant digits at most, half to even, without
// trailing noughts.
func inJSON(d decimal.Decimal) string {
	magnitude := int32(d.NumDigits()) + d.Exponent()
	return d.RoundBank(15 - magnitude).String()
}

func inJSONIf(d decimal.NullDecimal) string {
	if !d.Valid {
		return ""
	}
	return inJSON(d.Decimal)
}
