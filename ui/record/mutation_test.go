package record

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"shimwright/devices"
	"shimwright/devices/decodertest"
	"shimwright/ingest/bench"
	"shimwright/ingest/fact"
)

// Any one byte of a record that is changed is told: the JSON is malformed, or
// verifying says where it differs. The bytes are a random sample, by a fixed seed.
func TestVerifyFindsAnyByte(t *testing.T) {
	whole := jsonOf(t, demo(t))
	chance := rand.New(rand.NewPCG(2291, 4))
	const samples = 60
	malformed := 0
	for range samples {
		at := chance.IntN(len(whole))
		changed := bytes.Clone(whole)
		if changed[at] = byte(' ' + chance.IntN(95)); changed[at] == whole[at] {
			changed[at] ^= 1
		}
		f, err := ReadJSON(changed)
		if err != nil {
			malformed++
			continue
		}
		if v := Verify(f, "test"); v.Whole() {
			t.Errorf("byte %d, %q for %q, near %q, is not found", at, changed[at], whole[at], whole[max(0, at-40):min(len(whole), at+20)])
		}
	}
	t.Logf("%d of %d changes left no JSON of a record", malformed, samples)
}

// Each kind of blank, name and sign of the JSON itself is held to the digest, and
// the line is told.
func TestVerifyFindsWhatNoFactTells(t *testing.T) {
	whole := string(jsonOf(t, demo(t)))
	for name, c := range map[string]struct{ was, is, want string }{
		"a blank":         {"\n \"record\": {", "\n\t\"record\": {", "it was changed in line 4"},
		"a capital":       {`"drive":`, `"Drive":`, "it was changed in line 7"},
		"an escape":       {`"state": "open`, `"state": "\u006fpen`, `it was changed in line 16`},
		"the program":     {`"program": "test"`, `"program": "tost"`, `the version that wrote it`},
		"the end":         {"}\n", "} \n", "the file does not give its own digest"},
		"the digest":      {`"sha256": "`, `"sha256": "` + "\x00", "the file does not give its own digest"},
		"a double record": {`"carried":`, `"program": "test", "carried":`, "the file does not give its own digest"},
	} {
		changed := strings.Replace(whole, c.was, c.is, 1)
		if name == "the end" {
			changed = strings.TrimSuffix(whole, "\n") + " \n"
		}
		if name == "the digest" {
			changed = otherDigit(whole)
		}
		f, err := ReadJSON([]byte(changed))
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if v := Verify(f, "test"); changed == whole || !strings.Contains(strings.Join(v.Differs, "\n"), c.want) {
			t.Errorf("%s: %q, want %q", name, v.Differs, c.want)
		}
	}
}

// otherDigit changes the digest's last digit.
func otherDigit(whole string) string {
	i := strings.LastIndex(whole, `"`) - 1
	digit := "0"
	if whole[i] == '0' {
		digit = "1"
	}
	return whole[:i] + digit + whole[i+1:]
}

// Every kind of field, changed once in a file that was sealed anew, is found by
// what the file carries, and where it stands is said.
func TestVerifyFindsEveryField(t *testing.T) {
	whole := jsonOf(t, crowded(t))
	var tree any
	d := json.NewDecoder(bytes.NewReader(whole))
	d.UseNumber()
	if err := d.Decode(&tree); err != nil {
		t.Fatal(err)
	}
	var record, others []leaf
	for _, l := range leavesOf(tree, "", map[string]bool{}) {
		switch {
		case l.path == "program" || l.path == "sha256" || l.path == "shimwright_record":
			// no fact tells the first; the second is the seal; the third says how to read the rest
		case strings.HasPrefix(l.path, "record."):
			record = append(record, l)
		default:
			others = append(others, l)
		}
	}
	if len(record) < 100 || len(others) < 12 {
		t.Errorf("only %d and %d kinds of field are tried", len(record), len(others))
	}
	// What the record says is compared field by field, so all kinds are changed at
	// once and each must be told.
	for _, l := range record {
		l.change()
	}
	f, err := ReadJSON(resealed(t, tree))
	if err != nil {
		t.Fatal(err)
	}
	said := strings.Join(Verify(f, "test").Differs, "\n") + "\n"
	for _, l := range record {
		if !strings.Contains(said, l.path+": ") {
			t.Errorf("%s: a change is not told", l.path)
		}
		l.restore()
	}
	for _, l := range others {
		l.change()
		f, err := ReadJSON(resealed(t, tree))
		l.restore()
		if err != nil {
			continue // the JSON says it itself
		}
		if v := Verify(f, "test"); v.Whole() {
			t.Errorf("%s: a change is not found", l.path)
		}
	}
}

