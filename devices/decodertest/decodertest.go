// Package decodertest is what every decoder must pass: Run checks the contract
// of devices.Decoder on a decoder's own good and bad frames, Fuzz checks it on
// any bytes.
package decodertest

import (
	"bytes"
	"errors"
	"fmt"
	"math/rand/v2"
	"strings"
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
	Channel    string
}

// A Bad is bytes that are one bad frame, its end included; a gap may be needed
// behind them where nothing else ends a frame.
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
	// End is what ends a frame, so that noise can be got out of the way. Where
	// it is empty a gap does, as long as HalfLine.
	End string
}

// SuiteOf is a form's frames for the decoder that make makes.
func SuiteOf(f Form, make func() devices.Decoder) Suite {
	s := Suite{New: make, Good: f.Good, Bad: f.Bad, Half: f.Half, HalfLine: f.Profile.HalfLine, End: string(f.Profile.End.Bytes())}
	if s.End == "" {
		s.HalfLine = f.Profile.Gap
	}
	return s
}

// rest is the quiet behind noise or a bad frame, where nothing else ends one.
func (s Suite) rest(d devices.Decoder) []Emitted {
	if s.End != "" {
		return nil
	}
	return tick(d, 0, s.HalfLine+20*time.Millisecond)
}

// decode pushes pieces with a rest behind each.
func (s Suite) decode(d devices.Decoder, pieces ...string) (out []Emitted) {
	for _, p := range pieces {
		out = append(out, Decode(d, []byte(p))...)
		out = append(out, s.rest(d)...)
	}
	return out
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
	return fmt.Sprintf("good %q: %s stated=%t battery=%t channel=%q", e.Frame.Raw, e.Frame.Value, e.Frame.UnitStated, e.Frame.Battery, e.Frame.Channel)
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
	t.Run("control bytes", func(t *testing.T) { s.control(t) })
}

func (s Suite) good(t *testing.T) {
	for _, g := range s.Good {
		d := s.New()
		got := Decode(d, []byte(g.Bytes))
		if more := s.rest(d); len(more) > 0 {
			t.Errorf("%q: the quiet behind it emitted %v", g.Bytes, more)
		}
		if len(got) != 1 || got[0].Err != nil {
			t.Errorf("%q: want one good frame, got %v", g.Bytes, got)
			continue
		}
		f := got[0].Frame
		if f.Value.String() != g.Value || f.UnitStated != g.UnitStated || f.Battery != g.Battery || f.Channel != g.Channel {
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
		got := s.decode(s.New(), b.Bytes)
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
	for _, r := range fe.Error() + e.Frame.Channel {
		if unprintable(r) {
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

// all is every frame, bad and good in turn.
func (s Suite) all() (pieces []string) {
	for i := range max(len(s.Good), len(s.Bad)) {
		if i < len(s.Bad) {
			pieces = append(pieces, s.Bad[i].Bytes)
		}
		if i < len(s.Good) {
			pieces = append(pieces, s.Good[i].Bytes)
		}
	}
	if s.End != "" {
		return []string{strings.Join(pieces, "")}
	}
	return pieces
}

func (s Suite) chunks(t *testing.T) {
	want := fmt.Sprint(s.decode(s.New(), s.all()...))
	rnd := rand.New(rand.NewPCG(1, 2))
	for try := range 200 {
		size := func() int { return 1 + rnd.IntN(9) }
		if try == 0 {
			size = func() int { return 1 }
		}
		if got := fmt.Sprint(s.inChunks(size)); got != want {
			t.Fatalf("cut otherwise: got\n%s\nwant\n%s", got, want)
		}
	}
	for _, p := range s.all() {
		want := fmt.Sprint(s.decode(s.New(), p))
		for cut := range len(p) {
			d := s.New()
			got := append(Decode(d, []byte(p[:cut]), []byte(p[cut:])), s.rest(d)...)
			if fmt.Sprint(got) != want {
				t.Fatalf("%q cut at %d: got\n%s\nwant\n%s", p, cut, got, want)
			}
		}
	}
}

// inChunks decodes all with each piece cut.
func (s Suite) inChunks(size func() int) (out []Emitted) {
	d := s.New()
	for _, p := range s.all() {
		out = append(out, Decode(d, Cut([]byte(p), size)...)...)
		out = append(out, s.rest(d)...)
	}
	return out
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
			got := s.decode(s.New(), b.Bytes, g.Bytes)
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
	if got := s.decode(d, s.End, s.Good[0].Bytes); len(got) != 1 || got[0].Err != nil {
		t.Errorf("good frame after noise and an end: got %v", got)
	}
}

// control puts bytes that do things to terminals in every place of every frame:
// no error's words have one, and neither has a channel.
func (s Suite) control(t *testing.T) {
	evil := []string{"\x1b[2J", "\x1b]0;x\a", "\x9b31m", "\x00", "\b\b\b", "\x7f", "\u202e", "\u0085", "\xff\xfe", "\r\x1b[A", "\n\x1bc"}
	frames := []string{s.Half}
	for _, g := range s.Good {
		frames = append(frames, g.Bytes)
	}
	for _, b := range s.Bad {
		frames = append(frames, b.Bytes)
	}
	for _, f := range frames {
		for at := range len(f) + 1 {
			for _, e := range evil {
				d := s.New()
				got := append(Decode(d, []byte(f[:at]+e+f[at:])), tick(d, 0, s.HalfLine+40*time.Millisecond)...)
				for _, e := range got {
					if e.Err == nil && strings.ContainsFunc(e.Frame.Channel, unprintable) {
						t.Errorf("channel %q", e.Frame.Channel)
					}
					if e.Err != nil {
						if err := checkBad(e); err != nil {
							t.Error(err)
						}
					}
				}
			}
		}
	}
}

func unprintable(r rune) bool { return r < ' ' || r > '~' }

// Fuzz checks on any bytes: no panic, frames within bounds, the same frames
// however the bytes are cut, and a good frame found once an end has come.
func Fuzz(f *testing.F, s Suite) {
	f.Helper()
	f.Add([]byte(strings.Join(s.all(), "")), []byte{1, 2, 3})
	for _, b := range s.Bad {
		f.Add([]byte(b.Bytes), []byte{1})
	}
	f.Fuzz(func(t *testing.T, data, sizes []byte) {
		whole := s.withGood(t, data, len(data)+1)
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
		if got := s.withGood(t, data, 1, sizes...); fmt.Sprint(got) != fmt.Sprint(whole) {
			t.Fatalf("cut otherwise: got\n%v\nwant\n%v", got, whole)
		}
	})
}

// withGood decodes bytes in chunks, then an end or a gap, then a good frame,
// which must be found.
func (s Suite) withGood(t *testing.T, data []byte, size int, sizes ...byte) []Emitted {
	d, i := s.New(), 0
	chunks := Cut(data, func() int {
		if len(sizes) == 0 {
			return size
		}
		i++
		return int(sizes[i%len(sizes)])
	})
	out := append(Decode(d, chunks...), s.decode(d, s.End, s.Good[0].Bytes)...)
	if last := out[len(out)-1]; last.Err != nil || last.Frame.Value.String() != s.Good[0].Value {
		t.Fatalf("the good frame at the end was read as %v", last)
	}
	return out
}
