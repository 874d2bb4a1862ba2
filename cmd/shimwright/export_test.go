package main

import (
	"bytes"
	"context"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/xuri/excelize/v2"

	"shimwright/calc/quantity"
	"shimwright/devices"
	"shimwright/ingest/exchange"
	"shimwright/ingest/fact"
	"shimwright/ingest/journal"
)

// exportPath is a journal with a judged job, one with a name of a path and texts
// that a spreadsheet would run.
func exportPath(t *testing.T) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "bay 2.journal")
	j, err := journal.Open(path, journal.Options{Bench: "bay 2", Run: "r1", Now: time.Now, Rows: fact.Rows()})
	if err != nil {
		t.Fatal(err)
	}
	size, err := quantity.ParseWithUnit("75.004 mm")
	if err != nil {
		t.Fatal(err)
	}
	for _, id := range []string{"2041", "../../x"} {
		for _, f := range []fact.Fact{
			fact.Opened{Drive: "FW3", Serial: "=cmd|'/C calc'!A0", Sheet: "fw3", Issue: 1, Digest: "ab", Text: "sheet: fw3", Rule: "guarded"},
			fact.GaugeKnown{Gauge: "../../D07", Certificate: fact.Certificate{Number: "=cmd|'/C calc'!A0"}},
			fact.Drew{Standard: "tall post", Piece: "../../x", Size: size, Certificate: fact.Certificate{Number: "+1\u202e\x1b"}},
			fact.Pressed{Step: "backlash", Gauge: "../../D07", GaugeKind: "dial indicator", Value: &size, Pieces: []string{"../../x"},
				Raw: []byte("=1\r"), Arrived: time.Now(), Source: devices.SourceGauge, Outcome: fact.Taken, Sentence: "=1"},
			fact.Judged{Step: "backlash", What: "backlash", Verdict: "good", Words: "backlash is good", Low: "0.15", High: "0.25", Mean: "0.2", Spread: "0", Points: []string{"0 deg 0.2"}, Build: 1},
		} {
			r, err := fact.Encode("job/"+id, f)
			if err != nil {
				t.Fatal(err)
			}
			if _, err := j.Append(context.Background(), r); err != nil {
				t.Fatal(err)
			}
		}
	}
	if err := j.Close(); err != nil {
		t.Fatal(err)
	}
	return path
}

func runExport(t *testing.T, args ...string) (string, error) {
	t.Helper()
	root := newRoot("test", newExport)
	var o bytes.Buffer
	root.SetOut(&o)
	root.SetErr(io.Discard)
	root.SetArgs(append([]string{"export"}, args...))
	err := root.Execute()
	return o.String(), err
}

// Whatever a job is called, one file is written, where it was asked for.
func TestExportWritesOneFile(t *testing.T) {
	path := exportPath(t)
	dir := t.TempDir()
	t.Chdir(dir)
	for _, id := range []string{"2041", "../../x"} {
		out, err := runExport(t, "results", "--journal", path, "--job", id, "--qif", "out", "--replace")
		if err != nil || out != "out holds the results of job "+id+".\n" {
			t.Errorf("%s: %q, %v", id, out, err)
		}
	}
	out, err := runExport(t, "jobs", "--journal", path, "--csv", "out", "--replace", "--from", "2020-01-01")
	if err != nil || out != "out holds 2 rows of jobs.\n" {
		t.Errorf("%q, %v", out, err)
	}
	if got := files(t, dir); len(got) != 1 || got[0] != "out" {
		t.Errorf("the folder holds %q", got)
	}
	// Nor does the name of a gauge or a piece get into a path, or what stands on its
	// certificate into a formula.
	out, err = runExport(t, "presses", "--journal", path, "--csv", "-")
	if err != nil || !strings.Contains(out, ",../../D07,") || !strings.Contains(out, ",'=cmd|'/C calc'!A0,,../../x: certificate +1\\u202e\\u001b,\n") {
		t.Errorf("%q, %v", out, err)
	}
	out, err = runExport(t, "rings", "--journal", path, "--csv", "-", "--job", "2041")
	if err != nil || strings.Count(out, "\n") != 2 || !strings.Contains(out, ",'=cmd|'/C calc'!A0,") {
		t.Errorf("%q, %v", out, err)
	}
	out, err = runExport(t, "all", "--journal", path, "--xlsx", "all.xlsx", "--to", "2020-01-01")
	if err != nil || out != "all.xlsx holds 0 rows of jobs, 0 rows of steps, 0 rows of presses, 0 rows of packs, 0 rows of rings.\n" {
		t.Errorf("%q, %v", out, err)
	}
}

