package exchange

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"slices"
	"strings"

	"shimwright/calc/quantity"
	"shimwright/devices"
	"shimwright/ingest/fact"
)

// The namespaces of a digital calibration certificate and of its values.
const (
	dccSpace = "https://ptb.de/dcc"
	siSpace  = "https://ptb.de/si"
)

// A Number is what somebody calls the thing that was calibrated.
type Number struct {
	Issuer string // manufacturer, owner, customer, calibrationLaboratory or other
	Value  string
}

// A Length is a length that a certificate gives.
type Length struct {
	Name        string // as the certificate calls it
	Size        quantity.Value
	Uncertainty quantity.Value // expanded
	K           quantity.Value // its coverage factor
}

// A PaperCertificate is what a digital calibration certificate says of a piece.
// Its due date is not in it: that is the owner's to say.
type PaperCertificate struct {
	Version    string // of its form
	Number     string // its own
	Dated      fact.Day
	Laboratory string
	Item       string // what was calibrated
	Numbers    []Number
	Lengths    []Length
	Amends     bool   // it takes the place of an earlier one
	Digest     string // SHA-256 of the file
}

// ReadCertificate reads a digital calibration certificate, version 3.1 or 3.2, of
// one item. Its electronic signature, where it has one, is not checked.
func ReadCertificate(data []byte) (PaperCertificate, error) {
	root, err := readXML(data)
	if err != nil {
		return PaperCertificate{}, err
	}
	if root.name.Space != dccSpace || root.name.Local != "digitalCalibrationCertificate" {
		return PaperCertificate{}, fmt.Errorf("line %d: it begins with %s in the namespace %s and is no digital calibration certificate: one begins with digitalCalibrationCertificate in %s",
			root.line, devices.Quote([]byte(root.name.Local)), devices.Quote([]byte(root.name.Space)), dccSpace)
	}
	sum := sha256.Sum256(data)
	c := PaperCertificate{Version: root.attribute("schemaVersion"), Digest: hex.EncodeToString(sum[:])}
	if !strings.HasPrefix(c.Version, "3.1.") && !strings.HasPrefix(c.Version, "3.2.") {
		return c, fmt.Errorf("it is a certificate of version %s, and 3.1 and 3.2 are read: type it in (shimwright pieces certify)", devices.Quote([]byte(c.Version)))
	}
	if err := c.administrative(root.kid(dccSpace, "administrativeData")); err != nil {
		return c, err
	}
	results := root.kid(dccSpace, "measurementResults")
	if results == nil {
		return c, fmt.Errorf("it has no measurement results: is it the right certificate?")
	}
	if err := c.lengths(results, nil); err != nil {
		return c, err
	}
	if len(c.Lengths) == 0 {
		return c, fmt.Errorf("it gives no length with its unit and expanded uncertainty as a single value (si:real): type it in (shimwright pieces certify)")
	}
	return c, nil
}

func (c *PaperCertificate) administrative(n *node) error {
	core := n.kid(dccSpace, "coreData")
	c.Number = core.kid(dccSpace, "uniqueIdentifier").words()
	if err := fact.CheckName("the certificate's own number", c.Number); err != nil {
		return err
	}
	dated := core.kid(dccSpace, "endPerformanceDate").words()
	var err error
	if c.Dated, err = fact.ParseDay(firstOf(dated, 10)); err != nil {
		return fmt.Errorf("the day of the calibration (endPerformanceDate): %w", err)
	}
	c.Amends = core.kid(dccSpace, "reportAmendedSubstituted") != nil
	c.Laboratory = content(n.find(dccSpace, "calibrationLaboratory", "contact", "name"))
	items := n.kid(dccSpace, "items")
	var found []*node
	if items != nil {
		for _, k := range items.kids {
			if k.name.Space == dccSpace && k.name.Local == "item" {
				found = append(found, k)
			}
		}
	}
	if len(found) != 1 {
		return fmt.Errorf("it is of %d items, and certificates of one are read: type them in (shimwright pieces certify)", len(found))
	}
	c.Item = content(found[0].kid(dccSpace, "name"))
	return c.numbers(found[0].kid(dccSpace, "identifications"))
}

func (c *PaperCertificate) numbers(n *node) error {
	if n == nil {
		return fmt.Errorf("its item has no number: which piece it is of cannot be said; type it in (shimwright pieces certify)")
	}
	for _, k := range n.kids {
		if v := k.kid(dccSpace, "value").words(); k.name.Local == "identification" && v != "" {
			if err := fact.CheckName("a number of the item", v); err != nil {
				return err
			}
			c.Numbers = append(c.Numbers, Number{Issuer: k.kid(dccSpace, "issuer").words(), Value: v})
		}
	}
	if len(c.Numbers) == 0 {
		return fmt.Errorf("its item has no number: which piece it is of cannot be said; type it in (shimwright pieces certify)")
	}
	return nil
}

// content is the first words of a text in whatever language.
func content(n *node) string { return clean(firstOf(n.kid(dccSpace, "content").words(), mostName)) }

const (
	mostName    = 60 // characters shown of a name
	mostLengths = 50 // that one is chosen from
)

func firstOf(s string, most int) string {
	r := []rune(s)
	return string(r[:min(len(r), most)])
}

// lengths gathers what was measured; what was used for it, and under which
// conditions, is passed over. names are those of what the node stands in.
func (c *PaperCertificate) lengths(n *node, names []string) error {
	switch n.name.Local {
	case "influenceConditions", "usedMethods", "usedSoftware", "measuringEquipments", "measurementMetaData", "metaData":
		return nil
	}
	if name := content(n.kid(dccSpace, "name")); name != "" {
		names = append(slices.Clip(names), name)
	}
	if n.name.Local == "quantity" && n.name.Space == dccSpace {
		return c.quantity(n, names)
	}
	for _, k := range n.kids {
		if err := c.lengths(k, names); err != nil {
			return err
		}
	}
	return nil
}

