package job

import (
	"slices"
	"strings"
	"testing"
	"time"

	"shimwright/calc/sheet"
	"shimwright/ingest/fact"
)

const face = "pinion face height"

// surroundings are facts about what surrounds a job's presses.
func surroundings(j *Job) []fact.Fact {
	at := time.Date(2026, 2, 3, 12, 0, 0, 0, time.UTC)
	var doubts []int64
	if len(j.Presses) > 0 {
		doubts = append(doubts, j.Presses[0].Seq)
	}
	return []fact.Fact{
		fact.Zeroed{Gauge: "D07", Step: face, Reading: figure("0.00 mm"), Good: true, Sentence: "good", Arrived: at},
		fact.Zeroed{Gauge: "D07", Step: face, Reading: figure("0.05 mm"), Sentence: "off", Doubts: doubts, Arrived: at},
		fact.NeedSaid{Step: face, Need: sheet.NeedsRolled, At: at},
		fact.LetCount{What: []string{"D07", "S-31"}, Reason: "to Friday"},
		fact.PiecesKnown{Pieces: []fact.KnownPiece{{Piece: "S-31", Size: figure("75.004 mm")}, {Piece: "E-02", Size: figure("12.009 mm")}}},
		fact.GaugeKnown{Gauge: "D07", Corrections: []fact.CorrectionPoint{{At: figure("0.00 mm"), Add: figure("0.00 mm")}, {At: figure("50.00 mm"), Add: figure("0.01 mm")}},
			Checks: []fact.DayCheck{{Day: fact.DayOf(at), Piece: figure("25.001 mm"), Read: figure("25.00 mm")}}},
		fact.Warmth{Part: "28.0 °C ± 1.0 °C", Standards: "21 °C"},
		fact.Earlier{Step: "backlash", Moves: []fact.EarlierMove{{Job: "0007", Moved: "-0.15", Changed: "-1/8", Uncertainty: "0.01"}}},
		fact.SettingAsked{Step: "closing pack", Setting: figure("-0.12 mm")},
	}
}

// What surrounds presses comes to the entries and to what the bench asks.
func TestSurroundings(t *testing.T) {
	j := then(t, begin(t), everything()...)
	j = then(t, j, surroundings(j)...)
	e := j.Entries()
	if p := e.Pieces; p["S-31"].Size.String() != "75.004 mm" || p["E-02"].Size.String() != "12.006 mm" || p["E-02"].Standard != "straightedge" {
		t.Errorf("a drawn piece is as drawn, others as known: %+v", p)
	}
	if _, drawn := j.Piece("S-31"); drawn {
		t.Error("a piece that is only known is drawn")
	}
	g := e.Gauges["D07"]
	if g.Corrections == nil || len(g.Corrections.Points) != 2 || len(g.Checks) != 1 || g.Checks[0].Day != "2026-02-03" || e.Gauges["keyed"].Corrections != nil {
		t.Errorf("%+v", g)
	}
	if e.Temperatures == nil || e.Temperatures.Part.Written != "28.0 °C ± 1.0 °C" || e.Temperatures.Gauge.Written != "21 °C" {
		t.Errorf("%+v", e.Temperatures)
	}
	if m := e.Earlier["backlash"]; len(m) != 1 || m[0].Change.String() != "-0.125" || m[0].Move.String() != "-0.15" {
		t.Errorf("%+v", m)
	}
	last := e.List[len(e.List)-1]
	if last.Kind != sheet.EntrySetting || last.Value.String() != "-0.12 mm" {
		t.Errorf("%+v", last)
	}
	if z, ok := j.Zeroed("D07"); !ok || !z.Good || len(j.Zeros()) != 2 {
		t.Errorf("%+v", z)
	}
	if !j.Lets("S-31") || j.Lets("S-32") {
		t.Error("what counts in spite of its certificate")
	}
	if !slices.Equal(j.Doubted(), []int64{j.Presses[0].Seq}) {
		t.Errorf("in doubt %v", j.Doubted())
	}
	r := work(t, j).Of(j.Presses[0].Fact.Step)
	if len(r.Notes) == 0 || !strings.HasPrefix(r.Notes[len(r.Notes)-1], "In doubt, because the gauge's zero was lost after them: 26.99 mm") {
		t.Errorf("%q", r.Notes)
	}
	if got := then(t, j, fact.Struck{Press: j.Presses[0].Seq, Reason: "zero lost"}).Doubted(); len(got) != 0 {
		t.Errorf("a struck press is in doubt: %v", got)
	}
}

// What is said of bearings holds at its stage, and until metal is changed.
func TestSaid(t *testing.T) {
	at := time.Date(2026, 2, 3, 12, 0, 0, 0, time.UTC)
	j := then(t, begin(t), fact.NeedSaid{Step: face, Need: sheet.NeedsRolled, At: at})
	if got := j.Said("pinion head"); !got[sheet.NeedsRolled].Equal(at) {
		t.Errorf("at a step of the same stage: %v", got)
	}
	if got := j.Said("casing depth"); got == nil || len(got) != 0 {
		t.Errorf("at another stage: %v", got)
	}
	j = then(t, j, fact.Changed{Step: face, Lengths: []string{"pinion pack"}, Reason: "reseated"})
	if got := j.Said(face); len(got) != 0 {
		t.Errorf("after metal was changed: %v", got)
	}
}

// A press that came before its pieces were said stands on those that are said
// when it is let count.
func TestTookOnPieces(t *testing.T) {
	p := press(face, "D07", "33.38 mm", fact.Held)
	j := then(t, begin(t), p)
	j = then(t, j, fact.Took{Press: j.Last, Reason: "S-31 stood there", Pieces: []string{"S-31", "E-02"}})
	if e := j.Entries().List; len(e) != 1 || !slices.Equal(e[0].Pieces, []string{"S-31", "E-02"}) {
		t.Errorf("%+v", e)
	}
}

func TestReadExact(t *testing.T) {
	for in, want := range map[string]string{"0.21": "0.21", "631/3000": "0.631/3", "0.631/3": "0.631/3", "-1/8": "-0.125", "0": "0"} {
		if got, err := ReadExact(in); err != nil || got.String() != want {
			t.Errorf("%q is read as %s: %v", in, got, err)
		}
	}
	for _, bad := range []string{"", "x", "1/0", "1/-3", "1/x", "1e9", "1E400", "NaN", "1/2/3", strings.Repeat("1", 100)} {
		if got, err := ReadExact(bad); err == nil {
			t.Errorf("%q is read as %s", bad, got)
		}
	}
}

// Facts that a sheet knows nothing of are refused in words.
func TestSurroundingsRefused(t *testing.T) {
	for _, f := range []fact.Fact{
		fact.Zeroed{Gauge: "D07", Step: "nowhere", Reading: figure("0.00 mm")}, fact.NeedSaid{Step: "nowhere"}, fact.Earlier{Step: "nowhere"},
		fact.Earlier{Step: "backlash", Moves: []fact.EarlierMove{{Moved: "x"}}}, fact.Warmth{Part: "warm", Standards: "cold"},
		fact.Warmth{Part: "20 °C', x: '1", Standards: "20 °C"},
		fact.GaugeKnown{Gauge: "D07", Corrections: []fact.CorrectionPoint{{At: figure("0.00 mm"), Add: figure("0.00 N")}}},
	} {
		if _, err := begin(t).Then(2, f); err == nil {
			t.Errorf("%+v was taken", f)
		}
	}
}
