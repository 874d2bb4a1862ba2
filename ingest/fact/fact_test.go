package fact

import (
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"shimwright/calc/quantity"
	"shimwright/devices"
	"shimwright/ingest/journal"
)

var update = flag.Bool("update", false, "write the golden forms of kinds that have none yet")

func figure(s string) quantity.Value {
	var v quantity.Value
	if err := v.UnmarshalText([]byte(s)); err != nil {
		panic(err)
	}
	return v
}

func pointer(s string) *quantity.Value {
	v := figure(s)
	return &v
}

// samples has two of each kind: with every field set, and the least that the
// bench writes. Names are those of the golden files.
func samples() map[string]Fact {
	arrived := time.Date(2026, 2, 3, 14, 2, 11, 123456789, time.UTC)
	return map[string]Fact{
		"opened": Opened{Drive: "Corrie RD3 right-angle drive", Serial: "№ 17 <&>", Sheet: "rd3", Issue: 2,
			Digest: strings.Repeat("0f", 32), Text: "sheet: rd3\n# Größe ±\n", Rule: "guarded"},
		"offered":      Offered{Trays: map[string][]Leaf{"shims": {{figure("1.00 mm"), 4}, {figure("3 thou"), 0}}, "empty": nil}},
		"offered none": Offered{},
		"drew":         Drew{Standard: "tall post", Piece: "S-31", Size: figure("75.004 mm")},
		"drew certified": Drew{Standard: "straightedge", Piece: "E-02", Size: figure("12.006 mm"),
			Uncertainty: pointer("0.002 mm"), K: pointer("2")},
		"pressed with limit": Pressed{Step: "pinion head", Gauge: "M02", GaugeKind: "micrometer", Limit: pointer("0.004 mm"),
			Value: pointer("42.37 mm"), Arrived: arrived, Source: devices.SourceGauge, Outcome: Taken, Sentence: "taken."},
		"pressed": Pressed{Step: "backlash", Spot: "90 deg", Gauge: "I03", GaugeKind: "dial indicator", CountsIn: true,
			Value: pointer("-0.070 mm"), UnitStated: true, Battery: true, Raw: []byte("-0.070mmB\r\xff\x00"), Arrived: arrived,
			Source: devices.SourceVirtual, Pieces: []string{"S-31", "E-02"}, Outcome: Held,
			Sentence: "kept.", Do: "Press again.", Reason: "no cable"},
		"pressed least": Pressed{Gauge: "D07", Arrived: arrived, Source: devices.SourceGauge, Outcome: Aside, Sentence: "No number from D07."},
		"pressed with cause": Pressed{Step: "backlash", Gauge: "I03", GaugeKind: "dial indicator", Value: pointer("55 mm"), Arrived: arrived,
			Source: devices.SourceGauge, Outcome: Held, Cause: OutOfWindow, Sentence: "55 mm misses it."},
		"pressed bare":  Pressed{Gauge: "keyed", Value: pointer("8"), Arrived: arrived, Source: devices.SourceKeyed, Outcome: Taken},
		"held back":     HeldBack{Press: 1 << 60, Sentence: "which is right?"},
		"took":          Took{Press: 12, Reason: "the foot was on the face"},
		"struck":        Struck{Press: 13, Reason: "the foot slipped"},
		"packs in":      PacksIn{Step: "overall height", In: map[string]bool{"wheel pack": false, "closing pack": true}},
		"marked":        Marked{Step: "pinion distance", Digits: pointer("8 0.01 mm"), Sentence: "0.080 mm FARTHER"},
		"marked figure": Marked{Step: "pinion distance", Figure: pointer("150.08 mm"), Sentence: "150.08 mm"},
		"marked absent": Marked{Step: "casing distance", Absent: true, Sentence: "no mark"},
		"answered":      Answered{Step: "pinion bearings", Answer: "new"},
		"confirmed":     Confirmed{Step: "turned by hand"},
		"fitted":        Fitted{Step: "pinion pack", Leaves: []quantity.Value{figure("1.00 mm"), figure("0.30 mm")}, Measured: []quantity.Value{figure("1.352 mm")}},
		"fitted leaves": Fitted{Step: "pinion pack", Leaves: []quantity.Value{figure("50 thou")}},
		"changed":       Changed{Step: "pinion spacer", Lengths: []string{"pinion spacer", "casing depth"}, Reason: "bearing reseated"},
		"seen":          Seen{Step: "contact marking", Marks: map[string]string{"drive": "central", "coast": "high"}},
		"move wanted":   MoveWanted{Step: "backlash", Gear: "wheel", By: figure("-0.20 mm")},
		"again":         Again{Step: "pinion head", Reason: "a burr"},
		"judged": Judged{Step: "backlash", What: "backlash", Verdict: "good", Words: "0.21 mm is good", Value: "0.21", Low: "0.15", High: "0.25",
			Uncertainty: "0.01", Mean: "631/3000", Spread: "0.02", Points: []string{"0 deg 0.21", "90 deg 0.20"},
			Build: 4, Training: true, Digest: strings.Repeat("a0", 32), Program: "1.0"},
		"judged advised": Judged{Step: "backlash", What: "backlash", Verdict: "out", Words: "0.35 mm is out", Advice: "wheel TOWARD by 0.15 mm", Build: 3},
		"bound":          Bound{USBSerial: "A10K3", Channel: "3", Raw: []byte("3+33.38mm\r"), Arrived: arrived, Source: devices.SourceGauge},
		"bound by socket": Bound{Path: "/dev/serial/by-path/pci-0000:00:14.0-usb-0:2:1.0-port0", Raw: []byte("33.38\r"), Arrived: arrived,
			Source: devices.SourceGauge},
		"bound by swap": Bound{USBSerial: "B7", Arrived: arrived, Source: devices.SourceVirtual},
		"looked":        Looked{Unit: "mm", Stated: true, Places: 2, Low: pointer("-0.02 mm"), High: pointer("150.10 mm")},
		"looked again":  Looked{Unit: "in", Places: 4, Press: 41, Reason: "its unit key was pressed"},
		"judged pack":   Judged{Step: "pinion pack", What: "pack", Verdict: "good", Build: 2},
		"joined":        Joined{Name: "Zoë Ångström", Roles: []Role{Fitter, SecondPerson, Lead, GaugeKeeper}, By: Signature{"RK", ByPIN}},
		"joined least":  Joined{Name: "R. K."},
		"PIN set":       PINSet{Hash: "$2a$04$abcdefghijklmnopqrstuuGUR8l4c0hRCtYNIjTq2uvEmXWkPOQ8K", By: Signature{"RK", ByPIN}},
		"PIN set none":  PINSet{},
		"left":          Left{By: Signature{"RK", ByInitials}},
		"left least":    Left{},
		"certified": Certified{Standard: "tall posts", Size: figure("75.004 mm"), Uncertainty: pointer("0.002 mm"), K: pointer("2"),
			Certificate: Certificate{Number: "C-1177", Dated: Day{2026, 2, 3}, Due: Day{2027, 2, 28}, Digest: strings.Repeat("5e", 32)},
			By:          Signature{"GK", ByPIN}},
		"certified from file": Certified{Size: figure("12.006 mm"), FromFile: true},
		"gauge certified": GaugeCertified{GaugeKind: "depth gauge", Limit: pointer("0.02 mm"),
			Certificate: Certificate{Number: "G-9", Dated: Day{2026, 1, 31}, Due: Day{2026, 7, 31}}, By: Signature{"GK", ByPIN}},
		"gauge certified from file": GaugeCertified{GaugeKind: "spring balance", FromFile: true},
		"withdrawn":                 Withdrawn{Reason: "dropped on the floor", By: Signature{"GK", ByPIN}},
		"withdrawn least":           Withdrawn{Reason: "lost"},
		"checked": Checked{Piece: "S-31", Size: figure("75.004 mm"), Reading: figure("75.01 mm"), Raw: []byte("75.01\r"), Arrived: arrived,
			Source: devices.SourceGauge, By: Signature{"AB", ByInitials}},
		"checked least": Checked{Piece: "S-31", Size: figure("2.0000 in"), Reading: figure("2.0005 in"), Arrived: arrived, Source: devices.SourceKeyed},
		"zero checked": ZeroChecked{Reading: figure("-0.01 mm"), Raw: []byte("-0.01\r"), Arrived: arrived, Source: devices.SourceGauge,
			By: Signature{"AB", ByPIN}},
		"zero checked least": ZeroChecked{Reading: figure("0.00 mm"), Arrived: arrived, Source: devices.SourceVirtual},
		"counted": Counted{Leaves: []Heap{{figure("0.30 mm"), pointer("0.298 mm"), 12}, {figure("3 thou"), nil, 0}}, All: true,
			By: Signature{"AB", ByInitials}},
		"counted from file":      Counted{Leaves: []Heap{{figure("1.00 mm"), nil, 10}}, FromFile: true},
		"received":               Received{Leaves: []Heap{{figure("0.05 mm"), nil, 20}}, By: Signature{"AB", ByInitials}},
		"received least":         Received{Leaves: []Heap{{figure("0.05 mm"), nil, 1}}},
		"taken out":              TakenOut{Job: "0017", Step: "pinion pack", Leaves: []Heap{{figure("1.00 mm"), nil, 1}, {figure("0.30 mm"), nil, 1}}},
		"put back":               PutBack{Job: "0017", Step: "pinion pack", Leaves: []Heap{{figure("1.00 mm"), nil, 1}}},
		"low limit":              LowLimit{Size: figure("0.30 mm"), Count: 4, By: Signature{"AB", ByInitials}},
		"took on pieces":         Took{Press: 12, Reason: "S-31 stood there", Pieces: []string{"S-31", "E-02"}},
		"judged after a re-shim": Judged{Step: "backlash", What: "backlash", Verdict: "good", Words: "0.22 mm is good", Mean: "0.22", Moved: "-0.15", Changed: "-0.12", Build: 5},
		"clock set":              ClockSet{After: 41, By: "-8760h0m0s"},
		"zeroed": Zeroed{Gauge: "D07", Step: "pinion face height", Pieces: []string{"S-31"}, Reading: figure("0.05 mm"), Good: true,
			Sentence: "ZERO MOVED: D07 shows 0.05 mm.", Do: "Look at its presses.", Doubts: []int64{12, 1 << 40}, Arrived: arrived},
		"zeroed least":    Zeroed{Gauge: "D07", Step: "pinion face height", Reading: figure("0.0000 in"), Sentence: "off", Arrived: arrived},
		"knocked":         Knocked{By: Signature{"AB", ByPIN}},
		"knocked least":   Knocked{},
		"need said":       NeedSaid{Step: "pinion face height", Need: "bearings rolled", At: arrived, By: Signature{"AB", ByInitials}},
		"need said least": NeedSaid{Step: "pinion face height", Need: "bearings seated", At: arrived},
		"let count":       LetCount{What: []string{"D07", "S-31"}, Reason: "the keeper extends it to Friday", By: Signature{"RK", ByPIN}},
		"let count least": LetCount{What: []string{"D07"}, Reason: "none other is there"},
		"pieces known": PiecesKnown{Pieces: []KnownPiece{{Piece: "S-31", Standard: "tall post", Size: figure("75.004 mm"), Uncertainty: pointer("0.002 mm"), K: pointer("2")},
			{Piece: "E-02", Size: figure("12.006 mm")}}},
		"gauge known": GaugeKnown{Gauge: "D07", Corrections: []CorrectionPoint{{figure("0.00 mm"), figure("0.000 mm")}, {figure("50.00 mm"), figure("-0.005 mm")}},
			Uncertainty: pointer("0.004 mm"), K: pointer("2"), Checks: []DayCheck{{Day{2025, 3, 3}, figure("25.001 mm"), figure("25.00 mm")}}},
		"gauge known least": GaugeKnown{Gauge: "D07"},
		"warmth":            Warmth{Part: "26.0 °C ± 0.5 °C", Standards: "21.5 °C", Gauge: "79 °F"},
		"warmth least":      Warmth{Part: "26.0 °C", Standards: "21.5 °C"},
		"earlier": Earlier{Step: "backlash", Moves: []EarlierMove{{Job: "0007", Moved: "-0.15", Changed: "-0.12", Uncertainty: "0.01"},
			{Job: "0009", Moved: "0.1", Changed: "1/12"}}},
		"seal pulled":         SealPulled{Step: "pinion turning torque", With: figure("40.0 N"), Without: figure("36.0 N")},
		"setting asked":       SettingAsked{Step: "closing pack", Setting: figure("0.05 mm"), Against: "wheel-back side"},
		"setting asked least": SettingAsked{Step: "closing pack", Setting: figure("-0.12 mm")},
		"drew on paper": Drew{Standard: "tall post", Piece: "S-31", Size: figure("75.004 mm"), Uncertainty: pointer("0.002 mm"), K: pointer("2"),
			Certificate: Certificate{Number: "2291-04", Dated: Day{2026, 3, 1}, Due: Day{2027, 3, 1}, Digest: strings.Repeat("5e", 32)}},
		"gauge known on paper": GaugeKnown{Gauge: "D07", Certificate: Certificate{Number: "G-9", Due: Day{2026, 7, 31}}, Form: everyPart()},
		"judged pack of leaves": Judged{Step: "pinion pack", What: "pack", Verdict: "good", Words: "fitted: right", Value: "0.002", Low: "-0.02", High: "0.02",
			Uncertainty: "0.011", Leaves: []string{"1.00 mm", "0.30 mm"}, Total: "1.302", Build: 2, Digest: strings.Repeat("a0", 32), Program: "1.1"},
		"low limit none": LowLimit{Size: figure("0.30 mm")},
		"opened training": Opened{Drive: "Corrie RD3", Serial: "17", Sheet: "rd3", Issue: 2, Digest: strings.Repeat("0f", 32),
			Text: "sheet: rd3\n", Rule: "guarded", Training: true},
		"took signed":     Took{Press: 12, Reason: "the foot was on the face", By: Signature{"AB", ByPIN}},
		"at work":         AtWork{By: Signature{"AB", ByInitials}},
		"chosen":          Chosen{},
		"on hold":         OnHold{Step: "backlash", Reason: "wait for the lead", By: Signature{"AB", ByPIN}},
		"on hold by rule": OnHold{Step: "wheel pair number", Reason: "the pair numbers differ", Rule: "pair numbers"},
		"on hold whole":   OnHold{Reason: "no parts"},
		"lifted":          Lifted{Hold: 41, Reason: "parts came", By: Signature{"RK", ByPIN}},
		"lifted least":    Lifted{Hold: 41, Reason: "the numbers are equal now"},
		"lifted by rule":  Lifted{Hold: 41, Reason: "the two are equal now", Rule: "pair numbers"},
		"conceded": Conceded{Step: "backlash", What: "backlash", Limit: "0.15 .. 0.25", Found: "lowest 0.14 mm: OUT LOW",
			Reason: "the customer was asked", By: Signature{"RK", ByPIN}},
		"looked over":     LookedOver{Press: 12, By: Signature{"CD", ByPIN}},
		"signed":          Signed{As: Lead, By: Signature{"RK", ByPIN}, Ends: true},
		"signed fitter":   Signed{As: Fitter, By: Signature{"AB", ByInitials}},
		"finished":        Finished{By: Signature{"AB", ByInitials}},
		"finished least":  Finished{},
		"abandoned":       Abandoned{Reason: "the casing is cracked", By: Signature{"RK", ByPIN}},
		"abandoned least": Abandoned{Reason: "opened by mistake"},
		"approved":        Approved{Issue: 2, Digest: strings.Repeat("a0", 32), Day: Day{2026, 2, 3}, By: Signature{"RK", ByPIN}},
	}
}

