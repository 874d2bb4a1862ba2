package job

import (
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"shimwright/calc/overhaul"
	"shimwright/calc/quantity"
	"shimwright/calc/sheet"
	"shimwright/devices"
	"shimwright/ingest/fact"
	"shimwright/ingest/journal"
)

func figure(s string) quantity.Value {
	v, err := quantity.ParseWithUnit(s)
	if err != nil {
		panic(err)
	}
	return v
}

func pointer(s string) *quantity.Value {
	v := figure(s)
	return &v
}

// head opens a job on drive rd3; each old and new text is exchanged in its
// sheet first.
func head(t testing.TB, change ...string) fact.Opened {
	t.Helper()
	text, err := os.ReadFile(filepath.FromSlash("../../testdata/sheets/rd3.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	changed := strings.NewReplacer(change...).Replace(string(text))
	if len(change) > 0 && changed == string(text) {
		t.Fatalf("%q is not in the sheet", change)
	}
	return fact.Opened{Drive: "RD3", Serial: "17", Sheet: "rd3", Issue: 2, Text: changed, Rule: "guarded"}
}

func begin(t testing.TB, change ...string) *Job {
	t.Helper()
	j, err := Begin("0001", 1, head(t, change...))
	if err != nil {
		t.Fatal(err)
	}
	return j
}

// then folds facts in, numbered on from the job's last.
func then(t testing.TB, j *Job, facts ...fact.Fact) *Job {
	t.Helper()
	for _, f := range facts {
		next, err := j.Then(j.Last+1, f)
		if err != nil {
			t.Fatal(err)
		}
		j = next
	}
	return j
}

func press(step, gauge, value string, outcome fact.Outcome) fact.Pressed {
	return fact.Pressed{Step: step, Gauge: gauge, GaugeKind: "depth gauge", Value: pointer(value), Source: devices.SourceGauge,
		Outcome: outcome, Sentence: "said.", Arrived: time.Date(2026, 2, 3, 12, 0, 0, 0, time.UTC)}
}

// values are the presses that count, as the arithmetic sees them.
func values(j *Job) string {
	var out []string
	for _, e := range j.Entries().List {
		if e.Kind == sheet.EntryPress {
			out = append(out, e.Ref+":"+e.Value.Digits())
		}
	}
	return strings.Join(out, " ")
}

func held(j *Job) string {
	var out []string
	for _, p := range j.Held() {
		out = append(out, fmt.Sprint(p.Seq))
	}
	return strings.Join(out, " ")
}

const recess = "cover recess"

func TestPresses(t *testing.T) {
	taken := func(v string) fact.Fact { return press(recess, "D07", v, fact.Taken) }
	heldAt := func(v string) fact.Fact { return press(recess, "D07", v, fact.Held) }
	for _, c := range []struct {
		name   string
		facts  []fact.Fact // from number 2 on
		counts string
		held   string
	}{
		{"none", nil, "", ""},
		{"taken", []fact.Fact{taken("18.74 mm"), taken("18.75 mm")}, "2:18.74 3:18.75", ""},
		{"held", []fact.Fact{taken("18.74 mm"), heldAt("3.38 mm")}, "2:18.74", "3"},
		{"aside", []fact.Fact{press(recess, "D07", "18.74 mm", fact.Aside)}, "", ""},
		{"struck", []fact.Fact{taken("18.74 mm"), taken("18.75 mm"), fact.Struck{Press: 2, Reason: "slipped"}}, "3:18.75", ""},
		{"held, then struck", []fact.Fact{heldAt("3.38 mm"), fact.Struck{Press: 2, Reason: "slipped"}}, "", ""},
		{"held back", []fact.Fact{taken("18.74 mm"), heldAt("18.75 mm"), fact.HeldBack{Press: 2, Sentence: "which?"}}, "", "2 3"},
		{"taken after hold", []fact.Fact{taken("18.74 mm"), heldAt("18.75 mm"), fact.HeldBack{Press: 2}, fact.Took{Press: 3, Reason: "seen"}}, "3:18.75", "2"},
		{"both taken after hold, in the order of pressing", []fact.Fact{taken("18.74 mm"), heldAt("18.75 mm"), fact.HeldBack{Press: 2},
			fact.Took{Press: 3}, fact.Took{Press: 2}}, "2:18.74 3:18.75", ""},
		{"taken after hold, then struck", []fact.Fact{heldAt("18.74 mm"), fact.Took{Press: 2}, fact.Struck{Press: 2}}, "", ""},
		{"no number", []fact.Fact{fact.Pressed{Step: recess, Gauge: "D07", Outcome: fact.Aside}}, "", ""},
		{"at no step", []fact.Fact{press("", "D07", "18.74 mm", fact.Aside)}, "", ""},
		{"a judgement changes nothing", []fact.Fact{taken("18.74 mm"), fact.Judged{Step: "backlash", Verdict: "good"}}, "2:18.74", ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			j := then(t, begin(t), c.facts...)
			if got := values(j); got != c.counts {
				t.Errorf("counts %q, want %q", got, c.counts)
			}
			if got := held(j); got != c.held {
				t.Errorf("held %q, want %q", got, c.held)
			}
			if want := int64(len(c.facts) + 1); j.Last != want {
				t.Errorf("last fact %d, want %d", j.Last, want)
			}
		})
	}
}

// A press keeps what it was beside what it counts as now.
func TestPressKeepsItsPast(t *testing.T) {
	j := then(t, begin(t), press(recess, "D07", "18.74 mm", fact.Taken), fact.HeldBack{Press: 2, Sentence: "which?"},
		fact.Took{Press: 2, Reason: "seen"}, fact.Struck{Press: 2, Reason: "a burr"})
	p, ok := j.Press(2)
	if !ok || p.Fact.Outcome != fact.Taken || p.Now != fact.Aside || !p.Struck || p.Reason != "a burr" {
		t.Errorf("%+v", p)
	}
	if _, ok := j.Press(3); ok {
		t.Error("a decision is found as a press")
	}
}

func TestLastBy(t *testing.T) {
	j := then(t, begin(t), press(recess, "D07", "18.74 mm", fact.Taken), press("casing depth", "D07", "31.48 mm", fact.Held),
		press(recess, "D09", "18.73 mm", fact.Taken), press(recess, "D07", "18.72 mm", fact.Aside),
		fact.Pressed{Gauge: "D07", Outcome: fact.Aside})
	if p, ok := j.LastBy("D07"); !ok || p.Seq != 3 {
		t.Errorf("%v %+v", ok, p)
	}
	j = then(t, j, fact.Struck{Press: 3, Reason: "slipped"})
	if p, ok := j.LastBy("D07"); !ok || p.Seq != 2 {
		t.Errorf("once struck: %v %+v", ok, p)
	}
	if _, ok := j.LastBy("D08"); ok {
		t.Error("found a press of a gauge that was never pressed")
	}
}

func TestDraws(t *testing.T) {
	two := []string{"tall post:    {nominal: 75 mm}", "tall post:    {nominal: 75 mm, side by side: 2}"}
	draw := func(standard, piece, size string) fact.Fact {
		return fact.Drew{Standard: standard, Piece: piece, Size: figure(size)}
	}
	j := begin(t, two...)
	height, _ := j.Sheet.Step("wheel height")
	for _, c := range []struct {
		draw   fact.Fact
		in     string
		missed string
	}{
		{draw("straightedge", "E-02", "12.006 mm"), "", "tall post"},
		{draw("tall post", "S-31", "75.004 mm"), "", "tall post"},
		{draw("tall post", "S-31", "75.004 mm"), "", "tall post"}, // one piece is not two
		{draw("tall post", "S-32", "75.021 mm"), "S-31 S-32 E-02", ""},
		{draw("tall post", "S-33", "75.011 mm"), "S-32 S-33 E-02", ""}, // the last two
		{draw("tall post", "S-32", "75.021 mm"), "S-33 S-32 E-02", ""}, // one of them again
		{draw("straightedge", "E-03", "12.001 mm"), "S-33 S-32 E-03", ""},
	} {
		j = then(t, j, c.draw)
		in, missing := j.InUse(height)
		if got := strings.Join(in, " "); got != c.in || (missing == "") != (c.missed == "") || !strings.Contains(missing, c.missed) {
			t.Errorf("after %v: %q, missing %q; want %q, missing %q", c.draw, got, missing, c.in, c.missed)
		}
	}
	if p, ok := j.Piece("S-31"); !ok || p.Size.String() != "75.004 mm" || p.Standard != "tall post" {
		t.Errorf("a piece drawn earlier is forgotten: %+v", p)
	}
	if _, ok := j.Piece("S-99"); ok {
		t.Error("a piece never drawn is there")
	}
	direct, _ := j.Sheet.Step(recess)
	mark, _ := j.Sheet.Step("pinion distance")
	for _, st := range []*sheet.Step{direct, mark} {
		if in, missing := j.InUse(st); len(in) != 0 || missing != "" {
			t.Errorf("%s wants %v, %q", st.Name, in, missing)
		}
	}
}

// everything is one fact of each kind that makes an entry, as it is folded in.
func everything() []fact.Fact {
	keyed := press("backlash", "keyed", "0.21 mm", fact.Taken)
	keyed.Source, keyed.Spot, keyed.GaugeKind = devices.SourceKeyed, "90 deg", "dial indicator"
	virtual := press("overall height", "D07", "26.99 mm", fact.Taken)
	virtual.Source, virtual.Pieces, virtual.CountsIn = devices.SourceVirtual, []string{"S-51", "E-02"}, true
	return []fact.Fact{
		fact.Offered{Trays: map[string][]fact.Leaf{"shims": {{Size: figure("0.30 mm"), Count: 4}}}},
		fact.Answered{Step: "pinion bearings", Answer: "new"},
		fact.Fitted{Step: "pinion spacer", Measured: []quantity.Value{figure("9.46 mm")}},
		fact.Marked{Step: "pinion distance", Digits: pointer("8 0.01 mm")},
		fact.Marked{Step: "pinion distance", Figure: pointer("150.08 mm")},
		fact.Marked{Step: "casing distance", Absent: true},
		fact.Drew{Standard: "overall post", Piece: "S-51", Size: figure("200.011 mm")},
		fact.Drew{Standard: "straightedge", Piece: "E-02", Size: figure("12.006 mm")},
		fact.PacksIn{Step: "overall height", In: map[string]bool{"wheel pack": false}},
		virtual, keyed,
		fact.Fitted{Step: "pinion pack", Leaves: []quantity.Value{figure("1.00 mm"), figure("0.30 mm")}, Measured: []quantity.Value{figure("1.30 mm")}},
		fact.Changed{Step: "backlash", Lengths: []string{"pinion pack"}, Reason: "reseated"},
		fact.Seen{Step: "contact marking", Marks: map[string]string{"drive": "central", "coast": "high"}},
		fact.MoveWanted{Step: "backlash", Gear: "wheel", By: figure("-0.20 mm")},
		fact.Again{Step: "backlash", Reason: "dirt"},
		fact.Confirmed{Step: "backlash"},
	}
}

func TestEntries(t *testing.T) {
	j := then(t, begin(t), everything()...)
	e := j.Entries()
	var got []string
	for _, x := range e.List {
		got = append(got, fmt.Sprintf("%s %s/%d v=%s spot=%s gauge=%s pieces=%v in=%v leaves=%v measured=%v text=%s lengths=%v seen=%v gear=%s virtual=%v keyed=%v",
			x.Ref, x.Step, x.Kind, x.Value, x.Spot, x.Gauge, x.Pieces, x.In, x.Leaves, x.Measured, x.Text, x.Lengths, x.Seen, x.Gear, x.Virtual, x.Keyed))
	}
	line := func(ref int, step string, kind sheet.EntryKind, set ...string) string {
		fields := []string{"v=0", "spot=", "gauge=", "pieces=[]", "in=map[]", "leaves=[]", "measured=[]", "text=", "lengths=[]", "seen=map[]", "gear=", "virtual=false", "keyed=false"}
		for _, s := range set {
			name, _, _ := strings.Cut(s, "=")
			i := slices.IndexFunc(fields, func(f string) bool { return strings.HasPrefix(f, name+"=") })
			fields[i] = s
		}
		return fmt.Sprintf("%d %s/%d %s", ref, step, kind, strings.Join(fields, " "))
	}
	want := []string{
		line(3, "pinion bearings", sheet.EntryAnswer, "text=new"),
		line(4, "pinion spacer", sheet.EntryFit, "measured=[9.46 mm]"),
		line(5, "pinion distance", sheet.EntryDigits, "v=8 0.01 mm"),
		line(6, "pinion distance", sheet.EntryFigure, "v=150.08 mm"),
		line(7, "casing distance", sheet.EntryAbsent),
		line(10, "overall height", sheet.EntryIn, "in=map[wheel pack:false]"),
		line(11, "overall height", sheet.EntryPress, "v=26.99 mm", "gauge=D07", "pieces=[S-51 E-02]", "virtual=true"),
		line(12, "backlash", sheet.EntryPress, "v=0.21 mm", "spot=90 deg", "gauge=keyed", "keyed=true"),
		line(13, "pinion pack", sheet.EntryFit, "leaves=[1.00 mm 0.30 mm]", "measured=[1.30 mm]"),
		line(14, "backlash", sheet.EntryMetal, "text=reseated", "lengths=[pinion pack]"),
		line(15, "contact marking", sheet.EntrySeen, "seen=map[coast:high drive:central]"),
		line(16, "backlash", sheet.EntryMove, "v=-0.20 mm", "gear=wheel"),
		line(17, "backlash", sheet.EntryAgain, "text=dirt"),
		line(18, "backlash", sheet.EntryDone),
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("entries (- want, + got):\n%s", diff)
	}
	if g := e.Gauges["D07"]; g.Kind != "depth gauge" || !g.CountsIn {
		t.Errorf("gauge %+v", g)
	}
	if p := e.Pieces["S-51"]; p.Size.String() != "200.011 mm" || p.Standard != "overall post" {
		t.Errorf("piece %+v", p)
	}
	if l := e.Trays["shims"]; len(l) != 1 || l[0].Count != 4 || l[0].Size.String() != "0.30 mm" {
		t.Errorf("tray %+v", l)
	}
}

// A step taken again begins anew; one virtual press makes a training job.
func TestRetakeAndTraining(t *testing.T) {
	j := begin(t)
	for range 3 {
		j = then(t, j, press(recess, "D07", "18.74 mm", fact.Taken))
	}
	done := work(t, j).Of(recess)
	if done.Status != overhaul.Done || work(t, j).Training {
		t.Fatalf("%s, training %v", done.Status, work(t, j).Training)
	}
	j = then(t, j, fact.Again{Step: recess, Reason: "a burr"})
	if j.Begun(recess) != 5 || j.Begun("casing depth") != 0 {
		t.Errorf("begun anew by fact %d", j.Begun(recess))
	}
	if r := work(t, j).Of(recess); r.Status != overhaul.Waiting || r.Left != 3 {
		t.Errorf("taken again it is %s and wants %d", r.Status, r.Left)
	}
	virtual := press(recess, "D07", "18.73 mm", fact.Taken)
	virtual.Source = devices.SourceVirtual
	for range 3 {
		j = then(t, j, virtual)
	}
	res := work(t, j)
	if r := res.Of(recess); r.Status != overhaul.Done || r.Figure.Value.String() != "18.73" || !res.Training {
		t.Errorf("%s, %v, training %v", r.Status, r.Figure, res.Training)
	}
}

func work(t testing.TB, j *Job) *overhaul.Results {
	t.Helper()
	res, err := j.Work()
	if err != nil {
		t.Fatal(err)
	}
	return res
}

func TestRefuses(t *testing.T) {
	j := begin(t)
	for _, c := range []struct {
		fact  fact.Fact
		words string
	}{
		{head(t), "it was opened already"},
		{fact.Drew{Standard: "mandrel", Piece: "S-1", Size: figure("1 mm")}, `"mandrel" is no standard of sheet rd3`},
		{press("oil change", "D07", "1 mm", fact.Taken), `"oil change" is no step of sheet rd3`},
		{fact.Confirmed{Step: "oil change"}, `"oil change" is no step of sheet rd3`},
		{fact.Took{Press: 99}, "there is no press 99"},
		{fact.Struck{Press: 1}, "there is no press 1"},
		{fact.HeldBack{Press: -1}, "there is no press -1"},
		{other{}, "does not belong to a job"},
	} {
		before := picture(t, j)
		next, err := j.Then(2, c.fact)
		if err == nil || next != nil || !strings.Contains(err.Error(), c.words) || !strings.HasPrefix(err.Error(), "job 0001, fact 2, ") {
			t.Errorf("%T: want %q, got %v", c.fact, c.words, err)
		}
		if after := picture(t, j); after != before {
			t.Errorf("%T was refused and changed the job:\n%s", c.fact, cmp.Diff(before, after))
		}
	}
	if _, err := Begin("0001", 1, fact.Opened{Sheet: "rd3", Text: "sheet: ["}); err == nil || !strings.Contains(err.Error(), "frozen sheet") {
		t.Errorf("a broken sheet: %v", err)
	}
}

type other struct{}

func (other) Kind() string { return "other" }

// picture is all that a job holds, as text: a deep copy to compare with.
func picture(t testing.TB, j *Job) string {
	t.Helper()
	type line struct {
		Seq, Press int64
		Entry      sheet.Entry
	}
	var log []line
	for _, l := range j.log {
		log = append(log, line{l.seq, int64(l.press), l.entry})
	}
	b, err := json.MarshalIndent([]any{j.ID, j.Last, j.Head, j.Presses, j.drawn, j.pieces, j.gauges, j.trays, log, j.zeros, j.said, j.let, j.known, j.circumstances.gauges, j.tables, j.warmth, j.earlier, j.begun}, "", " ")
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

// chance is a fact at random, sometimes about a press of the job.
func chance(r *rand.Rand, j *Job) fact.Fact {
	all := append(everything(), surroundings(j)...)
	if len(j.Presses) > 0 && r.IntN(2) == 0 {
		p := j.Presses[r.IntN(len(j.Presses))].Seq
		return []fact.Fact{fact.HeldBack{Press: p, Sentence: "which?"}, fact.Took{Press: p, Reason: "seen"}, fact.Struck{Press: p, Reason: "slipped"}}[r.IntN(3)]
	}
	if r.IntN(3) == 0 {
		outcome := []fact.Outcome{fact.Taken, fact.Held, fact.Aside}[r.IntN(3)]
		return press(recess, "D07", fmt.Sprintf("18.7%d mm", r.IntN(10)), outcome)
	}
	if r.IntN(6) == 0 {
		return fact.Drew{Standard: "straightedge", Piece: fmt.Sprintf("E-%d", r.IntN(3)), Size: figure(fmt.Sprintf("12.00%d mm", r.IntN(10)))}
	}
	return all[r.IntN(len(all))]
}

// Then never changes the job before, nor any job before that.
func TestNeverChanged(t *testing.T) {
	seed := uint64(time.Now().UnixNano())
	t.Logf("seed %d", seed)
	r := rand.New(rand.NewPCG(seed, 0))
	for range 20 {
		jobs := []*Job{begin(t)}
		pictures := []string{picture(t, jobs[0])}
		for range 40 {
			// from any job, not only the newest: two that part share their past
			j := jobs[r.IntN(len(jobs))]
			next := then(t, j, chance(r, j))
			work(t, next)
			jobs, pictures = append(jobs, next), append(pictures, picture(t, next))
		}
		for i, j := range jobs {
			if diff := cmp.Diff(pictures[i], picture(t, j)); diff != "" {
				t.Fatalf("job %d was changed by a later fact:\n%s", i, diff)
			}
		}
	}
}

// A job folded from a journal is the job that was folded as it went.
func TestFoldingFromAJournal(t *testing.T) {
	seed := uint64(time.Now().UnixNano())
	t.Logf("seed %d", seed)
	r := rand.New(rand.NewPCG(seed, 0))
	log, err := journal.Open(filepath.Join(t.TempDir(), "t.journal"), journal.Options{Bench: "bay 2", Run: "run", Now: time.Now})
	if err != nil {
		t.Fatal(err)
	}
	defer log.Close()
	first := head(t)
	live, err := Begin("0001", 1, first)
	if err != nil {
		t.Fatal(err)
	}
	store := func(f fact.Fact) {
		rec, err := fact.Encode("job/0001", f)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := log.Append(t.Context(), rec); err != nil {
			t.Fatal(err)
		}
	}
	store(first)
	for range 100 {
		f := chance(r, live)
		store(f)
		live = then(t, live, f)
	}
	var back *Job
	err = log.Read(t.Context(), "job/0001", 0, func(s journal.Stored) error {
		f, err := fact.Decode(s)
		if err != nil {
			return err
		}
		if opened, ok := f.(fact.Opened); ok {
			back, err = Begin("0001", s.Seq, opened)
			return err
		}
		back, err = back.Then(s.Seq, f)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(picture(t, live), picture(t, back)); diff != "" {
		t.Errorf("live (-), from the journal (+):\n%s", diff)
	}
}
