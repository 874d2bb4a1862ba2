package main

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"shimwright/calc/overhaul"
	"shimwright/calc/quantity"
	"shimwright/calc/remedy"
	"shimwright/calc/sheet"
	"shimwright/calc/stock"
)

// A documented field of JSON.md.
type docField struct {
	kind   string // text, whole number, true or false, figure with its unit, list of …, an object
	always bool
	seen   int
}

var tableRow = regexp.MustCompile("^\\| `([a-z_]+)` \\| ([a-z ]+) \\| (always|may be absent) \\| .+ \\|$")

// readDoc reads the objects of solve from JSON.md.
func readDoc(t *testing.T) map[string]map[string]*docField {
	t.Helper()
	text, err := os.ReadFile("JSON.md")
	if err != nil {
		t.Fatal(err)
	}
	_, part, ok := strings.Cut(string(text), "## shimwright solve --json\n")
	if !ok {
		t.Fatal("JSON.md has no part for solve --json")
	}
	part, _, _ = strings.Cut(part, "\n## ")
	out := map[string]map[string]*docField{}
	object := ""
	for _, line := range strings.Split(part, "\n") {
		if name, ok := strings.CutPrefix(line, "### "); ok {
			object = name
			out[object] = map[string]*docField{}
			continue
		}
		m := tableRow.FindStringSubmatch(line)
		if m == nil {
			if strings.HasPrefix(line, "| `") {
				t.Errorf("JSON.md: this row is not read: %s", line)
			}
			continue
		}
		out[object][m[1]] = &docField{kind: m[2], always: m[3] == "always"}
	}
	return out
}

// jsonHolder holds JSON to the documented fields.
type jsonHolder struct {
	t   *testing.T
	doc map[string]map[string]*docField
}

func (h jsonHolder) object(at, name string, got map[string]any) {
	fields, ok := h.doc[name]
	if !ok {
		h.t.Errorf("%s: JSON.md has no object %q", at, name)
		return
	}
	for key, value := range got {
		f, ok := fields[key]
		if !ok {
			h.t.Errorf("%s.%s: JSON.md does not list it under %s", at, key, name)
			continue
		}
		f.seen++
		h.value(at+"."+key, f.kind, value)
	}
	for key, f := range fields {
		if _, ok := got[key]; !ok && f.always {
			h.t.Errorf("%s: %s is absent, and JSON.md says always", at, key)
		}
	}
}

var figureText = regexp.MustCompile(`^-?\d+(\.\d+)? (mm|in|N|N\.m|deg|m|kgf|lbf|thou|µm|0\.01 mm|lbf\.in|lbf\.ft|kgf\.cm)$`)

var numberText = regexp.MustCompile(`^-?\d+(\.\d+)?$`)

func (h jsonHolder) value(at, kind string, value any) {
	if of, ok := strings.CutPrefix(kind, "list of "); ok {
		list, ok := value.([]any)
		if !ok {
			h.t.Errorf("%s: %v is no list", at, value)
		}
		for i, v := range list {
			h.value(fmt.Sprintf("%s[%d]", at, i), of, v)
		}
		return
	}
	switch kind {
	case "text":
		if s, ok := value.(string); !ok || s == "" {
			h.t.Errorf("%s: %v is no text", at, value)
		}
	case "figure with its unit":
		if s, ok := value.(string); !ok || !figureText.MatchString(s) {
			h.t.Errorf("%s: %v is no figure with its unit", at, value)
		}
	case "whole number":
		if n, ok := value.(json.Number); !ok || strings.ContainsAny(n.String(), ".eE") {
			h.t.Errorf("%s: %v is no whole number", at, value)
		}
	case "number":
		if s, ok := value.(string); !ok || !numberText.MatchString(s) {
			h.t.Errorf("%s: %v is no number", at, value)
		}
	case "true or false":
		if _, ok := value.(bool); !ok {
			h.t.Errorf("%s: %v is neither true nor false", at, value)
		}
	default:
		m, ok := value.(map[string]any)
		if !ok {
			h.t.Errorf("%s: %v is no %s", at, value, kind)
			return
		}
		h.object(at, kind, m)
	}
}

