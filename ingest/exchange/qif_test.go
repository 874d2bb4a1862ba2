package exchange_test

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"shimwright/ingest/exchange"
	"shimwright/ingest/fact"
)

// qifJob is a signed job with one of everything that a judgement can be.
func qifJob(t testing.TB, as fact.Opened, end bool) *made {
	t.Helper()
	m := newMade(t)
	text, err := os.ReadFile(filepath.Join("..", "..", "cmd", "shimwright", "sheets", "fw3.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	as.Text = string(text)
	marking := fact.Judged{Step: "contact marking", What: "contact marking", Verdict: "good", Words: "drive flank: central & <good>", Build: 3}
	runOut := fact.Judged{Step: "wheel run-out", What: "run-out", Verdict: "good", Words: "runs out 0.03 mm", Value: "0.03", Low: "0", High: "0.05", Uncertainty: "0.004",
		Points: []string{"0 deg 0.0", "120 deg -0.01", "240 deg 0.02"}, Build: 2}
	m.put("2041", as, runOut, torqueJudged("1.5", "out high"), packJudged("0.003"), torqueJudged("1.12", "good"),
		ringJudged("too close to call", "0 deg 0.182", "90 deg 0.2", "180 deg 0.155", "270 deg 0.298"), marking)
	if end {
		m.put("2041", fact.Signed{As: fact.Lead, Ends: true})
	}
	m.flush()
	return m
}

func qifOf(t testing.TB, m *made) []byte {
	t.Helper()
	s := source(m)
	s.Job = "2041"
	r, err := s.Results(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	if err := exchange.WriteQIF(&b, r, "v1"); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// Of each step the last judgement counts; a point is judged by itself, whatever
// the ring came to.
func TestQIF(t *testing.T) {
	got := qifOf(t, qifJob(t, opened("A-17"), true))
	golden(t, "job.qif", got)
	if !bytes.Equal(got, qifOf(t, qifJob(t, opened("A-17"), true))) {
		t.Error("the same job gave other bytes")
	}
	training := opened("<&\u202e\x01=1")
	training.Training = true
	got = qifOf(t, qifJob(t, training, false))
	golden(t, "training.qif", got)
	for _, want := range []string{"TRAINING: not to be released.", "It is not signed: the job is open."} {
		if !strings.Contains(string(got), want) {
			t.Errorf("%q is missing", want)
		}
	}
}

// The whole is PASS only where the job is signed, real and good throughout.
func TestQIFWhole(t *testing.T) {
	whole := func(o fact.Opened, ring fact.Judged, end bool) string {
		m := newMade(t)
		m.put("2041", o, ring)
		if end {
			m.put("2041", fact.Signed{As: fact.Lead, Ends: true})
		}
		m.flush()
		_, rest, _ := strings.Cut(string(qifOf(t, m)), "<InspectionStatusEnum>")
		status, _, _ := strings.Cut(rest, "<")
		return status
	}
	good, wide := ringJudged("good", "0 deg 0.2"), ringJudged("not good", "0 deg 0.2")
	training := opened("A")
	training.Training = true
	for i, c := range []struct {
		o    fact.Opened
		ring fact.Judged
		end  bool
		want string
	}{
		{opened("A"), good, true, "PASS"},
		{opened("A"), good, false, "UNKNOWN"},
		{training, good, true, "UNKNOWN"},
		{opened("A"), ringJudged("good", "0 deg 0.155"), true, "UNKNOWN"}, // a point too close to call
		{opened("A"), wide, true, "FAIL"},                                 // each point good, the ring not
		{opened("A"), ringJudged("good", "0 deg 0.3"), true, "FAIL"},
	} {
		if got := whole(c.o, c.ring, c.end); got != c.want {
			t.Errorf("case %d: %s, want %s", i, got, c.want)
		}
	}
}

func TestNoResults(t *testing.T) {
	m := threeJobs(t)
	for job, want := range map[string]string{"2043": "job 2043 was never judged", "../../x": `"../../x" is no job`, "": `"" is no job`} {
		s := source(m)
		s.Job = job
		if _, err := s.Results(context.Background()); job != "" && (err == nil || !strings.Contains(err.Error(), want)) {
			t.Errorf("%q: %v", job, err)
		}
	}
}

// transcript is what xmllint said of our own files, with their digests and those
// of the schemas, for readers without either.
const transcript = "validated.txt"

// TestValidated holds every file of the transcript to the digest in it, so that
// what was validated is what lies here. Where SCHEMAS is the folder of the schemas
// and xmllint is there, they are validated again; -update writes it anew then.
func TestValidated(t *testing.T) {
	files := []struct{ schema, file string }{
		{"qif3/QIFApplications/QIFDocument.xsd", "testdata/golden/job.qif"},
		{"qif3/QIFApplications/QIFDocument.xsd", "testdata/golden/training.qif"},
		{"dcc/dcc_312.xsd", "testdata/dcc/piece_3.1.2.xml"},
		{"dcc/dcc_321_local.xsd", "testdata/dcc/piece_3.2.1.xml"},
	}
	schemas := os.Getenv("SCHEMAS")
	_, err := exec.LookPath("xmllint")
	can := schemas != "" && err == nil
	var out strings.Builder
	version := ""
	for _, f := range files {
		fmt.Fprintf(&out, "$ xmllint --nonet --noout --schema %s %s\n", f.schema, f.file)
		if can {
			version = xmllint(t, "--version")
			if said := xmllint(t, "--nonet", "--noout", "--schema", filepath.Join(schemas, f.schema), f.file); said != f.file+" validates\n" {
				t.Errorf("%s: %s", f.file, said)
			}
		}
		fmt.Fprintf(&out, "%s validates\n", f.file)
	}
	out.WriteString("\nSHA-256\n")
	for _, f := range files {
		out.WriteString(digestLine(t, f.file))
	}
	path := filepath.Join("testdata", transcript)
	if *update && can {
		text := "What xmllint (" + strings.Split(version, "\n")[0] + ") said:\n\n" + out.String() + schemaLines(t, schemas)
		if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	kept, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(string(kept), out.String()) {
		t.Errorf("%s does not speak of these files: validate them and write it anew (SCHEMAS=… go test -update)\n%s", path, out.String())
	}
}

// xmllint is what it says on both streams; it writes its verdict on the error
// stream.
func xmllint(t *testing.T, args ...string) string {
	t.Helper()
	out, err := exec.Command("xmllint", args...).CombinedOutput()
	var exit *exec.ExitError
	if err != nil && !errors.As(err, &exit) {
		t.Fatal(err)
	}
	return string(out)
}

func digestLine(t *testing.T, path string) string {
	t.Helper()
	b, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	sum := sha256.Sum256(b)
	return hex.EncodeToString(sum[:]) + "  " + filepath.ToSlash(path) + "\n"
}

// schemaLines are the digests of the schemas that were used.
func schemaLines(t *testing.T, schemas string) string {
	t.Helper()
	out := "\nby the schemas\n"
	found, err := filepath.Glob(filepath.Join(schemas, "*", "*.xsd"))
	more, moreErr := filepath.Glob(filepath.Join(schemas, "*", "*", "*.xsd"))
	if err != nil || moreErr != nil {
		t.Fatal(err, moreErr)
	}
	for _, f := range append(found, more...) {
		line := digestLine(t, f)
		out += strings.Replace(line, filepath.ToSlash(schemas)+"/", "", 1)
	}
	return out
}
