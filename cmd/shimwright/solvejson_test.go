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
	"shimwright/calc/sheet"
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
	} {
		s, err := readSheet(name)
		if err != nil {
			t.Fatal(err)
		}
		if out[readings], err = work(s, filepath.Join(jobFiles, readings)); err != nil {
			t.Fatal(err)
		}
	}
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
