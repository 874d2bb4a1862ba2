package stat_test

import (
	"bufio"
	"encoding/csv"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/shopspring/decimal"

	"shimwright/calc/stat"
)

func published(parts ...string) string {
	return filepath.Join(append([]string{"..", "..", "testdata", "published"}, parts...)...)
}

func dec(s string) decimal.Decimal { return decimal.RequireFromString(s) }

func decs(text string) []decimal.Decimal {
	var out []decimal.Decimal
	for _, f := range strings.Fields(text) {
		out = append(out, dec(f))
	}
	return out
}

func readJSON(t testing.TB, into any, parts ...string) {
	t.Helper()
	text, err := os.ReadFile(published(parts...))
	if err != nil {
		t.Fatal(err)
	}
	d := json.NewDecoder(strings.NewReader(string(text)))
	d.UseNumber()
	if err := d.Decode(into); err != nil {
		t.Fatalf("%v: %v", parts, err)
	}
}

func readCSV(t testing.TB, parts ...string) (head []string, rows [][]string) {
	t.Helper()
	f, err := os.Open(published(parts...))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	all, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	return all[0], all[1:]
}

// readUnivariate reads the readings of a StRD file: all that follows the
// dashed line, whose place differs between copies.
func readUnivariate(t testing.TB, file string) []decimal.Decimal {
	t.Helper()
	f, err := os.Open(published("nist_strd", file))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	var out []decimal.Decimal
	in, data := bufio.NewScanner(f), false
	for in.Scan() {
		line := strings.TrimSpace(in.Text())
		switch {
		case strings.HasPrefix(line, "-----"):
			data = true
		case data && line != "":
			out = append(out, dec(line))
		}
	}
	return out
}

// readGroups reads the groups of a StRD variance file: all that follows the
// last line that begins with "Data:".
func readGroups(t testing.TB, file string) [][]decimal.Decimal {
	t.Helper()
	text, err := os.ReadFile(published("nist_strd", file))
	if err != nil {
		t.Fatal(err)
	}
	body := string(text)
	body = body[strings.LastIndex(body, "Data:"):]
	var out [][]decimal.Decimal
	last := ""
	for _, line := range strings.Split(body, "\n")[1:] {
		f := strings.Fields(line)
		if len(f) != 2 {
			continue
		}
		if f[0] != last {
			out, last = append(out, nil), f[0]
		}
		out[len(out)-1] = append(out[len(out)-1], dec(f[1]))
	}
	return out
}

func readSubgroups(t testing.TB, file string) [][]decimal.Decimal {
	t.Helper()
	_, rows := readCSV(t, "spc", file)
	var out [][]decimal.Decimal
	for _, r := range rows {
		out = append(out, decs(strings.Join(r[1:], " ")))
	}
	return out
}

func readTrials(t testing.TB, file string) []stat.Trial {
	t.Helper()
	_, rows := readCSV(t, "grr", file)
	var out []stat.Trial
	for _, r := range rows {
		out = append(out, stat.Trial{Part: r[0], Operator: r[1], Reading: dec(r[3])})
	}
	return out
}

func flatten(groups [][]decimal.Decimal) []decimal.Decimal {
	var out []decimal.Decimal
	for _, g := range groups {
		out = append(out, g...)
	}
	return out
}
