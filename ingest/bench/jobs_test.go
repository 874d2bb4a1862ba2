//go:build unix

package bench

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"shimwright/calc/ring"
	"shimwright/devices"
	"shimwright/devices/port"
	"shimwright/ingest/fact"
	"shimwright/ingest/journal"
	"shimwright/ingest/people"
	"shimwright/ingest/register"
	"shimwright/ingest/store"
)

// A counter is a bench that does not run: the test does what its goroutine
// would, with presses that pass for a gauge's own.
type counter struct {
	counted bool // the shims were counted before the bench was opened
	*Bench
	t    testing.TB
	path string
	now  time.Time
	text string // of sheet tw2
}

func tw2(t testing.TB) string {
	t.Helper()
	text, err := os.ReadFile(filepath.Join("testdata", "tw2.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

// newCounter opens a bench over a journal that holds facts already.
func newCounter(t testing.TB, facts ...about) *counter {
	t.Helper()
	c := &counter{t: t, path: filepath.Join(t.TempDir(), "t.journal"), now: time.Now(), text: tw2(t)}
	j := openJournal(t, c.path, func() time.Time { return c.now })
	if len(facts) > 0 {
		put(t, j, facts...)
	}
	c.counted = slices.ContainsFunc(facts, func(f about) bool { return f.subject == register.StockSubject("shims") })
	if err := j.Close(); err != nil {
		t.Fatal(err)
	}
	c.open()
	t.Cleanup(func() { c.shut() })
	return c
}

func (c *counter) open() {
	c.t.Helper()
	clock := func() time.Time { c.now = c.now.Add(time.Second); return c.now }
	cfg := config(filepath.Dir(c.path), clock)
	cfg.Windows.Double = 0
	if c.counted {
		cfg.Trays = nil // the stock is what was counted, and nothing of the file
	}
	named := cfg.Sheets
	cfg.Sheets = func(name string) ([]byte, error) {
		if name == "tw2" {
			if c.text == "" {
				return nil, errors.New("tw2.yaml: no such file")
			}
			return []byte(c.text), nil
		}
		return named(name)
	}
	var err error
	if c.Bench, err = Open(c.t.Context(), openJournal(c.t, c.path, clock), cfg); err != nil {
		c.t.Fatal(err)
	}
}

func (c *counter) shut() {
	if err := errors.Join(c.journal.Verify(context.Background(), nil), c.journal.Close()); err != nil {
		c.t.Error(err)
	}
}

// again opens another bench over the same journal.
func (c *counter) again() { c.t.Helper(); c.shut(); c.open() }

// do carries out a command that must succeed, and gives its words.
func (c *counter) do(cmd Command) string {
	c.t.Helper()
	r, err := c.apply(c.t.Context(), cmd)
	if err != nil {
		c.t.Fatalf("%+v: %v", cmd, err)
	}
	c.publish()
	return r.Words
}

// refused is why a command is refused; nothing is recorded by it.
func (c *counter) refused(cmd Command, want ...string) {
	c.t.Helper()
	before := c.seq
	r, err := c.apply(c.t.Context(), cmd)
	if err == nil {
		c.t.Fatalf("%+v: %s", cmd, r.Words)
	}
	for _, w := range want {
		if !strings.Contains(err.Error(), w) {
			c.t.Errorf("%+v: %v, want %q", cmd, err, w)
		}
	}
	if c.seq != before {
		c.t.Errorf("%+v was refused and recorded", cmd)
	}
}

// press is a gauge's own press at the open step.
func (c *counter) press(gauge string, values ...string) {
	c.t.Helper()
	for _, v := range values {
		s := devices.Sample{Gauge: gauge, Source: devices.SourceGauge}
		c.now = c.now.Add(time.Minute)
		s.Value, s.UnitStated, s.At = figure(v), true, c.now
		c.event(c.t.Context(), port.Event{Gauge: gauge, What: port.Sample, At: s.At, Sample: s})
		c.publish()
		if c.trouble != "" {
			c.t.Fatal(c.trouble)
		}
	}
}

// build works job tw2 to where only the float is left, and finds that.
func (c *counter) build(serial, float string) {
	c.t.Helper()
	c.do(OpenJob{Sheet: "tw2", Serial: serial})
	c.press("I03", "1.00 mm", "1.32 mm")
	c.do(Record{"front number", "A7"})
	c.do(Record{"back number", "A7"})
	c.press("D07", "41.00 mm", "41.00 mm")
	c.press("M02", "39.60 mm", "39.60 mm")
	c.do(Fit{Step: "end pack", Leaves: []string{"1.00 mm", "0.30 mm"}, Measured: []string{"1.30 mm"}})
	c.press("I03", "1.00 mm", float)
}

func person(initials string, roles ...fact.Role) about {
	return about{people.Subject(initials), fact.Joined{Name: initials + " of the tests", Roles: roles}}
}

func withPIN(t testing.TB, initials, pin string) about {
	t.Helper()
	hash, err := people.HashPIN(pin, people.LeastCost)
	if err != nil {
		t.Fatal(err)
	}
	return about{people.Subject(initials), fact.PINSet{Hash: hash}}
}

func approvedText(text string) about {
	return about{register.SheetSubject("tw2"), fact.Approved{Issue: 1, Digest: Digest([]byte(text)), Day: fact.DayOf(time.Now()), By: fact.Signature{Initials: "RK", By: fact.ByInitials}}}
}

func stocked() about {
	heap := func(size string, n int) fact.Heap { return fact.Heap{Size: figure(size), Count: n} }
	return about{register.StockSubject("shims"), fact.Counted{Leaves: []fact.Heap{heap("1.00 mm", 3), heap("0.30 mm", 3), heap("0.25 mm", 3), heap("0.10 mm", 3)}}}
}

func states(t testing.TB, j *journal.Reader) map[string]store.State {
	t.Helper()
	jobs, err := j.Jobs(t.Context(), store.JobQuery{})
	if err != nil {
		t.Fatal(err)
	}
	out := map[string]store.State{}
	for _, o := range jobs {
		out[o.ID] = o.State
	}
	return out
}

// Several jobs are open at once; one in front, switched without loss, and on a
// new start the one last used is in front.
func TestSeveralJobs(t *testing.T) {
	c := newCounter(t, approvedText(tw2(t)))
	c.do(OpenJob{Sheet: "tw2", Serial: "17"})
	c.press("I03", "1.00 mm")
	first := picture(c.Snapshot())
	c.do(OpenJob{Sheet: "fw3", Serial: "18"})
	c.refused(ChooseJob{"0009"}, "no open job: open are 0002 (serial 18), 0001 (serial 17)")
	c.refused(OpenJob{Sheet: "tw2", Serial: "17"}, "job 0001 is open on serial 17", "choose that one")
	c.refused(OpenJob{Sheet: "fw3", Serial: "17"}, "job 0001 is open on serial 17")
	c.do(ChooseJob{"0001"})
	lines := func(s string) string { _, rest, _ := strings.Cut(s, "\n"); return rest }
	if diff := cmp.Diff(lines(first), lines(picture(c.Snapshot()))); diff != "" {
		t.Errorf("switched away and back:\n%s", diff)
	}
	if s := c.do(ChooseJob{"0001"}); !strings.Contains(s, "in front already") {
		t.Error(s)
	}
	c.again()
	if s := c.Snapshot(); s.Job.ID != "0001" || len(s.Open) != 2 || s.Open[0].ID != "0002" || s.Open[1].Serial != "17" {
		t.Errorf("after a start: %s, %+v", s.Job.ID, s.Open)
	}
	c.do(OpenJob{Sheet: "tw2", Serial: "17", Another: true})
	if s := c.Snapshot(); s.Job.ID != "0003" || len(s.Open) != 3 {
		t.Errorf("%s of %d", s.Job.ID, len(s.Open))
	}
}

func TestMostOpenJobs(t *testing.T) {
	c := newCounter(t)
	for range mostOpen {
		c.do(OpenJob{Sheet: "tw2", Serial: "17", Another: true})
	}
	c.refused(OpenJob{Sheet: "tw2", Serial: "18"}, "40 jobs are open", "abandon one first")
	c.do(Abandon{"too many"})
	c.do(OpenJob{Sheet: "tw2", Serial: "18"})
}

// A sheet that nobody approved opens training jobs, and says so.
func TestUnapproved(t *testing.T) {
	c := newCounter(t)
	if s := c.do(OpenJob{Sheet: "tw2", Serial: "17"}); !strings.Contains(s, "Nobody approved this text of the sheet, so it is a TRAINING job") {
		t.Error(s)
	}
	if s := c.Snapshot(); !s.Results.Training || !s.Open[0].Training {
		t.Error("it is no training job")
	}
	c.refused(By{"AB", "", SignOff{}}, "is a training job and is never released")
	if s := c.do(Finish{}); s != "Job 0001 is finished as training; it is not released." {
		t.Error(s)
	}
	d := newCounter(t, approvedText(tw2(t)))
	if s := d.do(OpenJob{Sheet: "tw2", Serial: "17"}); strings.Contains(s, "TRAINING") {
		t.Error(s)
	}
	d.refused(Finish{}, "is no training job")
	if s := d.do(OpenJob{Sheet: "tw2", Serial: "18", Training: true}); !strings.HasSuffix(s, "It is a TRAINING job: it is never released.") {
		t.Error(s)
	}
	d.do(Finish{})
	got, want := states(t, d.journal.Reader), map[string]store.State{"0001": store.Open, "0002": store.Finished}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

// A sheet changed or gone under an open job changes nothing of the job: its text
// is frozen. A new job by the changed text is training until it is approved.
func TestSheetChanged(t *testing.T) {
	c := newCounter(t, approvedText(tw2(t)))
	c.do(OpenJob{Sheet: "tw2", Serial: "17"})
	c.press("I03", "1.00 mm", "1.32 mm")
	before := results(c.Snapshot())
	c.text = strings.Replace(c.text, "40.00 mm .. 42.00 mm", "10.00 mm .. 12.00 mm", 1)
	c.again()
	if diff := cmp.Diff(before, results(c.Snapshot())); diff != "" {
		t.Error(diff)
	}
	c.refused(OpenJob{Sheet: "tw2", Serial: "18"}, "41.00 mm misses 10.00 mm .. 12.00 mm")
	c.text = strings.Replace(tw2(t), "issue: 1", "issue: 2", 1)
	if s := c.do(OpenJob{Sheet: "tw2", Serial: "18"}); !strings.Contains(s, "Nobody approved this text") {
		t.Error(s)
	}
	c.text = ""
	c.refused(OpenJob{Sheet: "tw2", Serial: "19"}, "no such file")
	c.do(ChooseJob{"0001"})
	if diff := cmp.Diff(before, results(c.Snapshot())); diff != "" {
		t.Error(diff)
	}
}

// A bench without people: initials alone sign, and the record says so.
func TestSignedByInitials(t *testing.T) {
	c := newCounter(t, approvedText(tw2(t)))
	c.build("17", "1.10 mm")
	if s := c.Snapshot(); len(s.Unfinished) != 0 || s.Step != nil {
		t.Fatalf("%q, at %+v", s.Unfinished, s.Step)
	}
	c.refused(SignOff{}, "write the initials of somebody who may sign as the fitter")
	c.refused(By{"A B", "", SignOff{}}, "initials")
	c.refused(By{"AB", "", SignOff{"lead"}}, "it wants that of the fitter")
	if s := c.do(By{"ab", "", SignOff{}}); s != "Job 0001 is signed off (AB by initials only)." {
		t.Error(s)
	}
	if c.Snapshot().Job != nil || len(c.Snapshot().Open) != 0 {
		t.Error("a signed job is still there")
	}
	if got := states(t, c.journal.Reader)["0001"]; got != store.Signed {
		t.Error(got)
	}
	judged, err := c.journal.Judgements(t.Context(), store.JudgementQuery{Job: "0001", What: signOffWhat})
	if err != nil || len(judged) != 1 || judged[0].Verdict != "good" || judged[0].Training {
		t.Errorf("%+v %v", judged, err)
	}
	c.refused(ChooseJob{"0001"}, "none is open")
	c.again()
	if c.Snapshot().Job != nil {
		t.Error("a signed job is taken up again")
	}
	j, _, err := Load(t.Context(), c.journal.Reader, "0001")
	if err != nil || j.Ended() != store.Signed || j.Signatures()[0].By != (fact.Signature{Initials: "AB", By: fact.ByInitials}) {
		t.Errorf("%v %v", j, err)
	}
}

// Story 12's refusal and the others: each thing that is open is listed.
func TestSignOffRefused(t *testing.T) {
	c := newCounter(t, approvedText(tw2(t)))
	c.build("17", "1.40 mm")
	sign := By{"AB", "", SignOff{}}
	c.refused(sign, "one thing is open: end float found is held (end float is 0.400 mm, limits 0.050 .. 0.150 mm: OUT HIGH)")
	c.do(Fit{Step: "end pack", Measured: []string{"1.29 mm"}})
	c.refused(sign, "end float found is stale", "is from build 2", "now build 3")
	c.press("I03", "1.00 mm", "1.11 mm")
	c.do(ChooseStep{"shaft height"})
	c.do(Retake{"shaft height", "a burr"})
	c.press("M02", "45.00 mm", "39.60 mm", "39.60 mm")
	c.do(Hold{"", "no oil seals"})
	c.do(Hold{"end pack", "count the leaves"})
	c.refused(sign, "the whole job is on hold: no oil seals", "end pack is on hold: count the leaves", "press ", "is held")
	if s := c.do(Lift{0, "they came"}); s != "The hold on the whole job is lifted: they came." {
		t.Error(s)
	}
	c.do(Lift{0, "counted"})
	for _, p := range c.Snapshot().Held {
		c.do(Strike{p.Seq, "not meant"})
	}
	c.now = c.now.AddDate(0, 0, 1)
	for _, f := range []about{
		{register.GaugeSubject("M02"), fact.GaugeCertified{GaugeKind: "micrometer", Certificate: fact.Certificate{Dated: fact.DayOf(c.now.AddDate(-1, 0, 0)), Due: fact.DayOf(c.now.AddDate(0, 0, -1))}}},
		{register.GaugeSubject("D07"), fact.Withdrawn{Reason: "dropped"}},
	} {
		if err := c.store(t.Context(), []about{f}); err != nil {
			t.Fatal(err)
		}
	}
	c.refused(sign, "2 things are open", "gauge M02", "due", "gauge D07", "dropped")
	if err := c.record(t.Context(), fact.LetCount{What: []string{"M02"}, Reason: "checked today"}); err != nil {
		t.Fatal(err)
	}
	c.refused(sign, "one thing is open: gauge D07")
	taken := c.job.Presses[0]
	if err := c.record(t.Context(), fact.LetCount{What: []string{"D07"}, Reason: "checked today"},
		fact.Zeroed{Gauge: "I03", Step: floatFound, Reading: figure("0.02 mm"), Sentence: "lost", Doubts: []int64{taken.Seq}, Arrived: c.now}); err != nil {
		t.Fatal(err)
	}
	c.refused(sign, "one thing is open: press", "is in doubt, because the gauge's zero was lost after it")
}

// What was put in after somebody signed makes the signature void.
func TestSignatureVoid(t *testing.T) {
	c := newCounter(t, approvedText(tw2(t)), person("AB", fact.Fitter), person("CD", fact.SecondPerson), person("RK", fact.Lead), withPIN(t, "RK", "4711"))
	c.do(By{"AB", "", OpenJob{Sheet: "fw3", Serial: "3"}})
	c.build("17", "1.10 mm")
	c.refused(By{"CD", "", SignOff{}}, "CD is second person and may not sign as the fitter: ask AB")
	if s := c.do(By{"AB", "", SignOff{}}); s != "Job 0002 is signed as the fitter (AB by initials only); the second person signs next." {
		t.Error(s)
	}
	c.refused(By{"RK", "4711", SignOff{"lead"}}, "the second person signs first")
	c.refused(By{"AB", "", SignOff{}}, "AB is fitter and may not sign as the second person")
	c.do(ChooseStep{"end float found"})
	c.do(Retake{"end float found", "once more"})
	c.press("I03", "1.00 mm", "1.10 mm")
	if diff := cmp.Diff([]fact.Role{fact.Fitter, fact.SecondPerson, fact.Lead}, c.Snapshot().Wanted); diff != "" {
		t.Error(diff)
	}
	c.do(By{"AB", "", SignOff{}})
	c.do(ChooseJob{"0001"}) // to look at another job is no change
	c.do(ChooseJob{"0002"})
	c.again()
	c.do(By{"CD", "", SignOff{}})
	c.refused(By{"RK", "4712", SignOff{}}, "the PIN is wrong")
	c.refused(By{"RK", "", SignOff{}}, "RK has a PIN")
	if s := c.do(By{"RK", "4711", SignOff{}}); !strings.HasPrefix(s, "Job 0002 is signed off (RK by PIN). Choose the job to go on with: open are 0001") {
		t.Error(s)
	}
}

// A second person is never the first, with a list of people or without one.
func TestSecondLook(t *testing.T) {
	for name, c := range map[string]*counter{
		"no list": newCounter(t, approvedText(tw2(t))),
		"list":    newCounter(t, approvedText(tw2(t)), person("AB", fact.Fitter, fact.SecondPerson), person("CD", fact.SecondPerson)),
	} {
		c.do(OpenJob{Sheet: "tw2", Serial: "17"})
		c.do(ChooseStep{"casing depth"})
		c.do(Keyed{Step: "casing depth", Value: "41.00 mm", Reason: "no cable"})
		c.refused(By{"CD", "", Look{}}, "nobody said who works at this job")
		c.do(By{"AB", "", StartWork{}})
		c.refused(By{"AB", "", Look{}}, "AB did the work")
		c.refused(Look{}, "nobody says who does this")
		c.refused(By{"CD", "", Look{999}}, "no such press")
		wants := func() bool {
			return strings.Contains(strings.Join(c.Snapshot().Unfinished, "\n"), "wants a second person's look")
		}
		if !wants() {
			t.Errorf("%s: %q", name, c.Snapshot().Unfinished)
		}
		if s := c.do(By{"CD", "", Look{}}); !strings.Contains(s, "had its second look (CD by initials only)") {
			t.Error(s)
		}
		if wants() {
			t.Errorf("%s: it was looked at: %q", name, c.Snapshot().Unfinished)
		}
	}
}

// Parts of two pairs are held by rule; equal numbers lift it, else a lead does.
func TestPairHold(t *testing.T) {
	c := newCounter(t, person("AB", fact.Fitter), person("RK", fact.Lead))
	c.do(OpenJob{Sheet: "tw2", Serial: "17"})
	c.do(Record{"front number", "A7"})
	c.do(Record{"back number", "A8"})
	holds := c.Snapshot().Job.Holds()
	if len(holds) != 1 || holds[0].Rule != pairRule || holds[0].Step != "back number" {
		t.Fatalf("%+v", holds)
	}
	c.refused(By{"AB", "", Lift{0, "it fits"}}, "AB is fitter and may not lift a hold: ask RK")
	c.do(Record{"back number", "A7"})
	if h := c.Snapshot().Job.Holds(); len(h) != 0 {
		t.Errorf("%+v", h)
	}
	c.do(Record{"back number", "A9"})
	c.again()
	if h := c.Snapshot().Job.Holds(); len(h) != 1 {
		t.Fatalf("%+v", h)
	}
	c.do(By{"RK", "", Lift{0, "the customer brought them so"}})
	if h := c.Snapshot().Job.Holds(); len(h) != 0 {
		t.Errorf("a hold that a lead lifted came back: %+v", h)
	}
}

// At a step on hold nothing is put in, and a press is kept and cannot count yet.
func TestOnHold(t *testing.T) {
	c := newCounter(t, person("AB", fact.Fitter), person("BC", fact.Fitter), person("RK", fact.Lead))
	c.do(OpenJob{Sheet: "tw2", Serial: "17"})
	c.do(By{"AB", "", Hold{"casing depth", "the bore is scored"}})
	c.refused(By{"AB", "", Hold{"casing depth", "twice"}}, "is on hold already: the bore is scored")
	c.do(ChooseStep{"casing depth"})
	c.press("D07", "41.00 mm")
	if p := c.Snapshot().Last.Press; p.Outcome != fact.Held || p.Cause != fact.StepOnHold || !strings.Contains(p.Do, "Casing depth is on hold: the bore is scored. AB or a lead lifts the hold") {
		t.Errorf("%+v", p)
	}
	c.refused(Retake{"casing depth", "x"}, "Casing depth is on hold")
	c.refused(By{"BC", "", Lift{0, "x"}}, "BC is fitter and may not lift a hold")
	c.refused(Lift{0, "x"}, "nobody says who does this")
	c.do(By{"AB", "", Lift{0, "honed"}})
	c.do(By{"AB", "", Take{c.Snapshot().Held[0].Seq, "the bore is honed"}})
	if by, ok := c.Snapshot().Job.TookBy(c.Snapshot().Job.Presses[0].Seq); !ok || by.Initials != "AB" {
		t.Errorf("%+v", by)
	}
}

// A concession holds for what was found, and what was found stays shown.
func TestConcession(t *testing.T) {
	c := newCounter(t, approvedText(tw2(t)), person("AB", fact.Fitter), person("RK", fact.Lead), person("CD", fact.SecondPerson))
	c.build("17", "1.20 mm")
	c.refused(By{"RK", "", Concede{"shaft height", "x"}}, "is not judged yet")
	c.refused(By{"RK", "", Concede{"end pack", "x"}}, "end pack is good")
	c.refused(By{"AB", "", Concede{"end float found", "x"}}, "AB is fitter and may not give a concession: ask RK")
	if s := c.do(By{"RK", "", Concede{"end float found", "runs cold"}}); s != "end float found is let be by concession of RK by initials only: runs cold. It stays shown as out high." {
		t.Error(s)
	}
	s := c.Snapshot()
	if len(s.Unfinished) != 0 || s.Step != nil || s.Results.Of("end float found").Check.Verdict != ring.OutHigh {
		t.Errorf("%q, at %v", s.Unfinished, s.Step)
	}
	if got := s.Job.Concessions()[0]; got.Limit != "0.05 .. 0.15" || !strings.Contains(got.Found, "0.200 mm") {
		t.Errorf("%+v", got)
	}
	c.do(Retake{"end float found", "once more"})
	c.press("I03", "1.00 mm", "1.21 mm")
	if len(c.Snapshot().Unfinished) != 1 {
		t.Errorf("another figure needs another concession: %q", c.Snapshot().Unfinished)
	}
	c.do(By{"RK", "", Concede{"end float found", "runs cold"}})
	for _, who := range []string{"AB", "CD", "RK"} {
		c.do(By{who, "", SignOff{}})
	}
	judged, err := c.journal.Judgements(t.Context(), store.JudgementQuery{Job: "0001", What: signOffWhat})
	if err != nil || judged[0].Verdict != "by concession" {
		t.Errorf("%+v %v", judged, err)
	}
}

// What is only looked at before the strip is judged as found, and stays so.
func TestAsFound(t *testing.T) {
	c := newCounter(t, approvedText(tw2(t)))
	c.build("17", "1.10 mm")
	got := AsFound(c.Snapshot().Results)
	if len(got) != 1 || got[0].Verdict != "as found" || got[0].Value != "0.32" || got[0].Low != "" || got[0].Words != "end float is 0.320 mm" {
		t.Errorf("%+v", got)
	}
	judged, err := c.journal.Judgements(t.Context(), store.JudgementQuery{Job: "0001"})
	if err != nil || len(judged) != 3 || judged[2].Verdict != "as found" || judged[2].Build != 1 {
		t.Errorf("%+v %v", judged, err)
	}
}

// A fitted pack draws its leaves from the stock, in one transaction with it; a
// stripped one returns them; what runs low is told.
func TestStockDrawn(t *testing.T) {
	low := about{register.StockSubject("shims"), fact.LowLimit{Size: figure("0.25 mm"), Count: 3}}
	c := newCounter(t, approvedText(tw2(t)), stocked(), low)
	c.build("17", "1.20 mm")
	counts := func() map[string]int {
		out := map[string]int{}
		for _, l := range c.register.Leaves("shims") {
			out[l.Size.String()] = l.Count
		}
		return out
	}
	if diff := cmp.Diff(map[string]int{"1.00 mm": 2, "0.30 mm": 2, "0.25 mm": 3, "0.10 mm": 3}, counts()); diff != "" {
		t.Error(diff)
	}
	s := c.do(Fit{Step: "end pack", Leaves: []string{"1.00 mm", "0.25 mm", "0.11 mm"}, Measured: []string{"1.36 mm"}})
	if !strings.HasPrefix(s, "end pack is fitted; build 3. Tray shims has no leaf of 0.11 mm") || !strings.Contains(s, "LOW: shims, 0.25 mm: 2 left, fewer than 3: order more.") {
		t.Error(s)
	}
	c.again()
	if diff := cmp.Diff(map[string]int{"1.00 mm": 2, "0.30 mm": 3, "0.25 mm": 2, "0.10 mm": 3}, counts()); diff != "" {
		t.Error(diff)
	}
	if len(c.Snapshot().Low) != 1 {
		t.Errorf("%+v", c.Snapshot().Low)
	}
	var fitted time.Time
	err := c.journal.Read(t.Context(), "", 0, func(f journal.Stored) error {
		switch f.Kind {
		case "fitted":
			fitted = f.UTC
		case "put back", "taken out":
			if !f.UTC.Equal(fitted) {
				t.Errorf("fact %d was not stored with the pack", f.Seq)
			}
		}
		return nil
	})
	if err != nil {
		t.Error(err)
	}
	// another job is offered what is left, on coming to the front too
	c.do(OpenJob{Sheet: "tw2", Serial: "18"})
	c.do(Fit{Step: "end pack", Leaves: []string{"1.00 mm", "1.00 mm"}, Measured: []string{"2.00 mm"}})
	c.do(ChooseJob{"0001"})
	if got := c.Snapshot().Job.Entries().Trays["shims"]; got[len(got)-1].Count != 0 {
		t.Errorf("%+v", got)
	}
	c.do(OpenJob{Sheet: "tw2", Serial: "19", Training: true})
	before := counts()
	c.do(Fit{Step: "end pack", Leaves: []string{"0.30 mm"}, Measured: []string{"0.30 mm"}})
	if diff := cmp.Diff(before, counts()); diff != "" {
		t.Errorf("a training job changed the stock:\n%s", diff)
	}
}

func TestAbandon(t *testing.T) {
	c := newCounter(t)
	c.refused(Abandon{"x"}, "no job is open")
	c.do(OpenJob{Sheet: "tw2", Serial: "17"})
	c.refused(Abandon{" "}, "the reason is empty")
	if s := c.do(By{"RK", "", Abandon{"the casing is cracked."}}); s != "Job 0001 is abandoned (RK by initials only): the casing is cracked." {
		t.Error(s)
	}
	if got := states(t, c.journal.Reader)["0001"]; got != store.Abandoned {
		t.Error(got)
	}
	c.do(OpenJob{Sheet: "tw2", Serial: "17"}) // the serial is free again
}

// Names that are too long or do not print are refused in words, wherever a
// person writes one.
func TestOddNames(t *testing.T) {
	c := newCounter(t)
	c.do(OpenJob{Sheet: "tw2", Serial: "17"})
	long := strings.Repeat("x", 10_000)
	for _, odd := range []string{long, "a\x1b[2Jb", "a\nb", "\xff", "a\u202eb", "\u0000"} {
		for _, cmd := range []Command{
			OpenJob{Sheet: "tw2", Serial: odd}, Hold{"", odd}, Abandon{odd}, Retake{"casing depth", odd}, Record{"front number", odd},
			ChooseJob{odd}, Hold{odd, "x"}, By{odd, "", StartWork{}}, By{"AB", odd, By{}}, By{odd, odd, SignOff{}},
		} {
			before := c.seq
			_, err := c.apply(t.Context(), cmd)
			if err == nil || c.seq != before {
				t.Fatalf("%.60v was taken: %v", cmd, err)
			}
			if s := err.Error(); len(s) > 1000 || strings.ContainsAny(s, "\x1b\x00\n\u202e") {
				t.Errorf("%.60v is answered %d bytes: %.200q", cmd, len(s), s)
			}
		}
	}
}