// kindOf is the kind that a sample's name begins with.
func kindOf(t *testing.T, name string) string {
	t.Helper()
	best := ""
	for r := range readers {
		if strings.HasPrefix(name, r.kind) && len(r.kind) > len(best) {
			best = r.kind
		}
	}
	if best == "" {
		t.Fatalf("%q begins with no kind", name)
	}
	return best
}

// exact compares figures as written, trailing noughts and unit included.
func exact() cmp.Option {
	return cmp.Comparer(func(a, b quantity.Value) bool { return a.String() == b.String() && a.Places() == b.Places() })
}

func TestThereAndBack(t *testing.T) {
	for name, f := range samples() {
		r, err := Encode("job/0001", f)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if r.Subject != "job/0001" || r.Kind != kindOf(t, name) || r.Version != Newest(r.Kind) {
			t.Errorf("%s was written as %s %s version %d", name, r.Subject, r.Kind, r.Version)
		}
		back, err := Decode(journal.Stored{Record: r, Seq: 7})
		if err != nil {
			t.Errorf("%s: %v", name, err)
		} else if diff := cmp.Diff(f, back, exact()); diff != "" {
			t.Errorf("%s came back changed (- written, + read):\n%s", name, diff)
		}
	}
}

// Every type with a Kind method has a reader, a sample and a kind of its own,
// and nothing else has.
func TestEveryKind(t *testing.T) {
	declared := declaredKinds(t)
	var read, sampled []string
	for r := range readers {
		f, err := r.read([]byte("{}"))
		if err != nil || f.Kind() != r.kind {
			t.Errorf("the reader of %q gives %T, of kind %q: %v", r.kind, f, f.Kind(), err)
		}
		read = append(read, r.kind)
	}
	for name := range samples() {
		sampled = append(sampled, kindOf(t, name))
	}
	slices.Sort(read)
	slices.Sort(sampled)
	if diff := cmp.Diff(declared, read); diff != "" {
		t.Errorf("kinds declared (-) and read (+):\n%s", diff)
	}
	if diff := cmp.Diff(declared, slices.Compact(sampled)); diff != "" {
		t.Errorf("kinds declared (-) and tried here (+):\n%s", diff)
	}
}

