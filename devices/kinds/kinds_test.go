package kinds

import (
	"strings"
	"testing"

	"shimwright/calc/quantity"
	"shimwright/devices"
	"shimwright/devices/decodertest"
)

// Every kind that a profile may name has both halves and a form to try it
// with, and nothing else has.
func TestAll(t *testing.T) {
	kinds := devices.Kinds()
	if len(All()) != len(kinds) {
		t.Fatalf("%d codecs for %d kinds", len(All()), len(kinds))
	}
	forms := map[devices.Kind]int{}
	for _, f := range decodertest.All() {
		forms[f.Profile.Kind]++
	}
	for i, c := range All() {
		if c.Kind != kinds[i] || c.Decoder == nil || c.Encoder == nil || forms[c.Kind] == 0 {
			t.Errorf("codec %d is %+v with %d forms, want one for %q", i, c, forms[c.Kind], kinds[i])
		}
	}
}

func TestMake(t *testing.T) {
	for _, f := range decodertest.All() {
		if d, err := Decoder(f.Profile); err != nil || d == nil {
			t.Errorf("%s: %v", f.Name, err)
		}
		e, err := Encoder(f.Profile)
		if err != nil || e == nil {
			t.Errorf("%s: %v", f.Name, err)
		}
		if _, ok := e.(devices.ChannelEncoder); !ok {
			if _, has := f.Profile.Channel(); has {
				t.Errorf("%s: has channels, and its encoder cannot say one", f.Name)
			}
		}
	}
	if d, err := Decoder(devices.Profile{}); err == nil || d != nil {
		t.Errorf("an empty profile made %v, %v", d, err)
	}
	if e, err := Encoder(devices.Profile{}); err == nil || e != nil {
		t.Errorf("an empty profile made %v, %v", e, err)
	}
}

func decode(t *testing.T, p devices.Profile, line []byte) decodertest.Emitted {
	t.Helper()
	d, err := Decoder(p)
	if err != nil {
		t.Fatal(err)
	}
	got := decodertest.Decode(d, line)
	if len(got) != 1 {
		t.Fatalf("%q: want one frame, got %v", line, got)
	}
	return got[0]
}

// What the virtual half of a form writes for each of its values, the other
// half reads back: digits, unit, flag and channel.
func TestThereAndBack(t *testing.T) {
	for _, f := range decodertest.All() {
		e, err := Encoder(f.Profile)
		if err != nil {
			t.Fatal(err)
		}
		written := 0
		for _, g := range f.Good {
			v, err := quantity.ParseWithUnit(g.Value)
			if err != nil {
				t.Fatal(err)
			}
			var line []byte
			if g.Channel != "" {
				line, err = e.(devices.ChannelEncoder).EncodeChannel(g.Channel, v, g.Battery)
			} else {
				line, err = e.Encode(v, g.Battery)
			}
			if err != nil {
				t.Errorf("%s: %v", f.Name, err)
				continue
			}
			got := decode(t, f.Profile, line)
			if got.Err != nil || got.Frame.Value.String() != g.Value || got.Frame.Channel != g.Channel || got.Frame.Battery != g.Battery {
				t.Errorf("%s: %s was written %q and read as %v", f.Name, g.Value, line, got)
			}
			written++
		}
		if written == 0 {
			t.Errorf("%s: nothing was written", f.Name)
		}
	}
}

// A channel without a gauge is told by its code, whatever the figure.
func TestAbsent(t *testing.T) {
	n := 0
	for _, f := range decodertest.All() {
		e, err := Encoder(f.Profile)
		if err != nil {
			t.Fatal(err)
		}
		c, ok := e.(devices.ChannelEncoder)
		if !ok || f.Good[0].Channel == "" {
			continue
		}
		n++
		channel := f.Good[0].Channel
		line, err := c.EncodeAbsent(channel)
		if err != nil {
			t.Fatal(err)
		}
		if !strings.Contains(string(line), "99") {
			t.Errorf("%s: %q has no plausible figure", f.Name, line)
		}
		got := decode(t, f.Profile, line)
		if fe, ok := got.Err.(*devices.FrameError); !ok || fe.Reason != devices.Absent {
			t.Errorf("%s: %q was read as %v", f.Name, line, got)
		}
	}
	if n < 3 {
		t.Errorf("only %d forms have channels", n)
	}
}

func TestChannelRefusals(t *testing.T) {
	v, _ := quantity.ParseWithUnit("33.38 mm")
	encoder := func(name string) devices.ChannelEncoder {
		e, err := Encoder(decodertest.Named(name).Profile)
		if err != nil {
			t.Fatal(err)
		}
		return e.(devices.ChannelEncoder)
	}
	many, one := encoder("channel digit and kind code"), encoder("bare figure")
	uncoded := decodertest.Named("channel digit and kind code").Profile
	uncoded.Parts = append([]devices.Part{uncoded.Parts[0]}, uncoded.Parts[2:]...)
	plain, err := Encoder(uncoded)
	if err != nil {
		t.Fatal(err)
	}
	for name, c := range map[string]struct {
		say  func() ([]byte, error)
		want string
	}{
		"no channel":  {func() ([]byte, error) { return many.Encode(v, false) }, "give one"},
		"wrong":       {func() ([]byte, error) { return many.EncodeChannel("33", v, false) }, "write 1 digit"},
		"none at all": {func() ([]byte, error) { return one.EncodeChannel("3", v, false) }, "has no channels"},
		"absent":      {func() ([]byte, error) { return one.EncodeAbsent("3") }, "has no channels"},
		"no code":     {func() ([]byte, error) { return plain.(devices.ChannelEncoder).EncodeAbsent("3") }, "no code"},
	} {
		if line, err := c.say(); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: want %q, got %q, %v", name, c.want, line, err)
		}
	}
}
