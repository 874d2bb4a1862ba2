package main

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"shimwright/ingest/fact"
	"shimwright/ingest/journal"
)

// aJob writes a journal with job 0001 and a job whose number would be a path.
func aJob(t *testing.T) string {
	t.Helper()
	text, err := os.ReadFile("../../testdata/sheets/gk1.yaml")
	if err != nil {
		t.Fatal(err)
	}
	sum := sha256.Sum256(text)
	head := fact.Opened{Drive: "Corrie GK1 \u202ecover", Serial: "=cmd|' /C calc'!A0", Sheet: "gk1", Issue: 1,
		Digest: hex.EncodeToString(sum[:]), Text: string(text), Rule: "guarded"}
	path := filepath.Join(t.TempDir(), "bay.journal")
	j, err := journal.Open(path, journal.Options{Bench: "bay 2", Run: "r1", Now: time.Now})
	if err != nil {
		t.Fatal(err)
	}
	for _, id := range []string{"0001", "../../x"} {
		r, err := fact.Encode("job/"+id, head)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := j.Append(context.Background(), r); err != nil {
			t.Fatal(err)
		}
	}
	if err := j.Close(); err != nil {
		t.Fatal(err)
	}
	return path
}

// runRecord runs record or verify in a folder of its own.
func runRecord(t *testing.T, args ...string) (out, errs string, err error) {
	t.Helper()
	root := newRoot("test", newRecord, newVerify)
	var o, e bytes.Buffer
	root.SetOut(&o)
	root.SetErr(&e)
	root.SetArgs(args)
	err = root.Execute()
	return o.String(), e.String(), err
}

func files(t *testing.T, dir string) []string {
	t.Helper()
	list, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	var out []string
	for _, f := range list {
		out = append(out, f.Name())
	}
	return out
}

func TestRecordWritesEveryFormAndVerifies(t *testing.T) {
	path := aJob(t)
	dir := t.TempDir()
	t.Chdir(dir)
	for _, id := range []string{"0001", "../../x"} {
		if _, _, err := runRecord(t, "record", id, "--journal", path, "--pdf", "r.pdf", "--text", "r.txt", "--json", "r.json", "--replace"); err != nil {
			t.Fatal(err)
		}
		if got := files(t, dir); !slices.Equal(got, []string{"r.json", "r.pdf", "r.txt"}) {
			t.Errorf("job %s: the folder holds %q", id, got)
		}
		out, _, err := runRecord(t, "verify", "r.json")
		if err != nil || !strings.Contains(out, "the build record of job "+id+", agrees") {
			t.Errorf("%q, %v", out, err)
		}
	}
	out, _, err := runRecord(t, "record", "0001", "--journal", path)
	if err != nil || !strings.Contains(out, "Corrie GK1 <U+202E>cover, serial =cmd|' /C calc'!A0") {
		t.Errorf("%q, %v", out, err)
	}
	out, _, err = runRecord(t, "record", "0001", "--journal", path, "--label")
	if err != nil || !strings.Contains(out, "JOB 0001") || !strings.Contains(out, "no pack is fitted") {
		t.Errorf("%q, %v", out, err)
	}
}

func TestVerifyFindsAnEditedRecord(t *testing.T) {
	path := aJob(t)
	t.Chdir(t.TempDir())
	if _, _, err := runRecord(t, "record", "0001", "--journal", path, "--json", "r.json"); err != nil {
		t.Fatal(err)
	}
	b, err := os.ReadFile("r.json")
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile("r.json", bytes.Replace(b, []byte(`"serial": "=cmd`), []byte(`"serial": "cmd`), 1), 0o600); err != nil {
		t.Fatal(err)
	}
	out, _, err := runRecord(t, "verify", "r.json")
	if statusOf(err) != exitNotGood || !strings.Contains(out, "does NOT AGREE") || !strings.Contains(out, "record.serial") {
		t.Errorf("%q, %v", out, err)
	}
}

func TestRecordRefuses(t *testing.T) {
	path := aJob(t)
	dir := t.TempDir()
	t.Chdir(dir)
	for _, f := range []string{"there.pdf", "odd.json"} {
		if err := os.WriteFile(f, []byte("{}"), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	for name, c := range map[string]struct {
		args []string
		want string
		exit exitStatus
	}{
		"no such job":        {[]string{"record", "0009", "--journal", path}, "there is no such job", exitInput},
		"a path for a job":   {[]string{"record", "../../y", "--journal", path, "--pdf", "y.pdf"}, "there is no such job", exitInput},
		"no journal":         {[]string{"record", "0001", "--journal", "none.journal"}, "there is no such file", exitInput},
		"no journal's file":  {[]string{"record", "0001", "--journal", "odd.json"}, "", exitInput},
		"no bench file":      {[]string{"record", "0001"}, "bench.yaml", exitInput},
		"there already":      {[]string{"record", "0001", "--journal", path, "--pdf", "there.pdf"}, "--replace", exitInput},
		"no folder":          {[]string{"record", "0001", "--journal", path, "--pdf", "none/x.pdf"}, "none", exitInput},
		"under a file":       {[]string{"record", "0001", "--journal", path, "--pdf", "there.pdf/x.pdf"}, "there.pdf", exitMachine},
		"label as JSON":      {[]string{"record", "0001", "--journal", path, "--label", "--json", "x.json"}, "label", exitInput},
		"bench and journal":  {[]string{"record", "0001", "--journal", path, "--bench", "b.yaml"}, "bench", exitInput},
		"JSON and no record": {[]string{"verify", "odd.json"}, "is missing", exitInput},
		"a folder":           {[]string{"verify", "."}, "folder", exitInput},
		"nothing":            {[]string{"verify", "none.json"}, "there is no such file", exitInput},
	} {
		_, _, err := runRecord(t, c.args...)
		if err == nil || statusOf(err) != c.exit || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: status %d, %v; want %d and %q", name, statusOf(err), err, c.exit, c.want)
		}
	}
	if got := files(t, dir); !slices.Equal(got, []string{"odd.json", "there.pdf"}) {
		t.Errorf("refusing left %q behind", got)
	}
}
