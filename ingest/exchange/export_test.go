package exchange_test

import (
	"bytes"
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"github.com/google/go-cmp/cmp"
	"github.com/xuri/excelize/v2"

	"shimwright/devices"
	"shimwright/ingest/exchange"
	"shimwright/ingest/fact"
)

var update = flag.Bool("update", false, "write the golden files anew") //nolint:gochecknoglobals // a test flag

// golden holds text to a file that was read by eye.
func golden(t *testing.T, name string, got []byte) {
	t.Helper()
	path := filepath.Join("testdata", "golden", name)
	if *update {
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, got, 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(string(want), string(got)); diff != "" {
		t.Errorf("%s differs (-want +got):\n%s", name, diff)
	}
}

// threeJobs are a good one, one with decisions about its presses and texts that a
// spreadsheet would run, and a training job that was never judged.
func threeJobs(t testing.TB) *made {
	m := newMade(t)
	m.put("2041", opened("A-17"), fact.GaugeKnown{Gauge: "D07", Certificate: fact.Certificate{Number: "G-9", Due: day(t, "2027-03-01")}},
		fact.Drew{Standard: "tall post", Piece: "S-31", Size: value(t, "75.004 mm"), Certificate: fact.Certificate{Number: "=2291-04", Due: day(t, "2027-03-01")}}, press(t, "33.38 mm", 1), press(t, "33.380 mm", 2), packJudged("0.003"),
		ringJudged("good", "0 deg 0.182", "120 deg 0.2", "240 deg 0.2145"), torqueJudged("1.12", "good"), fact.Signed{As: fact.Lead, Ends: true})
	first := m.last()
	odd := opened("=cmd|'/C calc'!A0")
	m.put("2042", odd)
	held := press(t, "-0.08 mm", 61)
	held.Outcome, held.Sentence = fact.Held, "Held: it is 33.30 mm away from the press before."
	keyed := press(t, "1.315 in", 90)
	keyed.Source, keyed.Reason, keyed.Raw, keyed.Limit = devices.SourceKeyed, "@SUM(A1)\u202e", nil, nil
	m.put("2042", press(t, "33.38 mm", 60), held, keyed)
	m.flush()
	m.put("2042", fact.Took{Press: first + 3, Reason: "=1+1"}, fact.Struck{Press: first + 2, Reason: "the wrong face"}, torqueJudged("1.39", "too close to call"))
	m.flush()
	virtual := press(t, "33.40 mm", 200)
	virtual.Source = devices.SourceVirtual
	noFigure := press(t, "33.40 mm", 201)
	noFigure.Value, noFigure.Outcome, noFigure.Sentence, noFigure.Raw = nil, fact.Aside, "Aside: no figure came.", []byte("E1\r")
	training := opened("Тест 3")
	training.Training = true
	m.put("2043", training, virtual, noFigure)
	m.flush()
	return m
}

func source(m *made) exchange.Source {
	return exchange.Source{Store: m.j.Reader, Facts: m.j.Reader}
}

func csvOf(t testing.TB, s exchange.Source, k exchange.Kind) []byte {
	t.Helper()
	var b bytes.Buffer
	w := exchange.NewCSV(&b)
	if _, err := s.Write(context.Background(), k, w); err != nil {
		t.Fatal(err)
	}
	if err := w.Flush(); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func TestTables(t *testing.T) {
	m := threeJobs(t)
	for _, k := range exchange.Kinds() {
		golden(t, string(k)+".csv", csvOf(t, source(m), k))
	}
}

// A range chooses jobs by their opening, and a job's number one job, for every
// kind of row.
func TestChosenJobs(t *testing.T) {
	m := threeJobs(t)
	for _, k := range exchange.Kinds() {
		s := source(m)
		s.Job = "2042"
		for line := range strings.Lines(string(csvOf(t, s, k))) {
			if !strings.HasPrefix(line, "bench,job") && !strings.HasPrefix(line, "bay 2,2042,") {
				t.Errorf("%s of job 2042 has %q", k, line)
			}
		}
		s = source(m)
		s.Until = began().Add(time.Minute)
		if got := string(csvOf(t, s, k)); strings.Contains(got, ",2042,") || strings.Contains(got, ",2043,") || !strings.Contains(got, ",2041,") {
			t.Errorf("%s before the second job:\n%s", k, got)
		}
		s = source(m)
		s.From = began().Add(time.Hour)
		if got := string(csvOf(t, s, k)); strings.Count(got, "\n") != 1 {
			t.Errorf("%s after the last job:\n%s", k, got)
		}
	}
}

// Every row comes out once, over many pages.
func TestManyPages(t *testing.T) {
	if testing.Short() {
		t.Skip("it makes a journal of a thousand jobs")
	}
	m := newMade(t)
	const jobs = 1203
	m.jobs(jobs, 1)
	for k, want := range map[exchange.Kind]int{exchange.Jobs: jobs, exchange.Steps: 4 * jobs, exchange.Presses: jobs, exchange.Packs: jobs, exchange.Rings: 5 * jobs} {
		seen := map[string]bool{}
		for line := range strings.Lines(string(csvOf(t, source(m), k))) {
			seen[line] = true
		}
		if len(seen) != want+1 {
			t.Errorf("%d different lines of %s, want %d", len(seen), k, want+1)
		}
	}
}

func TestStopped(t *testing.T) {
	m := newMade(t)
	m.jobs(50, 1)
	ctx, stop := context.WithCancel(context.Background())
	stop()
	for _, k := range exchange.Kinds() {
		if _, err := source(m).Write(ctx, k, exchange.NewCSV(io.Discard)); !errors.Is(err, context.Canceled) {
			t.Errorf("%s: %v", k, err)
		}
	}
	s := source(m)
	s.Facts = nil
	if _, err := s.Write(context.Background(), exchange.Presses, exchange.NewCSV(io.Discard)); err == nil || !strings.Contains(err.Error(), "from a bench's journal") {
		t.Error(err)
	}
}

func TestSpreadsheet(t *testing.T) {
	m := threeJobs(t)
	x, err := exchange.NewXLSX()
	if err != nil {
		t.Fatal(err)
	}
	defer x.Close()
	for _, k := range exchange.Kinds() {
		if _, err := source(m).Write(context.Background(), k, x); err != nil {
			t.Fatal(err)
		}
	}
	var b bytes.Buffer
	if _, err := x.WriteTo(&b); err != nil {
		t.Fatal(err)
	}
	f, err := excelize.OpenReader(&b)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if diff := cmp.Diff([]string{"jobs", "steps", "presses", "packs", "rings"}, f.GetSheetList()); diff != "" {
		t.Error(diff)
	}
	for _, c := range []struct{ sheet, cell, shows, raw string }{
		{"jobs", "D3", "'=cmd|'/C calc'!A0", "'=cmd|'/C calc'!A0"},
		{"jobs", "F2", "4", "4"},
		{"jobs", "H4", "2026-02-03 08:00:00", "46056.3333333333"},
		{"presses", "J8", "33.380", "33.38"},
		{"presses", "J5", "-0.08", "-0.08"},
		{"presses", "O5", "'=1+1", "'=1+1"},
		{"rings", "M2", "0.182", "0.182"},
		{"rings", "Q2", "0.198833333", "0.198833333"},
	} {
		if got, err := f.GetCellValue(c.sheet, c.cell); err != nil || got != c.shows {
			t.Errorf("%s %s shows %q, want %q (%v)", c.sheet, c.cell, got, c.shows, err)
		}
		if got, err := f.GetCellValue(c.sheet, c.cell, excelize.Options{RawCellValue: true}); err != nil || got != c.raw {
			t.Errorf("%s %s is %q, want %q (%v)", c.sheet, c.cell, got, c.raw, err)
		}
	}
	noFormula(t, f)
}

// noFormula looks at every cell: none is a formula, and a text never begins like
// one.
func noFormula(t *testing.T, f *excelize.File) {
	t.Helper()
	for _, sheet := range f.GetSheetList() {
		rows, err := f.GetRows(sheet)
		if err != nil {
			t.Fatal(err)
		}
		for y, row := range rows {
			for x, shown := range row {
				cell, err := excelize.CoordinatesToCellName(x+1, y+1)
				if err != nil {
					t.Fatal(err)
				}
				formula, err := f.GetCellFormula(sheet, cell)
				kind, kindErr := f.GetCellType(sheet, cell)
				if err != nil || kindErr != nil || formula != "" {
					t.Errorf("%s %s: formula %q, %v %v", sheet, cell, formula, err, kindErr)
				}
				if kind == excelize.CellTypeInlineString && shown != "" && strings.ContainsAny(shown[:1], "=+-@\t\r") {
					t.Errorf("%s %s: %q", sheet, cell, shown)
				}
			}
		}
	}
}

func TestNeutral(t *testing.T) {
	for in, want := range map[string]string{
		"":                    "",
		"pinion flange pack":  "pinion flange pack",
		"=cmd|'/C calc'!A0":   "'=cmd|'/C calc'!A0",
		"+1":                  "'+1",
		"-1":                  "'-1",
		"@SUM(A1)":            "'@SUM(A1)",
		"  =1":                "'  =1",
		"\t=1":                `'\u0009=1`,
		"\r1":                 `'\u000d1`,
		"＝1":                  "'＝1",
		"−1":                  "'−1",
		"'=1":                 "''=1",
		"a\u202eb":            `a\u202eb`,
		"\u202e=1":            `'\u202e=1`,
		"a\x00\nb":            `a\u0000\u000ab`,
		"a\xffb":              `a\xffb`,
		"\U000e0041":          `\U000e0041`,
		"Œuvre 12°, µ ± Тест": "Œuvre 12°, µ ± Тест",
		"\ufffd":              "\ufffd",
	} {
		if got := exchange.Neutral(in); got != want {
			t.Errorf("%q becomes %q, want %q", in, got, want)
		}
	}
}

func FuzzNeutral(f *testing.F) {
	for _, s := range []string{"", "=1", " \u202e-1", "'x", "\xff=", "a\r\n=1", "\t"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		got := exchange.Neutral(s)
		if got != "" && strings.ContainsAny(got[:1], "=+-@\t\r") || !utf8.ValidString(got) {
			t.Errorf("%q becomes %q", s, got)
		}
		if strings.ContainsFunc(got, func(r rune) bool { return r < ' ' || r == 0x202e }) {
			t.Errorf("%q becomes %q, which hides something", s, got)
		}
		if !strings.Contains(got, `\`) && utf8.ValidString(s) && exchange.Undone(got) != s {
			t.Errorf("%q becomes %q, and that undone %q", s, got, exchange.Undone(got))
		}
	})
}

func TestFigure(t *testing.T) {
	for in, want := range map[string]string{
		"0.5965/3": "0.198833333", "-1/3": "-0.333333333", "12": "12", "-0.080": "-0.080",
		"1/0": "1/0", "1e3": "1e3", "=1": "'=1", "": "", "-": "'-", "1.": "1.", ".5": ".5", "1/2/3": "1/2/3", "1.2.3": "1.2.3",
		strings.Repeat("9", 50): strings.Repeat("9", 50), "1/99999999999999999999": "1/99999999999999999999",
	} {
		if got := exchange.Figure(in).CSV(); got != want {
			t.Errorf("%q becomes %q, want %q", in, got, want)
		}
	}
}

func TestWriteFile(t *testing.T) {
	folder := t.TempDir()
	path := filepath.Join(folder, "jobs.csv")
	write := func(s string) func(io.Writer) error {
		return func(w io.Writer) error { _, err := io.WriteString(w, s); return err }
	}
	if err := exchange.WriteFile(path, false, write("one")); err != nil {
		t.Fatal(err)
	}
	stopped := errors.New("stopped")
	for _, c := range []struct {
		path    string
		replace bool
		write   func(io.Writer) error
		want    string
	}{
		{path, false, write("two"), "is there already: write --replace"},
		{path, true, func(w io.Writer) error { _, _ = io.WriteString(w, "half"); return stopped }, "stopped"},
		{folder, true, write("two"), "is a folder"},
		{filepath.Join(folder, "none", "x"), false, write("two"), "writing in folder"},
		{filepath.Join(path, "x"), false, write("two"), "writing in folder"},
		{os.DevNull, true, write("two"), "is no plain file"},
	} {
		if err := exchange.WriteFile(c.path, c.replace, c.write); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v, want %q", c.path, err, c.want)
		}
	}
	if got, err := os.ReadFile(path); string(got) != "one" {
		t.Errorf("the file holds %q (%v)", got, err)
	}
	if err := exchange.WriteFile(path, true, write("three")); err != nil {
		t.Fatal(err)
	}
	left, err := os.ReadDir(folder)
	if got, _ := os.ReadFile(path); string(got) != "three" || err != nil || len(left) != 1 {
		t.Errorf("the file holds %q, the folder %v (%v)", got, left, err)
	}
}

// The machine's refusal is told in words, and is known to be the machine's.
func TestReadOnlyFolder(t *testing.T) {
	folder := t.TempDir()
	if err := os.Chmod(folder, 0o555); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = os.Chmod(folder, 0o755) })
	if os.Geteuid() == 0 {
		folder = "/proc/self" // where not even the superuser writes
	}
	err := exchange.WriteFile(filepath.Join(folder, "x"), false, func(io.Writer) error { return nil })
	var machine *fs.PathError
	if !errors.As(err, &machine) || !strings.Contains(err.Error(), "choose a folder") {
		t.Error(err)
	}
}

func ExampleNeutral() {
	fmt.Println(exchange.Neutral(`=HYPERLINK("http://example.org")`))
	// Output: '=HYPERLINK("http://example.org")
}