// quantity takes a length; other quantities, and nominal ones, are passed over.
func (c *PaperCertificate) quantity(n *node, names []string) error {
	if strings.Contains(strings.ToLower(n.attribute("refType")), "nominal") {
		return nil
	}
	real := n.kid(siSpace, "real")
	if h := n.kid(siSpace, "hybrid"); real == nil && h != nil {
		real = h.kid(siSpace, "real")
	}
	if real == nil {
		return nil
	}
	name := strings.Join(names, ", ")
	l, is, err := lengthOf(real)
	if err != nil {
		return fmt.Errorf("line %d, %s: %w", real.line, devices.Quote([]byte(name)), err)
	}
	if len(c.Lengths) == mostLengths {
		return fmt.Errorf("it gives more than %d lengths, and a piece has one size: type it in (shimwright pieces certify)", mostLengths)
	}
	if is {
		l.Name = name
		c.Lengths = append(c.Lengths, l)
	}
	return nil
}

// lengthOf reads a real value; false where it is no length. A length without an
// uncertainty is refused: what it is worth cannot be said.
func lengthOf(n *node) (Length, bool, error) {
	unit := n.kid(siSpace, "unit").words()
	if unit == "" {
		return Length{}, false, fmt.Errorf("the value %s has no unit: have the certificate corrected", devices.Quote([]byte(n.kid(siSpace, "value").words())))
	}
	shift, ok := millimetres(unit)
	if !ok {
		return Length{}, false, nil
	}
	var l Length
	var err error
	if l.Size, err = lengthIn(n.kid(siSpace, "value").words(), shift); err != nil {
		return l, false, fmt.Errorf("the value: %w", err)
	}
	u, k := uncertain(n)
	if u == "" || k == "" {
		return l, false, fmt.Errorf("the length %s has no expanded uncertainty with its coverage factor: have the certificate corrected, or type it in (shimwright pieces certify)", l.Size)
	}
	if l.Uncertainty, err = lengthIn(u, shift); err != nil {
		return l, false, fmt.Errorf("the uncertainty: %w", err)
	}
	digits, err := plainDecimal(k, 0)
	if err != nil {
		return l, false, fmt.Errorf("the coverage factor: %w", err)
	}
	l.K, err = quantity.Parse(digits, quantity.Bare)
	return l, err == nil, err
}

// uncertain are the expanded uncertainty and its factor, as D-SI 2.1 writes them,
// or 2.2.
func uncertain(n *node) (u, k string) {
	if e := n.kid(siSpace, "expandedUnc"); e != nil {
		return e.kid(siSpace, "uncertainty").words(), e.kid(siSpace, "coverageFactor").words()
	}
	e := n.find(siSpace, "measurementUncertaintyUnivariate", "expandedMU")
	return e.kid(siSpace, "valueExpandedMU").words(), e.kid(siSpace, "coverageFactor").words()
}

func lengthIn(s string, shift int) (quantity.Value, error) {
	digits, err := plainDecimal(s, shift)
	if err != nil {
		return quantity.Value{}, err
	}
	return quantity.Parse(digits, quantity.MM)
}

// millimetres is how many places a D-SI unit of length is from the millimetre;
// false for other units.
func millimetres(unit string) (int, bool) {
	prefix, ok := strings.CutSuffix(strings.TrimSpace(unit), `\metre`)
	if !ok {
		return 0, false
	}
	shift, ok := map[string]int{"": 3, `\kilo`: 6, `\deci`: 2, `\centi`: 1, `\milli`: 0, `\micro`: -3, `\nano`: -6}[prefix]
	return shift, ok
}

// plainDecimal moves the point of a D-SI decimal, which may have an exponent, and
// keeps its digits and so its resolution.
func plainDecimal(s string, shift int) (string, error) {
	bad := fmt.Errorf("%s is no decimal number", devices.Quote([]byte(firstOf(s, mostName))))
	mantissa, power, has := strings.Cut(strings.ToLower(s), "e")
	exponent := 0
	if has {
		if _, err := fmt.Sscanf(power, "%d", &exponent); err != nil || len(power) > 4 || fmt.Sprint(exponent) != strings.TrimPrefix(power, "+") {
			return "", bad
		}
	}
	sign := ""
	if rest, ok := strings.CutPrefix(mantissa, "-"); ok {
		sign, mantissa = "-", rest
	} else {
		mantissa = strings.TrimPrefix(mantissa, "+")
	}
	if !isDecimal(mantissa) || strings.HasPrefix(mantissa, "-") || exponent < -mostDigits || exponent > mostDigits {
		return "", bad
	}
	whole, part, _ := strings.Cut(mantissa, ".")
	return sign + movePoint(whole, part, exponent+shift), nil
}

func movePoint(whole, part string, by int) string {
	for ; by > 0; by-- {
		next := "0"
		if part != "" {
			next, part = part[:1], part[1:]
		}
		whole += next
	}
	for ; by < 0; by++ {
		last := "0"
		if whole != "" {
			last, whole = whole[len(whole)-1:], whole[:len(whole)-1]
		}
		part = last + part
	}
	whole = strings.TrimLeft(whole, "0")
	if whole == "" {
		whole = "0"
	}
	if part == "" {
		return whole
	}
	return whole + "." + part
}
