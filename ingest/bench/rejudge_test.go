//go:build unix

package bench

import (
	"strings"
	"testing"

	"shimwright/ingest/fact"
)

// Jobs judged anew from their facts come out as they were; a judgement that was
// written otherwise, or not written, is told.
func TestRejudge(t *testing.T) {
	c := newCounter(t, approvedText(tw2(t)))
	c.build("17", "1.40 mm")
	c.do(Fit{Step: "end pack", Measured: []string{"1.28 mm"}})
	c.press("I03", "1.00 mm", "1.12 mm")
	judged, diff, err := Rejudge(t.Context(), c.journal.Reader, "0001")
	if err != nil || judged != 5 || len(diff) != 0 {
		t.Fatalf("%d judged, %v, %v", judged, diff, err)
	}
	last, _ := c.job.Judged("end float found")
	false1, false2 := last.Fact, fact.Judged{Step: "shaft height", What: "backlash", Verdict: "good", Words: "fine", Program: "0.9"}
	false1.Value, false1.Verdict = "0.11", "out high"
	put(t, c.journal, of("job/0001", false1, false2, fact.Abandoned{Reason: "x"})...)
	judged, diff, err = Rejudge(t.Context(), c.journal.Reader, "0001")
	if err != nil || judged != 7 || len(diff) != 4 {
		t.Fatalf("%d judged, %v, %v", judged, diff, err)
	}
	for i, want := range []string{
		`end float found: its verdict is stored as "out high" by version test; this program works out "good".`,
		`end float found: its figure is stored as "0.11" by version test; this program works out "0.12".`,
		`shaft height: judged "fine" by version 0.9; this program judges nothing there.`,
		`job 0001, end float found: no judgement was stored; this program works out "end float is 0.120 mm`,
	} {
		if !strings.Contains(diff[i].String(), want) {
			t.Errorf("%s, want %s", diff[i], want)
		}
	}
	if _, _, err := Rejudge(t.Context(), c.journal.Reader, "0009"); err == nil || !strings.Contains(err.Error(), "there is no job 0009") {
		t.Error(err)
	}
}
