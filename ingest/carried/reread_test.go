package carried

import (
	"testing"

	"shimwright/devices/decodertest"
	"shimwright/ingest/fact"
)

// Of every form known here each good frame is read again as it was read first,
// and no bad one becomes a reading.
func TestReread(t *testing.T) {
	for _, f := range decodertest.All() {
		form := fact.FormOf(f.Profile, "")
		for _, g := range f.Good {
			got, err := Reread(form, []byte(g.Bytes))
			want := Reading{Value: g.Value, Stated: g.UnitStated, Battery: g.Battery, Channel: g.Channel}
			if err != nil || got != want {
				t.Errorf("%s: %q is %+v, %v; want %+v", f.Name, g.Bytes, got, err, want)
			}
		}
		for _, b := range f.Bad {
			if got, err := Reread(form, []byte(b.Bytes)); err != nil || got.Bad == "" || got.Value != "" {
				t.Errorf("%s: %q is %+v, %v", f.Name, b.Bytes, got, err)
			}
		}
		two := f.Good[0].Bytes + f.Good[0].Bytes
		if got, err := Reread(form, []byte(two)); err != nil || got.Bad == "" {
			t.Errorf("%s: two frames are %+v, %v", f.Name, got, err)
		}
		if got, err := Reread(form, nil); err != nil || got.Bad == "" {
			t.Errorf("%s: nothing is %+v, %v", f.Name, got, err)
		}
	}
	if _, err := Reread(fact.Form{}, nil); err == nil {
		t.Error("no form reads")
	}
}
