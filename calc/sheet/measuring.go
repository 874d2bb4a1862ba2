package sheet

import (
	"errors"
	"fmt"
	"strings"

	"github.com/shopspring/decimal"

	"shimwright/calc/correct"
	"shimwright/calc/document"
	"shimwright/calc/quantity"
)

// Limits of what is said of gauges and temperatures.
const (
	maxPoints = 200 // of a correction table
	maxChecks = 400 // of a gauge on its check pieces
	coldest   = -20 // °C: outside these no one measures a drive
	hottest   = 60
	widest    = 20 // K, of what a temperature is known to
)

// Corrections is a gauge's correction table, as its certificate states it.
type Corrections struct {
	Table  correct.Table
	Points []Correction // two or more, in rising order
	// Of the certificate: expanded uncertainty of the corrections and coverage
	// factor; nil where they are not known.
	Uncertainty *quantity.Value
	K           *quantity.Value
}

// A Correction is one point of a table: what is added where the gauge reads At.
type Correction struct{ At, Add quantity.Value }

// Between are the two points whose straight line corrects a reading, which must
// be one that the table covers.
func (c *Corrections) Between(reading quantity.Exact) (low, high Correction) {
	for i, p := range c.Points {
		if i > 0 && !p.At.Exact().Less(reading) {
			return c.Points[i-1], p
		}
	}
	return Correction{}, Correction{}
}

// A GaugeCheck is one reading of a gauge on a check piece.
type GaugeCheck struct {
	Day   string // 2025-03-17
	Piece quantity.Value
	Read  quantity.Value
}

// Temperatures are those of the work.
type Temperatures struct{ Part, Standards, Gauge Temperature }

// A Temperature is one body's.
type Temperature struct {
	Of      string          // whose: "part", "standards" or "gauge"; that of a gauge that is not said is the standards'
	At      quantity.Exact  // °C
	Within  *quantity.Exact // K either way; nil where it is not known
	Written string
}

// Materials are what the parts, the standards and the gauges are made of.
type Materials struct{ Part, Standards, Gauge correct.Material }

// readCorrections reads {points: [{at: 0.00 mm, add: 0.00 mm}, …],
// uncertainty: 0.004 mm, k: 2}; nil where nothing stands there.
func readCorrections(n document.Node) *Corrections {
	if !n.Given() {
		return nil
	}
	f := n.Fields()
	list := f.Need("points", "its points in rising order, as in [{at: 0.00 mm, add: 0.000 mm}, {at: 30.00 mm, add: 0.010 mm}]")
	out := &Corrections{}
	var points []correct.Point
	sound := true
	for i, item := range list.List(maxPoints) {
		p := item.Fields()
		atNode, addNode := p.Need("at", "what the gauge reads, as in 25.00 mm"), p.Need("add", "what is added to the reading there, as in 0.010 mm or -0.010 mm")
		at, add := atNode.Quantity(), addNode.Quantity()
		p.Done()
		out.Points = append(out.Points, Correction{at, add})
		switch {
		case at.Unit() == quantity.Bare || add.Unit() == quantity.Bare:
			sound = false
		case at.Unit().Dimension() != out.Points[0].At.Unit().Dimension() || add.Unit().Dimension() != at.Unit().Dimension():
			item.Fail("the readings and what is added to them are of one kind, all lengths or all forces")
			sound = false
		case i > 0 && !out.Points[i-1].At.Exact().Less(at.Exact()):
			atNode.Fail("%s does not rise from the %s before it: write the points in the order of the reading", at, out.Points[i-1].At)
			sound = false
		}
		points = append(points, correct.Point{At: at.Exact(), Add: add.Exact()})
	}
	out.Uncertainty, out.K = ReadCertified(f)
	f.Done()
	if !list.Given() || !sound {
		return nil
	}
	if len(points) < 2 {
		list.Fail("a table has two points or more: between them it is a straight line, outside them it says nothing")
		return nil
	}
	var err error
	if out.Table, err = correct.NewTable(points); err != nil {
		list.Fail("%s", err)
	}
	return out
}