// Every field of every kind is set in some sample, so that no form goes untried.
func TestEveryField(t *testing.T) {
	tried := map[string]bool{}
	for _, f := range samples() {
		v := reflect.ValueOf(f)
		for i := range v.NumField() {
			name := v.Type().Name() + "." + v.Type().Field(i).Name
			tried[name] = tried[name] || !v.Field(i).IsZero()
		}
	}
	for name, set := range tried {
		if !set {
			t.Errorf("%s is set in no sample: add one of a new name, for the old ones stay as they are", name)
		}
	}
}

// declaredKinds are the strings that Kind methods of this package return.
func declaredKinds(t *testing.T) []string {
	t.Helper()
	files, err := filepath.Glob("*.go")
	if err != nil {
		t.Fatal(err)
	}
	var kinds []string
	for _, name := range files {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		file, err := parser.ParseFile(token.NewFileSet(), name, nil, 0)
		if err != nil {
			t.Fatal(err)
		}
		for _, d := range file.Decls {
			fn, ok := d.(*ast.FuncDecl)
			if !ok || fn.Recv == nil || fn.Name.Name != "Kind" {
				continue
			}
			kinds = append(kinds, returned(t, fn))
		}
	}
	slices.Sort(kinds)
	return kinds
}

func returned(t *testing.T, fn *ast.FuncDecl) string {
	t.Helper()
	if len(fn.Body.List) == 1 {
		if ret, ok := fn.Body.List[0].(*ast.ReturnStmt); ok && len(ret.Results) == 1 {
			if lit, ok := ret.Results[0].(*ast.BasicLit); ok && lit.Kind == token.STRING {
				return strings.Trim(lit.Value, `"`)
			}
		}
	}
	t.Fatal("a Kind method returns something other than one plain string")
	return ""
}

