package fitter

import (
	"bytes"
	"slices"
	"strings"
	"testing"

	"github.com/gdamore/tcell/v2"

	"shimwright/devices/decodertest"
	"shimwright/devices/port"
	"shimwright/ingest/bench"
)

// opened is a bench with a job by a sheet, under the screen, at a step.
func opened(t *testing.T, sheet, step string, change ...func(*bench.Config)) (*bench.Bench, *glass) {
	t.Helper()
	b := realBench(t, change...)
	do(t, b, bench.OpenJob{Sheet: sheet, Serial: "4711"})
	do(t, b, bench.ChooseStep{Step: step})
	g, run, stop := start(t, b, Options{})
	t.Cleanup(func() { stop(); run.wait() })
	g.ready(t, strings.ToUpper(step))
	return b, g
}

// with has the bench's sheets say one line more, behind another.
func with(behind, line string) func(*bench.Config) {
	return func(c *bench.Config) {
		c.Sheets = func(name string) ([]byte, error) {
			text, err := sheetText(name)
			return bytes.Replace(text, []byte(behind), []byte(behind+line), 1), err
		}
	}
}

func keyed(t *testing.T, b *bench.Bench, step string, figures ...string) {
	t.Helper()
	for _, f := range figures {
		do(t, b, bench.Keyed{Step: step, Value: f, Reason: "no cable"})
	}
}

// The seal's pulls are offered first, and asked by Enter once the presses are in.
func TestSealByKeys(t *testing.T) {
	b, g := opened(t, "fw3", "pinion turning torque", with("        cord: 2.00 mm\n", "        seal drag: measured\n"))
	do(t, b, bench.Record{Step: "pinion bearings", Answer: "new"})
	do(t, b, bench.ChooseStep{Step: "pinion turning torque"})
	g.see(t, "m seal's pulls")
	keyed(t, b, "pinion turning torque", "44.0 N", "44.5 N", "43.5 N", "44.0 N")
	g.see(t, "Pull once with the seal in and once without, then Enter")
	g.keys("\n")
	g.see(t, "One steady pull with the seal IN, in N:")
	g.keys("38.0\n")
	g.see(t, "One steady pull WITHOUT the seal, in N:")
	g.keys("44.0\n")
	g.see(t, "are they the other way round?")
	g.key(tcell.KeyEscape)
	g.ready(t, "PINION TURNING TORQUE")
	g.keys("ms44.0\n38.0\n")
	g.until(t, "the torque to be judged", func(s string) bool {
		return strings.Contains(s, "44.0 N with the seal in and 38.0 N without") && !strings.Contains(s, "m seal's pulls")
	})
}

// Temperatures are offered where the sheet says what the parts are made of, and
// nowhere else.
func TestTemperaturesByKeys(t *testing.T) {
	b, g := opened(t, "fw3", "casing depth", with("units: mm\n", "materials: {part: grey iron, standards: gauge-block steel}\n"))
	g.see(t, "m temperatures")
	g.keys("m\n")
	g.see(t, "How warm is the part, in °C")
	g.keys("hot\n")
	g.see(t, "/!\\")
	g.keys("26.0 +- 0.5\n")
	g.see(t, "How warm are the standards")
	g.keys("21.0\n")
	g.see(t, "How warm is the gauge (Enter: as the standards)")
	g.keys("\n")
	g.see(t, "The part is at 26.0 °C ± 0.5 °C, the standards at 21.0 °C.")
	at := b.Snapshot().Job.Entries().Temperatures
	if at == nil || at.Part.At.String() != "26" || at.Part.Within == nil || at.Gauge.At.String() != "21" {
		t.Errorf("kept is %+v", at)
	}
	g.until(t, "the offer to be over", func(s string) bool { return !strings.Contains(s, "m temperatures") })
}

