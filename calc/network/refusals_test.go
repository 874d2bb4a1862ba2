package network_test

import (
	"strings"
	"testing"

	"shimwright/calc/network"
)

// wantProblem asks that the spec is refused at a subject with these words.
func wantProblem(t *testing.T, s network.Spec, subject, words string) {
	t.Helper()
	n, bad := network.Build(s)
	if n != nil {
		t.Errorf("built; want it refused at %q: %q", subject, words)
		return
	}
	for _, p := range bad {
		if p.Subject == subject && strings.Contains(p.Message, words) {
			return
		}
	}
	t.Errorf("want a refusal at %q with %q; got %v", subject, words, bad)
}
