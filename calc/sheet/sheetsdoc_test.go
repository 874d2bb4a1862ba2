package sheet_test

import (
	"go/ast"
	"go/parser"
	"go/token"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"shimwright/calc/network"
	"shimwright/calc/overhaul"
	"shimwright/calc/sheet"
)

func sheetsDoc(t *testing.T) string {
	t.Helper()
	text, err := os.ReadFile("SHEETS.md")
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

// literals are the strings written as first argument of methods in this
// package's code; of OneOf all its arguments.
func literals(t *testing.T, methods ...string) map[string]bool {
	t.Helper()
	paths, err := filepath.Glob("*.go")
	if err != nil {
		t.Fatal(err)
	}
	out := map[string]bool{}
	for _, path := range paths {
		if strings.HasSuffix(path, "_test.go") {
			continue
		}
		file, err := parser.ParseFile(token.NewFileSet(), path, nil, 0)
		if err != nil {
			t.Fatal(err)
		}
		ast.Inspect(file, func(n ast.Node) bool {
			call, ok := n.(*ast.CallExpr)
			if !ok {
				return true
			}
			if fun, ok := call.Fun.(*ast.SelectorExpr); ok && slices.Contains(methods, fun.Sel.Name) {
				for i, arg := range call.Args {
					if s, ok := text(arg); ok && (i == 0 || fun.Sel.Name == "OneOf") {
						out[s] = true
					}
				}
			}
			return true
		})
	}
	return out
}

func text(e ast.Expr) (string, bool) {
	lit, ok := e.(*ast.BasicLit)
	if !ok || lit.Kind != token.STRING {
		return "", false
	}
	s, err := strconv.Unquote(lit.Value)
	return s, err == nil
}

// spans are what the document writes as code: its blocks and its words.
func spans(doc string) []string {
	block := regexp.MustCompile("(?s)```yaml.*?```")
	out := block.FindAllString(doc, -1)
	for _, m := range regexp.MustCompile("`([^`]+)`").FindAllStringSubmatch(block.ReplaceAllString(doc, ""), -1) {
		out = append(out, m[1])
	}
	return out
}

// The document names every key that a reader asks for, as code.
func TestDocumentNamesEveryKey(t *testing.T) {
	doc := sheetsDoc(t)
	keys := literals(t, "Get", "Need", "Has")
	if len(keys) < 100 {
		t.Fatalf("only %d keys were found in the code", len(keys))
	}
	code := spans(doc)
	for key := range keys {
		named := regexp.MustCompile(`(^|[{ \n])` + regexp.QuoteMeta(key) + `(:|$)`)
		if !slices.ContainsFunc(code, named.MatchString) {
			t.Errorf("SHEETS.md does not name the key %q", key)
		}
	}
	for _, kind := range []sheet.Kind{sheet.KindMark, sheet.KindMeasure, sheet.KindPack, sheet.KindCheck, sheet.KindRecord, sheet.KindConfirm} {
		if !strings.Contains(doc, "| `"+string(kind)+"` |") {
			t.Errorf("SHEETS.md does not name the kind of step %q", kind)
		}
	}
}

// The document says every word that stands in a key for one of several.
func TestDocumentSaysEveryWord(t *testing.T) {
	doc := sheetsDoc(t)
	words := literals(t, "OneOf")
	for _, w := range []string{sheet.Backlash, sheet.TurningTorque, sheet.EndFloat, sheet.RunOut, sheet.Marking, sheet.Tightening, "held against ", "closed", "not said"} {
		words[w] = true
	}
	if len(words) < 30 {
		t.Fatalf("only %d words were found in the code", len(words))
	}
	for w := range words {
		if !strings.Contains(doc, w) {
			t.Errorf("SHEETS.md does not say %q", w)
		}
	}
}

// The table of places is the network's, row by row.
func TestDocumentHasTheTableOfPlaces(t *testing.T) {
	doc := sheetsDoc(t)
	setting := map[int]string{1: "looser", 0: "no change", -1: "tighter"}
	for _, p := range network.Places() {
		gear := map[int]string{1: "AWAY", 0: "nowhere", -1: "TOWARD the pinion"}[p.Gear]
		against := p.Against
		switch {
		case p.NoGear:
			gear = "none"
		case strings.Contains(p.Name, "pinion") || strings.Contains(p.Name, "outer race"):
			gear = map[int]string{1: "OUT", 0: "nowhere", -1: "IN"}[p.Gear]
		}
		if p.Float == 0 && p.Gear == p.Else {
			against = "any"
		}
		row := strings.TrimRight("| "+p.Name+" | "+setting[p.Float]+" | "+gear+" | "+against, " ") + " |"
		if !strings.Contains(doc, row+"\n") {
			t.Errorf("SHEETS.md lacks the row\n%s", row)
		}
	}
}

// blocks are the document's YAML blocks of a kind.
func blocks(t *testing.T, kind string) []string {
	t.Helper()
	var out []string
	for _, m := range regexp.MustCompile("(?s)```yaml "+kind+"\n(.*?)```").FindAllStringSubmatch(sheetsDoc(t), -1) {
		out = append(out, m[1])
	}
	if len(out) == 0 {
		t.Fatalf("SHEETS.md has no whole %s", kind)
	}
	return out
}

// Each whole sheet of the document is read and its example is sharp; each
// whole file of readings is read for its sheet.
func TestDocumentsSheetsAreRead(t *testing.T) {
	sheets := map[string]*sheet.Sheet{}
	for _, text := range blocks(t, "sheet") {
		s := mustRead(t, "SHEETS.md", []byte(text))
		if _, err := overhaul.CheckExample(s); err != nil {
			t.Error(err)
		}
		sheets[s.ID] = s
	}
	id := regexp.MustCompile(`(?m)^readings for: (.*)$`)
	for _, text := range blocks(t, "readings") {
		m := id.FindStringSubmatch(text)
		if m == nil || sheets[m[1]] == nil {
			t.Fatalf("readings for no sheet of the document:\n%s", text)
		}
		e, err := sheet.ReadEntries(sheets[m[1]], "SHEETS.md", []byte(text))
		if err != nil {
			t.Fatal(err)
		}
		if _, err := overhaul.Work(sheets[m[1]], e); err != nil {
			t.Error(err)
		}
	}
}
