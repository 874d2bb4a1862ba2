package document_test

import (
	"strings"
	"testing"

	"shimwright/calc/document"
	"shimwright/calc/quantity"
)

// at reads "a: TEXT" and gives what stands at a.
func at(t *testing.T, text string) (document.Node, *document.Document) {
	t.Helper()
	n, d := parse(t, "a: "+text+"\n")
	return n.Fields().Get("a"), d
}

// Scalars are texts as written: no octal, no hex, no dropped nought, no truth.
func TestScalarsAsWritten(t *testing.T) {
	for _, s := range []string{
		"00123", "0x1F", "0o17", "0b11", "1.10", "+8", "-5", "0.100", "1_000", "1e3", "12.0000000000000000001",
		"yes", "no", "true", "False", "12:30", "2026-01-01", ".inf", ".nan", "1/2", "0 deg",
	} {
		for _, quote := range []string{"", "'", `"`} {
			n, d := at(t, quote+s+quote)
			if got := n.Text(); got != s || d.Err() != nil {
				t.Errorf("%s%s%s reads as %q, %v", quote, s, quote, got, d.Err())
			}
		}
	}
}

// A reading is how one test reads a node, and what it says.
type reading struct{ text, want, fault string }

func check(t *testing.T, read func(document.Node) string, rows []reading) {
	t.Helper()
	for _, c := range rows {
		n, d := at(t, c.text)
		got := read(n)
		if c.fault == "" {
			if d.Err() != nil || got != c.want {
				t.Errorf("%q reads as %q, want %q; %v", c.text, got, c.want, d.Err())
			}
			continue
		}
		wantFault(t, d.Err(), "1:4: "+c.fault)
	}
}

func TestText(t *testing.T) {
	check(t, func(n document.Node) string { return n.Text() }, []reading{
		{"' x '", "x", ""},
		{"''", "", "an empty text stands here"},
		{"'  '", "", "an empty text stands here"},
		{`"a\tb"`, "", "this text holds control characters"},
		{`"a\u0000b"`, "", "this text holds control characters"},
		{`"a\eb"`, "", "this text holds control characters"},
		{"'a\x1bb'", "", "this text holds control characters"},
		{`"a\u0085b"`, "", "this text holds control characters"},
		{`"a\u200bb"`, "", "this text holds control characters"},
		{`"a\u202eb"`, "", "this text holds control characters"},
		{`"a\u2028b"`, "", "this text holds control characters"},
		{`"a\nb"`, "a\nb", ""},
		{strings.Repeat("x", 4001), "", "this text has 4001 bytes: at most 4000 are read"},
		{"[x]", "", "a list or a map stands here: want a text"},
		{"{x: 1}", "", "a list or a map stands here: want a text"},
	})
}

func TestName(t *testing.T) {
	check(t, func(n document.Node) string { return n.Name() }, []reading{
		{"wheel pack", "wheel pack", ""},
		{strings.Repeat("µ", 60), strings.Repeat("µ", 60), ""},
		{strings.Repeat("µ", 61), "", "a name is one line of at most 60 characters"},
		{`"a\nb"`, "", "a name is one line"},
	})
}

func TestYesNo(t *testing.T) {
	word := map[bool]string{true: "yes", false: "no"}
	check(t, func(n document.Node) string { return word[n.YesNo()] }, []reading{
		{"yes", "yes", ""},
		{"no", "no", ""},
		{"true", "", `"true" stands here: write yes or no`},
		{"Yes", "", `"Yes" stands here: write yes or no`},
		{"1", "", `"1" stands here: write yes or no`},
	})
}

func TestWhole(t *testing.T) {
	check(t, func(n document.Node) string {
		return quantity.Whole(int64(n.Whole(2, 20))).String()
	}, []reading{
		{"2", "2", ""},
		{"20", "20", ""},
		{"1", "", `"1" stands here: write a whole number from 2 to 20`},
		{"21", "", "write a whole number from 2 to 20"},
		{"3.0", "", "write a whole number from 2 to 20"},
		{"1e1", "", "write a whole number from 2 to 20"},
		{"0xa", "", "write a whole number from 2 to 20"},
		{"99999999999999999999", "", "write a whole number from 2 to 20"},
		{"three", "", "write a whole number from 2 to 20"},
	})
}

func TestRatio(t *testing.T) {
	check(t, func(n document.Node) string { return n.Ratio().String() }, []reading{
		{"1/2", "1/2", ""},
		{"13/20", "13/20", ""},
		{"0.65", "13/20", ""},
		{"1", "1", ""},
		{"1 / 2", "1/2", ""},
		{"1/0", "", "write a ratio of whole numbers up to 1000"},
		{"1/-2", "", "write a ratio of whole numbers up to 1000"},
		{"1/1001", "", "write a ratio of whole numbers up to 1000"},
		{"0.1234", "", "at most 3 decimals"},
		{"1/2/3", "", "write a ratio of whole numbers up to 1000"},
		{"half", "", "write a ratio of whole numbers up to 1000"},
	})
}

