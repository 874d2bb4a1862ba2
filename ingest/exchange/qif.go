package exchange

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/xml"
	"fmt"
	"io"
	"strings"
	"time"

	"shimwright/calc/quantity"
	"shimwright/calc/ring"
	"shimwright/ingest/store"
)

// The words of QIF for what a characteristic and an inspection came to.
const (
	qifPass      = "PASS"
	qifFail      = "FAIL"
	qifUnsure    = "INDETERMINATE" // of a characteristic: too close to call
	qifNotJudged = "NOT_ANALYZED"  // of a reading from which what is judged is worked
	qifUnknown   = "UNKNOWN"       // of the whole: not all is sure, not signed, or training
)

// WriteQIF writes a job's results as QIF 3 (ISO 23952): a characteristic for each
// point of a ring and one for the ring as a whole, one for each pack (how far it is
// off) and each torque, end float and other check. What was judged good is PASS,
// too close to call INDETERMINATE, anything else FAIL; a point is judged by itself,
// by the job's own rule. The whole is PASS only where the job is signed, is no
// training job and nothing in it is less. The same results give the same bytes.
//
// A figure that is no finite decimal is rounded half to even at nine places.
// combinedUncertainty is the standard uncertainty, the expanded one over its
// factor; meanError is nought, since known errors are corrected before. Both are
// left out where the factor is not known. A pack's leaves, its total
// and the uncertainty of its worked size stand as attributes: how sure the total
// is nobody says.
func WriteQIF(w io.Writer, r Results, program string) error {
	if _, err := io.WriteString(w, xml.Header); err != nil {
		return err
	}
	e := xml.NewEncoder(w)
	e.Indent("", "  ")
	if err := e.Encode(qifOf(r, program)); err != nil {
		return fmt.Errorf("the results of job %s cannot be written as QIF: %w", r.Job.ID, err)
	}
	_, err := io.WriteString(w, "\n")
	return err
}

// qifBuilder gives numbers to what a document is made of.
type qifBuilder struct {
	r       Results
	last    int
	doc     qifDocument
	status  string
	torques bool
}

func (b *qifBuilder) next() int { b.last++; return b.last }

func qifOf(r Results, program string) qifDocument {
	b := &qifBuilder{r: r, status: qifPass}
	standard := b.next()
	b.doc.Characteristics.Standard = standard
	b.doc.Standards = qifStandards{N: 1, Standard: qifStandard{ID: standard, Organization: "setting sheet " + clean(r.Job.Sheet), Designator: token(r.Job.Sheet),
		Year: fmt.Sprintf("issue %d", r.Job.Issue), Description: "SHA-256 " + clean(r.Job.Digest)}}
	for _, d := range r.Judged {
		b.judged(d)
	}
	b.finish(program)
	return b.doc
}

// judged adds the characteristics of one judgement. Points with limits of their
// own are a ring; where one figure is worked from the points, it is what is judged
// and they are readings beside it.
func (b *qifBuilder) judged(d store.Judgement) {
	status := qifStatus(d.Verdict)
	b.worse(status)
	value, one := decimalOf(d.Value)
	low, okLow := decimalOf(d.Low)
	high, okHigh := decimalOf(d.High)
	band := &ring.Band{Low: low, High: high}
	if !okLow || !okHigh {
		band = nil
	}
	first := true
	for _, p := range points(d) {
		if one && p.spot == "" {
			continue // the presses of a torque, at no spot
		}
		if f, ok := decimalOf(p.figure); ok {
			b.point(d, p.spot, f, band, one, first)
			first = false
		}
	}
	switch {
	case one && band != nil:
		b.define(d, token(d.Step), band)
		b.numeric(d, token(d.Step), value, status)
	case !first:
		b.attribute(d, d.Step+", the whole ring", status)
	default:
		b.attribute(d, d.Step, status)
	}
}

// point adds one point, judged by itself where it is one of a ring.
func (b *qifBuilder) point(d store.Judgement, spot string, f quantity.Exact, band *ring.Band, reading, first bool) {
	name, status := token(d.Step+" at "+spot), qifNotJudged
	if reading {
		band, d.Uncertainty = nil, ""
	}
	if band != nil {
		u, _ := decimalOf(d.Uncertainty)
		status = qifStatus(band.Judge(f, u, b.r.Rule).String())
		b.worse(status)
	}
	if first {
		b.define(d, token(d.Step+", by points"), band)
	}
	b.numeric(d, name, f, status)
}

