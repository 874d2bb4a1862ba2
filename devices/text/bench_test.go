package text

import (
	"bufio"
	"bytes"
	"runtime"
	"strconv"
	"testing"
	"time"

	"shimwright/calc/quantity"
	"shimwright/devices"
	"shimwright/devices/decodertest"
)

// thousand is a thousand lines of a form, a hundred different figures.
func thousand(b *testing.B, form string) (devices.Decoder, []byte) {
	b.Helper()
	f := decodertest.Named(form)
	e, err := NewEncoder(f.Profile)
	if err != nil {
		b.Fatal(err)
	}
	var out []byte
	for i := range 1000 {
		v, err := quantity.Parse(strconv.Itoa(i%100-50)+".38", quantity.MM)
		if err != nil {
			b.Fatal(err)
		}
		line, _, err := encode(e, f.Profile, v)
		if err != nil {
			b.Fatal(err)
		}
		out = append(out, line...)
	}
	return suite(b, f).New(), out
}

// BenchmarkDecode reads a thousand lines: fixed is a sign and six digits,
// multiplexed has a channel, a kind code and a unit about the same. The floor is
// the least that could be done with the same bytes: lines cut, the figure cut out
// of its columns and read as a float, nothing checked and nothing kept. The peer
// does that and keeps what a frame keeps: the bytes, and the figure as an exact
// decimal.
func BenchmarkDecode(b *testing.B) {
	for _, c := range []struct {
		name, form string
		figure     func(line []byte) []byte
	}{
		{"fixed", "sign and leading noughts", func(line []byte) []byte { return line }},
		{"multiplexed", "channel digit and kind code", func(line []byte) []byte { return line[3 : len(line)-1] }},
	} {
		d, data := thousand(b, c.form)
		thousandth := func(way string, read func(count *int)) {
			b.Run(c.name+"/"+way, func(b *testing.B) {
				b.SetBytes(int64(len(data)))
				b.ReportAllocs()
				n := 0
				for b.Loop() {
					read(&n)
				}
				if n != 1000*b.N {
					b.Fatalf("%d good lines of %d", n, 1000*b.N)
				}
			})
		}
		thousandth("ours", func(n *int) {
			d.Push(time.Time{}, data, func(_ devices.Frame, err error) {
				if err == nil {
					*n++
				}
			})
		})
		thousandth("floor=scanner-float", func(n *int) {
			for s := bufio.NewScanner(bytes.NewReader(data)); s.Scan(); {
				if _, err := strconv.ParseFloat(string(c.figure(s.Bytes())), 64); err == nil {
					*n++
				}
			}
		})
		var kept devices.Frame
		thousandth("peer=scanner-kept", func(n *int) {
			for s := bufio.NewScanner(bytes.NewReader(data)); s.Scan(); {
				v, err := quantity.Parse(string(c.figure(s.Bytes())), quantity.MM)
				if kept = (devices.Frame{Raw: bytes.Clone(s.Bytes()), Value: v}); err == nil {
					*n++
				}
			}
		})
		runtime.KeepAlive(kept)
	}
}
