package devices

import (
	"encoding/json"
	"errors"
	"fmt"
	"strings"
	"testing"
	"time"

	"shimwright/calc/quantity"
)

func TestParseLine(t *testing.T) {
	for _, s := range []string{"9600 8N1", "4800 7E1", "4800 7E2", "19200 8N1", "38400 8N1", "1200 7O1", "115200 8E1"} {
		l, err := ParseLine(s)
		if err != nil || l.String() != s {
			t.Errorf("%q: got %q, %v", s, l, err)
		}
	}
	for s, want := range map[string]string{
		"":                         "not a line setting",
		"9600":                     "not a line setting",
		"9600  8N1":                "not a line setting",
		"9600 8N1 ":                "not a line setting",
		" 9600 8N1":                "not a line setting",
		"+9600 8N1":                "not a line rate",
		"09600 8N1":                "not a line rate",
		"9,600 8N1":                "not a line rate",
		"9601 8N1":                 "not a usual one",
		"-9600 8N1":                "not a usual one",
		"9600 9N1":                 "data bits",
		"9600 8n1":                 `parity "n"`,
		"9600 8M1":                 `parity "M"`,
		"9600 8N3":                 "stop bits",
		"9600 8\x1b1":              `parity "\x1b"`,
		"9600 8N.5":                "not a line setting",
		"99999999999999999999 8N1": "not a line rate",
	} {
		if _, err := ParseLine(s); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: want %q, got %v", s, want, err)
		}
	}
}

func TestSourceText(t *testing.T) {
	for _, s := range []Source{SourceGauge, SourceVirtual, SourceKeyed} {
		b, err := json.Marshal(s)
		if err != nil {
			t.Fatal(err)
		}
		var back Source
		if err := json.Unmarshal(b, &back); err != nil || back != s {
			t.Errorf("%s became %s, %v", b, back, err)
		}
	}
	if _, err := json.Marshal(Source(0)); err == nil {
		t.Error("a source nobody set was written")
	}
	var s Source
	if err := s.UnmarshalText([]byte("file")); err == nil {
		t.Error("an unknown source was read")
	}
}

func good() Profile {
	p := Defaults()
	p.Assume = quantity.MM
	p.Parts = []Part{Sign{}, Figure{}}
	return p
}

func code(w string, m CodeMeaning) Code { return Code{Words: map[string]CodeMeaning{w: m}} }

func fixed() []Part { return []Part{Sign{}, Figure{Digits: 5, Places: new(2)}} }

func packedProfile() Profile {
	p := Defaults()
	p.Kind, p.Packing, p.End, p.Gap = PackedDecimal, InBytes, NoEnd, 100*time.Millisecond
	return p
}