// A leaf is one value in a tree of JSON, and how it is changed.
type leaf struct {
	path            string
	change, restore func()
}

// leavesOf are one leaf of each kind of field: the first that is met.
func leavesOf(tree any, path string, seen map[string]bool) []leaf {
	var out []leaf
	visit := func(v any, at string, set func(any)) {
		switch v.(type) {
		case map[string]any, []any:
			out = append(out, leavesOf(v, at, seen)...)
			return
		}
		kind := regexp.MustCompile(`\[\d+\]`).ReplaceAllString(at, "[]")
		if seen[kind] {
			return
		}
		seen[kind] = true
		out = append(out, leaf{at, func() { set(other(v)) }, func() { set(v) }})
	}
	switch x := tree.(type) {
	case map[string]any:
		for name, v := range x {
			visit(v, strings.TrimPrefix(path+"."+name, "."), func(v any) { x[name] = v })
		}
	case []any:
		for i, v := range x {
			visit(v, fmt.Sprintf("%s[%d]", path, i), func(v any) { x[i] = v })
		}
	}
	return out
}

// other is another value of the same sort.
func other(v any) any {
	switch v := v.(type) {
	case string:
		if digits := []byte(v); len(digits) == sealDigits {
			digits[0] = "10"[(digits[0]-'0')%2&1]
			return string(digits)
		}
		return v + "1"
	case json.Number:
		return json.Number(v.String() + "1")
	case bool:
		return !v
	}
	return "1"
}

// resealed writes a tree as the file is written, with the digest made anew. Its
// names stand in another order than this program writes, so the seal alone is met.
func resealed(t *testing.T, tree any) []byte {
	t.Helper()
	top, ok := tree.(map[string]any)
	if !ok {
		t.Fatal("no record")
	}
	was := top["sha256"]
	defer func() { top["sha256"] = was }()
	top["sha256"] = noSeal()
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	e.SetIndent("", " ")
	if err := e.Encode(tree); err != nil {
		t.Fatal(err)
	}
	return []byte(sealed(escaped(b.String())))
}

// A figure, unit, channel or flag that the raw bytes do not say is told, of text
// and of packed gauges, even where all hashes were made anew.
func TestVerifyReadsBytesAgain(t *testing.T) {
	for name, c := range map[string]struct {
		change func(*fact.Pressed)
		want   string
	}{
		"the same":  {func(*fact.Pressed) {}, ""},
		"a digit":   {func(p *fact.Pressed) { p.Raw = []byte("+7.13mm\r") }, `recorded as 7.31 mm, and the bytes "+7.13mm\r" say 7.13 mm`},
		"a place":   {func(p *fact.Pressed) { p.Raw = []byte("+73.1mm\r") }, `recorded as 7.31 mm, and the bytes "+73.1mm\r" say 73.1 mm`},
		"a sign":    {func(p *fact.Pressed) { p.Raw = []byte("-7.31mm\r") }, `say -7.31 mm`},
		"a unit":    {func(p *fact.Pressed) { p.Raw = []byte("+7.31N\r") }, `say 7.31 N`},
		"no number": {func(p *fact.Pressed) { p.Raw = []byte("---\r") }, `say no number`},
		"a number":  {func(p *fact.Pressed) { p.Value = nil }, `recorded as no number, and the bytes "+7.31mm\r" say 7.31 mm`},
		"unsettled": {func(p *fact.Pressed) {
			p.Value, p.Outcome, p.Cause, p.Sentence = nil, fact.Aside, fact.Cause(devices.Unsettled), "kept"
		}, ""},
		"unsettled by a name": {func(p *fact.Pressed) {
			p.Value, p.Outcome, p.Cause, p.Sentence = nil, fact.Aside, fact.Cause(devices.Noise), "From a gauge named before the port had settled."
		}, `recorded as no number, and the bytes "+7.31mm\r" say 7.31 mm`},
		"not its unit":   {func(p *fact.Pressed) { p.UnitStated = false }, `that the gauge stated the unit is recorded as false`},
		"its battery":    {func(p *fact.Pressed) { p.Battery = true }, `a low battery is recorded as true`},
		"half its bytes": {func(p *fact.Pressed) { p.Raw = []byte("+7.3") }, "say no number: they are no frame"},
	} {
		m := newMaker(t, "0001", 1, headOf(t))
		p := m.press("recess", "", "D07", "depth gauge", "7.31 mm")
		c.change(&p)
		m.send(p)
		f, err := ReadJSON(jsonOf(t, m.job()))
		if err != nil {
			t.Fatal(err)
		}
		v := Verify(f, "test")
		if c.want == "" && !v.Whole() || c.want != "" && (len(v.Differs) != 1 || !strings.Contains(v.Differs[0], c.want)) {
			t.Errorf("%s: %q, want %q", name, v.Differs, c.want)
		}
	}
}