func TestExportRefuses(t *testing.T) {
	path := exportPath(t)
	dir := t.TempDir()
	t.Chdir(dir)
	for _, f := range []string{"there.csv", "odd.journal"} {
		if err := os.WriteFile(f, []byte("x"), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	with := func(args ...string) []string { return append(args, "--journal", path) }
	for name, c := range map[string]struct {
		args []string
		want string
		exit exitStatus
	}{
		"no kind":           {with("cars", "--csv", "-"), `"cars" is nothing that can be exported: write one of jobs, steps, presses, packs, rings, all or results`, exitInput},
		"nowhere to":        {with("jobs"), "one more flag is wanted: write --csv", exitInput},
		"two forms":         {with("jobs", "--csv", "a", "--xlsx", "b"), "do not go together: write one of them", exitInput},
		"all as CSV":        {with("all", "--csv", "-"), "a CSV file holds one kind of rows", exitInput},
		"results as CSV":    {with("results", "--csv", "-"), "go together", exitInput},
		"jobs as QIF":       {with("jobs", "--qif", "-"), "go together", exitInput},
		"results of none":   {with("results", "--qif", "-"), "results are of one job", exitInput},
		"rows of no job":    {with("jobs", "--csv", "-", "--job", "2049"), `--job "2049": there is no such job: write its number in full`, exitInput},
		"no such job":       {with("results", "--qif", "-", "--job", "2049"), `"2049" is no job of this journal`, exitInput},
		"no day":            {with("jobs", "--csv", "-", "--from", "1.2.2026"), "--from: ", exitInput},
		"backward":          {with("jobs", "--csv", "-", "--from", "2026-02-03", "--to", "2026-02-01"), "the range ends on 2026-02-01, before it begins", exitInput},
		"there already":     {with("jobs", "--csv", "there.csv"), "write --replace to write over it", exitInput},
		"over the journal":  {with("jobs", "--csv", path, "--replace"), "belongs to the bench and is not written over", exitInput},
		"no folder":         {with("jobs", "--csv", "none/x.csv"), "choose a folder", exitInput},
		"under a file":      {with("jobs", "--csv", "there.csv/x"), "choose a folder", exitMachine},
		"a folder":          {with("jobs", "--csv", "."), "is a folder", exitInput},
		"no journal":        {[]string{"jobs", "--csv", "-", "--journal", "none.journal"}, "there is no such file", exitInput},
		"no journal's file": {[]string{"jobs", "--csv", "-", "--journal", "odd.journal"}, "odd.journal", exitInput},
		"no bench file":     {[]string{"jobs", "--csv", "-"}, "bench.yaml: there is no such file", exitInput},
	} {
		_, err := runExport(t, c.args...)
		if err == nil || !strings.Contains(err.Error(), c.want) || statusOf(err) != c.exit {
			t.Errorf("%s: %v (exit %d), want %q (exit %d)", name, err, statusOf(err), c.want, c.exit)
		}
	}
	if got := files(t, dir); len(got) != 2 {
		t.Errorf("the folder holds %q", got)
	}
}

// The demonstration's job comes out whole in every form, marked as training. With
// EXCHANGE_OUT its results and a spreadsheet are left in that folder, for .ci/exchange.
func TestExportOfTheDemonstration(t *testing.T) {
	if testing.Short() {
		t.Skip("it works a whole job")
	}
	out := os.Getenv("EXCHANGE_OUT")
	if out == "" {
		out = t.TempDir()
	}
	d := demoChoice{sheet: "fw3", plain: true, fast: true}
	st, err := setStage(d)
	if err != nil {
		t.Fatal(err)
	}
	defer func() {
		if err := st.strike(); err != nil {
			t.Error(err)
		}
	}()
	st.file.Windows.Double = 4 * time.Millisecond
	if err := plainDemo(context.Background(), st, d, io.Discard); err != nil && statusOf(err) != exitNotGood {
		t.Fatal(err)
	}
	book, results := filepath.Join(out, "demo.xlsx"), filepath.Join(out, "demo.qif")
	if said, err := runExport(t, "all", "--journal", st.file.Journal, "--xlsx", book, "--replace"); err != nil || strings.Contains(said, " 0 rows") {
		t.Fatalf("%q, %v", said, err)
	}
	if _, err := runExport(t, "results", "--journal", st.file.Journal, "--job", "0001", "--qif", results, "--replace"); err != nil {
		t.Fatal(err)
	}
	qif, err := os.ReadFile(results)
	if err != nil || !strings.Contains(string(qif), "TRAINING: not to be released.") || !strings.Contains(string(qif), "combinedUncertainty=") {
		t.Errorf("%v\n%s", err, qif)
	}
	f, err := excelize.OpenFile(book)
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = f.Close() }()
	for _, k := range exchange.Kinds() {
		columns := k.Columns()
		rows, err := f.GetRows(string(k))
		if err != nil || len(rows) < 2 {
			t.Fatalf("%s: %d rows, %v", k, len(rows), err)
		}
		for _, row := range rows[1:] {
			for i, c := range columns {
				if c == "training" && (len(row) <= i || row[i] != "yes") {
					t.Errorf("%s: %q is not marked as training", k, row)
				}
			}
		}
	}
	validated(t, results)
}

// validated holds QIF to its schema, where SCHEMAS is the folder of the schemas.
func validated(t *testing.T, file string) {
	t.Helper()
	schemas := os.Getenv("SCHEMAS")
	if _, err := exec.LookPath("xmllint"); schemas == "" || err != nil {
		return
	}
	said, err := exec.Command("xmllint", "--nonet", "--noout", "--schema", filepath.Join(schemas, "qif3", "QIFApplications", "QIFDocument.xsd"), file).CombinedOutput()
	if err != nil {
		t.Errorf("%v: %s", err, said)
	}
}