// What is stored must never change by accident: a golden file is written once
// and read for ever after. A changed form needs a new version, with the old one
// still read.
func TestGoldenForms(t *testing.T) {
	for name, f := range samples() {
		r, err := Encode("job/0001", f)
		if err != nil {
			t.Fatal(err)
		}
		version := map[string]int{"opened training": 2, "took signed": 2, "pressed with cause": 2, "drew on paper": 2, "gauge known on paper": 2, "judged pack of leaves": 3}[name]
		if version == 0 {
			version = 1 // it has no field that version 1 did not have
		}
		path := filepath.Join("testdata", fmt.Sprintf("v%d", version), strings.ReplaceAll(name, " ", "-")+".json")
		want, err := os.ReadFile(path)
		if errors.Is(err, os.ErrNotExist) && *update {
			if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
				t.Fatal(err)
			}
			if err := os.WriteFile(path, append(r.Payload, '\n'), 0o600); err != nil {
				t.Fatal(err)
			}
			continue
		}
		if err != nil {
			t.Fatalf("%v (run with -update to write the form of a new kind)", err)
		}
		if got := string(r.Payload) + "\n"; got != string(want) {
			t.Errorf("%s is stored as\n%sand was stored as\n%s", name, got, want)
		}
		back, err := Decode(journal.Stored{Record: journal.Record{Kind: f.Kind(), Version: version, Payload: want}})
		if err != nil {
			t.Errorf("%s: %v", path, err)
		} else if diff := cmp.Diff(f, back, exact()); diff != "" {
			t.Errorf("%s is read as something else:\n%s", path, diff)
		}
	}
}

