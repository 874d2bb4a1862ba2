package decodertest

import (
	"shimwright/calc/quantity"
	"shimwright/devices"
)

// A Form is one form of output that gauges have, with a profile that reads it
// and frames to try. GAUGES.md has a row for each.
type Form struct {
	Name    string
	Profile devices.Profile
	Good    []Good
	Bad     []Bad
	Half    string
}

// Forms lists the forms that are lines of text with an end, one gauge to a
// port, each sent at a press. The letters in them are invented; which forms
// were seen in public text and which are from memory is in GAUGES.md.
func Forms() []Form { return []Form{bare(), noughts(), blanks(), lettered(), coded()} }

// All lists every form supported: Forms, then those of several gauges on a
// port, asked, without an end, and packed.
func All() []Form {
	return append(Forms(), multiplexed(), separated(), closing(), asked(), unended(), packedBytes(), packedHex(), packedBare())
}

// Named is a form by its name, or an empty one.
func Named(name string) Form {
	for _, f := range All() {
		if f.Name == name {
			return f
		}
	}
	return Form{}
}

func profile(line string, end devices.End, assume quantity.Unit, parts ...devices.Part) devices.Profile {
	p := devices.Defaults()
	p.Line, _ = devices.ParseLine(line) // a wrong one is left empty, and Validate refuses it
	p.End, p.Assume, p.Parts = end, assume, parts
	return p
}

// bare: a figure and nothing else, its digits not fixed.
func bare() Form {
	return Form{
		Name:    "bare figure",
		Profile: profile("9600 8N1", devices.CR, quantity.MM, devices.Sign{}, devices.Figure{}),
		Good: []Good{
			{Bytes: "33.38\r", Value: "33.38 mm"},
			{Bytes: "-0.07\r", Value: "-0.07 mm"},
			{Bytes: "+1.120\r", Value: "1.120 mm"},
			{Bytes: "  12.0\r", Value: "12.0 mm"},
			{Bytes: "12.0  \r", Value: "12.0 mm"},
			{Bytes: "-0.00\r", Value: "0.00 mm"},
			{Bytes: "7\r", Value: "7 mm"},
			{Bytes: "33.38\r\n", Value: "33.38 mm"},
			{Bytes: "\r\r\n33.38\r", Value: "33.38 mm"},
			{Bytes: "000000033.38\r", Value: "33.38 mm"},
		},
		Bad: []Bad{
			{"-----\r", devices.NoNumber}, {"Err 3\r", devices.NoNumber}, {"     \r", devices.NoNumber},
			{"9999.99\r", devices.NoNumber}, {"88.888\r", devices.NoNumber},
			{"123456789012\r", devices.BadShape}, {"NaN\r", devices.BadShape}, {"-Inf\r", devices.BadShape},
			{"3.3E1\r", devices.BadShape}, {"1,234.5\r", devices.BadShape}, {"3.3.8\r", devices.BadShape},
			{"33.\r", devices.BadShape}, {".38\r", devices.BadShape}, {"+\r", devices.BadShape}, {"--1\r", devices.BadShape},
			{"33 38\r", devices.BadShape}, {"0x10\r", devices.BadShape}, {"abc\r", devices.BadShape}, {"33.38mm\r", devices.BadShape},
			{"33\n.38\r", devices.Noise}, {"3\x003.38\r", devices.Noise}, {"\xff33.38\r", devices.Noise},
			{"\x1b[31m33.38\r", devices.Noise}, {"\xb33.38\r", devices.Noise},
		},
		Half: "33.",
	}
}

// noughts: sign and a fixed number of digits with leading noughts.
func noughts() Form {
	return Form{
		Name: "sign and leading noughts",
		Profile: profile("9600 8N1", devices.CRLF, quantity.MM,
			devices.Sign{Required: true}, devices.Figure{Digits: 6, Places: new(2)}),
		Good: []Good{
			{Bytes: "+0033.38\r\n", Value: "33.38 mm"},
			{Bytes: "-0000.07\r\n", Value: "-0.07 mm"},
			{Bytes: "\r\n+0012.00\r\n", Value: "12.00 mm"},
			{Bytes: "+9999.98\r\n", Value: "9999.98 mm"},
		},
		Bad: []Bad{
			{"+0033.3\r\n", devices.BadShape}, {"+033.38\r\n", devices.BadShape}, {"0033.38\r\n", devices.BadShape},
			{"+001.3140\r\n", devices.BadShape}, {"+00333.38\r\n", devices.BadShape}, {"+  33.38\r\n", devices.BadShape},
			{"+9999.99\r\n", devices.NoNumber}, {"+------\r\n", devices.NoNumber}, {"+     \r\n", devices.NoNumber},
			{"+0033\n.38\r\n", devices.Noise}, {"+0033.38\r+0033.38\r\n", devices.Noise},
		},
		Half: "+0033",
	}
}

