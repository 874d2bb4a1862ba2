// Package decodertest is what every decoder must pass: Run checks the contract
// of devices.Decoder on a decoder's own good and bad frames, Fuzz checks it on
// any bytes.
package decodertest

import (
	"bytes"
	"errors"
	"fmt"
	"math/rand/v2"
	"testing"
	"time"

	"shimwright/devices"
)

// A Good is bytes that are one good frame.
type Good struct {
	Bytes      string
	Value      string // as quantity.Value writes it
	UnitStated bool
	Battery    bool
}

// A Bad is bytes that are one bad frame, its end included.
type Bad struct {
	Bytes  string
	Reason devices.Reason
}

// A Suite is a decoder under test with frames of its form.
type Suite struct {
	New  func() devices.Decoder
	Good []Good
	Bad  []Bad
	// Half is the beginning of a good frame.
	Half string
	// HalfLine is how long the decoder waits for the rest of it.
	HalfLine time.Duration
	// End is what ends a frame, so that noise can be got out of the way.
	End string
}

// Emitted is one call of emit.
type Emitted struct {
	Frame devices.Frame
	Err   error
}

// String is all of it that must not depend on how the bytes were cut.
func (e Emitted) String() string {
	if e.Err != nil {
		return fmt.Sprintf("bad %q: %v", e.Frame.Raw, e.Err)
	}
	return fmt.Sprintf("good %q: %s stated=%t battery=%t", e.Frame.Raw, e.Frame.Value, e.Frame.UnitStated, e.Frame.Battery)
}

// Start is the time at which tests begin.
func Start() time.Time { return time.Date(2001, 2, 3, 4, 5, 6, 0, time.UTC) }

// Decode pushes chunks, all at Start, and gives what was emitted.
func Decode(d devices.Decoder, chunks ...[]byte) []Emitted {
	var out []Emitted
	for _, c := range chunks {
		c = bytes.Clone(c)
		d.Push(Start(), c, func(f devices.Frame, err error) { out = append(out, Emitted{f, err}) })
		clear(c) // a frame that kept the reader's buffer shows now
	}
	return out
}

// Run checks the contract.
func Run(t *testing.T, s Suite) {
	t.Helper()
	t.Run("good", func(t *testing.T) { s.good(t) })
	t.Run("bad", func(t *testing.T) { s.bad(t) })
	t.Run("doubled", func(t *testing.T) { s.doubled(t) })
	t.Run("chunks", func(t *testing.T) { s.chunks(t) })
	t.Run("good after bad", func(t *testing.T) { s.resync(t) })
	t.Run("reset", func(t *testing.T) { s.reset(t) })
	t.Run("half line", func(t *testing.T) { s.half(t) })
	t.Run("held up", func(t *testing.T) { s.heldUp(t) })
	t.Run("endless noise", func(t *testing.T) { s.noise(t) })
}

func (s Suite) good(t *testing.T) {
	for _, g := range s.Good {
		got := Decode(s.New(), []byte(g.Bytes))
		if len(got) != 1 || got[0].Err != nil {
			t.Errorf("%q: want one good frame, got %v", g.Bytes, got)
			continue
		}
		f := got[0].Frame
		if f.Value.String() != g.Value || f.UnitStated != g.UnitStated || f.Battery != g.Battery {
			t.Errorf("%q: want %+v, got %v", g.Bytes, g, got[0])
		}
		if !f.At.Equal(Start()) {
			t.Errorf("%q: arrived at %v, want the time of the push", g.Bytes, f.At)
		}
		if !bytes.Contains([]byte(g.Bytes), f.Raw) || len(f.Raw) == 0 {
			t.Errorf("%q: raw bytes are %q", g.Bytes, f.Raw)
		}
	}
}

func (s Suite) bad(t *testing.T) {
	for _, b := range s.Bad {
		got := Decode(s.New(), []byte(b.Bytes))
		if len(got) != 1 {
			t.Errorf("%q: want one bad frame, got %v", b.Bytes, got)
			continue
		}
		if err := checkBad(got[0]); err != nil {
			t.Errorf("%q: %v", b.Bytes, err)
			continue
		}
		var fe *devices.FrameError
		if errors.As(got[0].Err, &fe); fe.Reason != b.Reason {
			t.Errorf("%q: want reason %q, got: %v", b.Bytes, b.Reason, fe)
		}
	}
}

// checkBad holds one emitted bad frame against the contract.
func checkBad(e Emitted) error {
	var fe *devices.FrameError
	if !errors.As(e.Err, &fe) {
		return fmt.Errorf("want a *devices.FrameError, got %T: %v", e.Err, e.Err)
	}
	if len(e.Frame.Raw) == 0 || len(e.Frame.Raw) > devices.MaxRaw || !bytes.Equal(e.Frame.Raw, fe.Raw) {
		return fmt.Errorf("frame has %d raw bytes, its error %d", len(e.Frame.Raw), len(fe.Raw))
	}
	for _, r := range fe.Error() {
		if r < ' ' || r > '~' {
			return fmt.Errorf("the error's words hold %q", r)
		}
	}
	return nil
}

func (s Suite) doubled(t *testing.T) {
	for _, g := range s.Good {
		if got := Decode(s.New(), []byte(g.Bytes+g.Bytes)); len(got) != 2 || got[0].String() != got[1].String() {
			t.Errorf("%q twice: want two like frames, got %v", g.Bytes, got)
		}
	}
}

func (s Suite) all() []byte {
	var b bytes.Buffer
	for i := range max(len(s.Good), len(s.Bad)) {
		if i < len(s.Bad) {
			b.WriteString(s.Bad[i].Bytes)
		}
		if i < len(s.Good) {
			b.WriteString(s.Good[i].Bytes)
		}
	}
	return b.Bytes()
}

