package benchfile

import (
	"errors"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"shimwright/calc/document"
	"shimwright/calc/quantity"
	"shimwright/calc/ring"
	"shimwright/devices"
	"shimwright/devices/kinds"
	"shimwright/devices/port"
	"shimwright/ingest/bench"
	"shimwright/ingest/metrics"
	"shimwright/ingest/relay/shop"
)

var update = flag.Bool("update", false, "write the golden file anew")

func read(t testing.TB, path string) (*File, error) {
	t.Helper()
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return Read(filepath.Base(path), "/bays", text)
}

// exactly compares values by what they print.
func exactly() cmp.Option {
	return cmp.Comparer(func(a, b quantity.Value) bool { return a.String() == b.String() })
}

func TestGood(t *testing.T) {
	f, err := read(t, "testdata/good.yaml")
	if err != nil {
		t.Fatal(err)
	}
	if f.Name != "bay 2" || f.Journal != "/bays/bay2.journal" || f.Rule != ring.Simple || f.Windows.Double != 800*time.Millisecond || f.Quiet != 20*time.Minute ||
		f.Windows.Idle != 25*time.Minute || f.Windows.Seated != 8*time.Minute ||
		len(f.Pieces) != 2 || len(f.Trays["shims"]) != 1 || strings.Join(f.Sheets, " ") != "rd3 other/sheet.yaml" {
		t.Errorf("got %+v", f)
	}
	if d := cmp.Diff(&shop.Address{Server: "db.shop.example", Port: 5433, Database: "shimwright", User: "bay2", PasswordFile: "/bays/bay2.password", Authority: "/etc/shop-ca.pem"}, f.Relay); d != "" {
		t.Error(d)
	}
	if m := f.Metrics; m == nil || *m != (metrics.Listener{Address: "0.0.0.0:9464", WebConfig: "/bays/web.yaml", WithoutTLS: true}) {
		t.Errorf("metrics: %+v", m)
	}
	limit, _ := quantity.ParseWithUnit("0.02 mm")
	usb := func(s string) port.Find { return port.Find{USBSerial: s} }
	want := []bench.Gauge{
		{ID: "D07", Limit: &limit, Find: usb("A10K3")},
		{ID: "D08", CountsIn: true, Find: port.Find{Path: "/bays/virtual/D08"}},
		{ID: "D09", Find: port.Find{Path: "/dev/serial/by-path/pci-1"}},
		{ID: "D10", Find: usb("M77"), Channel: "3"},
		{ID: "D11", Find: usb("M77"), Channel: "1"},
		{ID: "D12", Find: usb("M78"), Channel: "1"},
		{ID: "D13", Find: usb("P1")},
	}
	for i, g := range f.Gauges {
		if err := g.Profile.Validate(); err != nil {
			t.Errorf("%s: %v", g.ID, err)
		}
		g.Profile, g.Kind = devices.Profile{}, ""
		f.Gauges[i] = g
	}
	if d := cmp.Diff(want, f.Gauges, exactly()); d != "" {
		t.Error(d)
	}
}

// with is the usual profile, changed.
func with(change func(*devices.Profile)) devices.Profile {
	p := devices.Defaults()
	p.Parts, p.Assume = []devices.Part{devices.Sign{}, devices.Figure{}}, quantity.MM
	change(&p)
	return p
}

