package metrics_test

import (
	"os"
	"strings"
	"testing"

	"shimwright/ingest/fact"
)

// METRICS.md names every reason.
func TestReasonsAreDocumented(t *testing.T) {
	doc, err := os.ReadFile("METRICS.md")
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range fact.Causes() {
		if !strings.Contains(string(doc), "`"+string(c)+"`") {
			t.Errorf("METRICS.md lacks the reason %q", c)
		}
	}
}