func TestRefuses(t *testing.T) {
	for _, c := range []struct {
		name, kind, payload string
		version             int
		newer               bool
		words               string
	}{
		{"a newer version", "took", `{"press":1,"reason":"x"}`, Newest("took") + 1, true, `fact 9, "took" version 3: a newer program wrote it`},
		{"a newer kind", "loaned", `{}`, Version, true, `fact 9 is of kind "loaned": a newer program wrote it`},
		{"no kind", "", `{}`, Version, true, `kind ""`},
		{"an unknown key", "took", `{"press":1,"reason":"x","bye":"y"}`, Version, false, `no field "bye"`},
		{"an unknown key within", "offered", `{"trays":{"shims":[{"size":"1 mm","count":1,"colour":"x"}]}}`, Version, false, `no field "colour"`},
		{"nothing", "took", ``, Version, false, `fact 9, "took", cannot be read`},
		{"null", "took", `null`, Version, false, `cannot be read`},
		{"a list", "took", `[]`, Version, false, `cannot be read: a list stands here: write an object`},
		{"a text for a number", "took", `{"press":"1","reason":"x"}`, Version, false, `press: a text stands here: write a whole number`},
		{"half a fact", "took", `{"press":1,`, Version, false, `cannot be read`},
		{"more behind it", "took", `{"press":1,"reason":"x"}{"press":2}`, Version, false, `cannot be read`},
		{"rubbish behind it", "took", `{"press":1,"reason":"x"}]`, Version, false, `cannot be read`},
		{"a figure without digits", "pressed", `{"value":"NaN mm","source":"gauge"}`, Version, false, `cannot be read`},
		{"a figure of 12 digits", "pressed", `{"value":"123456789012 mm","source":"gauge"}`, Version, false, `cannot be read`},
		{"a number for a figure", "pressed", `{"value":33.38,"source":"gauge"}`, Version, false, `value: a number stands here: write a text`},
		{"an unknown source", "pressed", `{"source":"file"}`, Version, false, `cannot be read`},
	} {
		f, err := Decode(journal.Stored{Seq: 9, Record: journal.Record{Kind: c.kind, Version: c.version, Payload: []byte(c.payload)}})
		switch {
		case err == nil:
			t.Errorf("%s was read as %+v", c.name, f)
		case errors.Is(err, ErrNewer) != c.newer:
			t.Errorf("%s: ErrNewer is %v: %v", c.name, !c.newer, err)
		case !strings.Contains(err.Error(), c.words):
			t.Errorf("%s: want %q, got %v", c.name, c.words, err)
		}
	}
}

