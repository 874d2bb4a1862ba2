package exchange

import (
	"encoding/xml"

	"github.com/shopspring/decimal"

	"shimwright/calc/quantity"
)

// The parts of a QIF document that a job's results need, in the order that the
// schema wants.

// torqueUnit is a torque's unit by its own name, which QIF has no other for.
const torqueUnit = "N.m"

// userDefined is the name of an element of a characteristic that no drawing
// standard has a name for.
func userDefined(kind, part string) string { return "UserDefined" + kind + "Characteristic" + part }

func decimalFrom(s string) (quantity.Exact, error) {
	d, err := decimal.NewFromString(s)
	return quantity.FromDecimal(d), err
}

type qifDocument struct {
	XMLName         xml.Name           `xml:"QIFDocument"`
	XMLNS           string             `xml:"xmlns,attr"`
	IDMax           int                `xml:"idMax,attr"`
	Version         string             `xml:"versionQIF,attr"`
	ID              string             `xml:"QPId"`
	Header          qifHeader          `xml:"Header"`
	Standards       qifStandards       `xml:"StandardsDefinitions"`
	Units           qifUnits           `xml:"FileUnits"`
	Characteristics qifCharacteristics `xml:"Characteristics"`
	Results         qifResults         `xml:"Results"`
}

type qifHeader struct {
	Application string `xml:"Application>Name"`
	Description string `xml:"Description"`
}

type qifStandards struct {
	N        int         `xml:"n,attr"`
	Standard qifStandard `xml:"Standard"`
}

type qifStandard struct {
	ID           int    `xml:"id,attr"`
	Organization string `xml:"Organization>OtherStandardsOrganization"`
	Designator   string `xml:"Designator"`
	Year         string `xml:"Year"`
	Description  string `xml:"Description"`
}

type qifUnits struct {
	Linear qifLinear    `xml:"PrimaryUnits>LinearUnit"`
	Own    *qifOwnUnits `xml:"UserDefinedUnits,omitempty"`
}

type qifLinear struct {
	SI     string `xml:"SIUnitName"`
	Name   string `xml:"UnitName"`
	Factor string `xml:"UnitConversion>Factor"`
}

type qifOwnUnits struct {
	N    int        `xml:"n,attr"`
	Unit qifOwnUnit `xml:"UserDefinedUnit"`
}

type qifOwnUnit struct {
	What string `xml:"WhatIsMeasured"`
	Name string `xml:"UnitName"`
}

// A qifList is elements with their number.
type qifList[T any] struct {
	N    int `xml:"n,attr"`
	List []T
}

func (l *qifList[T]) add(x T) {
	l.List = append(l.List, x)
	l.N = len(l.List)
}

type qifCharacteristics struct {
	Standard    int                    `xml:"FormalStandardId"`
	Definitions qifList[qifDefinition] `xml:"CharacteristicDefinitions"`
	Nominals    qifList[qifNominal]    `xml:"CharacteristicNominals"`
	Items       qifList[qifItem]       `xml:"CharacteristicItems"`
}

type qifDefinition struct {
	XMLName   xml.Name
	ID        int        `xml:"id,attr"`
	Name      string     `xml:"Name"`
	Tolerance *qifLimits `xml:"Tolerance,omitempty"`
	None      string     `xml:"NonTolerance,omitempty"`
	What      string     `xml:"WhatToMeasure,omitempty"`
}

type qifLimits struct {
	Max     qifValue `xml:"MaxValue"`
	Min     qifValue `xml:"MinValue"`
	AsLimit bool     `xml:"DefinedAsLimit"`
}

type qifValue struct {
	Uncertainty string `xml:"combinedUncertainty,attr,omitempty"`
	MeanError   string `xml:"meanError,attr,omitempty"`
	Unit        string `xml:"unitName,attr,omitempty"`
	Text        string `xml:",chardata"`
}

type qifNominal struct {
	XMLName    xml.Name
	ID         int      `xml:"id,attr"`
	Definition int      `xml:"CharacteristicDefinitionId"`
	Target     qifValue `xml:"TargetValue,omitempty"`
	Limits     *qifLimits
	Pass       *qifStrings `xml:"PassValues,omitempty"`
}

// MarshalXML writes limits without an element around them, and no target where
// there is none.
func (n qifNominal) MarshalXML(e *xml.Encoder, _ xml.StartElement) error {
	type limits struct {
		Max     *qifValue `xml:"MaxValue,omitempty"`
		Min     *qifValue `xml:"MinValue,omitempty"`
		AsLimit *bool     `xml:"DefinedAsLimit,omitempty"`
	}
	out := struct {
		XMLName    xml.Name
		ID         int       `xml:"id,attr"`
		Definition int       `xml:"CharacteristicDefinitionId"`
		Target     *qifValue `xml:"TargetValue,omitempty"`
		limits
		Pass *qifStrings `xml:"PassValues,omitempty"`
	}{XMLName: n.XMLName, ID: n.ID, Definition: n.Definition, Pass: n.Pass}
	if n.Target.Text != "" {
		out.Target = &n.Target
	}
	if n.Limits != nil {
		out.limits = limits{&n.Limits.Max, &n.Limits.Min, &n.Limits.AsLimit}
	}
	return e.Encode(out)
}

type qifStrings struct {
	N     int      `xml:"n,attr"`
	Value []string `xml:"StringValue"`
}

type qifItem struct {
	XMLName xml.Name
	ID      int    `xml:"id,attr"`
	Name    string `xml:"Name"`
	Nominal int    `xml:"CharacteristicNominalId"`
}

type qifResults struct {
	Set struct {
		N       int `xml:"n,attr"`
		Results struct {
			ID       int                     `xml:"id,attr"`
			Trace    qifTrace                `xml:"InspectionTraceability"`
			Measured qifList[qifMeasurement] `xml:"MeasuredCharacteristics>CharacteristicMeasurements"`
			Status   string                  `xml:"InspectionStatus>InspectionStatusEnum"`
		} `xml:"MeasurementResults"`
	} `xml:"MeasurementResultsSet"`
}

type qifTrace struct {
	Report     string         `xml:"ReportNumber"`
	Start      string         `xml:"InspectionStart,omitempty"`
	End        string         `xml:"InspectionEnd,omitempty"`
	Attributes *qifAttributes `xml:"Attributes,omitempty"`
}

type qifMeasurement struct {
	XMLName    xml.Name
	ID         int            `xml:"id,attr"`
	Attributes *qifAttributes `xml:"Attributes,omitempty"`
	Status     string         `xml:"Status>CharacteristicStatusEnum"`
	Item       int            `xml:"CharacteristicItemId"`
	At         string         `xml:"TimeStamp,omitempty"`
	Value      qifValue       `xml:"Value"`
}

// qifAttributes are facts beside, each with its name.
type qifAttributes struct {
	N    int            `xml:"n,attr"`
	List []qifAttribute `xml:"AttributeStr"`
}

type qifAttribute struct {
	Name  string `xml:"name,attr"`
	Value string `xml:"value,attr"`
}

// attributes makes them of names and values in turn; those without a value are
// left out.
func attributes(pairs ...string) *qifAttributes {
	out := &qifAttributes{}
	for i := 0; i+1 < len(pairs); i += 2 {
		if pairs[i+1] != "" {
			out.List = append(out.List, qifAttribute{pairs[i], clean(pairs[i+1])})
		}
	}
	out.N = len(out.List)
	return out
}