func TestFigure(t *testing.T) {
	check(t, func(n document.Node) string { return n.Figure(quantity.Length).String() }, []reading{
		{"0.100 mm", "0.100 mm", ""},
		{"+0.5 thou", "0.5 thou", ""},
		{"-3 0.01 mm", "-3 0.01 mm", ""},
		{"1.3140 in", "1.3140 in", ""},
		{"33.38", "", `"33.38" has no unit: write a figure, a blank and a unit`},
		{"33.38mm", "", `"33.38mm" has no unit`},
		{"33,38 mm", "", "is not a figure"},
		{".5 mm", "", "write a digit before the point"},
		{"5. mm", "", "write a digit after the point"},
		{"1e3 mm", "", "'e' may not stand in it"},
		{"NaN mm", "", "is not a figure"},
		{".nan", "", "has no unit"},
		{"inf mm", "", "is not a figure"},
		{"123456789012 mm", "", "it has 12 significant figures, at most 9 are believed"},
		{"2.0 N", "", `"2.0 N" is a force: want a length, as in 0.02 mm`},
		{"2.0 MM", "", `"MM" is not a unit known here`},
		{"2 furlongs", "", "is not a unit known here: write one of mm, in"},
		{"[1 mm]", "", "a list or a map stands here: want a figure with its unit"},
	})
	for dim, example := range map[quantity.Dimension]string{
		quantity.Force: "38.0 N", quantity.Torque: "2.00 N.m", quantity.Angle: "90 deg", quantity.Length: "0.02 mm",
	} {
		other := "1 mm"
		if dim == quantity.Length {
			other = "1 deg"
		}
		n, d := at(t, other)
		n.Figure(dim)
		wantFault(t, d.Err(), "1:4: as in "+example)
		if n, d = at(t, example); n.Figure(dim).String() != example || d.Err() != nil {
			t.Errorf("the example %s is not read: %v", example, d.Err())
		}
	}
}

func TestNumber(t *testing.T) {
	check(t, func(n document.Node) string { return n.Number().String() }, []reading{
		{"+8", "8", ""},
		{"0.250", "0.250", ""},
		{"-0", "0", ""},
		{"8 mm", "", "is not a figure"},
		{"1_000", "", "'_' may not stand in it"},
		{"0x1F", "", "'x' may not stand in it"},
	})
}

func TestUnit(t *testing.T) {
	check(t, func(n document.Node) string { return n.Unit(quantity.Length).String() }, []reading{
		{"mm", "mm", ""},
		{"0.01 mm", "0.01 mm", ""},
		{"thou", "thou", ""},
		{"0.001 in", "thou", ""},
		{"N", "", `"N" is a unit of force: want one of length`},
		{"inches", "", `"inches" is not a unit known here`},
	})
}

func TestBand(t *testing.T) {
	check(t, func(n document.Node) string {
		b := n.Band(quantity.Length)
		return b.Low.String() + " to " + b.High.String()
	}, []reading{
		{"0.05 mm .. 0.10 mm", "0.05 mm to 0.10 mm", ""},
		{"-0.05 mm .. 0.10 mm", "-0.05 mm to 0.10 mm", ""},
		{"2 mm .. 0.1 in", "2 mm to 0.1 in", ""},
		{"1 mm .. 1 mm", "1 mm to 1 mm", ""},
		{"0.10 mm .. 0.05 mm", "", `the band "0.10 mm .. 0.05 mm" is upside down: write the lower limit first`},
		{"0.1 in .. 2 mm", "", "upside down"},
		{"0.05 mm", "", `"0.05 mm" is no band: write two limits, as in 0.02 mm .. 0.02 mm`},
		{"0.05 mm..0.10 mm", "", "is no band"},
		{"0.05 .. 0.10 mm", "", `lower limit: "0.05" has no unit`},
		{"0.05 mm .. 0.10", "", `upper limit: "0.10" has no unit`},
		{"0.05 mm .. 0.10 N", "", `upper limit: "0.10 N" is a force`},
		{"0.05 mm .. 0.10 mm .. 0.20 mm", "", "upper limit:"},
	})
}

func TestOneOf(t *testing.T) {
	check(t, func(n document.Node) string { return n.OneOf("loop", "change") }, []reading{
		{"loop", "loop", ""},
		{"Loop", "", `"Loop" stands here: write one of loop, change`},
		{"[loop]", "", "want one of loop, change"},
	})
}

// A value that is not there reads as nought everywhere and gives no fault of
// its own.
func TestTheZeroNode(t *testing.T) {
	var n document.Node
	n.Fail("nobody hears this")
	if n.Given() || n.IsText() || n.IsList() || n.Text() != "" || n.Name() != "" || n.YesNo() ||
		n.Whole(3, 5) != 3 || !n.Ratio().IsZero() || !n.Figure(quantity.Length).Exact().IsZero() ||
		!n.Number().Exact().IsZero() || n.Unit(quantity.Length) != quantity.Bare || n.Band(quantity.Length) != (document.Band{}) ||
		n.OneOf("a") != "" || n.List(5) != nil || n.Names(5) != nil || len(n.Fields().All()) != 0 {
		t.Error("a value that is not there reads as something")
	}
}
