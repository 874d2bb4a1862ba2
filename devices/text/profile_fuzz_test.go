package text

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"shimwright/calc/quantity"
	"shimwright/devices"
	"shimwright/devices/decodertest"
)

// anyProfile makes a profile, most often a wrong one, from bytes.
func anyProfile(b []byte) devices.Profile {
	take := func() int {
		if len(b) == 0 {
			return 0
		}
		n := int(b[0])
		b = b[1:]
		return n
	}
	p := devices.Defaults()
	p.End = []devices.End{devices.CR, devices.LF, devices.CRLF, "", devices.NoEnd}[take()%5]
	if p.End == devices.NoEnd {
		p.Length, p.Gap = take()%24, 100*time.Millisecond
	}
	p.Assume = quantity.Unit(take() % 4)
	p.Overrange, p.Longest = take()%8, take()
	for len(b) > 0 && len(p.Parts) < 20 {
		switch take() % 9 {
		case 0:
			p.Parts = append(p.Parts, devices.Literal{Text: string(rune(take()))})
		case 1:
			p.Parts = append(p.Parts, devices.Skip{Count: take() % 5})
		case 2:
			p.Parts = append(p.Parts, devices.Sign{Required: take()%2 == 0, Blank: take()%2 == 0})
		case 3:
			places := take() % 6
			p.Parts = append(p.Parts, devices.Figure{Comma: take()%2 == 0, Digits: take() % 8, Padded: take()%2 == 0, Places: &places})
		case 4:
			p.Parts = append(p.Parts, devices.UnitWord{Optional: take()%2 == 0,
				Words: map[string]quantity.Unit{string(rune(take())): quantity.Unit(take() % 4), "in": quantity.Inch}})
		case 5:
			p.Parts = append(p.Parts, devices.Flags{Letters: map[string]devices.Flag{string(rune(take())): devices.Flag(take() % 3)}})
		case 6:
			p.Parts = append(p.Parts, nil)
		case 7:
			p.Parts = append(p.Parts, devices.Channel{Width: take() % 4, Letters: take()%2 == 0})
		case 8:
			p.Parts = append(p.Parts, devices.Code{Words: map[string]devices.CodeMeaning{
				string([]byte{byte(take()), 'R'}): devices.CodeReading, string([]byte{byte(take()), 'Z'}): devices.CodeMeaning(take() % 3)}})
		}
	}
	return p
}

// encode writes a value, on a channel where the profile has them.
func encode(e *Encoder, p devices.Profile, v quantity.Value) (line []byte, channel string, err error) {
	part, ok := p.Channel()
	if !ok {
		line, err = e.Encode(v, false)
		return line, "", err
	}
	channel = strings.Repeat("7", part.Width)
	if part.Letters {
		channel = strings.Repeat("b", part.Width)
	}
	line, err = e.EncodeChannel(channel, v, false)
	return line, channel, err
}

// FuzzProfile: any profile is refused in words or reads any bytes, the same
// however they are cut, and reads back what its encoder writes.
func FuzzProfile(f *testing.F) {
	f.Add([]byte{0, 1, 4, 64, 2, 1, 1, 3, 2, 1, 6, 1}, []byte("+0033.38\r\n"), uint16(3338))
	f.Add([]byte{2, 1, 0, 64, 0, 'A', 1, 3, 2, 0, 1, 0, 6, 0, 4, 0, 'm', 1, 5, 'B', 1}, []byte("A  -33,38mB\r\n"), uint16(7))
	for _, c := range []struct {
		shape []byte
		data  string
	}{
		{[]byte{2, 1, 0, 64, 7, 1, 1, 8, 'Q', 'Q', 1, 2, 1, 1, 3, 2, 1, 6, 1}, "7QR+0033.38\r\n7QZ+9999.99\r\n"}, // channel and code
		{[]byte{0, 1, 0, 64, 3, 2, 1, 6, 1, 0, ',', 7, 2, 0}, "0033.38,bb\r"},                                    // channel behind
		{[]byte{4, 9, 1, 4, 64, 2, 0, 1, 3, 2, 1, 6, 1}, "+0033.38 +0033.38x"},                                   // no end
	} {
		if err := anyProfile(c.shape).Validate(); err != nil {
			f.Errorf("a seed is no good profile: %v", err)
		}
		f.Add(c.shape, []byte(c.data), uint16(3338))
	}
	f.Fuzz(func(t *testing.T, shape, data []byte, n uint16) {
		p := anyProfile(shape)
		e, err := NewEncoder(p)
		if err != nil {
			if err.Error() == "" {
				t.Error("refused without a word")
			}
			return
		}
		suite := func() devices.Decoder { d, _ := New(p); return d }
		whole := decodertest.Decode(suite(), data)
		bytewise := decodertest.Decode(suite(), decodertest.Cut(data, func() int { return 1 })...)
		if fmt.Sprint(whole) != fmt.Sprint(bytewise) {
			t.Fatalf("%q: whole\n%v\nbyte by byte\n%v", data, whole, bytewise)
		}
		v, err := quantity.ParseWithUnit(fmt.Sprintf("%d.%02d mm", n/100, n%100))
		if err != nil {
			t.Fatal(err)
		}
		line, channel, err := encode(e, p, v)
		if err != nil {
			return
		}
		got := decodertest.Decode(suite(), line)
		if len(got) != 1 || got[0].Err != nil || got[0].Frame.Value.String() != v.String() || got[0].Frame.Channel != channel {
			t.Fatalf("%s was written %q and read as %v", v, line, got)
		}
	})
}
