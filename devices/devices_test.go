package devices

import (
	"encoding/json"
	"errors"
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
