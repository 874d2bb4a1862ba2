//go:build unix

package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/goccy/go-yaml"
)

// deployed is what the command prints.
func deployed(t *testing.T, args ...string) (string, error) {
	t.Helper()
	c := newRoot("test", newDeploy)
	var out bytes.Buffer
	c.SetArgs(append([]string{"deploy"}, args...))
	c.SetOut(&out)
	err := c.Execute()
	return out.String(), err
}

func TestDeploy(t *testing.T) {
	list, err := deployed(t)
	if err != nil {
		t.Fatal(err)
	}
	doc, err := os.ReadFile("DEPLOY.md")
	if err != nil {
		t.Fatal(err)
	}
	for _, d := range deployables() {
		got, err := deployed(t, d.name)
		want, readErr := os.ReadFile(filepath.Join("deploy", d.file))
		if err != nil || readErr != nil || got != string(want) || len(got) < 100 {
			t.Errorf("%s: %d bytes: %v, %v", d.name, len(got), err, readErr)
		}
		if !strings.Contains(list, d.name) || !strings.Contains(string(doc), "shimwright deploy "+d.name) {
			t.Errorf("the list or DEPLOY.md lacks %s", d.name)
		}
	}
	if files, err := os.ReadDir("deploy"); err != nil || len(files) != len(deployables()) {
		t.Errorf("%d files are there and %d are named: %v", len(files), len(deployables()), err)
	}
	for typed, want := range map[string]string{"alert": `deploy knows no "alert": did you mean alerts?`, "prometheus": "write alerts or recordings or dashboard or service or udev"} {
		if _, err := deployed(t, typed); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v", typed, err)
		}
	}
}

// ruleFile is a file of Prometheus rules, as far as it is looked at here.
type ruleFile struct {
	Groups []struct {
		Rules []struct {
			Alert, Record, Expr string
			Annotations         map[string]string
		}
	}
}

func rulesOf(t *testing.T, file string) ruleFile {
	t.Helper()
	var f ruleFile
	readYAML(t, filepath.Join("deploy", file), &f)
	return f
}

func readYAML(t *testing.T, path string, into any) {
	t.Helper()
	text, err := os.ReadFile(path)
	if err == nil {
		err = yaml.Unmarshal(text, into)
	}
	if err != nil {
		t.Fatalf("%s: %v", path, err)
	}
}

// ruleTests are promtool's cases of the rules.
func ruleTests(t *testing.T) []string {
	t.Helper()
	files, err := filepath.Glob("testdata/deploy/*.test.yaml")
	if err != nil || len(files) == 0 {
		t.Fatalf("no tests of the alerts: %v", err)
	}
	return files
}

// Every alert is tried in a case in which it fires and in one in which it does not,
// and says what to do; every recording is asked for.
func TestEveryRuleIsTried(t *testing.T) {
	fires, silent, asked := map[string]bool{}, map[string]bool{}, ""
	for _, file := range ruleTests(t) {
		var f struct {
			Tests []struct {
				Alerts []struct {
					Name string `yaml:"alertname"`
					Exp  []any  `yaml:"exp_alerts"`
				} `yaml:"alert_rule_test"`
				Queries []struct{ Expr string } `yaml:"promql_expr_test"`
			}
		}
		readYAML(t, file, &f)
		for _, c := range f.Tests {
			for _, q := range c.Queries {
				asked += q.Expr + "\n"
			}
			for _, a := range c.Alerts {
				fires[a.Name] = fires[a.Name] || len(a.Exp) > 0
				silent[a.Name] = silent[a.Name] || len(a.Exp) == 0
			}
		}
	}
	n := 0
	for _, g := range rulesOf(t, "alerts.yaml").Groups {
		for _, r := range g.Rules {
			n++
			if !fires[r.Alert] || !silent[r.Alert] {
				t.Errorf("%s: a case in which it fires: %v; in which it does not: %v", r.Alert, fires[r.Alert], silent[r.Alert])
			}
			if r.Annotations["summary"] == "" || r.Annotations["do"] == "" {
				t.Errorf("%s does not say what is and what to do", r.Alert)
			}
		}
	}
	for _, g := range rulesOf(t, "recordings.yaml").Groups {
		for _, r := range g.Rules {
			if !strings.Contains(asked, r.Record) {
				t.Errorf("no case asks for %s", r.Record)
			}
		}
	}
	if n < 10 {
		t.Errorf("%d alerts", n)
	}
}

func promtool(t *testing.T, args ...string) {
	t.Helper()
	path, err := exec.LookPath("promtool")
	if err != nil {
		t.Skip("promtool is not installed: .ci/metrics installs it and runs this test")
	}
	if out, err := exec.Command(path, args...).CombinedOutput(); err != nil {
		t.Errorf("promtool %s: %v\n%s", strings.Join(args, " "), err, out)
	}
}