// NewCorrections is a table of its points in rising order. The error says what
// is wrong with them.
func NewCorrections(points []Correction, uncertainty, k *quantity.Value) (*Corrections, error) {
	var at []correct.Point
	for _, p := range points {
		if p.At.Unit().Dimension() != points[0].At.Unit().Dimension() || p.Add.Unit().Dimension() != p.At.Unit().Dimension() {
			return nil, errors.New("the readings and what is added to them are of one kind, all lengths or all forces")
		}
		at = append(at, correct.Point{At: p.At.Exact(), Add: p.Add.Exact()})
	}
	table, err := correct.NewTable(at)
	if err != nil {
		return nil, err
	}
	return &Corrections{Table: table, Points: points, Uncertainty: uncertainty, K: k}, nil
}

// ReadCorrections reads a gauge's correction table out of another document, as
// a readings file has it; nil where nothing stands there.
func ReadCorrections(n document.Node) *Corrections { return readCorrections(n) }

// readChecks reads a gauge's readings on check pieces, oldest first.
func readChecks(n document.Node, limit *quantity.Value) []GaugeCheck {
	if !n.Given() {
		return nil
	}
	if limit == nil {
		n.Fail("checks are held to the gauge's limit of error: write limit of error too, as in 0.02 mm")
	}
	var out []GaugeCheck
	for _, item := range n.List(maxChecks) {
		f := item.Fields()
		day := f.Need("day", "the day of the check, as in 2025-03-17")
		c := GaugeCheck{
			Day:   day.Name(),
			Piece: above(f.Need("piece", "the certified size of the check piece, as in 25.001 mm"), quantity.Length),
			Read:  f.Need("read", "what the gauge read on it, as in 25.01 mm").Figure(quantity.Length),
		}
		f.Done()
		switch {
		case !day.Given():
		case !isDay(c.Day):
			day.Fail("%q is no day: write year, month and day, as in 2025-03-17", c.Day)
		case len(out) > 0 && c.Day < out[len(out)-1].Day:
			day.Fail("%s is before the check above it: write the oldest first", c.Day)
		}
		out = append(out, c)
	}
	return out
}

// isDay tells whether a text is a day as in 2025-03-17, so that days sort as
// texts. A month is not held to its own length: nothing is counted in days.
func isDay(s string) bool {
	parts := strings.Split(s, "-")
	if len(parts) != 3 || len(parts[0]) != 4 || len(parts[1]) != 2 || len(parts[2]) != 2 {
		return false
	}
	if strings.ContainsFunc(strings.Join(parts, ""), func(r rune) bool { return r < '0' || r > '9' }) {
		return false
	}
	return parts[1] >= "01" && parts[1] <= "12" && parts[2] >= "01" && parts[2] <= "31"
}

// readTemperatures reads {part: 26.0 °C ± 1 °C, standards: 21.0 °C}; nil where
// nothing stands there.
func readTemperatures(n document.Node) *Temperatures {
	if !n.Given() {
		return nil
	}
	f := n.Fields()
	const as = "as in 26.0 °C, or 26.0 °C ± 0.5 °C where it is known how near"
	out := &Temperatures{
		Part:      readTemperature("part", f.Need("part", "the temperature of the parts measured, "+as)),
		Standards: readTemperature("standards", f.Need("standards", "the temperature of the standards and straightedges, "+as)),
	}
	out.Gauge = out.Standards
	if g := f.Get("gauge"); g.Given() {
		out.Gauge = readTemperature("gauge", g)
	}
	f.Done()
	return out
}

// ParseTemperatures reads temperatures as they are written in a readings file,
// each as in 26.0 °C or 26.0 °C ± 0.5 °C; that of a gauge that is not said is
// the standards'.
func ParseTemperatures(part, standards, gauge string) (*Temperatures, error) {
	text := fmt.Sprintf("temperatures:\n  part: %s\n  standards: %s\n", quoted(part), quoted(standards))
	if gauge != "" {
		text += "  gauge: " + quoted(gauge) + "\n"
	}
	top, doc, err := document.Parse("", []byte(text))
	if err != nil {
		return nil, err
	}
	out := readTemperatures(top.Fields().Get("temperatures"))
	var fault *document.Fault
	if err := doc.Err(); errors.As(err, &fault) {
		return nil, errors.New(fault.Message)
	} else if err != nil {
		return nil, err
	}
	return out, nil
}

