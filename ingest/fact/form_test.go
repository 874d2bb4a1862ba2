package fact

import (
	"encoding/json"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"shimwright/devices"
	"shimwright/devices/decodertest"
	"shimwright/devices/kinds"
)

// everyPart is a form with every part and every field, as one that is stored.
func everyPart() *Form {
	places := 2
	return &Form{Kind: "text line when asked", Packing: "bytes", Parts: []FormPart{
		{Part: "literal", Text: []byte("\x02R")}, {Part: "skip", Width: 3}, {Part: "channel", Width: 2, Letters: true},
		{Part: "code", Words: map[string]string{"QR": "reading", "QX": "absent"}}, {Part: "sign", Required: true, Blank: true},
		{Part: "figure", Comma: true, Width: 8, Places: &places, Padded: true},
		{Part: "unit", Words: map[string]string{"mm": "mm", "\"": "in"}, Optional: true}, {Part: "flags", Words: map[string]string{"B": "battery low", "x": "nothing"}},
	}, End: "none", Length: 14, Gap: 100 * time.Millisecond, Assume: "mm", NoNumber: []string{"---"}, Overrange: 4, Longest: 64, HalfLine: 250 * time.Millisecond, Channel: "AB"}
}

// Of every form of gauge known here, what a job keeps reads the same bytes as the
// profile does, once it was stored and read.
func TestFormReadsAsTheProfileDoes(t *testing.T) {
	for _, known := range decodertest.All() {
		b, err := json.Marshal(FormOf(known.Profile, ""))
		if err != nil {
			t.Fatal(err)
		}
		var kept Form
		if err := json.Unmarshal(b, &kept); err != nil {
			t.Fatal(err)
		}
		again, err := kept.Profile()
		if err != nil {
			t.Errorf("%s: %v", known.Name, err)
			continue
		}
		reads := known.Profile
		if reads.Kind == devices.AskedLine {
			reads.Kind = devices.TextLine
		}
		if diff := cmp.Diff(reads, again, cmpopts.EquateEmpty(), cmpopts.IgnoreFields(devices.Profile{}, "Line", "RaiseDTR", "RaiseRTS", "Ask", "Settle")); diff != "" {
			t.Errorf("%s comes back changed:\n%s", known.Name, diff)
		}
		want, wantErr := kinds.Decoder(known.Profile)
		got, gotErr := kinds.Decoder(again)
		if wantErr != nil || gotErr != nil {
			t.Fatal(wantErr, gotErr)
		}
		for _, g := range known.Good {
			a, b := decodertest.Decode(want, []byte(g.Bytes)), decodertest.Decode(got, []byte(g.Bytes))
			if len(a) != 1 || len(b) != 1 || a[0].Frame.Value.String() != b[0].Frame.Value.String() || a[0].Frame.Channel != b[0].Frame.Channel {
				t.Errorf("%s: %q is read as %+v, and was as %+v", known.Name, g.Bytes, b, a)
			}
		}
	}
}

func TestFormRefused(t *testing.T) {
	for want, change := range map[string]func(*Form){
		"no part of a line":         func(f *Form) { f.Parts[0].Part = "loop" },
		"is not a unit known":       func(f *Form) { f.Assume = "ell" },
		"has a meaning that is not": func(f *Form) { f.Parts[3].Words["QR"] = "perhaps" },
		"is not a kind known here":  func(f *Form) { f.Kind = "smoke" },
	} {
		f := everyPart()
		change(f)
		if _, err := f.Profile(); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%v, want %q", err, want)
		}
	}
}