func TestValidateGood(t *testing.T) {
	for name, spoil := range map[string]func(*Profile){
		"asked": func(p *Profile) { p.Kind, p.Ask = AskedLine, Asking{"R\r", time.Second, 0} },
		"comma behind fixed digits": func(p *Profile) {
			p.Parts = []Part{Figure{Digits: 5, Places: new(2)}, Literal{Text: ","}, Channel{Width: 1}}
		},
		"no end": func(p *Profile) { p.End, p.Length, p.Gap, p.Parts = NoEnd, 6, 100*time.Millisecond, fixed() },
		"packed": func(p *Profile) { *p = packedProfile() },
		"hex":    func(p *Profile) { *p = packedProfile(); p.Packing, p.End, p.Gap = InHex, CR, 0 },
		"channel": func(p *Profile) {
			p.Parts = append([]Part{Channel{Width: 1}, Code{Words: map[string]CodeMeaning{"R": CodeReading, "Z": CodeAbsent}}}, p.Parts...)
		},
	} {
		p := good()
		spoil(&p)
		if err := p.Validate(); err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func TestValidate(t *testing.T) {
	if err := good().Validate(); err != nil {
		t.Fatal(err)
	}
	words := func(w string) Part { return UnitWord{Words: map[string]quantity.Unit{w: quantity.MM}, Optional: true} }
	for _, c := range []struct {
		name, path, fix string
		spoil           func(*Profile)
	}{
		{"kind", "kind", "text line", func(p *Profile) { p.Kind = "x" }},
		{"line", "line", "9600 8N1", func(p *Profile) { p.Line.Baud = 1 }},
		{"end", "end", "CR, LF or CRLF", func(p *Profile) { p.End = "\x1b" }},
		{"overrange", "overrange", "0 for never", func(p *Profile) { p.Overrange = 1 }},
		{"longest none", "longest", "2 to 256", func(p *Profile) { p.Longest = 0 }},
		{"longest", "longest", "2 to 256", func(p *Profile) { p.Longest = 1 << 40 }},
		{"half line", "half line", "250 ms is usual", func(p *Profile) { p.HalfLine = 0 }},
		{"settle", "settle", "300 ms is usual", func(p *Profile) { p.Settle = -time.Second }},
		{"word", "no number.1", "in place of a figure", func(p *Profile) { p.NoNumber = []string{"Err", "99"} }},
		{"minus", "no number.0", "in place of a figure", func(p *Profile) { p.NoNumber = []string{"-"} }},
		{"no parts", "parts", "exactly one figure", func(p *Profile) { p.Parts = nil }},
		{"nil part", "parts.0", "literal, skip", func(p *Profile) { p.Parts = []Part{nil, Figure{}} }},
		{"pointer", "parts.1", "literal, skip", func(p *Profile) { p.Parts = []Part{Figure{}, (*Flags)(nil)} }},
		{"two figures", "parts", "exactly one figure", func(p *Profile) { p.Parts = []Part{Figure{}, Literal{Text: " "}, Figure{}} }},
		{"sign last", "parts.1", "right before the figure", func(p *Profile) { p.Parts = []Part{Figure{}, Sign{}} }},
		{"two signs", "parts", "one sign at most", func(p *Profile) { p.Parts = []Part{Sign{}, Sign{}, Figure{}} }},
		{"sign blank", "parts.0.blank", "choose one", func(p *Profile) { p.Parts = []Part{Sign{Required: true, Blank: true}, Figure{}} }},
		{"digits", "parts.0.digits", "0 for any", func(p *Profile) { p.Parts = []Part{Figure{Digits: -1}} }},
		{"places", "parts.0.places", "0 to 9", func(p *Profile) { p.Parts = []Part{Figure{Places: new(-1)}} }},
		{"all places", "parts.0.places", "at least one digit", func(p *Profile) { p.Parts = []Part{Figure{Places: new(3), Digits: 3}} }},
		{"padded", "parts.0.padded", "write digits", func(p *Profile) { p.Parts = []Part{Figure{Padded: true}} }},
		{"skip behind", "parts.0.digits", "fix the digits", func(p *Profile) { p.Parts = []Part{Figure{}, Skip{Count: 1}} }},
		{"digits behind", "parts.0", "figure part", func(p *Profile) { p.Parts = []Part{Figure{}, Literal{Text: "0"}} }},
		{"skip none", "parts.0.count", "1 to 64", func(p *Profile) { p.Parts = []Part{Skip{}, Figure{}} }},
		{"literal none", "parts.0.text", "leave the part out", func(p *Profile) { p.Parts = []Part{Literal{}, Figure{}} }},
		{"literal end", "parts.0.text", "leave it to end", func(p *Profile) { p.Parts = []Part{Literal{Text: "a\r"}, Figure{}} }},
		{"literal long", "parts.0.text", "at most 64", func(p *Profile) { p.Parts = []Part{Literal{Text: strings.Repeat("a", 65)}, Figure{}} }},
		{"no words", "parts.1.words", "mm: mm", func(p *Profile) { p.Parts = []Part{Figure{}, UnitWord{Optional: true}} }},
		{"empty word", "parts.1.words.", "letters the gauge sends", func(p *Profile) { p.Parts = []Part{Figure{}, words("")} }},
		{"blank word", "parts.1.words. mm", "without blanks", func(p *Profile) { p.Parts = []Part{Figure{}, words(" mm")} }},
		{"number word", "parts.1.words.0", "begin it with a letter", func(p *Profile) { p.Parts = []Part{Figure{}, words("0")} }},
		{"bare word", "parts.1.words.x", "unit of measure", func(p *Profile) {
			p.Parts = []Part{Figure{}, UnitWord{Words: map[string]quantity.Unit{"x": quantity.Bare}, Optional: true}}
		}},
		{"flag long", "parts.1.letters.BB", "single letter", func(p *Profile) { p.Parts = []Part{Figure{}, Flags{Letters: map[string]Flag{"BB": FlagBattery}}} }},
		{"flag meaning", "parts.1.letters.B", "battery or nothing", func(p *Profile) { p.Parts = []Part{Figure{}, Flags{Letters: map[string]Flag{"B": 9}}} }},
		{"no flags", "parts.1.letters", "1 to 16", func(p *Profile) { p.Parts = []Part{Figure{}, Flags{}} }},
		{"channel width", "parts.0.width", "1 to 8", func(p *Profile) { p.Parts = []Part{Channel{}, Sign{}, Figure{}} }},
		{"two channels", "parts", "one channel at most", func(p *Profile) {
			p.Parts = []Part{Channel{Width: 1}, Literal{Text: " "}, Channel{Width: 1}, Sign{}, Figure{}}
		}},
		{"channel behind figure", "parts.0", "figure part", func(p *Profile) { p.Parts = []Part{Figure{}, Channel{Width: 1}} }},
		{"channel behind unit", "parts.0", "figure part", func(p *Profile) {
			p.Parts = []Part{Figure{}, UnitWord{Words: map[string]quantity.Unit{"mm": quantity.MM}, Optional: true}, Channel{Width: 1}}
		}},
		{"letter behind unit", "parts.1.words.mm", "literal between", func(p *Profile) {
			p.Parts = []Part{Figure{}, UnitWord{Words: map[string]quantity.Unit{"m": quantity.MM, "mm": quantity.MM}}, Channel{Width: 1, Letters: true}}
		}},
		{"letter behind flags", "parts.1.letters.B", "literal between", func(p *Profile) {
			p.Parts = []Part{Figure{}, Flags{Letters: map[string]Flag{"B": FlagBattery}}, Channel{Width: 1, Letters: true}}
		}},
		{"skip behind unit", "parts.1.words.mm", "literal between", func(p *Profile) {
			p.Parts = []Part{Figure{}, UnitWord{Words: map[string]quantity.Unit{"mm": quantity.MM}, Optional: true}, Skip{Count: 2}}
		}},
		{"no codes", "parts.0.words", "QR: reading", func(p *Profile) { p.Parts = []Part{Code{}, Sign{}, Figure{}} }},
		{"no reading", "parts.0.words", "code of a reading", func(p *Profile) { p.Parts = []Part{code("QZ", CodeAbsent), Sign{}, Figure{}} }},
		{"code meaning", "parts.0.words.QZ", "reading or absent", func(p *Profile) { p.Parts = []Part{code("QZ", 7), Sign{}, Figure{}} }},
		{"empty code", "parts.0.words.", "printable bytes", func(p *Profile) { p.Parts = []Part{code("", CodeReading), Sign{}, Figure{}} }},
		{"uneven codes", "parts.0.words.QR", "one length", func(p *Profile) {
			p.Parts = []Part{Code{Words: map[string]CodeMeaning{"Q": CodeReading, "QR": CodeAbsent}}, Sign{}, Figure{}}
		}},
		{"two codes", "parts", "one code at most", func(p *Profile) {
			p.Parts = []Part{code("Q", CodeReading), code("R", CodeReading), Sign{}, Figure{}}
		}},
		{"comma behind figure", "parts.0", "figure part", func(p *Profile) { p.Parts = []Part{Figure{Digits: 5}, Literal{Text: ","}} }},
		{"mark behind figure", "parts.0", "figure part", func(p *Profile) { p.Parts = []Part{Figure{Digits: 5, Places: new(2)}, Literal{Text: "."}} }},
		{"no length", "length", "1 to 256", func(p *Profile) { p.End, p.Gap, p.Parts = NoEnd, 100*time.Millisecond, fixed() }},
		{"length short", "length", "6 or more", func(p *Profile) { p.End, p.Gap, p.Length, p.Parts = NoEnd, 100*time.Millisecond, 5, fixed() }},
		{"no gap", "gap", "100 ms is usual", func(p *Profile) { p.End, p.Length, p.Parts = NoEnd, 6, fixed() }},
		{"digits without end", "parts.1.digits", "digits and places", func(p *Profile) { p.End, p.Length, p.Gap = NoEnd, 6, 100*time.Millisecond }},
		{"length with end", "length", "end: none", func(p *Profile) { p.Length = 6 }},
		{"gap with end", "gap", "end: none", func(p *Profile) { p.Gap = time.Second }},
		{"no prompt", "ask.prompt", "bytes to send", func(p *Profile) { p.Kind, p.Ask = AskedLine, DefaultAsking() }},
		{"prompt long", "ask.prompt", "at most 64", func(p *Profile) { p.Kind, p.Ask.Prompt = AskedLine, strings.Repeat("R", 65) }},
		{"time-out", "ask.time-out", "0.5 s is usual", func(p *Profile) { p.Kind, p.Ask.Prompt = AskedLine, "R" }},
		{"retries", "ask.retries", "2 is usual", func(p *Profile) { p.Kind, p.Ask = AskedLine, Asking{"R", time.Second, 11} }},
		{"not asked", "ask", "text line when asked", func(p *Profile) { p.Ask.Prompt = "R" }},
		{"not packed", "packing", "packed decimal", func(p *Profile) { p.Packing = InHex }},
		{"packing", "packing", "bytes or hex text", func(p *Profile) { *p = packedProfile(); p.Packing = "x" }},
		{"packed end", "end", "none, with a gap", func(p *Profile) { *p = packedProfile(); p.End = CR }},
		{"packed gap", "gap", "100 ms is usual", func(p *Profile) { *p = packedProfile(); p.Gap = 0 }},
		{"packed length", "length", "leave it out", func(p *Profile) { *p = packedProfile(); p.Length = 7 }},
		{"packed parts", "parts", "leave them out", func(p *Profile) { *p = packedProfile(); p.Parts = fixed() }},
		{"packed unit", "assume", "leave it out", func(p *Profile) { *p = packedProfile(); p.Assume = quantity.MM }},
		{"no unit", "assume", "unit it measures in", func(p *Profile) { p.Assume = quantity.Bare }},
		{"unit unused", "assume", "leave it out", func(p *Profile) {
			p.Parts = []Part{Figure{}, UnitWord{Words: map[string]quantity.Unit{"mm": quantity.MM}}}
		}},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := good()
			c.spoil(&p)
			err := p.Validate()
			var all FieldErrors
			var one *FieldError
			if !errors.As(err, &all) || !errors.As(err, &one) {
				t.Fatalf("want field errors, got %v", err)
			}
			for _, e := range all {
				if strings.Join(e.Path, ".") == c.path && strings.Contains(e.Fix, c.fix) {
					return
				}
			}
			t.Errorf("want %s: ...%s, got\n%v", c.path, c.fix, err)
		})
	}
}

