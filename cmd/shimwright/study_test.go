package main

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"errors"
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/google/go-cmp/cmp"
	"github.com/shopspring/decimal"

	"shimwright/calc/document"
)

var updateStudies = flag.Bool("update", false, "rewrite the printed studies of testdata/study instead of comparing with them")

// studyFiles are the studies of testdata/study, by name.
func studyFiles(t *testing.T) map[string]*workedStudy {
	t.Helper()
	found, err := filepath.Glob(filepath.Join("testdata", "study", "*.yaml"))
	if err != nil || len(found) < 8 {
		t.Fatalf("%d studies found, %v", len(found), err)
	}
	out := map[string]*workedStudy{}
	for _, name := range found {
		text, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		w, err := workStudy(name, text)
		if err != nil {
			t.Fatal(err)
		}
		out[strings.TrimSuffix(filepath.Base(name), ".yaml")] = w
	}
	return out
}

// Each study prints what stands beside it, within 80 columns.
func TestStudyPrinted(t *testing.T) {
	for name, w := range studyFiles(t) {
		w.hideNames()
		got := w.page()
		for line := range strings.Lines(got) {
			if n := utf8.RuneCountInString(strings.TrimSuffix(line, "\n")); n > 80 {
				t.Errorf("%s: %d columns: %s", name, n, line)
			}
		}
		path := filepath.Join("testdata", "study", name+".golden")
		if *updateStudies {
			if err := os.WriteFile(path, []byte(got), 0o644); err != nil {
				t.Fatal(err)
			}
		}
		want, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		if d := cmp.Diff(string(want), got); d != "" {
			t.Errorf("%s has changed; look at it, then run with -update (-want +got):\n%s", path, d)
		}
	}
}

// The studies hold the published readings, each of them.
func TestStudiesAreThePublishedSets(t *testing.T) {
	studies := studyFiles(t)
	published := filepath.Join("..", "..", "testdata", "published")
	for _, name := range []string{"aiag", "houf_berman", "gasket", "vardeman"} {
		want := map[string][]string{}
		for _, r := range readRows(t, filepath.Join(published, "grr", name+".csv")) {
			want[r[0]+" by "+r[1]] = append(want[r[0]+" by "+r[1]], canon(r[3]))
		}
		got := map[string][]string{}
		for _, r := range studies[name].trials {
			got[r.Part+" by "+r.Operator] = append(got[r.Part+" by "+r.Operator], r.Reading.String())
		}
		if d := cmp.Diff(want, got); d != "" {
			t.Errorf("%s (-published +study):\n%s", name, d)
		}
	}
	for _, name := range []string{"piston_rings_25x5", "flow_width_25x5"} {
		var want, got []string
		for _, r := range readRows(t, filepath.Join(published, "spc", name+".csv")) {
			for _, x := range r[1:] {
				want = append(want, canon(x))
			}
		}
		for _, x := range studies[name].all() {
			got = append(got, x.String())
		}
		if d := cmp.Diff(want, got); d != "" {
			t.Errorf("%s (-published +study):\n%s", name, d)
		}
	}
}

func readRows(t *testing.T, path string) [][]string {
	t.Helper()
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	return rows[1:]
}

func canon(s string) string { return decimal.RequireFromString(s).String() }

// The figures printed are the published ones. The sources stand in
// calc/CHECKS.md; here it is held that they reach the page.
func TestStudyPrintsThePublishedFigures(t *testing.T) {
	studies := studyFiles(t)
	for name, figures := range map[string][]string{
		"aiag":              {"88.3619", "3.1673", "0.3590", "2.7589", "94.6471", "0.9741", "7.76", "27.86", "26.68", "1.08530"},
		"houf_berman":       {"3935.96", "39.27", "48.51", "30.67", "162.270", "7.28493", "5.27295"},
		"flow_rate":         {"50.8100", "1.87778"},
		"piston_rings_25x5": {"74.00118", "0.0227600", "74.01430", "73.98805"},
	} {
		page := studies[name].page()
		for _, f := range figures {
			if !strings.Contains(page, f) {
				t.Errorf("%s does not print %s:\n%s", name, f, page)
			}
		}
	}
}

// Nobody's name is printed unless it is asked for.
func TestStudyHidesNames(t *testing.T) {
	w := studyFiles(t)["bar"]
	if page := w.page(); !strings.Contains(page, "Ann") || !strings.Contains(page, "Bill") {
		t.Errorf("with names the page has none:\n%s", page)
	}
	w.hideNames()
	var b bytes.Buffer
	if err := w.writeJSON(&b, "test"); err != nil {
		t.Fatal(err)
	}
	for what, text := range map[string]string{"page": w.page(), "JSON": b.String()} {
		if strings.Contains(text, "Ann") || strings.Contains(text, "Bill") || !strings.Contains(text, "person 2") {
			t.Errorf("%s without names:\n%s", what, text)
		}
	}
}