func qifStatus(verdict string) string {
	switch verdict {
	case ring.Good.String():
		return qifPass
	case ring.TooClose.String():
		return qifUnsure
	}
	return qifFail
}

// worse makes the whole no better than a part.
func (b *qifBuilder) worse(status string) {
	switch {
	case status == qifFail:
		b.status = qifFail
	case status != qifPass && b.status == qifPass:
		b.status = qifUnknown
	}
}

// define adds what a figure is, with its limits where it has some; the figures
// that follow are of it.
func (b *qifBuilder) define(d store.Judgement, name string, band *ring.Band) {
	c := &b.doc.Characteristics
	def := qifDefinition{ID: b.next(), Name: name}
	nominal := qifNominal{ID: b.next(), Definition: def.ID}
	var limits *qifLimits
	if band != nil {
		limits = &qifLimits{Max: qifValue{Text: plainOf(band.High)}, Min: qifValue{Text: plainOf(band.Low)}, AsLimit: true}
		nominal.Target.Text = plainOf(band.Low.Add(band.High).Times(half()))
	}
	kind := "Linear"
	if isTorque(d) && limits != nil {
		b.torques = true
		kind = "Unit"
		limits.Max.Unit, limits.Min.Unit, nominal.Target.Unit = torqueUnit, torqueUnit, torqueUnit
		nominal.Limits = limits
	} else {
		def.What = what(d)
		if def.Tolerance = limits; limits == nil {
			def.None = "MEASURED"
		}
	}
	def.XMLName.Local, nominal.XMLName.Local = userDefined(kind, "Definition"), userDefined(kind, "Nominal")
	c.Definitions.add(def)
	c.Nominals.add(nominal)
}

// plainTotal is a pack's total as a decimal; "" for none.
func plainTotal(s string) string {
	f, ok := decimalOf(s)
	if !ok {
		return ""
	}
	return plainOf(f)
}

func isTorque(d store.Judgement) bool { return unitOf(d.What) == "N·m" }

// numeric adds a figure of what was defined last.
func (b *qifBuilder) numeric(d store.Judgement, name string, f quantity.Exact, status string) {
	kind, v := "Linear", qifValue{Text: plainOf(f)}
	if isTorque(d) {
		kind, v.Unit = "Unit", torqueUnit
	}
	if d.What != WhatPack { // a pack's is that of its worked size, and not of how far it is off
		b.sure(&v, d.Uncertainty)
	}
	b.measured(d, kind, name, v, status)
}

// sure writes the standard uncertainty beside a value.
func (b *qifBuilder) sure(v *qifValue, expanded string) {
	u, ok := decimalOf(expanded)
	if !ok || b.r.Factor.Sign() <= 0 {
		return
	}
	v.Uncertainty = u.Decimal().DivRound(b.r.Factor.Decimal(), quantity.WorkPlaces).String()
	v.MeanError = "0"
}

// attribute adds what has no figure: good, or in what words it is not.
func (b *qifBuilder) attribute(d store.Judgement, name, status string) {
	def := qifDefinition{ID: b.next(), Name: token(name), What: what(d)}
	nominal := qifNominal{ID: b.next(), Definition: def.ID, Pass: &qifStrings{N: 1, Value: []string{ring.Good.String()}}}
	def.XMLName.Local, nominal.XMLName.Local = userDefined("Attribute", "Definition"), userDefined("Attribute", "Nominal")
	b.doc.Characteristics.Definitions.add(def)
	b.doc.Characteristics.Nominals.add(nominal)
	b.measured(d, "Attribute", token(name), qifValue{Text: clean(d.Verdict)}, status)
}