// The empty profile says all that is missing, at once.
func TestValidateEmpty(t *testing.T) {
	var all FieldErrors
	if err := (Profile{}).Validate(); !errors.As(err, &all) || len(all) != 7 {
		t.Errorf("got %d:\n%v", len(all), all)
	}
}

func TestQuote(t *testing.T) {
	long := strings.Repeat("\x1b", 100)
	for in, want := range map[string]string{
		"":                  `""`,
		"33.38\r":           `"33.38\r"`,
		"\x1b[2J\u202e\xff": `"\x1b[2J\u202e\xff"`,
		long:                `"` + strings.Repeat(`\x1b`, 64) + `" and 36 more bytes`,
	} {
		if got := Quote([]byte(in)); got != want {
			t.Errorf("%q: want %s, got %s", in, want, got)
		}
	}
}

func FuzzParseLine(f *testing.F) {
	for _, s := range []string{"9600 8N1", "4800 7E2", "", "9600", "9600 8n1"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		if l, err := ParseLine(s); err == nil && l.String() != s {
			t.Errorf("%q was read as %q", s, l)
		}
	})
}

func TestChannelCheck(t *testing.T) {
	for _, c := range []struct {
		part    Channel
		channel string
		want    string // "" for good
	}{
		{Channel{Width: 1}, "3", ""}, {Channel{Width: 2}, "03", ""}, {Channel{Width: 1, Letters: true}, "b", ""},
		{Channel{Width: 1}, "13", `"13" is no channel of this profile: write 1 digit, as in 3`},
		{Channel{Width: 2}, "3", `"3" is no channel of this profile: write 2 digits, as in 03`},
		{Channel{Width: 1}, "b", `"b" is no channel of this profile: write 1 digit, as in 3`},
		{Channel{Width: 2, Letters: true}, "3b", `"3b" is no channel of this profile: write 2 letters, as in AA`},
		{Channel{Width: 1}, "", `"" is no channel of this profile: write 1 digit, as in 3`},
		{Channel{Width: 2}, "\u0663", `"\u0663" is no channel of this profile: write 2 digits, as in 03`},
		{Channel{Width: 1}, "\x1b", `"\x1b" is no channel of this profile: write 1 digit, as in 3`},
	} {
		err := c.part.Check(c.channel)
		if got := fmt.Sprint(err); c.want == "" && err != nil || c.want != "" && got != c.want {
			t.Errorf("%+v, %q: want %q, got %v", c.part, c.channel, c.want, err)
		}
	}
}