// jobsForJSON are results that between them show every documented field.
func jobsForJSON(t *testing.T) map[string]*overhaul.Results {
	t.Helper()
	out := map[string]*overhaul.Results{}
	for readings, name := range map[string]string{
		"full.yaml": "fw3", "trouble.yaml": "fw3", "again.yaml": "fw3", "inch.readings.yaml": filepath.Join(jobFiles, "inch.yaml"),
		filepath.Join("..", "..", "..", "testdata", "sheets", "rd3-job.yaml"): filepath.Join("..", "..", "testdata", "sheets", "rd3.yaml"),
		filepath.Join("..", "..", "..", "testdata", "sheets", "fs2-job.yaml"): filepath.Join("..", "..", "testdata", "sheets", "fs2.yaml"),
	} {
		s, err := readSheet(name)
		if err != nil {
			t.Fatal(err)
		}
		if out[readings], err = work(s, filepath.Join(jobFiles, readings)); err != nil {
			t.Fatal(err)
		}
	}
	demoJobsForJSON(t, out)
	storyJobsForJSON(t, out)
	rareForJSON(out["crossed"])
	s, err := readSheet("fw3")
	if err != nil {
		t.Fatal(err)
	}
	e := s.Example.Entries
	e.List = append([]sheet.Entry{}, e.List...)
	for i := range e.List {
		e.List[i].Ref = fmt.Sprintf("f%d", i)
	}
	if out["no stock"], err = overhaul.Work(s, e); err != nil {
		t.Fatal(err)
	}
	scarce, err := quantity.ParseWithUnit("0.40 mm")
	if err != nil {
		t.Fatal(err)
	}
	e.Trays = map[string][]sheet.Leaf{"shims": {{Size: scarce, Count: 10}}}
	if out["example"], err = overhaul.Work(s, e); err != nil {
		t.Fatal(err)
	}
	return out
}

// demoJobsForJSON are the demonstration's readings, whole and cut off where
// something is wrong, some with a figure changed.
func demoJobsForJSON(t *testing.T, out map[string]*overhaul.Results) {
	t.Helper()
	text, err := os.ReadFile(filepath.Join("demo", "fw3.readings.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	for name, change := range map[string]struct{ until, swap, by string }{
		"demo":       {"", "", ""},
		"too tight":  {"  - {step: pinion spacer, gauge: M02, presses: [10.09", "", ""},
		"two trials": {"  - {step: pinion distance", "[38.0 N, 37.5 N, 38.5 N, 38.0 N]", "[58.0 N, 57.5 N, 58.5 N, 58.0 N]"},
		"too wide":   {"  - {step: backlash, move", "", ""},
		"apart":      {"  - {step: closing pack, gauge: M02, presses: [1.80", "1.09 mm, 1.09 mm, 1.09 mm", "1.19 mm, 1.19 mm, 1.19 mm"},
		"high":       {"", "{drive: slightly to toe, coast: central}", "{drive: high, coast: high}"},
		"crossed":    {"", "{drive: slightly to toe, coast: central}", "{drive: high, coast: low}"},
		"no limit":   {"", "kind: micrometer, limit of error: 0.004 mm", "kind: micrometer"},
	} {
		job := string(text)
		if change.until != "" {
			before, _, ok := strings.Cut(job, change.until)
			if !ok {
				t.Fatalf("the readings do not hold %q", change.until)
			}
			job = before
		}
		job = strings.Replace(job, change.swap, change.by, 1)
		s, err := readSheet("fw3")
		if err != nil {
			t.Fatal(err)
		}
		e, err := sheet.ReadEntries(s, name, []byte(job))
		if err != nil {
			t.Fatal(err)
		}
		if out[name], err = overhaul.Work(s, e); err != nil {
			t.Fatal(err)
		}
	}
}

// rareForJSON are an advice and a marking put into a worked job, for what no
// short job of this test comes to.
func rareForJSON(r *overhaul.Results) {
	leaf := []stock.Leaf{{Size: quantity.MustExact("0.30"), Label: "0.30 mm", Count: 1}}
	change := remedy.Change{
		Pack: "wheel pack", Place: "under the track", After: leaf[0].Size, Put: leaf, FromOther: leaf, Anew: true, Words: "made anew",
	}
	for _, step := range r.Steps {
		if step.Check == nil {
			continue
		}
		switch step.Step.Check.What {
		case sheet.Backlash:
			step.Check.Reshim = &remedy.Advice{
				Words: "doubt these", LookFor: []string{"dirt"}, CutShort: true,
				Plans: []remedy.Plan{{Gear: "wheel", Changes: []remedy.Change{change}, Words: "add", Points: []remedy.Predicted{{}}}},
			}
		case sheet.Marking:
			step.Check.Marks = &remedy.MarkAdvice{Look: []string{"the pair numbers"}, Warning: "straight teeth", Words: "no shim mends it"}
		}
	}
}

// What solve --json prints is what JSON.md lists, both ways: no field that is
// not listed, none listed that never comes.
func TestJSONDocumented(t *testing.T) {
	h := jsonHolder{t, readDoc(t)}
	for name, r := range jobsForJSON(t) {
		var b strings.Builder
		if err := writeJSON(&b, r, "test"); err != nil {
			t.Fatal(err)
		}
		d := json.NewDecoder(strings.NewReader(b.String()))
		d.UseNumber()
		var got map[string]any
		if err := d.Decode(&got); err != nil {
			t.Fatal(err)
		}
		h.object(name, "results", got)
	}
	for object, fields := range h.doc {
		for key, f := range fields {
			if f.seen == 0 {
				t.Errorf("JSON.md lists %s of %s, and no job of this test shows it", key, object)
			}
		}
	}
}