// Records of the first form are read for ever: nothing in them differs but words
// that this version may say otherwise.
func TestFormOne(t *testing.T) {
	for _, name := range []string{"smallest.json", "demo.json"} {
		b, err := os.ReadFile(filepath.Join("testdata", "form1", name))
		if err != nil {
			t.Fatal(err)
		}
		f, err := ReadJSON(b)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		v := Verify(f, "a later one")
		if slices.ContainsFunc(v.Differs, func(s string) bool { return !strings.HasPrefix(s, "record.") }) {
			t.Errorf("%s: %q", name, v.Differs)
		}
		if !strings.Contains(strings.Join(v.Proved, "\n"), "it is of form 1") {
			t.Errorf("%s: %q", name, v.Proved)
		}
	}
}

// The bytes of a packed gauge are no text: a figure that they do not say is told
// all the same.
func TestVerifyReadsPackedBytes(t *testing.T) {
	for _, form := range decodertest.All() {
		if form.Profile.Kind != devices.PackedDecimal {
			continue
		}
		for _, change := range []string{"", "1"} {
			m := newMaker(t, "0001", devices.SourceGauge, headOf(t))
			kept := fact.FormOf(form.Profile, "")
			m.known["P01"] = true
			m.add(fact.GaugeKnown{Gauge: "P01", Form: &kept})
			good := form.Good[0]
			digits, unit, _ := strings.Cut(good.Value, " ")
			p := m.press("recess", "", "P01", "depth gauge", strings.TrimSpace(digits+change+" "+unit))
			p.Raw, p.UnitStated, p.Battery = []byte(good.Bytes), good.UnitStated, good.Battery
			p.Outcome, p.Sentence = fact.Aside, "kept"
			m.add(p)
			f, err := ReadJSON(jsonOf(t, m.job()))
			if err != nil {
				t.Fatal(err)
			}
			v := Verify(f, "test")
			if change == "" && !v.Whole() || change != "" && (len(v.Differs) != 1 || !strings.Contains(v.Differs[0], "say "+good.Value)) {
				t.Errorf("%s, %s%s: %q", form.Name, good.Value, change, v.Differs)
			}
		}
	}
}

// What was stored with a verdict is held to the facts before it, field by field,
// even where all hashes were made anew.
func TestVerifyHoldsVerdictsToTheirFacts(t *testing.T) {
	text, e := fw3(t)
	m := newMaker(t, "0001", devices.SourceGauge, fact.Opened{Serial: "S", Text: text, Rule: "guarded"})
	m.play(e)
	w, err := walk(m.job())
	if err != nil {
		t.Fatal(err)
	}
	res, err := w.job.Work()
	if err != nil {
		t.Fatal(err)
	}
	right, ok := bench.JudgementOf(res.Of("wheel pack"))
	if !ok || right.Total != "1.65" {
		t.Fatalf("%+v", right)
	}
	right.Leaves, right.Build, right.Digest, right.Program = []string{"1.00 mm", "0.50 mm", "0.15 mm"}, res.Build, w.job.Head.Digest, "test"
	for what, change := range map[string]func(*fact.Judged){
		"":            func(*fact.Judged) {},
		"verdict":     func(f *fact.Judged) { f.Verdict = "out" },
		"figure":      func(f *fact.Judged) { f.Value = "0.02" },
		"lower limit": func(f *fact.Judged) { f.Low = "-0.5" },
		"upper limit": func(f *fact.Judged) { f.High = "0.5" },
		"uncertainty": func(f *fact.Judged) { f.Uncertainty = "0.001" },
		"leaves":      func(f *fact.Judged) { f.Leaves = f.Leaves[:2] },
		"total":       func(f *fact.Judged) { f.Total = "1.64" },
		"build state": func(f *fact.Judged) { f.Build++ },
		"training":    func(f *fact.Judged) { f.Training = true },
		"sheet":       func(f *fact.Judged) { f.Digest = strings.Repeat("0", 64) },
	} {
		f := right
		change(&f)
		var v Verification
		agrees := v.judgement(9, f, w.job, res)
		if what == "" && !agrees || what != "" && (len(v.Differs) != 1 || !strings.Contains(v.Differs[0], "the "+what+" of wheel pack is stored as")) {
			t.Errorf("%s: %q", what, v.Differs)
		}
	}
}