// Each item of a profile is read to what it says.
func TestProfiles(t *testing.T) {
	text, err := os.ReadFile("testdata/good.yaml")
	if err != nil {
		t.Fatal(err)
	}
	line := func(s string) devices.Line { l, _ := devices.ParseLine(s); return l }
	signed := []devices.Part{devices.Sign{Required: true}, devices.Figure{Digits: 5, Places: new(2)}}
	for name, want := range map[string]devices.Profile{
		"plain": with(func(*devices.Profile) {}),
		"all of it": with(func(p *devices.Profile) {
			p.Line, p.End, p.Assume, p.RaiseRTS = line("4800 7E2"), devices.LF, quantity.Inch, false
			p.NoNumber, p.Overrange, p.Longest = []string{"-----", "Over"}, 5, 64
			p.HalfLine, p.Settle = 400*time.Millisecond, time.Second
			p.Parts = []devices.Part{
				devices.Literal{Text: " T"}, devices.Skip{Count: 4}, devices.Sign{Blank: true},
				devices.Figure{Comma: true, Digits: 6, Places: new(3), Padded: true},
				devices.UnitWord{Words: map[string]quantity.Unit{"mm": quantity.MM, "in": quantity.Inch}, Optional: true},
				devices.Flags{Letters: map[string]devices.Flag{"B": devices.FlagBattery, "H": devices.FlagNothing}},
			}
		}),
		"asked": with(func(p *devices.Profile) {
			p.Kind, p.Line, p.Parts = devices.AskedLine, line("4800 7E1"), signed
			p.Ask = devices.Asking{Prompt: "R\r", Timeout: 700 * time.Millisecond, Retries: 3}
		}),
		"asked plainly": with(func(p *devices.Profile) {
			p.Kind, p.Line, p.Parts = devices.AskedLine, line("4800 7E1"), []devices.Part{devices.Figure{}}
			p.Ask = devices.Asking{Prompt: "?", Timeout: 500 * time.Millisecond, Retries: 2}
			p.RaiseDTR, p.RaiseRTS = false, false
		}),
		"four channels": with(func(p *devices.Profile) {
			p.End, p.Assume = devices.CRLF, quantity.Bare
			p.Parts = []devices.Part{
				devices.Channel{Width: 1},
				devices.Code{Words: map[string]devices.CodeMeaning{"QR": devices.CodeReading, "Q ": devices.CodeAbsent}},
				devices.Sign{Required: true}, devices.Figure{Digits: 8, Places: new(2)},
				devices.UnitWord{Words: map[string]quantity.Unit{"M": quantity.MM, "I": quantity.Inch}},
			}
		}),
		"lettered channels": with(func(p *devices.Profile) {
			p.Line = line("19200 8N1")
			p.Parts = append([]devices.Part{devices.Channel{Width: 2, Letters: true}, devices.Literal{Text: ":"}}, p.Parts...)
		}),
		"no end": with(func(p *devices.Profile) {
			p.Line, p.Parts = line("4800 7E2"), signed
			p.End, p.Length, p.Gap = devices.NoEnd, 7, 120*time.Millisecond
		}),
		"packed": with(func(p *devices.Profile) {
			p.Kind, p.Packing, p.Assume, p.Parts = devices.PackedDecimal, devices.InBytes, quantity.Bare, nil
			p.End, p.Gap = devices.NoEnd, 100*time.Millisecond
		}),
		"packed in text": with(func(p *devices.Profile) {
			p.Kind, p.Packing, p.Assume, p.Parts = devices.PackedDecimal, devices.InHex, quantity.Bare, nil
		}),
	} {
		t.Run(name, func(t *testing.T) {
			top, doc, err := document.Parse("good.yaml", text)
			if err != nil {
				t.Fatal(err)
			}
			r := &reader{source: newSource(text)}
			for _, p := range top.Fields().Get("profiles").Fields().All() {
				if p.Key != name {
					continue
				}
				got := r.profile(p)
				if d := cmp.Diff(want, got.Profile); d != "" || got.broken || doc.Err() != nil {
					t.Errorf("%v\n%s", doc.Err(), d)
				}
				if d, err := kinds.Decoder(got.Profile); err != nil || d == nil {
					t.Errorf("no decoder: %v", err)
				}
				return
			}
			t.Error("the file has no such profile")
		})
	}
}

// What is refused is refused at its place, with what to write instead; nothing
// that a file holds reaches a terminal raw.
func TestRefused(t *testing.T) {
	paths, err := filepath.Glob("testdata/refused/*.yaml")
	if err != nil || len(paths) < 50 {
		t.Fatalf("%d files, %v", len(paths), err)
	}
	var out strings.Builder
	for _, path := range paths {
		_, err := read(t, path)
		var fault *document.Fault
		if !errors.As(err, &fault) || fault.Line < 1 || fault.Column < 1 {
			t.Errorf("%s: want a fault at its place, got %v", path, err)
			continue
		}
		if !printable(err.Error()) {
			t.Errorf("%s: %q", path, err.Error())
		}
		fmt.Fprintf(&out, "%s\n", err)
	}
	const golden = "testdata/refused.golden"
	if *update {
		if err := os.WriteFile(golden, []byte(out.String()), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(golden)
	if err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(string(want), out.String()); d != "" {
		t.Error(d)
	}
}

func printable(s string) bool {
	for _, r := range s {
		if r != '\n' && (r < ' ' || r == 0x7f || r >= 0x80 && r < 0xa0) {
			return false
		}
	}
	return true
}

// FuzzRead: any text is read to a bench whose profiles can all be decoded, or
// refused with places, in words that do nothing to a terminal.
func FuzzRead(f *testing.F) {
	paths, err := filepath.Glob("testdata/*/*.yaml")
	if err != nil {
		f.Fatal(err)
	}
	for _, path := range append(paths, "testdata/good.yaml") {
		text, err := os.ReadFile(path)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		got, err := Read("x.yaml", "/bays", text)
		if err != nil {
			var fault *document.Fault
			if !errors.As(err, &fault) || fault.Line < 1 || fault.Column < 1 {
				t.Fatalf("no place: %v", err)
			}
			if !printable(err.Error()) {
				t.Fatalf("%q", err.Error())
			}
			return
		}
		seen := map[string]bool{}
		for _, g := range got.Gauges {
			if _, err := kinds.Decoder(g.Profile); err != nil {
				t.Fatalf("gauge %s: %v", g.ID, err)
			}
			on := fmt.Sprint(g.Find, g.Channel)
			if _, ok := g.Profile.Channel(); ok != (g.Channel != "") || seen[on] {
				t.Fatalf("gauge %s is on %s", g.ID, on)
			}
			seen[on] = true
		}
	})
}
