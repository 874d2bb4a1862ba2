package kinds

import (
	"testing"

	"shimwright/devices"
	"shimwright/devices/decodertest"
)

// Every kind that a profile may name has both halves, and nothing else has.
func TestAll(t *testing.T) {
	kinds := devices.Kinds()
	if len(All()) != len(kinds) {
		t.Fatalf("%d codecs for %d kinds", len(All()), len(kinds))
	}
	for i, c := range All() {
		if c.Kind != kinds[i] || c.Decoder == nil || c.Encoder == nil {
			t.Errorf("codec %d is %+v, want one for %q", i, c, kinds[i])
		}
	}
}

func TestMake(t *testing.T) {
	for _, f := range decodertest.Forms() {
		if d, err := Decoder(f.Profile); err != nil || d == nil {
			t.Errorf("%s: %v", f.Name, err)
		}
		if e, err := Encoder(f.Profile); err != nil || e == nil {
			t.Errorf("%s: %v", f.Name, err)
		}
	}
	if d, err := Decoder(devices.Profile{}); err == nil || d != nil {
		t.Errorf("an empty profile made %v, %v", d, err)
	}
	if e, err := Encoder(devices.Profile{}); err == nil || e != nil {
		t.Errorf("an empty profile made %v, %v", e, err)
	}
}
