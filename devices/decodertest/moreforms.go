package decodertest

import (
	"time"

	"shimwright/calc/quantity"
	"shimwright/devices"
)

// multiplexed: a channel digit and a two-letter kind code ahead of a signed,
// noughted figure with its unit. A channel without a gauge answers with a
// figure behind another code.
func multiplexed() Form {
	return Form{
		Name: "channel digit and kind code",
		Profile: profile("9600 8N1", devices.CRLF, quantity.Bare,
			devices.Channel{Width: 1},
			devices.Code{Words: map[string]devices.CodeMeaning{"QR": devices.CodeReading, "QZ": devices.CodeAbsent}},
			devices.Sign{Required: true}, devices.Figure{Digits: 8, Places: new(2)},
			devices.UnitWord{Words: map[string]quantity.Unit{"M": quantity.MM, "I": quantity.Inch}}),
		Good: []Good{
			{Bytes: "3QR+000033.38M\r\n", Value: "33.38 mm", UnitStated: true, Channel: "3"},
			{Bytes: "1QR-000000.07M\r\n", Value: "-0.07 mm", UnitStated: true, Channel: "1"},
			{Bytes: "0QR+000001.31I\r\n", Value: "1.31 in", UnitStated: true, Channel: "0"},
		},
		Bad: []Bad{
			{"2QZ+999999.99M\r\n", devices.Absent}, {"2QZ\r\n", devices.Absent}, {"3QR+999999.99M\r\n", devices.NoNumber},
			{"3QR-------\r\n", devices.NoNumber}, {"3QX+000033.38M\r\n", devices.BadShape}, {"QR+000033.38M\r\n", devices.BadShape},
			{"33QR+000033.38M\r\n", devices.BadShape}, {"3QR+00033.38M\r\n", devices.BadShape}, {"3Q\r\n", devices.BadShape},
			{"3\r\n", devices.BadShape}, {"3QR\a+000033.38M\r\n", devices.Noise}, {"\x1b3QR+000033.38M\r\n", devices.Noise},
		},
		Half: "3QR+00003",
	}
}

// separated: index, value, mode and channel with commas between.
func separated() Form {
	return Form{
		Name: "index, value, mode, channel",
		Profile: profile("19200 8N1", devices.CRLF, quantity.MM,
			devices.Skip{Count: 4}, devices.Literal{Text: ","}, devices.Sign{Required: true}, devices.Figure{Digits: 6, Places: new(3)},
			devices.Literal{Text: ","}, devices.Code{Words: map[string]devices.CodeMeaning{"N": devices.CodeReading, "-": devices.CodeAbsent}},
			devices.Literal{Text: ","}, devices.Channel{Width: 2}),
		Good: []Good{
			{Bytes: "0012,+033.380,N,03\r\n", Value: "33.380 mm", Channel: "03"},
			{Bytes: "  13,-000.070,N,11\r\n", Value: "-0.070 mm", Channel: "11"},
		},
		Bad: []Bad{
			{"0012,+033.380,-,03\r\n", devices.Absent}, {"0012,+999.999,N,03\r\n", devices.NoNumber}, {"0012,+033.380,X,03\r\n", devices.BadShape},
			{"0012,+033.380,N,3\r\n", devices.BadShape}, {"0012,+033.380,N,034\r\n", devices.BadShape}, {"0012;+033.380,N,03\r\n", devices.BadShape},
			{"0012,+033.38,N,03\r\n", devices.BadShape}, {"0012,+033.380,N,0\x07\r\n", devices.Noise},
		},
		Half: "0012,+033",
	}
}