func (s Suite) chunks(t *testing.T) {
	all := s.all()
	want := fmt.Sprint(Decode(s.New(), all))
	for cut := range all {
		if got := fmt.Sprint(Decode(s.New(), all[:cut], all[cut:])); got != want {
			t.Fatalf("cut at %d: got\n%s\nwant\n%s", cut, got, want)
		}
	}
	rnd := rand.New(rand.NewPCG(1, 2))
	for range 200 {
		chunks := Cut(all, func() int { return 1 + rnd.IntN(9) })
		if got := fmt.Sprint(Decode(s.New(), chunks...)); got != want {
			t.Fatalf("cut into %q: got\n%s\nwant\n%s", chunks, got, want)
		}
	}
}

// Cut cuts bytes into chunks of the sizes that size gives.
func Cut(b []byte, size func() int) (chunks [][]byte) {
	for len(b) > 0 {
		n := min(max(1, size()), len(b))
		chunks = append(chunks, b[:n])
		b = b[n:]
	}
	return chunks
}

func (s Suite) resync(t *testing.T) {
	for _, b := range s.Bad {
		for _, g := range s.Good {
			got := Decode(s.New(), []byte(b.Bytes+g.Bytes))
			if len(got) != 2 || got[0].Err == nil || got[1].Err != nil || got[1].Frame.Value.String() != g.Value {
				t.Errorf("%q then %q: got %v", b.Bytes, g.Bytes, got)
			}
		}
	}
}

func (s Suite) reset(t *testing.T) {
	d := s.New()
	if got := Decode(d, []byte(s.Half)); len(got) != 0 {
		t.Fatalf("half a frame emitted %v", got)
	}
	d.Reset()
	if got := Decode(d, []byte(s.Good[0].Bytes)); len(got) != 1 || got[0].Err != nil {
		t.Errorf("after a reset: got %v", got)
	}
}

// tick ticks every 20 ms from one time to another.
func tick(d devices.Decoder, from, to time.Duration) (out []Emitted) {
	for at := from; at <= to; at += 20 * time.Millisecond {
		d.Tick(Start().Add(at), func(f devices.Frame, err error) { out = append(out, Emitted{f, err}) })
	}
	return out
}

func (s Suite) half(t *testing.T) {
	d := s.New()
	Decode(d, []byte(s.Half))
	if got := tick(d, 0, s.HalfLine-time.Millisecond); len(got) != 0 {
		t.Errorf("discarded too early: %v", got)
	}
	got := tick(d, s.HalfLine, s.HalfLine+100*time.Millisecond)
	if len(got) != 1 || checkBad(got[0]) != nil || string(got[0].Frame.Raw) != s.Half {
		t.Fatalf("want the half line as one bad frame, got %v", got)
	}
	if got := Decode(d, []byte(s.Good[0].Bytes)); len(got) != 1 || got[0].Err != nil {
		t.Errorf("good frame after a half one: got %v", got)
	}
}

// heldUp: reads that come late without a quiet line between them are one line.
func (s Suite) heldUp(t *testing.T) {
	d := s.New()
	Decode(d, []byte(s.Half))
	rest, ok := bytes.CutPrefix([]byte(s.Good[0].Bytes), []byte(s.Half))
	if !ok {
		t.Fatalf("the suite's half %q does not begin its first good frame", s.Half)
	}
	var got []Emitted
	d.Push(Start().Add(10*s.HalfLine), rest, func(f devices.Frame, err error) { got = append(got, Emitted{f, err}) })
	if len(got) != 1 || got[0].Err != nil || got[0].Frame.Value.String() != s.Good[0].Value {
		t.Errorf("got %v", got)
	}
}

func (s Suite) noise(t *testing.T) {
	d := s.New()
	junk := bytes.Repeat([]byte("x\x1b[2J"), 1<<18/5)
	got := Decode(d, Cut(junk, func() int { return 4096 })...)
	if len(got) != 1 {
		t.Fatalf("noise without an end: want one bad frame, got %d", len(got))
	}
	if err := checkBad(got[0]); err != nil {
		t.Error(err)
	}
	if got := Decode(d, []byte(s.End+s.Good[0].Bytes)); len(got) != 1 || got[0].Err != nil {
		t.Errorf("good frame after noise and an end: got %v", got)
	}
}

// Fuzz checks on any bytes: no panic, frames within bounds, the same frames
// however the bytes are cut, and a good frame found once an end has come.
func Fuzz(f *testing.F, s Suite) {
	f.Helper()
	f.Add(s.all(), []byte{1, 2, 3})
	for _, b := range s.Bad {
		f.Add([]byte(b.Bytes), []byte{1})
	}
	f.Fuzz(func(t *testing.T, data, sizes []byte) {
		data = append(data, (s.End + s.Good[0].Bytes)...)
		whole := Decode(s.New(), data)
		for _, e := range whole {
			if e.Err != nil {
				if err := checkBad(e); err != nil {
					t.Fatal(err)
				}
			}
			if len(e.Frame.Raw) > devices.MaxRaw {
				t.Fatalf("a frame of %d bytes", len(e.Frame.Raw))
			}
		}
		i := 0
		chunks := Cut(data, func() int {
			if len(sizes) == 0 {
				return 1
			}
			i++
			return int(sizes[i%len(sizes)])
		})
		if got := Decode(s.New(), chunks...); fmt.Sprint(got) != fmt.Sprint(whole) {
			t.Fatalf("cut into %q: got\n%v\nwant\n%v", chunks, got, whole)
		}
		last := whole[len(whole)-1]
		if last.Err != nil || last.Frame.Value.String() != s.Good[0].Value {
			t.Fatalf("the good frame at the end was read as %v", last)
		}
	})
}