// blanks: a blank for plus, blanks for leading noughts, a decimal comma.
func blanks() Form {
	return Form{
		Name: "blanks and decimal comma",
		Profile: profile("4800 7E2", devices.LF, quantity.MM,
			devices.Sign{Blank: true}, devices.Figure{Comma: true, Digits: 6, Places: new(3), Padded: true}),
		Good: []Good{
			{Bytes: "  33,380\n", Value: "33.380 mm"},
			{Bytes: "- 33,380\n", Value: "-33.380 mm"},
			{Bytes: " -33,380\n", Value: "-33.380 mm"},
			{Bytes: "   0,070\r\n", Value: "0.070 mm"},
			{Bytes: "   9,999\n", Value: "9.999 mm"},
			{Bytes: "\n\n 133,380\n", Value: "133.380 mm"},
		},
		Bad: []Bad{
			{" 33,380\n", devices.BadShape}, {"33,380\n", devices.BadShape}, {"  33.380\n", devices.BadShape},
			{"  33,38\n", devices.BadShape}, {"1.133,380\n", devices.BadShape}, {" 999,999\n", devices.NoNumber},
			{"        \n", devices.NoNumber}, {"   Err\n", devices.NoNumber}, {"  33,\xb380\n", devices.Noise},
		},
		Half: "  33,3",
	}
}

// lettered: the unit in letters, and letters for a low battery and for hold.
func lettered() Form {
	return Form{
		Name: "unit word and flag letters",
		Profile: profile("19200 8N1", devices.CR, quantity.Bare,
			devices.Sign{}, devices.Figure{},
			devices.UnitWord{Words: map[string]quantity.Unit{"mm": quantity.MM, "in": quantity.Inch, "inch": quantity.Inch}},
			devices.Flags{Letters: map[string]devices.Flag{"B": devices.FlagBattery, "H": devices.FlagNothing}}),
		Good: []Good{
			{Bytes: "33.38 mm\r", Value: "33.38 mm", UnitStated: true},
			{Bytes: "1.3142in\r", Value: "1.3142 in", UnitStated: true},
			{Bytes: "1.3142 inch\r", Value: "1.3142 in", UnitStated: true},
			{Bytes: "33.38 mm B\r", Value: "33.38 mm", UnitStated: true, Battery: true},
			{Bytes: "33.38 mmHB\r", Value: "33.38 mm", UnitStated: true, Battery: true},
			{Bytes: "33.38 mm H\r", Value: "33.38 mm", UnitStated: true},
		},
		Bad: []Bad{
			{"33.38\r", devices.BadShape}, {"33.38 cm\r", devices.BadShape}, {"33.38 mm BB\r", devices.BadShape},
			{"33.38 mm X\r", devices.BadShape}, {"33.38 MM\r", devices.BadShape}, {"33.38 m\r", devices.BadShape},
			{"      mm\r", devices.NoNumber}, {"----- mm\r", devices.NoNumber}, {"33.38 \xb5m\r", devices.Noise},
		},
		Half: "33.38 m",
	}
}

// coded: a channel and a kind code ahead. A channel without a gauge sends a
// number behind another code, so the code is read before the number.
func coded() Form {
	return Form{
		Name: "channel and kind code ahead",
		Profile: profile("9600 8N1", devices.CRLF, quantity.MM,
			devices.Literal{Text: "3"}, devices.Literal{Text: "QR"}, devices.Skip{Count: 1},
			devices.Sign{Required: true}, devices.Figure{Digits: 8, Places: new(2)},
			devices.UnitWord{Words: map[string]quantity.Unit{"M": quantity.MM, "I": quantity.Inch}, Optional: true}),
		Good: []Good{
			{Bytes: "3QR +000033.38M\r\n", Value: "33.38 mm", UnitStated: true},
			{Bytes: "3QRx-000000.07\r\n", Value: "-0.07 mm"},
		},
		Bad: []Bad{
			{"3QZ +999999.99M\r\n", devices.BadShape}, {"4QR +000033.38M\r\n", devices.BadShape}, {"3QR\r\n", devices.BadShape},
			{"3QR +999999.99M\r\n", devices.NoNumber}, {"3QR -------\r\n", devices.NoNumber}, {"3QR\a+000033.38M\r\n", devices.Noise},
		},
		Half: "3QR +00003",
	}
}