// closing: code, channel letter and letter ahead of a sign and eight figures
// without a mark, closed by CR alone.
func closing() Form {
	return Form{
		Name: "code, channel letter, eight figures",
		Profile: profile("9600 8N1", devices.CR, quantity.MM,
			devices.Code{Words: map[string]devices.CodeMeaning{"01": devices.CodeReading, "91": devices.CodeAbsent}},
			devices.Channel{Width: 1, Letters: true}, devices.Literal{Text: "A"},
			devices.Sign{Required: true}, devices.Figure{Digits: 9, Places: new(3)}),
		Good: []Good{
			{Bytes: "01BA+000033.380\r", Value: "33.380 mm", Channel: "B"},
			{Bytes: "01cA-000000.070\r\n", Value: "-0.070 mm", Channel: "c"},
		},
		Bad: []Bad{
			{"91BA+999999.999\r", devices.Absent}, {"01BA+999999.999\r", devices.NoNumber}, {"02BA+000033.380\r", devices.BadShape},
			{"013A+000033.380\r", devices.BadShape}, {"01BC+000033.380\r", devices.BadShape}, {"01BA 000033.380\r", devices.BadShape},
			{"01BA+00003\xb3.380\r", devices.Noise},
		},
		Half: "01BA+0000",
	}
}

// asked: a line that comes as the answer to a letter.
func asked() Form {
	p := profile("4800 7E1", devices.CR, quantity.MM, devices.Sign{Required: true}, devices.Figure{Digits: 5, Places: new(2)})
	p.Kind, p.Ask = devices.AskedLine, devices.DefaultAsking()
	p.Ask.Prompt = "R"
	return Form{
		Name:    "asked with a letter",
		Profile: p,
		Good: []Good{
			{Bytes: "+033.38\r", Value: "33.38 mm"},
			{Bytes: "-000.07\r\n", Value: "-0.07 mm"},
		},
		Bad: []Bad{
			{"-----\r", devices.NoNumber}, {"+999.99\r", devices.NoNumber}, {"R\r", devices.BadShape}, {"+33.38\r", devices.BadShape},
			{"R+033.38\r", devices.BadShape}, {"+033.\x0738\r", devices.Noise},
		},
		Half: "+033",
	}
}

// unended: a line of nine bytes and a gap.
func unended() Form {
	p := profile("4800 7E2", devices.NoEnd, quantity.Bare, devices.Sign{Blank: true}, devices.Figure{Digits: 5, Places: new(2), Padded: true},
		devices.UnitWord{Words: map[string]quantity.Unit{"mm": quantity.MM, "in": quantity.Inch}})
	p.Length, p.Gap = 9, 100*time.Millisecond
	return Form{
		Name:    "no end, nine bytes",
		Profile: p,
		Good: []Good{
			{Bytes: "  33.38mm", Value: "33.38 mm", UnitStated: true},
			{Bytes: "-  0.07mm", Value: "-0.07 mm", UnitStated: true},
			{Bytes: " 133.38in", Value: "133.38 in", UnitStated: true},
		},
		Bad: []Bad{
			{"         ", devices.NoNumber}, {" ------mm", devices.NoNumber}, {" 999.99mm", devices.NoNumber}, {"  33.38m", devices.HalfLine},
			{"  33.380mm", devices.BadShape}, {"  3.380mm", devices.BadShape}, {"33.38mm\r\n", devices.Noise}, {"  33.\x1b8mm", devices.Noise},
			{"x 33.38mm  33.38mm  33.38mm", devices.BadShape},
		},
		Half: "  33.",
	}
}

func packed(p devices.Packing, end devices.End) devices.Profile {
	out := profile("9600 8N1", end, quantity.Bare)
	out.Kind, out.Packing = devices.PackedDecimal, p
	if end == devices.NoEnd {
		out.Gap = 100 * time.Millisecond
	}
	return out
}

