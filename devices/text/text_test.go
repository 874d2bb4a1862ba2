package text

import (
	"errors"
	"math/rand/v2"
	"strconv"
	"strings"
	"testing"
	"time"

	"shimwright/calc/quantity"
	"shimwright/devices"
	"shimwright/devices/decodertest"
)

func suite(tb testing.TB, f decodertest.Form) decodertest.Suite {
	tb.Helper()
	return decodertest.SuiteOf(f, func() devices.Decoder {
		d, err := New(f.Profile)
		if err != nil {
			tb.Fatal(err)
		}
		return d
	})
}

// forms is every form that this package decodes.
func forms() (out []decodertest.Form) {
	for _, f := range decodertest.All() {
		if f.Profile.Kind != devices.PackedDecimal {
			out = append(out, f)
		}
	}
	return out
}

func TestForms(t *testing.T) {
	for _, f := range forms() {
		t.Run(f.Name, func(t *testing.T) { decodertest.Run(t, suite(t, f)) })
	}
}

func FuzzBareFigure(f *testing.F)  { fuzzForm(f, "bare figure") }
func FuzzNoughts(f *testing.F)     { fuzzForm(f, "sign and leading noughts") }
func FuzzBlanks(f *testing.F)      { fuzzForm(f, "blanks and decimal comma") }
func FuzzLettered(f *testing.F)    { fuzzForm(f, "unit word and flag letters") }
func FuzzCoded(f *testing.F)       { fuzzForm(f, "channel and kind code ahead") }
func FuzzMultiplexed(f *testing.F) { fuzzForm(f, "channel digit and kind code") }
func FuzzSeparated(f *testing.F)   { fuzzForm(f, "index, value, mode, channel") }
func FuzzClosing(f *testing.F)     { fuzzForm(f, "code, channel letter, eight figures") }
func FuzzAsked(f *testing.F)       { fuzzForm(f, "asked with a letter") }
func FuzzUnended(f *testing.F)     { fuzzForm(f, "no end, nine bytes") }

func fuzzForm(f *testing.F, name string) {
	decodertest.Fuzz(f, suite(f, decodertest.Named(name)))
}

// What the encoder writes, the decoder reads back: digits, unit, flag.
func TestEncodeDecode(t *testing.T) {
	rnd := rand.New(rand.NewPCG(3, 4))
	for _, f := range decodertest.Forms() {
		e, err := NewEncoder(f.Profile)
		if err != nil {
			t.Fatal(err)
		}
		places := 2
		if f.Name == "blanks and decimal comma" {
			places = 3
		}
		for range 500 {
			whole, frac := 100+rnd.IntN(700), 1000+rnd.IntN(1000)
			sign := []string{"", "-"}[rnd.IntN(2)]
			v, err := quantity.ParseWithUnit(sign + strconv.Itoa(whole/10) + "." + strconv.Itoa(frac)[1:1+places] + " mm")
			if err != nil {
				t.Fatal(err)
			}
			line, err := e.Encode(v, false)
			if err != nil {
				t.Fatalf("%s: %v", f.Name, err)
			}
			got := decodertest.Decode(suite(t, f).New(), line)
			if len(got) != 1 || got[0].Err != nil || got[0].Frame.Value.String() != v.String() {
				t.Fatalf("%s: %s was written %q and read as %v", f.Name, v, line, got)
			}
		}
	}
}

func TestEncodeRefuses(t *testing.T) {
	forms := map[string]devices.Profile{}
	for _, f := range decodertest.Forms() {
		forms[f.Name] = f.Profile
	}
	for _, c := range []struct {
		form, value string
		battery     bool
		want        string
	}{
		{"bare figure", "1.3142 in", false, "measures in mm"},
		{"bare figure", "99.99 mm", false, "all nines"},
		{"bare figure", "1.00 mm", true, "no letter for a low battery"},
		{"sign and leading noughts", "1.000 mm", false, "2 decimals, not 3"},
		{"sign and leading noughts", "12345.67 mm", false, "6 digits, not 7"},
		{"unit word and flag letters", "1.0 thou", false, "no word for thou"},
	} {
		e, err := NewEncoder(forms[c.form])
		if err != nil {
			t.Fatal(err)
		}
		v, err := quantity.ParseWithUnit(c.value)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := e.Encode(v, c.battery); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s, %s: want %q, got %v", c.form, c.value, c.want, err)
		}
	}
	p := forms["bare figure"]
	p.Parts = p.Parts[1:]
	e, err := NewEncoder(p)
	if err != nil {
		t.Fatal(err)
	}
	v, _ := quantity.ParseWithUnit("-1 mm")
	if _, err := e.Encode(v, false); err == nil || !strings.Contains(err.Error(), "no sign") {
		t.Errorf("got %v", err)
	}
}

