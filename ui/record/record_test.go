package record

import (
	"bytes"
	"errors"
	"flag"
	"os"
	"path/filepath"
	"testing"

	"github.com/google/go-cmp/cmp"

	"shimwright/ingest/carried"
)

var update = flag.Bool("update", false, "write the golden files anew")

func jobs() map[string]func(testing.TB) carried.Job {
	return map[string]func(testing.TB) carried.Job{"smallest": smallest, "demo": demo, "crowded": crowded}
}

func golden(t *testing.T, name string, got []byte) {
	t.Helper()
	path := filepath.Join("testdata", name)
	if *update {
		if err := os.MkdirAll("testdata", 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, got, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(string(want), string(got)); diff != "" {
		t.Errorf("%s: %s", name, diff)
	}
}

func TestText(t *testing.T) {
	for name, make := range jobs() {
		var b bytes.Buffer
		if err := recordOf(t, make(t)).Text(&b); err != nil {
			t.Fatal(err)
		}
		golden(t, name+".txt", b.Bytes())
	}
}

func TestLabel(t *testing.T) {
	for name, make := range jobs() {
		var b bytes.Buffer
		if err := recordOf(t, make(t)).LabelText(&b); err != nil {
			t.Fatal(err)
		}
		golden(t, name+"-label.txt", b.Bytes())
	}
}

func TestNoFactsNoRecord(t *testing.T) {
	if _, err := From(carried.Job{Bench: "b", ID: "1"}); !errors.Is(err, ErrNoFacts) {
		t.Error(err)
	}
}