// A press whose driver did not say where it came from is not written.
func TestNoSource(t *testing.T) {
	if _, err := Encode("job/0001", Pressed{Gauge: "D07"}); err == nil || !strings.Contains(err.Error(), `fact "pressed" cannot be written`) {
		t.Errorf("a press without a source was written: %v", err)
	}
}

// Whatever is stored is read or refused, and what is read is written again as
// something that reads the same.
func FuzzDecode(f *testing.F) {
	for _, s := range samples() {
		b, err := json.Marshal(s)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(s.Kind(), 1, b)
	}
	f.Add("took", 2, []byte(`{}`))
	f.Add("took", 0, []byte(`null`))
	f.Fuzz(func(t *testing.T, kind string, version int, payload []byte) {
		first, err := Decode(journal.Stored{Record: journal.Record{Kind: kind, Version: version, Payload: payload}})
		if err != nil {
			return
		}
		if first.Kind() != kind || version > Newest(kind) {
			t.Fatalf("a %q of version %d was read as %q", kind, version, first.Kind())
		}
		r, err := Encode("x", first)
		if err != nil {
			// A source or a time that cannot be written back is refused in words.
			return
		}
		second, err := Decode(journal.Stored{Record: r})
		if err != nil {
			t.Fatalf("written again as %s, it cannot be read: %v", r.Payload, err)
		}
		again, err := Encode("x", second)
		if err != nil || string(again.Payload) != string(r.Payload) {
			t.Errorf("written as %s, then as %s: %v", r.Payload, again.Payload, err)
		}
	})
}