func TestEncodeBattery(t *testing.T) {
	f := decodertest.Forms()[3]
	e, err := NewEncoder(f.Profile)
	if err != nil {
		t.Fatal(err)
	}
	v, _ := quantity.ParseWithUnit("1.3142 in")
	line, err := e.Encode(v, true)
	if err != nil {
		t.Fatal(err)
	}
	got := decodertest.Decode(suite(t, f).New(), line)
	if len(got) != 1 || !got[0].Frame.Battery {
		t.Errorf("%q was read as %v", line, got)
	}
}

// The words a person sees: what was found, where, and a hint.
func TestErrorWords(t *testing.T) {
	for _, c := range []struct{ in, want string }{
		{"-----\r", `no number: the gauge shows "---" (received "-----\r")`},
		{"33.x8\r", `not a line of this gauge: it is cut short behind the decimal mark (received "33.x8\r")`},
		{"x\r", `not a line of this gauge: the figure was expected at byte 1, not "x" (received "x\r")`},
		{"1,234.5\r", `not a line of this gauge: ',' in the figure, where this gauge's decimal mark is '.' (received "1,234.5\r")`},
		{"\x1b[2J1\r", `noise on the line: byte 1 is "\x1b": interference, or line settings that are not the gauge's (received "\x1b[2J1\r")`},
		{strings.Repeat("7", 70) + "\r", "not a line of this gauge: it has 70 significant figures, at most 9 are believed (received \"" + strings.Repeat("7", 64) + "\" and 7 more bytes)"},
	} {
		got := decodertest.Decode(suite(t, decodertest.Forms()[0]).New(), []byte(c.in))
		if len(got) != 1 || got[0].Err == nil || got[0].Err.Error() != c.want {
			t.Errorf("%q: want\n%s\ngot\n%v", c.in, c.want, got)
		}
	}
}

// A wrong end in the profile is named, since no line would ever come.
func TestWrongEnd(t *testing.T) {
	f := decodertest.Forms()[1]
	d := suite(t, f).New()
	decodertest.Decode(d, []byte("+0033.38\r"))
	var said error
	for at := time.Duration(0); at <= 2*f.Profile.HalfLine; at += 20 * time.Millisecond {
		d.Tick(decodertest.Start().Add(at), func(_ devices.Frame, err error) { said = errors.Join(said, err) })
	}
	const want = `half a line: it ends with "\r", the profile says CRLF (received "+0033.38\r")`
	if said == nil || said.Error() != want {
		t.Errorf("want\n%s\ngot\n%v", want, said)
	}
}

// The feed behind a carriage return is no half line, however late.
func TestLateFeed(t *testing.T) {
	d := suite(t, decodertest.Forms()[0]).New()
	decodertest.Decode(d, []byte("33.38\r\n"))
	for at := time.Duration(0); at <= time.Second; at += 20 * time.Millisecond {
		d.Tick(decodertest.Start().Add(at), func(_ devices.Frame, err error) { t.Errorf("said %v", err) })
	}
}

func TestNewRefuses(t *testing.T) {
	var fe *devices.FieldError
	if _, err := New(devices.Profile{}); !errors.As(err, &fe) {
		t.Errorf("want a field error, got %v", err)
	}
}

// frameAllocs is what the frame itself takes: its raw bytes, and the figure.
func frameAllocs(t *testing.T, g decodertest.Good) float64 {
	t.Helper()
	v, err := quantity.ParseWithUnit(g.Value)
	if err != nil {
		t.Fatal(err)
	}
	digits := v.Digits()
	return 1 + testing.AllocsPerRun(100, func() {
		if _, err := quantity.Parse(digits, v.Unit()); err != nil {
			t.Fatal(err)
		}
	})
}

// A good frame costs no allocation but the frame's own.
func TestAllocations(t *testing.T) {
	for _, f := range forms() {
		d := suite(t, f).New()
		for _, g := range f.Good {
			line, want := []byte(g.Bytes), frameAllocs(t, g)
			emit := func(devices.Frame, error) {}
			if got := testing.AllocsPerRun(1000, func() { d.Push(time.Time{}, line, emit) }); got > want {
				t.Errorf("%s, %q: %v allocations, the frame takes %v", f.Name, g.Bytes, got, want)
			}
		}
	}
}