// A reading keyed at a critical step is offered for a second look, which whoever
// did the work cannot give.
func TestSecondLookByKeys(t *testing.T) {
	b, g := opened(t, "fw3", "pinion head", with("- measure: pinion head\n", "        critical: yes\n"))
	g.keys("x3AB\n\n")
	g.see(t, "AB by initials only works at job 0001")
	keyed(t, b, "pinion head", "42.37 mm")
	g.see(t, "m second look")
	g.keys("m\n")
	g.see(t, "Looked at 42.37 mm at pinion head", "The initials of the second", "person:")
	g.keys("AB\n\n")
	g.see(t, "AB did the work: a second person is another")
	g.keys("CD\n\n")
	g.see(t, "had its second look (CD by initials only)")
	keyed(t, b, "pinion head", "42.37 mm")
	if looks := (&view{snap: b.Snapshot()}).looks(); len(looks) != 1 {
		t.Errorf("%d looks are wanted", len(looks))
	}
}

// A check that came out wrong is let be by a name, with a reason, and says so.
func TestConcessionByKeys(t *testing.T) {
	b, g := opened(t, "fw3", "pinion turning torque")
	do(t, b, bench.Record{Step: "pinion bearings", Answer: "new"})
	do(t, b, bench.ChooseStep{Step: "pinion turning torque"})
	g.keys("m")
	if s := g.see(t, "What is to be said?"); strings.Contains(s, "c concession") {
		t.Errorf("a concession on what is not judged:\n%s", s)
	}
	g.key(tcell.KeyEscape)
	keyed(t, b, "pinion turning torque", "66.0 N", "65.5 N", "66.5 N", "66.0 N")
	g.ready(t, "^^^ OUT HIGH")
	g.keys("mc")
	g.see(t, "Pinion turning torque stays as it was found: OUT HIGH. Why is it let be?")
	g.keys("the customer wants it back\nRK\n\n")
	g.see(t, "let be by concession of RK")
	g.keys("l")
	g.see(t, "[c] ^^^ OUT HIGH")
	for range 3 {
		g.key(tcell.KeyUp)
	}
	g.key(tcell.KeyEscape)
	do(t, b, bench.ChooseStep{Step: "pinion turning torque"})
	g.see(t, "[c] LET BE", "the customer wants it back", "stays shown as it was found.", "Let be by concession. Enter goes on to")
}

// Another setting is asked about at the pack that makes it, and changes nothing.
func TestSettingByKeys(t *testing.T) {
	b, g := opened(t, "fw3", "closing pack")
	before := b.Snapshot().Results.Build
	g.keys("mb")
	g.see(t, "Which setting of the wheel shaft is asked about? 1 preload, 2 float")
	g.keys("2")
	g.see(t, "How much of it, in mm:")
	g.keys("0.05\n")
	g.see(t, "Held against which bearing?", "1 the one that the sheet says")
	g.key(tcell.KeyEscape)
	g.ready(t, "CLOSING PACK")
	g.keys("mb10.12\n")
	g.see(t, "The preload of 0.12 mm is asked about", "Asked about another setting:")
	if now := b.Snapshot().Results.Build; now != before {
		t.Errorf("the build went from %d to %d", before, now)
	}
}

// A question that was asked because of an answer is asked no more once that is
// another one.
func TestAnotherAnswerTakesItsQuestionAway(t *testing.T) {
	b, g := opened(t, "fw3", "closing pack")
	g.keys("mb2")
	g.keys("0.05\n")
	g.see(t, "Held against which bearing?")
	for range 1 + len("0.05") + 1 {
		g.key(tcell.KeyBackspace2)
	}
	g.see(t, "Which setting of the wheel shaft is asked about?")
	g.keys("10.12\n")
	g.see(t, "The preload of 0.12 mm is asked about")
	g.keys("j2fw3\n4711\n")
	g.see(t, "Job 0001 is open on this drive already.")
	g.key(tcell.KeyBackspace2)
	g.keys("4712\n")
	g.see(t, "Job 0002 is open")
	if j := b.Snapshot().Job; j == nil || j.Head.Serial != "4712" {
		t.Errorf("open is %+v", j)
	}
}

