package record

import (
	"os"
	"reflect"
	"regexp"
	"slices"
	"strings"
	"testing"

	"shimwright/ingest/carried"
)

// RECORD.md lists every field, and no other.
func TestRecordDocument(t *testing.T) {
	text, err := os.ReadFile("RECORD.md")
	if err != nil {
		t.Fatal(err)
	}
	for name, of := range map[string]any{
		"record": Record{}, "part": Part{}, "gauge": Gauge{}, "piece": Piece{}, "figure": Figure{}, "stage": Stage{}, "press": Press{},
		"pack": Pack{}, "ring": Ring{}, "point": RingPoint{}, "marking": Marking{}, "verdict": Verdict{}, "judged": Judged{},
		"decision": Decision{}, "signature": Signed{}, "carried": carried.Job{}, "fact": carried.Fact{},
	} {
		_, part, ok := strings.Cut(string(text), "\n## "+name+"\n")
		if !ok {
			t.Errorf("RECORD.md has no part %q", name)
			continue
		}
		part, _, _ = strings.Cut(part, "\n## ")
		var told []string
		for _, m := range regexp.MustCompile("(?m)^\\| `([a-z_0-9]+)` \\| .+ \\|$").FindAllStringSubmatch(part, -1) {
			told = append(told, m[1])
		}
		if got := fields(reflect.TypeOf(of)); !slices.Equal(got, told) {
			t.Errorf("%s has %q, and RECORD.md tells %q", name, got, told)
		}
	}
}

func fields(t reflect.Type) []string {
	var out []string
	for i := range t.NumField() {
		if f := t.Field(i); f.IsExported() {
			name, _, _ := strings.Cut(f.Tag.Get("json"), ",")
			out = append(out, name)
		}
	}
	return out
}
