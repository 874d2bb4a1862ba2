package packed

import (
	"errors"
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

func forms() (out []decodertest.Form) {
	for _, f := range decodertest.All() {
		if f.Profile.Kind == devices.PackedDecimal {
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

func FuzzBytes(f *testing.F)   { fuzzForm(f, "packed decimal in bytes") }
func FuzzHex(f *testing.F)     { fuzzForm(f, "packed decimal in hex text") }
func FuzzHexBare(f *testing.F) { fuzzForm(f, "packed decimal in hex text, no end") }

func fuzzForm(f *testing.F, name string) {
	decodertest.Fuzz(f, suite(f, decodertest.Named(name)))
}

// The frame's 52 bits, low bit first, are its bytes' bits, low bit first.
func TestLowBitFirst(t *testing.T) {
	bits := ""
	for _, g := range []int{0xF, 0xF, 0xF, 0xF, 8, 0, 0, 3, 3, 3, 8, 2, 0} {
		for b := range 4 {
			bits += string('0' + rune(g>>b&1))
		}
	}
	bits += "0000" // to whole bytes
	var line []byte
	for len(bits) > 0 {
		var b byte
		for i := range 8 {
			b |= (bits[i] - '0') << i
		}
		line, bits = append(line, b), bits[8:]
	}
	got := decodertest.Decode(suite(t, forms()[0]).New(), line)
	if len(got) != 1 || got[0].Err != nil || got[0].Frame.Value.String() != "-33.38 mm" {
		t.Errorf("%x was read as %v", line, got)
	}
}

// A new frame is found at once behind noise and behind a frame that lost
// bytes, without a quiet line between.
func TestFoundByItsMark(t *testing.T) {
	for _, f := range forms()[:1] {
		good := f.Good[0].Bytes
		for cut := 1; cut < len(good); cut++ {
			for _, ahead := range []string{good[:cut], good[cut:], good[:cut] + "\xff", "\xff\xff\xff" + good[:cut]} {
				got := decodertest.Decode(suite(t, f).New(), []byte(ahead+good))
				last := got[len(got)-1]
				if last.Err != nil || last.Frame.Value.String() != f.Good[0].Value || string(last.Frame.Raw) != good {
					t.Errorf("%q behind %q: %v", good, ahead, got)
				}
			}
		}
	}
}

// Any bit turned over is refused, or is another figure of the same shape: the
// frame carries no check of its own.
func TestOneBit(t *testing.T) {
	f := forms()[0]
	good, taken := []byte(f.Good[0].Bytes), 0
	for i := range 8 * len(good) {
		line := append([]byte(nil), good...)
		line[i/8] ^= 1 << (i % 8)
		d := suite(t, f).New()
		got := decodertest.Decode(d, line)
		if len(got) == 1 && got[0].Err == nil {
			taken++
			if i/4 < header || i/4 >= groups {
				t.Errorf("bit %d turned, and %x was read as %s", i, line, got[0].Frame.Value)
			}
		}
	}
	if taken == 0 {
		t.Error("not one was taken: the test turns the wrong bits")
	}
}

func TestEncode(t *testing.T) {
	for _, f := range forms() {
		e, err := NewEncoder(f.Profile)
		if err != nil {
			t.Fatal(err)
		}
		for _, c := range []struct{ value, want string }{
			{"33.38 mm", ""}, {"-0.07 mm", ""}, {"0.05000 in", ""}, {"123456 mm", ""}, {"-1.3124 in", ""}, {"0.00 mm", ""},
			{"1234.567 mm", "6 digits, not 7"}, {"0.000001 mm", "6 digits, not 7"}, {"1.0 thou", "mm or inch, not thou"}, {"9999.99 mm", "all nines"}, {"1.0 N", "not N"},
		} {
			v, err := quantity.ParseWithUnit(c.value)
			if err != nil {
				t.Fatal(err)
			}
			line, err := e.Encode(v, false)
			if c.want != "" {
				if err == nil || !strings.Contains(err.Error(), c.want) {
					t.Errorf("%s: want %q, got %v", c.value, c.want, err)
				}
				continue
			}
			if err != nil {
				t.Fatal(err)
			}
			got := decodertest.Decode(suite(t, f).New(), line)
			if len(got) != 1 || got[0].Err != nil || got[0].Frame.Value.String() != c.value {
				t.Errorf("%s was written %q and read as %v", c.value, line, got)
			}
		}
		if _, err := e.Encode(quantity.Value{}.In(quantity.MM), true); err == nil {
			t.Error("a low battery was written")
		}
	}
}

// What is found quiet before it is complete is named.
func TestHalfWords(t *testing.T) {
	d := suite(t, forms()[0]).New()
	decodertest.Decode(d, []byte("\xff\xff\x00\x30"))
	var said error
	for at := time.Duration(0); at <= time.Second; at += 20 * time.Millisecond {
		d.Tick(decodertest.Start().Add(at), func(_ devices.Frame, err error) { said = errors.Join(said, err) })
	}
	const want = `half a line: 4 of 7 bytes came before a gap of 100ms (received "\xff\xff\x000")`
	if said == nil || said.Error() != want {
		t.Errorf("want\n%s\ngot\n%v", want, said)
	}
}

func TestNewRefuses(t *testing.T) {
	var fe *devices.FieldError
	if _, err := New(devices.Profile{}); !errors.As(err, &fe) {
		t.Errorf("want a field error, got %v", err)
	}
	p := decodertest.Named("bare figure").Profile
	if _, err := New(p); err == nil || !strings.Contains(err.Error(), "kind") {
		t.Errorf("a text line's profile: %v", err)
	}
}

// BenchmarkDecode reads frames packed in bytes.
func BenchmarkDecode(b *testing.B) {
	f := forms()[0]
	e, err := NewEncoder(f.Profile)
	if err != nil {
		b.Fatal(err)
	}
	var data []byte
	for i := range 1000 {
		v, err := quantity.Parse(strconv.Itoa(i%100-50)+".38", quantity.MM)
		if err != nil {
			b.Fatal(err)
		}
		line, err := e.Encode(v, false)
		if err != nil {
			b.Fatal(err)
		}
		data = append(data, line...)
	}
	d, n := suite(b, f).New(), 0
	emit := func(_ devices.Frame, err error) {
		if err == nil {
			n++
		}
	}
	b.SetBytes(int64(len(data)))
	b.ReportAllocs()
	for b.Loop() {
		d.Push(time.Time{}, data, emit)
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(n), "ns/frame")
}

// A good frame costs no allocation but the frame's own: its raw bytes, and the
// figure.
func TestAllocations(t *testing.T) {
	for _, f := range forms() {
		d := suite(t, f).New()
		for _, g := range f.Good {
			v, err := quantity.ParseWithUnit(g.Value)
			if err != nil {
				t.Fatal(err)
			}
			digits, line, emit := v.Digits(), []byte(g.Bytes), func(devices.Frame, error) {}
			want := 1 + testing.AllocsPerRun(100, func() { _, _ = quantity.Parse(digits, v.Unit()) })
			if got := testing.AllocsPerRun(1000, func() { d.Push(time.Time{}, line, emit) }); got > want {
				t.Errorf("%s, %q: %v allocations, the frame takes %v", f.Name, g.Bytes, got, want)
			}
		}
	}
}