// promtool reads the rules, and the alerts do in its cases what they should.
func TestPromtoolTriesTheRules(t *testing.T) {
	promtool(t, "check", "rules", "deploy/alerts.yaml", "deploy/recordings.yaml")
	promtool(t, append([]string{"test", "rules"}, ruleTests(t)...)...)
}

// queries are the dashboard's, with its choices filled in.
func queries(t *testing.T) []string {
	t.Helper()
	var d struct {
		Panels []struct {
			Title   string
			Type    string
			Targets []struct{ Expr string }
		}
		Templating struct {
			List []struct{ Name string }
		}
	}
	text, err := os.ReadFile("deploy/dashboard.json")
	if err == nil {
		err = json.Unmarshal(text, &d)
	}
	if err != nil {
		t.Fatal(err)
	}
	var out []string
	for _, p := range d.Panels {
		if p.Type != "row" && len(p.Targets) == 0 {
			t.Errorf("the panel %q asks for nothing", p.Title)
		}
		for _, q := range p.Targets {
			expr := q.Expr
			for _, v := range d.Templating.List {
				expr = strings.ReplaceAll(expr, "$"+v.Name, ".*")
			}
			if strings.Contains(expr, "$") {
				t.Errorf("the panel %q asks by a choice that is not there: %s", p.Title, expr)
			}
			out = append(out, expr)
		}
	}
	if len(out) < 20 {
		t.Errorf("%d queries", len(out))
	}
	return out
}

// promtool reads each of the dashboard's queries.
func TestPromtoolReadsTheDashboard(t *testing.T) {
	type rule struct {
		Record string `yaml:"record"`
		Expr   string `yaml:"expr"`
	}
	var rules []rule
	for i, q := range queries(t) {
		rules = append(rules, rule{fmt.Sprintf("panel:query:%d", i), q})
	}
	text, err := yaml.Marshal(map[string]any{"groups": []any{map[string]any{"name": "dashboard", "rules": rules}}})
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "dashboard.yaml")
	if err := os.WriteFile(path, text, 0o600); err != nil {
		t.Fatal(err)
	}
	promtool(t, "check", "rules", path)
}

// Every figure that the dashboard, the alerts and the recordings ask for is one
// that a headless bench serves.
func TestDeployedFilesAskForWhatIsServed(t *testing.T) {
	at := free(t)
	h := measured(t, at)
	h.shopAway(t)
	if out, err := exec.Command("shimwright", "gauges", "certify", "M02", "--bench", h.file, "--certificate", "G-1", "--dated", "2026-01-01", "--due", "2036-01-01").CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	p := h.start(t, map[int64]string{})
	p.until("the micrometer", connected("M02"))
	p.say(`{"do": "open", "sheet": "fw3", "serial": "K-1"}`)
	p.say(`{"do": "choose", "step": "pinion head"}`)
	press(t, h.gauges, "M02", "42.37 mm")
	p.until("a press", pressed)
	p.say(`{"do": "hold", "reason": "no parts"}`)
	figures := scrape(t, at)
	p.kill()
	served := map[string]bool{}
	for _, m := range regexp.MustCompile(`(?m)^(shimwright_[a-z_]+)\{`).FindAllStringSubmatch(figures, -1) {
		served[m[1]] = true
	}
	all := queries(t)
	for _, file := range []string{"alerts.yaml", "recordings.yaml"} {
		for _, g := range rulesOf(t, file).Groups {
			for _, r := range g.Rules {
				all = append(all, r.Expr)
			}
		}
	}
	asked := regexp.MustCompile(`\bshimwright_[a-z_]+`)
	for _, q := range all {
		names := asked.FindAllString(q, -1)
		if len(names) == 0 {
			t.Errorf("it asks for no figure of a bench: %s", q)
		}
		for _, name := range slices.Compact(names) {
			if !served[name] {
				t.Errorf("no bench serves %s: %s", name, q)
			}
		}
	}
}

// systemd reads the unit and finds no fault with it.
func TestServiceIsRead(t *testing.T) {
	analyze, err := exec.LookPath("systemd-analyze")
	if err != nil {
		t.Skip("systemd-analyze is not installed: the unit is not read by what it is for")
	}
	unit, err := deployed(t, "service")
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "shimwright.service")
	if err := os.WriteFile(path, []byte(unit), 0o600); err != nil {
		t.Fatal(err)
	}
	if out, err := exec.Command(analyze, "verify", path).CombinedOutput(); err != nil || len(out) > 0 {
		t.Errorf("%v\n%s", err, out)
	}
}