// A gauge's next press becomes a check on a piece, and a reading again; with a
// job and without.
func TestPieceCheckByKeys(t *testing.T) {
	gauge := func(c *bench.Config) {
		c.Gauges = []bench.Gauge{
			{ID: "D07", Kind: "depth gauge", Profile: decodertest.Forms()[0].Profile, Find: port.Find{Path: "/none"}},
			{ID: "M02", Kind: "micrometer", Profile: decodertest.Forms()[0].Profile, Find: port.Find{Path: "/none2"}},
		}
	}
	b, g := opened(t, "fw3", "pinion face height", gauge)
	g.keys("mp")
	g.see(t, "Which gauge is checked? 1 D07, 2 M02", "> D07_")
	g.keys("\nS-99\n")
	g.see(t, "is no piece of this bench")
	for range 4 {
		g.key(tcell.KeyBackspace2)
	}
	g.keys("S-31\n")
	g.see(t, "The next press of D07 is a check on S-31, 75.004 mm.", "PIECE CHECK: set D07 on S-31 and press.", "next: a CHECK on S-31")
	g.keys("mp1")
	g.see(t, "The next press of D07 is a reading.")
	do(t, b, bench.Abandon{Reason: "over"})
	g.see(t, "No job is open")
	g.keys("mp2S-31\n")
	g.see(t, "PIECE CHECK: set M02 on S-31 and press.")
	if i := slices.IndexFunc(b.Snapshot().Gauges, func(g bench.GaugeState) bool { return g.Next == "S-31" }); i != 1 {
		t.Errorf("gauge %d is checked", i)
	}
}

// A check on a piece is due once a day, for a gauge that was ever checked.
func TestPieceCheckDue(t *testing.T) {
	v := worked(t, "pinion face height").pieces("tall post", "S-31", "75.004", "straightedge", "E-02", "12.006").view(80, 24)
	for name, c := range map[string]struct {
		change func(*bench.GaugeState)
		want   bool
	}{
		"never":     {func(*bench.GaugeState) {}, false},
		"yesterday": {func(g *bench.GaugeState) { g.Checked = v.now.AddDate(0, 0, -1) }, true},
		"today":     {func(g *bench.GaugeState) { g.Checked = v.now.Add(-1) }, false},
		"under way": {func(g *bench.GaugeState) { g.Checked, g.Next = v.now.AddDate(0, 0, -1), "S-31" }, false},
		"gone":      {func(g *bench.GaugeState) { g.Checked, g.State = v.now.AddDate(0, 0, -1), "gone" }, false},
	} {
		snap := *v.snap
		snap.Gauges = slices.Clone(v.snap.Gauges)
		c.change(&snap.Gauges[0])
		now := *v
		now.snap = &snap
		if got := now.calledWords() == "piece check"; got != c.want {
			t.Errorf("%s: called is %q", name, now.calledWords())
		}
	}
}

// Every saying has a letter of its own, and the page of keys tells of it.
func TestSayingsAreTold(t *testing.T) {
	letters := map[string]bool{}
	v := newScene(t).view(80, 60)
	v.page = keysPage()
	text := drawing(t, v)
	for _, s := range sayings() {
		if letters[s.letter] || len(s.letter) != 1 {
			t.Errorf("the letter %q stands twice", s.letter)
		}
		letters[s.letter] = true
		if !strings.Contains(text, "m "+s.letter) || !strings.Contains(text, s.name) {
			t.Errorf("the keys do not tell of %s", s.name)
		}
	}
}

func TestDegrees(t *testing.T) {
	for in, want := range map[string]string{
		"26.0": "26.0 °C", "26.0 +- 0.5": "26.0 °C ± 0.5 °C", "26 +/- 1": "26 °C ± 1 °C", "70 °F": "70 °F", "-5": "-5 °C", "": "", "26.0 °C ± 0.5 °C": "26.0 °C ± 0.5 °C",
	} {
		if got := degrees(in); got != want {
			t.Errorf("%q: %q, want %q", in, got, want)
		}
	}
}
