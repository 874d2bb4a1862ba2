package record

import (
	"bytes"
	"fmt"
	"strings"
	"testing"

	"shimwright/calc/overhaul"
	"shimwright/devices"
	"shimwright/ingest/fact"
)

// A verdict that is out and was let be by a concession stays out, and says which
// concession; one on another figure does not count.
func TestConcessionStandsBesideItsVerdict(t *testing.T) {
	text, e := fw3(t)
	m := newMaker(t, "7", devices.SourceGauge, fact.Opened{Serial: "S", Text: text, Rule: "guarded"})
	m.play(e)
	again := m.press("cover bolts", "", "T01", "torque wrench", "60.0 N.m")
	m.add(fact.Again{Step: "cover bolts", Reason: "read anew"})
	m.add(again)
	w, err := walk(m.job())
	if err != nil {
		t.Fatal(err)
	}
	res, err := w.job.Work()
	if err != nil {
		t.Fatal(err)
	}
	found := res.Of("cover bolts").Check.Words
	by := fact.Signature{Initials: "RK", By: fact.ByPIN}
	m.add(fact.Conceded{Step: "cover bolts", What: "tightening", Found: "another", Reason: "no", By: by})
	if v := verdictOf(t, recordOf(t, m.job()), "cover bolts"); v.Verdict != "OUT HIGH" || v.Concession != "" {
		t.Errorf("%+v", v)
	}
	m.add(fact.Conceded{Step: "cover bolts", What: "tightening", Found: found, Reason: "bolts are replaced at the port", By: by})
	r := recordOf(t, m.job())
	if v := verdictOf(t, r, "cover bolts"); v.Verdict != "OUT HIGH" || !strings.Contains(v.Concession, "RK by PIN: bolts are replaced") {
		t.Errorf("%+v", v)
	}
	var b bytes.Buffer
	if err := r.Text(&b); err != nil || !strings.Contains(b.String(), "bolts are replaced at the port") {
		t.Error(err)
	}
}

func verdictOf(t *testing.T, r *Record, step string) Verdict {
	t.Helper()
	for _, v := range r.Verdicts {
		if v.Step == step {
			return v
		}
	}
	t.Fatalf("no verdict of %s", step)
	return Verdict{}
}

// Every press is either under its stage or superseded with a reason, once.
func TestEveryPressIsAccountedFor(t *testing.T) {
	for name, make := range jobs() {
		c := make(t)
		r := recordOf(t, c)
		seen := map[int64]int{}
		for _, s := range r.Stages {
			for _, p := range s.Presses {
				seen[p.Seq]++
			}
		}
		for _, p := range r.Aside {
			seen[p.Seq]++
			if p.Reason == "" || p.Reason == "another press took its place" {
				t.Errorf("%s: press %d is superseded by %q", name, p.Seq, p.Reason)
			}
		}
		for _, f := range c.Facts {
			if f.Kind == "pressed" && seen[f.Seq] != 1 {
				t.Errorf("%s: press %d is there %d times", name, f.Seq, seen[f.Seq])
			}
		}
	}
}

// Each figure of the results has its sum among the workings.
func TestEveryFigureIsWorked(t *testing.T) {
	c := demo(t)
	w, err := walk(c)
	if err != nil {
		t.Fatal(err)
	}
	res, err := w.job.Work()
	if err != nil {
		t.Fatal(err)
	}
	all := strings.Join(recordOf(t, c).Workings, "\n")
	for _, x := range res.Steps {
		var figures []*overhaul.Figure
		if x.Step.Measure != nil {
			figures = append(figures, x.Figure)
		}
		if x.Pack != nil {
			figures = append(figures, x.Pack.Worked, x.Pack.Fitted)
		}
		for _, f := range figures {
			if f != nil && !strings.Contains(all, f.Name) {
				t.Errorf("%s: %s is not worked", x.Step.Name, f.Name)
			}
		}
	}
}

func TestClean(t *testing.T) {
	for in, want := range map[string]string{
		"P-4417 µ ° ± Ж Ω":      "P-4417 µ ° ± Ж Ω",
		"a\u202eb\u2066c":       "a<U+202E>b<U+2066>c",
		"\x1b[31m\x00\t\n":      "<U+001B>[31m<U+0000><U+0009><U+000A>",
		"a\xffb":                "a<byte FF>b",
		"zero\u200bwidth\ufeff": "zero<U+200B>width<U+FEFF>",
		"漢字":                    "漢字",
	} {
		if got := clean(in); got != want {
			t.Errorf("%q is %q, want %q", in, got, want)
		}
	}
}

// What the fonts lack is replaced and said; what they have is printed.
func TestGlyphs(t *testing.T) {
	g, err := newGlyphs()
	if err != nil {
		t.Fatal(err)
	}
	const has = "µ°±×÷√ ÀÉîõü ßŁżőř ΑΒΓαβγώ АБВабвёЇ ─▼●□·…−"
	if got := g.show(has); got != has || g.said() != "" {
		t.Errorf("%q, %q", got, g.said())
	}
	if got := g.show("e\u0301 漢 \U0001F600"); got != "é □ □" || !strings.Contains(g.said(), "U+6F22 U+1F600") {
		t.Errorf("%q, %q", got, g.said())
	}
}

func FuzzCleanAndFold(f *testing.F) {
	f.Add("a\u202eb \x1b 漢字漢字漢字 e\u0301", 7)
	f.Fuzz(func(t *testing.T, s string, width int) {
		width = max(4, min(width, 200))
		for _, l := range folded(clean(s), width) {
			if strings.ContainsFunc(l, func(r rune) bool { return !shows(r) }) {
				t.Errorf("%q shows what does not print", l)
			}
		}
	})
}

// A press that waits for a decision keeps a job open though every step is done.
func TestHeldPressStaysOpen(t *testing.T) {
	text, e := fw3(t)
	m := newMaker(t, "7", devices.SourceGauge, fact.Opened{Serial: "S", Text: text, Rule: "guarded"})
	m.play(e)
	r := recordOf(t, m.job())
	if len(r.Open) != 0 {
		t.Fatalf("open before: %q", r.Open)
	}
	p := m.press("cover bolts", "", "T01", "torque wrench", "900 N.m")
	p.Outcome, p.Cause, p.Sentence = fact.Held, fact.OutOfWindow, "900 N.m from T01 misses the window."
	seq := m.send(p)
	r = recordOf(t, m.job())
	want := fmt.Sprintf("press %d at cover bolts is held", seq)
	if len(r.Open) != 1 || r.Open[0] != want {
		t.Errorf("open: %q, want %q", r.Open, want)
	}
	var b bytes.Buffer
	if err := r.Text(&b); err != nil || !strings.Contains(b.String(), want) {
		t.Errorf("%v\n%s", err, b.String())
	}
}