// measured adds an item of the last nominal, and its measurement.
func (b *qifBuilder) measured(d store.Judgement, kind, name string, v qifValue, status string) {
	c := &b.doc.Characteristics
	nominal := c.Nominals.List[len(c.Nominals.List)-1]
	item := qifItem{ID: b.next(), Name: name, Nominal: nominal.ID}
	item.XMLName.Local = userDefined(kind, "Item")
	c.Items.add(item)
	sure := "expanded uncertainty"
	if d.What == WhatPack {
		sure = "expanded uncertainty of the worked size, mm"
	}
	m := qifMeasurement{Attributes: attributes("words", d.Words, "judgement", fmt.Sprint(d.Seq), "build state", fmt.Sprint(d.Build), sure, d.Uncertainty,
		"leaves", strings.Join(d.Leaves, " + "), "total, mm", plainTotal(d.Total)),
		ID: b.next(), Status: status, Item: item.ID, At: stamp(d.At), Value: v}
	m.XMLName.Local = userDefined(kind, "Measurement")
	b.doc.Results.Set.Results.Measured.add(m)
}

// finish writes the head, which needs all that comes behind it.
func (b *qifBuilder) finish(program string) {
	j := b.r.Job
	say := fmt.Sprintf("Job %s of bench %s: drive %s, serial %s, by setting sheet %s, issue %d. The verdict rule is %s acceptance.",
		j.ID, j.Bench, j.Drive, j.Serial, j.Sheet, j.Issue, b.r.Rule)
	if j.State != store.Signed {
		say += " It is not signed: the job is " + string(j.State) + "."
	}
	if j.Training {
		say = "TRAINING: not to be released. " + say
	}
	if b.status == qifPass && (j.Training || j.State != store.Signed) {
		b.status = qifUnknown
	}
	res := &b.doc.Results.Set
	res.N, res.Results.ID, res.Results.Status = 1, b.next(), b.status
	res.Results.Trace = qifTrace{Report: clean(j.ID), Start: stamp(j.Opened), End: stamp(j.Ended),
		Attributes: attributes("drive", j.Drive, "serial number", j.Serial, "bench", j.Bench, "state", string(j.State), "training", yesNo(j.Training).text)}
	b.doc.XMLNS, b.doc.Version = "http://qifstandards.org/xsd/qif3", "3.0.0"
	b.doc.IDMax, b.doc.ID = b.last, b.identity()
	b.doc.Header = qifHeader{Application: "Shimwright " + clean(program), Description: clean(say)}
	b.doc.Units = qifUnits{Linear: qifLinear{SI: "meter", Name: "mm", Factor: "0.001"}}
	if b.torques {
		b.doc.Units.Own = &qifOwnUnits{N: 1, Unit: qifOwnUnit{What: "torque", Name: torqueUnit}}
	}
}

// identity is a name for these results that no others have: a UUID of version 8
// (RFC 9562, the form left to the maker) from their SHA-256.
func (b *qifBuilder) identity() string {
	h := sha256.New()
	_, _ = fmt.Fprintf(h, "%q %q %q %v", b.r.Job.Bench, b.r.Job.ID, b.r.Job.State, b.r.Job.Training) // a hash takes everything
	for _, d := range b.r.Judged {
		_, _ = fmt.Fprintf(h, " %d", d.Seq)
	}
	u := h.Sum(nil)[:16]
	u[6], u[8] = u[6]&0x0f|0x80, u[8]&0x3f|0x80
	s := hex.EncodeToString(u)
	return strings.Join([]string{s[:8], s[8:12], s[12:16], s[16:20], s[20:]}, "-")
}

func stamp(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.UTC().Format("2006-01-02T15:04:05.000Z")
}

func half() quantity.Ratio {
	r, err := quantity.RatioOf(1, 2)
	if err != nil {
		return quantity.Ratio{}
	}
	return r
}

// decimalOf reads a figure as it is judged and stored.
func decimalOf(s string) (quantity.Exact, bool) {
	c := Figure(s)
	if c.form != figure {
		return quantity.Exact{}, false
	}
	d, err := decimalFrom(c.text)
	return d, err == nil
}

// plainOf is a figure as a plain decimal.
func plainOf(e quantity.Exact) string { return e.Decimal().String() }

// what is measured, in words.
func what(d store.Judgement) string {
	if d.What == WhatPack {
		return "how far the fitted pack is from its worked thickness"
	}
	return clean(d.What)
}

// clean is a text as XML can hold it, in which nothing is hidden; token is one
// with single blanks, as QIF wants names.
func clean(s string) string { return strings.TrimPrefix(Neutral("a"+s), "a") }

func token(s string) string { return strings.Join(strings.Fields(clean(s)), " ") }
