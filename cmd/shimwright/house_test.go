package main

import (
	"os/exec"
	"strings"
	"testing"
)

// imports lists each package of the project with what it imports, tests left
// out.
func imports(t *testing.T) map[string][]string {
	t.Helper()
	out, err := exec.Command("go", "list", "-f", `{{.ImportPath}}:{{join .Imports " "}}`, "shimwright/...").Output()
	if err != nil {
		t.Fatalf("go list: %v", err)
	}
	all := map[string][]string{}
	for line := range strings.Lines(string(out)) {
		pkg, list, _ := strings.Cut(strings.TrimSpace(line), ":")
		all[pkg] = strings.Fields(list)
	}
	if len(all) < 10 {
		t.Fatalf("go list found only %d packages", len(all))
	}
	return all
}

// Imports run one way: cmd, ui, ingest, devices, calc.
func TestImportsRunOneWay(t *testing.T) {
	forbidden := []struct {
		from string
		to   []string
		why  string
	}{
		{"shimwright/calc", []string{"shimwright/devices", "shimwright/ingest", "shimwright/ui", "shimwright/cmd", "os", "net", "database/sql"}, "calc is pure arithmetic"},
		{"shimwright/calc/quantity", []string{"math", "gonum.org"}, "lengths are never float64"},
		{"shimwright/calc/network", []string{"math", "gonum.org"}, "lengths are never float64"},
		{"shimwright/calc/sheet", []string{"math", "gonum.org"}, "lengths are never float64"},
		{"shimwright/calc/stock", []string{"math", "gonum.org"}, "lengths are never float64"},
		{"shimwright/devices", []string{"shimwright/ingest", "shimwright/ui", "shimwright/cmd", "shimwright/calc/network", "shimwright/calc/sheet", "shimwright/calc/overhaul"}, "devices use the quantities alone"},
		{"shimwright/ingest", []string{"shimwright/ui", "shimwright/cmd"}, "ingest draws nothing"},
		{"shimwright/ui", []string{"shimwright/devices", "shimwright/ingest/journal", "shimwright/cmd", "go.bug.st", "modernc.org"}, "views see snapshots, never a port or a database"},
	}
	for pkg, list := range imports(t) {
		if pkg == "shimwright/calc/stat/checktest" {
			continue // support for tests, which reads and writes tables
		}
		for _, rule := range forbidden {
			if !within(pkg, rule.from) {
				continue
			}
			for _, imp := range list {
				for _, to := range rule.to {
					if within(imp, to) && !(to == "math" && imp != "math") {
						t.Errorf("%s imports %s: %s", pkg, imp, rule.why)
					}
				}
			}
		}
	}
}

func within(pkg, folder string) bool {
	return pkg == folder || strings.HasPrefix(pkg, folder+"/")
}

// Nothing outside calc/stat draws on the statistics library.
func TestStatisticsLibraryStaysInStat(t *testing.T) {
	for pkg, list := range imports(t) {
		for _, imp := range list {
			if within(imp, "gonum.org/v1/gonum") && !within(pkg, "shimwright/calc/stat") {
				t.Errorf("%s imports %s, which belongs in calc/stat", pkg, imp)
			}
		}
	}
}