func quoted(s string) string { return "'" + strings.ReplaceAll(s, "'", "''") + "'" }

func readTemperature(of string, n document.Node) Temperature {
	out := Temperature{Of: of}
	if !n.Given() {
		return out
	}
	out.Written = n.Name()
	words := strings.ReplaceAll(out.Written, "+/-", "±")
	main, within, has := strings.Cut(words, "±")
	at, ok := degrees(main, true)
	if !ok {
		n.Fail("%q is no temperature: write a figure and °C or °F, as in 26.0 °C, or 26.0 °C ± 0.5 °C", out.Written)
		return out
	}
	out.At = at
	if low, high := whole(coldest), whole(hottest); at.Less(low) || high.Less(at) {
		n.Fail("%s stands here, and no drive is measured below %d °C or above %d °C: write what the thermometer showed, with its own unit, as in 26.0 °C or 79 °F", out.Written, coldest, hottest)
	}
	if !has {
		return out
	}
	w, ok := degrees(within, false)
	if !ok || w.Sign() <= 0 || whole(widest).Less(w) {
		n.Fail("%q says how near the temperature is known: write a figure above nought and at most %d °C, as in 26.0 °C ± 0.5 °C", out.Written, widest)
		return out
	}
	out.Within = &w
	return out
}

// degrees reads a temperature in °C or °F, as a point of the scale or as a
// difference: °C = (°F − 32) · 5/9, exact.
func degrees(s string, point bool) (quantity.Exact, bool) {
	digits, unit, ok := strings.Cut(strings.TrimSpace(s), " ")
	v, err := quantity.Parse(digits, quantity.Bare)
	if !ok || err != nil {
		return quantity.Exact{}, false
	}
	switch strings.TrimPrefix(strings.TrimSpace(unit), "°") {
	case "C":
		return v.Exact(), true
	case "F":
		x := v.Exact()
		if point {
			x = x.Sub(whole(32))
		}
		share, err := quantity.RatioOf(5, 9)
		return x.Times(share), err == nil
	}
	return quantity.Exact{}, false
}

func whole(n int64) quantity.Exact { return quantity.FromDecimal(decimal.NewFromInt(n)) }

// readMaterials reads {part: grey iron, standards: gauge-block steel}; nil
// where nothing stands there.
func readMaterials(n document.Node) *Materials {
	if !n.Given() {
		return nil
	}
	f := n.Fields()
	out := &Materials{
		Part:      readMaterial(f.Need("part", "what the parts measured are made of, as in grey iron")),
		Standards: readMaterial(f.Need("standards", "what the standards are made of, as in gauge-block steel")),
	}
	out.Gauge = out.Standards
	if g := f.Get("gauge"); g.Given() {
		out.Gauge = readMaterial(g)
	}
	f.Done()
	return out
}

// readMaterial reads a material's word, or {name: …, per K: 0.0000105,
// within: 0.0000010}.
func readMaterial(n document.Node) correct.Material {
	switch {
	case !n.Given():
		return correct.Material{}
	case n.IsText():
		m, err := correct.MaterialNamed(n.Name())
		if err != nil {
			var words []string
			for _, k := range correct.Materials() {
				words = append(words, k.Word)
			}
			n.Fail("%q is no material known here: write one of %s; or its own expansion, as in {name: special iron, per K: 0.0000105}", n.Name(), strings.Join(words, ", "))
		}
		return m
	}
	f := n.Fields()
	m := correct.Material{Name: f.Need("name", "the material, as in special iron").Name(), Source: "the sheet"}
	m.PerK = f.Need("per K", "how much each unit of length grows for each K, as in 0.0000105").Number().Exact()
	if w := f.Get("within"); w.Given() {
		m.Within = w.Number().Exact()
	}
	f.Done()
	if err := m.Check(); err != nil && f.Has("per K") {
		n.Fail("%s", err)
	}
	return m
}

// readToTwenty reads whether measured lengths are corrected to 20 °C.
func readToTwenty(n document.Node, m *Materials) bool {
	if !n.Given() {
		return false
	}
	corrected := n.OneOf("only told", "corrected") == "corrected"
	if m == nil {
		n.Fail("what temperature does follows from the materials: write materials: {part: …, standards: …} too")
	}
	return corrected
}