func TestUnescape(t *testing.T) {
	for in, want := range map[string]string{
		"": "", "R": "R", `R1\r`: "R1\r", `\n\t\e\\`: "\n\t\x1b\\", `\x0D\xfFz`: "\r\xffz", "? 'a'": "? 'a'",
	} {
		if got, err := Unescape(in); err != nil || got != want {
			t.Errorf("%q: want %q, got %q, %v", in, want, got, err)
		}
	}
	for in, want := range map[string]string{
		"R\r": "byte 2", "\x1b": "byte 1", "\u00fc": "byte 1", `\`: "escape at byte 1", `a\q`: "escape at byte 2", `\x1`: "two hex digits",
		`\xg0`: "two hex digits", `\x+1`: "two hex digits", `\x 1`: "two hex digits",
	} {
		if got, err := Unescape(in); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: want %q, got %q, %v", in, want, got, err)
		}
	}
}

func FuzzUnescape(f *testing.F) {
	f.Add(`R1\r`)
	f.Add(`\x0D\\`)
	f.Fuzz(func(t *testing.T, s string) {
		got, err := Unescape(s)
		if err == nil && len(got) > len(s) {
			t.Errorf("%q became %q", s, got)
		}
		if err != nil && !printable(err.Error()) {
			t.Errorf("%q: %q", s, err.Error())
		}
	})
}

// What a profile's file could hold does nothing to a terminal.
func TestFaultsArePrintable(t *testing.T) {
	const evil = "\x1b]0;x\a\u202e\xff"
	p := good()
	p.Kind, p.End, p.Packing, p.Ask.Prompt, p.Line.Parity = evil, evil, evil, evil, 0x1b
	p.NoNumber = []string{evil}
	p.Parts = []Part{Literal{Text: "\r"}, code(evil, 9), Sign{}, Figure{}, UnitWord{Words: map[string]quantity.Unit{evil: quantity.Bare}},
		Flags{Letters: map[string]Flag{evil: 9}}}
	var all FieldErrors
	if !errors.As(p.Validate(), &all) || len(all) < 9 {
		t.Fatalf("got %v", all)
	}
	for _, e := range all {
		if !printable(e.Error()) {
			t.Errorf("%q", e.Error())
		}
	}
}
