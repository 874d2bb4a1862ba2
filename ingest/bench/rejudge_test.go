//go:build unix

package bench

import (
	"fmt"
	"strings"
	"testing"

	"shimwright/ingest/fact"
	"shimwright/ingest/journal"
	"shimwright/ingest/store"
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
	false3 := last.Fact
	false3.Moved, false3.Changed = "0.03", "0.021"
	put(t, c.journal, of("job/0001", false3, false1, false2, fact.Abandoned{Reason: "x"})...)
	judged, diff, err = Rejudge(t.Context(), c.journal.Reader, "0001")
	if err != nil || judged != 8 || len(diff) != 6 {
		t.Fatalf("%d judged, %v, %v", judged, diff, err)
	}
	for i, want := range []string{
		`end float found: its move is stored as "0.03" by version test; this program works out "".`,
		`end float found: its change by a move is stored as "0.021" by version test; this program works out "".`,
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

// One answer that judges more steps than one transaction of the journal holds
// has them all judged, and so has a start after it.
func TestManyJudgedAtOnce(t *testing.T) {
	const many = 70
	c := newCounter(t)
	before, example, _ := strings.Cut(c.text, "\nexample:")
	var steps strings.Builder
	for i := range many {
		fmt.Fprintf(&steps, "      - check: bolt %d\n        what: tightening\n        gauge: torque wrench\n        window: 1 N.m .. 90 N.m\n        presses: 1\n        band: {by: bolts, new: 40 N.m .. 60 N.m, used: 30 N.m .. 39 N.m}\n", i)
	}
	c.text = before + "\n  - stage: bolts\n    steps:\n      - record: bolts\n        want: [new, used]\n" + steps.String() + "\nexample:" + example
	c.do(OpenJob{Sheet: "tw2", Serial: "17"})
	c.do(ChooseStep{"bolt 0"})
	for i := range many {
		c.do(ChooseStep{fmt.Sprint("bolt ", i)})
		c.press("T01", "50 N.m")
	}
	c.do(Record{"bolts", "new"})
	c.again()
	n, differ, err := Rejudge(t.Context(), c.journal.Reader, "0001")
	if err != nil || n != many || len(differ) != 0 {
		t.Errorf("%d judged, %v, %v", n, differ, err)
	}
	for i := range many {
		if _, ok := c.job.Judged(fmt.Sprint("bolt ", i)); !ok {
			t.Errorf("bolt %d is not judged", i)
		}
	}
}

// A pack's judgement carries its leaves, its total and how sure its size is; one
// of a form that had no place for them is held to what it has.
func TestRejudgePack(t *testing.T) {
	c := newCounter(t, approvedText(tw2(t)))
	c.build("17", "1.40 mm")
	c.do(Fit{Step: "end pack", Leaves: []string{"1.00 mm", "0.28 mm"}, Measured: []string{"1.28 mm"}})
	last, ok := c.job.Judged("end pack")
	f := last.Fact
	if !ok || strings.Join(f.Leaves, " + ") != "1.00 mm + 0.28 mm" || f.Total != "1.28" {
		t.Fatalf("%+v", f)
	}
	rows, err := c.journal.Judgements(t.Context(), store.JudgementQuery{What: "pack", Limit: 1})
	if err != nil || len(rows) != 1 || rows[0].Total != "1.28" || len(rows[0].Leaves) != 2 || rows[0].Uncertainty != f.Uncertainty {
		t.Errorf("%+v, %v", rows, err)
	}
	f.Leaves, f.Total, f.Uncertainty = nil, "", ""
	for version, want := range map[int]int{2: 0, 3: 2} {
		r, err := fact.Encode("job/0001", f)
		if err != nil {
			t.Fatal(err)
		}
		r.Version = version
		s := journal.Stored{Record: r, Seq: 99}
		res, err := c.job.Work()
		if err != nil {
			t.Fatal(err)
		}
		got := differences(c.job, res, s, f)
		if last.Fact.Uncertainty != "" && version == 3 {
			want++
		}
		if len(got) != want {
			t.Errorf("version %d: %v, want %d", version, got, want)
		}
	}
}