// packedBytes: 13 groups of four bits in seven bytes.
func packedBytes() Form {
	return Form{
		Name:    "packed decimal in bytes",
		Profile: packed(devices.InBytes, devices.NoEnd),
		Good: []Good{
			{Bytes: "\xff\xff\x00\x30\x33\x28\x00", Value: "33.38 mm", UnitStated: true},
			{Bytes: "\xff\xff\x08\x00\x00\x27\x00", Value: "-0.07 mm", UnitStated: true},
			{Bytes: "\xff\xff\x00\x31\x21\x44\x08", Value: "1.3124 in", UnitStated: true},
			{Bytes: "\xff\xff\x00\x31\x21\x44\x01", Value: "1.3124 in", UnitStated: true},
			{Bytes: "\xff\xff\x10\x32\x54\x06\x00", Value: "123456 mm", UnitStated: true},
			{Bytes: "\xff\xff\x08\x00\x00\x20\x00", Value: "0.00 mm", UnitStated: true},
		},
		Bad: []Bad{
			{"\xff\xff\x01\x30\x33\x28\x00", devices.BadShape}, {"\xff\xff\x00\x3a\x33\x28\x00", devices.BadShape},
			{"\xff\xff\x00\x30\x33\x68\x00", devices.BadShape}, {"\xff\xff\x00\x30\x33\x28\x02", devices.BadShape},
			{"\xff\xff\x00\x30\x33\x28\x10", devices.BadShape}, {"\xff\xff\x90\x99\x99\x29\x00", devices.NoNumber},
			{"\xff\xff\x80\x88\x88\x28\x00", devices.NoNumber}, {"\xff\xff\x00\x30\xff\x33\x28", devices.BadShape},
			{"33.38\r\n", devices.Noise}, {"\x00\xff", devices.Noise}, {"\xff\xff\x00\x30\x33\x28", devices.HalfLine}, {"\xff\xff", devices.HalfLine},
			{"\xff\x1b[2J\xff\x00", devices.Noise},
		},
		Half: "\xff\xff\x00\x30",
	}
}

// packedHex: the same groups as hex digits on a line.
func packedHex() Form {
	return Form{
		Name:    "packed decimal in hex text",
		Profile: packed(devices.InHex, devices.CR),
		Good: []Good{
			{Bytes: "FFFF000333820\r", Value: "33.38 mm", UnitStated: true},
			{Bytes: "ffff800000720\r\n", Value: "-0.07 mm", UnitStated: true},
			{Bytes: "FFFF001312448\r", Value: "1.3124 in", UnitStated: true},
			{Bytes: "FFFF001312441\r", Value: "1.3124 in", UnitStated: true},
			{Bytes: "FFFF000333850\r", Value: "0.03338 mm", UnitStated: true},
		},
		Bad: []Bad{
			{"FFF0003333820\r", devices.BadShape}, {"FFFF00333820\r", devices.BadShape}, {"FFFF0000333820\r", devices.BadShape},
			{"FFFF100333820\r", devices.BadShape}, {"FFFF000333860\r", devices.BadShape}, {"FFFF000333822\r", devices.BadShape},
			{"FFFF00033A820\r", devices.BadShape}, {"FFFF099999920\r", devices.NoNumber}, {"33.38\r", devices.BadShape},
			{"FFFF00\a333820\r", devices.Noise},
		},
		Half: "FFFF0003",
	}
}

// packedBare: hex digits that nothing ends.
func packedBare() Form {
	return Form{
		Name:    "packed decimal in hex text, no end",
		Profile: packed(devices.InHex, devices.NoEnd),
		Good: []Good{
			{Bytes: "FFFF000333820", Value: "33.38 mm", UnitStated: true},
			{Bytes: "FFFF800000720", Value: "-0.07 mm", UnitStated: true},
		},
		Bad: []Bad{
			{"FFFF00033382", devices.HalfLine}, {"FFFF0003F3820", devices.BadShape}, {"FFF", devices.HalfLine},
			{"FFFF000333822", devices.BadShape}, {"\x1bFFF", devices.Noise}, {"FFFF0\xb30333820", devices.Noise},
		},
		Half: "FFFF0003",
	}
}