// docOf reads the objects of one part of JSON.md. A number is a text there, and
// the second result tells which fields are numbers.
func docOf(t *testing.T, title string) (objects map[string]map[string]*docField, numbers map[*docField]bool) {
	t.Helper()
	text, err := os.ReadFile("JSON.md")
	if err != nil {
		t.Fatal(err)
	}
	_, part, ok := strings.Cut(string(text), "## "+title+"\n")
	if !ok {
		t.Fatalf("JSON.md has no part for %s", title)
	}
	part, _, _ = strings.Cut(part, "\n## ")
	objects, numbers = map[string]map[string]*docField{}, map[*docField]bool{}
	object := ""
	for line := range strings.SplitSeq(part, "\n") {
		if name, ok := strings.CutPrefix(line, "### "); ok {
			object = name
			objects[object] = map[string]*docField{}
		} else if m := tableRow.FindStringSubmatch(line); m != nil {
			f := &docField{kind: m[2], always: m[3] == "always"}
			switch f.kind {
			case "number", "list of number":
				f.kind, numbers[f] = strings.Replace(f.kind, "number", "text", 1), true
			}
			objects[object][m[1]] = f
		} else if strings.HasPrefix(line, "| `") {
			t.Errorf("JSON.md: this row is not read: %s", line)
		}
	}
	return objects, numbers
}

// What study --json prints is what JSON.md lists, both ways, and what is said to
// be a number is one.
func TestStudyJSONDocumented(t *testing.T) {
	doc, numbers := docOf(t, "shimwright study --json")
	isNumber := map[string]bool{}
	for _, fields := range doc {
		for key, f := range fields {
			isNumber[key] = isNumber[key] || numbers[f]
		}
	}
	h := jsonHolder{t, doc}
	for name, w := range studyFiles(t) {
		var b bytes.Buffer
		if err := w.writeJSON(&b, "test"); err != nil {
			t.Fatal(err)
		}
		d := json.NewDecoder(&b)
		d.UseNumber()
		var got map[string]any
		if err := d.Decode(&got); err != nil {
			t.Fatal(err)
		}
		h.object(name, "study", got)
		holdNumbers(t, name, isNumber, got)
	}
	for object, fields := range doc {
		for key, f := range fields {
			if f.seen == 0 {
				t.Errorf("JSON.md lists %s of %s, and no study of this test shows it", key, object)
			}
		}
	}
}

func holdNumbers(t *testing.T, at string, isNumber map[string]bool, got map[string]any) {
	t.Helper()
	var hold func(at, key string, v any)
	hold = func(at, key string, v any) {
		switch v := v.(type) {
		case map[string]any:
			holdNumbers(t, at, isNumber, v)
		case []any:
			for _, x := range v {
				hold(at, key, x)
			}
		case string:
			if _, err := decimal.NewFromString(v); isNumber[key] && err != nil {
				t.Errorf("%s: %q is no number", at, v)
			}
		}
	}
	for key, v := range got {
		hold(at+"."+key, key, v)
	}
}

// A study file may be anything: it is refused with a place, or worked and
// printed within reason.
func FuzzStudy(f *testing.F) {
	found, _ := filepath.Glob(filepath.Join("testdata", "study", "*.yaml"))
	for _, name := range found {
		if text, err := os.ReadFile(name); err == nil {
			f.Add(text)
		}
	}
	f.Add([]byte("study: a\ngauge: b\nunit: none\nreadings: [1]\n"))
	f.Add([]byte("study: a\ngauge: b\nunit: mm\ntolerance: at least 1 mm\nchart: {groups: [[1, 1], [1, 2]]}\n"))
	f.Fuzz(func(t *testing.T, text []byte) {
		w, err := workStudy("study.yaml", text)
		if err != nil {
			var fault *document.Fault
			if !errors.As(err, &fault) && !strings.Contains(err.Error(), "study.yaml") {
				t.Fatalf("refused without a place: %v", err)
			}
			return
		}
		w.hideNames()
		if page := w.page(); strings.Contains(page, "NaN") || strings.Contains(page, "Inf") {
			t.Fatalf("printed:\n%s", page)
		}
		if err := w.writeJSON(&bytes.Buffer{}, "test"); err != nil {
			t.Fatal(err)
		}
	})
}
