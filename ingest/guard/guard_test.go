package guard

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"
	"unicode"
	"unicode/utf8"

	"shimwright/calc/quantity"
	"shimwright/calc/sheet"
	"shimwright/devices"
	"shimwright/devices/decodertest"
	"shimwright/devices/kinds"
	"shimwright/ingest/fact"
)

// longest is how many characters of a sentence stand on two lines of a small
// screen; the sentences are for reading at a glance.
const longest = 160

// sheetNamed reads a sheet of the tests or of the program.
func sheetNamed(t testing.TB, path string) *sheet.Sheet {
	t.Helper()
	text, err := os.ReadFile(filepath.FromSlash(path))
	if err != nil {
		t.Fatal(err)
	}
	s, err := sheet.Read(path, text)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func stepOf(t testing.TB, s *sheet.Sheet, name string) *sheet.Step {
	t.Helper()
	st, ok := s.Step(name)
	if !ok {
		t.Fatalf("%q is no step of %s", name, s.ID)
	}
	return st
}

func figure(t testing.TB, s string) quantity.Value {
	t.Helper()
	v, err := quantity.ParseWithUnit(s)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

func noon() time.Time { return time.Date(2026, 2, 3, 12, 0, 0, 0, time.UTC) }

// good is a press that is taken at the step "pinion face height".
func good(t testing.TB, s *sheet.Sheet) Case {
	t.Helper()
	c := Case{Known: true, Kind: "depth gauge", Open: true, Step: stepOf(t, s, "pinion face height"), Windows: Usual()}
	c.Sample = devices.Sample{Gauge: "D07", Source: devices.SourceGauge}
	c.Sample.Value, c.Sample.At = figure(t, "33.38 mm"), noon()
	return c
}

func TestGuards(t *testing.T) {
	rd3, fw3 := sheetNamed(t, "../../testdata/sheets/rd3.yaml"), sheetNamed(t, "../../cmd/shimwright/sheets/fw3.yaml")
	before := func(value string, ago time.Duration) *Before {
		return &Before{Seq: 7, Value: figure(t, value), At: noon().Add(-ago)}
	}
	value := func(c *Case, v string, stated bool) { c.Sample.Value, c.Sample.UnitStated = figure(t, v), stated }
	needs := needing(t, "needs: [zero, bearings rolled]")
	seat, critical := sheetWith(t, "needs: [bearings seated]"), sheetWith(t, "critical: yes")
	zero := func(change func(*Case)) func(*Case) {
		return func(c *Case) {
			c.Step, c.Zero = needs, &Zero{Good: true, At: noon().Add(-time.Minute), Step: needs, Unit: quantity.MM}
			change(c)
		}
	}
	onPiece := func(now string) func(*Case) {
		return func(c *Case) {
			c.Step, c.Kind = stepOf(t, sheetNamed(t, "../../calc/sheet/testdata/good/every.yaml"), "head"), "comparator"
			c.Zero = &Zero{Good: true, At: noon(), Step: c.Step, Pieces: []string{"R-1"}}
			c.Pieces = []Piece{{ID: now}}
			value(c, "0.37 mm", true)
		}
	}
	said := func(what string, ago time.Duration) func(*Case) {
		return func(c *Case) { c.Said = map[string]time.Time{what: noon().Add(-ago)} }
	}
	repeats := func(values ...string) func(*Case) {
		return func(c *Case) {
			for _, v := range values {
				c.Repeats = append(c.Repeats, figure(t, v))
			}
		}
	}
	day := func(ago int) fact.Day { return fact.DayOf(noon().AddDate(0, 0, -ago)) }
	due := func(ago int, instead ...string) func(*Case) {
		return func(c *Case) { c.Paper = Paper{Due: day(ago), InDate: instead} }
	}
	piece := func(id string, ago int, instead ...string) Piece {
		return Piece{id, Paper{Due: day(ago), InDate: instead}}
	}
	waiting := func(v string, steps ...string) func(*Case) {
		return func(c *Case) {
			value(c, v, true)
			for _, name := range steps {
				c.Waiting = append(c.Waiting, stepOf(t, rd3, name))
			}
		}
	}
	keyed := func(c *Case) { c.Sample.Gauge, c.Sample.Source = "keyed", devices.SourceKeyed }
	for _, tc := range []struct {
		name     string
		change   func(*Case)
		want     fact.Outcome
		sentence string // a part of it
		do       string
	}{
		{"good", func(*Case) {}, fact.Taken, "33.38 mm from D07 at pinion face height.", ""},
		{"at a spot", func(c *Case) {
			c.Step, c.Spot, c.Kind = stepOf(t, rd3, "backlash"), "90 deg", "dial indicator"
			value(c, "0.21 mm", true)
		}, fact.Taken, "0.21 mm from D07 at backlash at 90 deg.", ""},

		{"unknown gauge", func(c *Case) { c.Known = false }, fact.Aside, "D07 is no gauge of this bench.", "add this one to the bench file"},
		{"a channel without a gauge", func(c *Case) { c.Known, c.Stray, c.Sample.Channel = false, true, "4" }, fact.Aside,
			"33.38 mm came on channel 4, which has no gauge on this bench.", "Lay that gauge aside"},
		{"noise from nobody knows whom", func(c *Case) {
			c.Known, c.Stray, c.Sample.Gauge, c.Bad = false, true, "a shared port", errors.New("noise on the line")
		}, fact.Aside, "From a shared port: noise on the line.", "press again"},
		{"no job", func(c *Case) { c.Open, c.Step = false, nil }, fact.Aside, "no job is open", "Open a job first."},
		{"nothing waiting", func(c *Case) { c.Step = nil }, fact.Aside, "nothing was waiting", "Choose a step"},
		{"a step fed by no gauge", func(c *Case) { c.Step = stepOf(t, rd3, "pinion pack") }, fact.Aside, `the step "pinion pack" waits for no gauge`, "See to the step pinion pack."},
		{"the same, with an instruction", func(c *Case) { c.Step = stepOf(t, fw3, "pinion distance") }, fact.Aside, "waits for no gauge", "Read the mark etched on the pinion head."},
		{"an instruction that asks", func(c *Case) { c.Step = stepOf(t, fw3, "pinion bearings") }, fact.Aside, "waits for no gauge", "new or used?"},
		{"the marking, which is only looked at", func(c *Case) { c.Step = stepOf(t, rd3, "contact marking") }, fact.Aside, "waits for no gauge", ""},
		{"wrong kind", func(c *Case) { c.Kind = "micrometer" }, fact.Aside, `That was D07, a micrometer; the step "pinion face height" wants a depth gauge.`, "Press on a depth gauge."},
		{"full", func(c *Case) { c.Full = true }, fact.Aside, "has all its presses", "take this one again"},

		{"the same again at once", func(c *Case) { c.Before = before("33.38 mm", 0) }, fact.Aside, "One press counted: 33.38 mm came again from D07 within 0.8 s.", "Lift, reseat"},
		{"the same again just too soon", func(c *Case) { c.Before = before("33.38 mm", 800*time.Millisecond-1) }, fact.Aside, "One press counted", ""},
		{"the same again at 0.8 s", func(c *Case) { c.Before = before("33.38 mm", 800*time.Millisecond) }, fact.Taken, "33.38 mm from D07 at", ""},
		{"the same figure with another last digit", func(c *Case) { c.Before = before("33.380 mm", 0) }, fact.Aside, "One press counted", ""},
		{"the same length in another unit", func(c *Case) { value(c, "1.3 in", true); c.Before = before("33.02 mm", 0) }, fact.Aside, "One press counted", ""},
		{"another figure too soon", func(c *Case) { c.Before = before("33.37 mm", 800*time.Millisecond-1) }, fact.Held, "33.37 mm and 33.38 mm came from D07 within 0.8 s: which is right?", "Strike both"},
		{"another figure at 0.8 s", func(c *Case) { c.Before = before("33.37 mm", 800*time.Millisecond) }, fact.Taken, "", ""},
		{"the clock went back", func(c *Case) { c.Before = before("33.37 mm", -time.Hour) }, fact.Taken, "", ""},
		{"the clock went back, the same figure", func(c *Case) { c.Before = before("33.38 mm", -1) }, fact.Taken, "", ""},
		{"the same again at a full step", func(c *Case) { c.Full, c.Before = true, before("33.38 mm", 0) }, fact.Aside, "One press counted", ""},
		{"another figure at a full step", func(c *Case) { c.Full, c.Before = true, before("33.37 mm", 0) }, fact.Held, "which is right?", ""},

		{"a piece not said", func(c *Case) { c.Missing = "Say which tall post stands in the setup, by the number on it" }, fact.Held, "it cannot count yet", "by the number on it."},

		{"inch, stated", func(c *Case) { value(c, "1.3142 in", true) }, fact.Taken, "the gauge is on in, that is 33.38068 mm.", ""},
		{"bare, fits as inch", func(c *Case) { value(c, "1.314 mm", false) }, fact.Held,
			"1.314 from D07, which states no unit, misses 31.90 mm .. 34.90 mm. Read in inches it would be 33.3756 mm, which fits.", "Press the gauge's unit key, check its zero, press again."},
		{"bare, fits as thou", func(c *Case) { value(c, "1314 mm", false) }, fact.Held, "Read in thou it would be 33.3756 mm", "unit key"},
		{"bare, fits as hundredths", func(c *Case) { value(c, "3338 mm", false) }, fact.Held, "Read in hundredths of a mm it would be 33.38 mm", "unit key"},
		{"bare, fits as microns", func(c *Case) { value(c, "33380 mm", false) }, fact.Held, "Read in thousandths of a mm it would be 33.38 mm", "unit key"},
		{"bare inch gauge, fits as mm", func(c *Case) { value(c, "33.38 in", false) }, fact.Held, "Read in mm it would be 33.38 mm", "unit key"},
		{"bare, fits in no unit", func(c *Case) { value(c, "3.38 mm", false) }, fact.Held, `3.38 mm from D07 misses 31.90 mm .. 34.90 mm, which the step "pinion face height" wants.`, "Foot on the face?"},
		{"stated, would fit as inch", func(c *Case) { value(c, "1.314 mm", true) }, fact.Held, "1.314 mm from D07 misses", "Foot on the face?"},
		{"a force for a length", func(c *Case) { value(c, "33.38 N", true) }, fact.Aside, `is a force; the step "pinion face height" wants a length`, "right gauge?"},
		{"a force for a length, bare", func(c *Case) { value(c, "33.38 N", false) }, fact.Aside, "is a force", ""},
		{"a pull in pounds", func(c *Case) {
			c.Step, c.Kind = stepOf(t, rd3, "pinion turning torque"), "force gauge"
			value(c, "8.5 lbf", true)
		}, fact.Taken, "the gauge is on lbf, that is 37.8099 N.", ""},

		{"on the lower edge", func(c *Case) { value(c, "31.90 mm", true) }, fact.Taken, "", ""},
		{"on the upper edge", func(c *Case) { value(c, "34.9 mm", true) }, fact.Taken, "", ""},
		{"just below", func(c *Case) { value(c, "31.8999999 mm", true) }, fact.Held, "misses", ""},
		{"just above", func(c *Case) { value(c, "34.9000001 mm", true) }, fact.Held, "misses", ""},
		{"below nought", func(c *Case) { value(c, "-33.38 mm", true) }, fact.Held, "misses", ""},

		{"looks as taught", func(c *Case) { c.Looks = taught(t) }, fact.Taken, "33.38 mm from D07 at", ""},
		{"with other decimals than taught", func(c *Case) { c.Looks = taught(t); value(c, "33.381 mm", false) }, fact.Held,
			"33.381 mm from D07, which sent mm with 2 decimals when it was taught: is this still D07?", "Take the press."},
		{"with its unit, and taught without", func(c *Case) { c.Looks = taught(t); value(c, "33.38 mm", true) }, fact.Held,
			"33.38 mm from D07, which sent no unit when it was taught: is this still D07?", "Teach the cables anew."},
		{"without its unit, and taught with", func(c *Case) { c.Looks = taught(t); c.Looks[0].Stated = true }, fact.Held,
			"which sent its unit when it was taught", ""},
		{"in another unit than taught", func(c *Case) { c.Looks = taught(t); value(c, "1.3142 in", true) }, fact.Held,
			"1.3142 in from D07, which sent mm with 2 decimals when it was taught", "Unit key hit?"},
		{"in a second unit that was taught too", func(c *Case) {
			value(c, "1.3142 in", true)
			c.Looks = append(taught(t), LookOf(c.Sample.Value, true))
		}, fact.Taken, "", ""},
		{"a little outside the range seen", func(c *Case) { c.Looks = ranged(t, "0.00 mm", "31.00 mm") }, fact.Taken, "", ""},
		{"far outside the range seen", func(c *Case) { c.Looks = ranged(t, "0.00 mm", "25.00 mm") }, fact.Held,
			"33.38 mm from D07, which went from 0.00 mm to 25.00 mm when it was taught: is this still D07?", ""},
		{"far below the range seen", func(c *Case) { c.Looks = ranged(t, "50.00 mm", "75.00 mm") }, fact.Held, "went from 50.00 mm", ""},
		{"bare, fits as inch, and not as taught", func(c *Case) { c.Looks = taught(t); value(c, "1.314 mm", false) }, fact.Held, "Read in inches it would be", ""},
		{"not as taught, and outside the window", func(c *Case) { c.Looks = taught(t); value(c, "3.381 mm", false) }, fact.Held, "is this still D07?", ""},

		{"a zero nobody keeps", func(c *Case) { c.Step = needs }, fact.Taken, "", ""},
		{"a zero never checked", func(c *Case) { c.Step, c.Zero = needs, &Zero{} }, fact.Aside,
			"ZERO FIRST: D07 has had no zero check. 33.38 mm does not count.", "Check the zero of D07, foot and tip level, then press again."},
		{"a zero never checked where none is needed", func(c *Case) { c.Zero = &Zero{} }, fact.Taken, "", ""},
		{"a zero just checked", zero(func(*Case) {}), fact.Taken, "33.38 mm from D07 at", ""},
		{"a zero that was off", zero(func(c *Case) { c.Zero.Good = false }), fact.Aside, "ZERO FIRST: D07 was off when its zero was last checked.", ""},
		{"a zero after a knock", zero(func(c *Case) { c.Zero.Knocked = true }), fact.Aside, "ZERO FIRST: D07 was knocked.", ""},
		{"a zero after a replug", zero(func(c *Case) { c.Zero.Gone = true }), fact.Aside, "ZERO FIRST: D07 was unplugged.", ""},
		{"a zero in another unit", zero(func(c *Case) { c.Zero.Unit = quantity.Inch }), fact.Aside, "ZERO FIRST: D07 was on in and is on mm now.", ""},
		{"a zero, and another unit in between", zero(func(c *Case) { c.Zero.Turned = true }), fact.Aside, "ZERO FIRST: D07 was on another unit in between.", ""},
		{"a zero in a unit not known", zero(func(c *Case) { c.Zero.Unit = quantity.Bare }), fact.Taken, "", ""},
		{"a zero of a setup that is the same", zero(func(c *Case) { c.Zero.Step = stepOf(t, rd3, "wheel height") }), fact.Taken, "", ""},
		{"a zero of another setup", zero(func(c *Case) { c.Zero.Step = stepOf(t, rd3, "casing depth") }), fact.Aside, "ZERO FIRST: D07 stands in another setup.", ""},
		{"a zero of a step that has no setup", zero(func(c *Case) { c.Zero.Step = stepOf(t, rd3, "backlash") }), fact.Aside, "another setup", ""},
		{"a zero after 30 min idle", zero(func(c *Case) { c.Zero.At = noon().Add(-30 * time.Minute) }), fact.Taken, "", ""},
		{"a zero after 41 min idle", zero(func(c *Case) { c.Zero.At = noon().Add(-41 * time.Minute) }), fact.Aside, "ZERO FIRST: D07 lay idle for 41 min.", ""},
		{"a zero after a night", zero(func(c *Case) { c.Zero.At = noon().Add(-17 * time.Hour) }), fact.Aside, "lay idle for 17 h.", ""},
		{"a zero of long ago, used since", zero(func(c *Case) {
			c.Zero.At, c.Zero.Used = noon().Add(-5*time.Hour), noon().Add(-29*time.Minute)
		}), fact.Taken, "", ""},
		{"a zero idle, and nobody asks", zero(func(c *Case) { c.Zero.At, c.Windows.Idle = noon().Add(-5*time.Hour), 0 }), fact.Taken, "", ""},
		{"a zero, and the clock went back", zero(func(c *Case) { c.Zero.At = noon().Add(5 * time.Hour) }), fact.Taken, "", ""},
		{"a zero on another piece", onPiece("R-2"), fact.Aside, "ZERO FIRST: D07 stands in another setup.", "Check the zero of D07 on the ring gauge, then press again."},
		{"a zero on the same piece", onPiece("R-1"), fact.Taken, "", ""},

		{"bearings nobody is asked of", func(c *Case) { c.Step = needs }, fact.Taken, "", ""},
		{"bearings not rolled", zero(func(c *Case) { c.Said = map[string]time.Time{} }), fact.Aside,
			"ROLL FIRST: nobody has said that the bearings are rolled. 33.38 mm does not count.", "Roll the bearings ten turns, say so, then press again."},
		{"bearings rolled just now", zero(said(sheet.NeedsRolled, 0)), fact.Taken, "", ""},
		{"bearings rolled 10 min ago", zero(said(sheet.NeedsRolled, 10*time.Minute)), fact.Taken, "", ""},
		{"bearings rolled 14 min ago", zero(said(sheet.NeedsRolled, 14*time.Minute)), fact.Aside,
			"ROLL FIRST: the bearings were rolled 14 min ago, which holds for 10 min. 33.38 mm does not count.", "Roll the bearings"},
		{"bearings seated, and the step wants them rolled", zero(said(sheet.NeedsSeated, 0)), fact.Aside, "ROLL FIRST", ""},
		{"bearings rolled, and the step wants them seated", func(c *Case) { c.Step = stepOf(t, seat, "pinion face height"); said(sheet.NeedsRolled, 0)(c) }, fact.Aside,
			"SEAT FIRST: nobody has said that the bearings are seated.", "Seat the bearings, say so, then press again."},
		{"bearings not rolled where no step needs it", func(c *Case) { c.Said = map[string]time.Time{} }, fact.Taken, "", ""},
		{"bearings rolled long ago, and nobody asks", zero(func(c *Case) { said(sheet.NeedsRolled, time.Hour)(c); c.Windows.Seated = 0 }), fact.Taken, "", ""},

		{"due today", due(0), fact.Taken, "", ""},
		{"due in a year", due(-365), fact.Taken, "", ""},
		{"due yesterday", due(1), fact.Held, "D07 was due yesterday: 33.38 mm from D07 is kept.", "None in date can stand in for D07: the lead may let it count with a reason."},
		{"due three days ago", due(3, "D09"), fact.Held, "D07 was due 3 days ago: 33.38 mm from D07 is kept.", "Use D09; the lead may let it count with a reason."},
		{"due, and several in date", due(3, "D09", "D10", "D11", "D12"), fact.Held, "", "Use D09, D10 or D11; the lead"},
		{"out of use", func(c *Case) { c.Paper = Paper{Withdrawn: true, Due: day(-9), InDate: []string{"D09"}} }, fact.Held,
			"D07 is out of use: 33.38 mm from D07 is kept.", "Use D09; the lead"},
		{"a piece due", func(c *Case) { c.Pieces = []Piece{piece("S-31", 2, "S-32"), piece("E-02", -2)} }, fact.Held,
			"S-31 was due 2 days ago: 33.38 mm from D07 is kept.", "Use S-32; the lead may let it count with a reason."},
		{"gauge and piece due", func(c *Case) { due(3, "D09")(c); c.Pieces = []Piece{piece("S-31", 2, "S-32")} }, fact.Held,
			"D07 was due 3 days ago, S-31 was due 2 days ago: 33.38 mm from D07 is kept.", "Use D09 for D07, S-32 for S-31; the lead may let it count with a reason."},
		{"gauge and piece due, and no such piece in date", func(c *Case) { due(3, "D09")(c); c.Pieces = []Piece{piece("S-31", 2)} }, fact.Held, "", "None in date can stand in for S-31:"},
		{"all due", func(c *Case) {
			due(3)(c)
			c.Pieces = []Piece{piece("S-31", 2), piece("S-32", 2), piece("E-02", 400)}
		}, fact.Held, "D07 was due 3 days ago, S-31 was due 2 days ago, and 2 more: 33.38 mm", ""},
		{"due, and outside its window", func(c *Case) { due(3)(c); value(c, "3.38 mm", true) }, fact.Held, "misses", ""},

		{"repeats that agree", repeats("33.38 mm", "33.37 mm"), fact.Taken, "33.38 mm from D07 at pinion face height.", ""},
		{"repeats just within agreement", repeats("33.40 mm", "33.38 mm"), fact.Taken, "33.38 mm from D07 at pinion face height.", ""},
		{"a repeat too far off", repeats("33.38 mm", "33.43 mm"), fact.Taken,
			"33.38 mm from D07 at pinion face height. The presses lie 0.05 mm apart, at most 0.02 mm is allowed.", "Clean and stone the faces, reseat, take the step again: do not average it away."},
		{"repeats that only fall", repeats("33.44 mm", "33.40 mm"), fact.Taken,
			"Readings still falling 33.44 33.40 33.38: not seated yet.", "Roll and reseat until they hold, then take the step again."},
		{"repeats that only rise", repeats("33.30 mm", "33.33 mm"), fact.Taken, "Readings still rising 33.30 33.33 33.38: not seated yet.", "Roll and reseat"},
		{"repeats that fall within agreement", repeats("33.40 mm", "33.39 mm"), fact.Taken, "33.38 mm from D07 at pinion face height.", ""},
		{"repeats that fall and stop", repeats("33.44 mm", "33.38 mm"), fact.Taken, "The presses lie 0.06 mm apart", "Clean and stone"},
		{"an odd one, and then a fall within agreement", repeats("33.30 mm", "33.40 mm", "33.39 mm"), fact.Taken, "The presses lie 0.1 mm apart", "Clean and stone"},
		{"a long fall", repeats("33.60 mm", "33.55 mm", "33.50 mm", "33.45 mm", "33.40 mm"), fact.Taken, "falling 33.50 33.45 33.40 33.38:", ""},
		{"a repeat in another unit", func(c *Case) { value(c, "1.3142 in", true); repeats("33.38 mm", "33.33 mm")(c) }, fact.Taken,
			"that is 33.38068 mm. The presses lie 0.05068 mm apart", "Clean and stone"},
		{"a pack's places", func(c *Case) {
			c.Step, c.Kind = stepOf(t, fw3, "pinion pack"), "micrometer"
			value(c, "1.35 mm", true)
			repeats("1.41 mm", "1.38 mm")(c)
		}, fact.Taken, "The presses lie 0.06 mm apart", "Clean the leaves, take out burrs, measure the pack again"},
		{"lifts at a point", func(c *Case) {
			c.Step, c.Kind, c.Spot = stepOf(t, sheetNamed(t, "../../calc/sheet/testdata/good/every.yaml"), "backlash as found"), "dial indicator", "0 deg"
			value(c, "0.35 mm", true)
			repeats("0.21 mm")(c)
		}, fact.Taken, "The presses lie 0.14 mm apart", "Look for slack or dirt, take the step again: do not average it away."},
		{"repeats of a force", repeats("33.38 N"), fact.Taken, "33.38 mm from D07 at pinion face height.", ""},
		{"repeats of pulls, which the sheet does not hold together", func(c *Case) {
			c.Step, c.Kind, c.Repeats = stepOf(t, rd3, "pinion turning torque"), "force gauge", []quantity.Value{figure(t, "11.0 N"), figure(t, "24.5 N")}
			value(c, "13.0 N", true)
		}, fact.Taken, "13.0 N from D07 at pinion turning torque.", ""},

		{"another step's figure", waiting("26.99 mm", "overall height"), fact.Held,
			`26.99 mm from D07 misses 31.90 mm .. 34.90 mm, which the step "pinion face height" wants. It would fit the step overall height.`, "Right step?"},
		{"a figure of two other steps", waiting("25.93 mm", "wheel height", "overall height"), fact.Held, "It would fit the steps wheel height and overall height.", ""},
		{"a figure of three other steps", waiting("25.93 mm", "wheel height", "overall height", "wheel height"), fact.Held, "It would fit the steps wheel height and overall height.", ""},
		{"a figure of no other step", waiting("3.38 mm", "wheel height", "overall height"), fact.Held, "", "Foot on the face?"},
		{"another gauge's step", waiting("42.37 mm", "pinion head"), fact.Held, `which the step "pinion face height" wants.`, ""},
		{"a figure that fits here and there", waiting("33.38 mm", "pinion face height"), fact.Taken, "", ""},

		{"keyed", keyed, fact.Taken, "33.38 mm from keyed at pinion face height. KEYED.", ""},
		{"keyed at a critical step", func(c *Case) { keyed(c); c.Step = stepOf(t, critical, "pinion face height") }, fact.Taken, "KEYED.", "A second person must look at it before sign-off."},
		{"pressed at a critical step", func(c *Case) { c.Step = stepOf(t, critical, "pinion face height") }, fact.Taken, "33.38 mm from D07 at pinion face height.", ""},
		{"keyed and nobody said why", func(c *Case) { keyed(c); c.Unexplained = true }, fact.Held, "33.38 mm was KEYED and nobody said why.", "key it again and say why."},

		{"low battery", func(c *Case) { c.Sample.Battery = true }, fact.Taken, "33.38 mm from D07", "Battery low on D07: change it now, then check its zero."},
	} {
		t.Run(tc.name, func(t *testing.T) {
			c := good(t, rd3)
			tc.change(&c)
			d := Decide(c)
			if d.Outcome != tc.want || !strings.Contains(d.Sentence, tc.sentence) || !strings.Contains(d.Do, tc.do) {
				t.Errorf("%s: %s\n%s\nwant %s: %s\n%s", d.Outcome, d.Sentence, d.Do, tc.want, tc.sentence, tc.do)
			}
			if hold := c.Before != nil && d.Outcome == fact.Held; d.HoldBefore != hold {
				t.Errorf("hold the one before too: %v", d.HoldBefore)
			}
			readable(t, d)
		})
	}
}

// sheetWith is drive rd3 with a line more at the step "pinion face height".
func sheetWith(t testing.TB, more string) *sheet.Sheet {
	t.Helper()
	text, err := os.ReadFile(filepath.FromSlash("../../testdata/sheets/rd3.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	const step = "      - measure: pinion face height\n"
	changed := strings.Replace(string(text), step, step+"        "+more+"\n", 1)
	if changed == string(text) {
		t.Fatal("the sheet has no such step")
	}
	s, err := sheet.Read("rd3.yaml", []byte(changed))
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// needing is the step "pinion face height" with a line more.
func needing(t testing.TB, more string) *sheet.Step {
	t.Helper()
	return stepOf(t, sheetWith(t, more), "pinion face height")
}

// taught is how the gauge of good looks.
func taught(t testing.TB) []fact.Looked { return []fact.Looked{LookOf(figure(t, "0.00 mm"), false)} }

func ranged(t testing.TB, low, high string) []fact.Looked {
	l, h := figure(t, low), figure(t, high)
	looks := taught(t)
	looks[0].Low, looks[0].High = &l, &h
	return looks
}

// readable holds what people are told to a line that can be read out.
func readable(t *testing.T, d Decision) {
	t.Helper()
	for what, s := range map[string]string{"sentence": d.Sentence, "do": d.Do} {
		if s == "" && what == "do" {
			continue
		}
		if !strings.HasSuffix(s, ".") && !strings.HasSuffix(s, "?") || strings.HasSuffix(s, "..") || strings.HasSuffix(s, "?.") {
			t.Errorf("%s does not end with one stop: %q", what, s)
		}
		if !utf8.ValidString(s) || strings.ContainsFunc(s, func(r rune) bool { return !unicode.IsPrint(r) }) {
			t.Errorf("%s holds bytes that do not print: %q", what, s)
		}
		if n := utf8.RuneCountInString(s); n > longest {
			t.Errorf("%s has %d characters: %q", what, n, s)
		}
	}
}

// A press that is held already is not held back again.
func TestHeldBefore(t *testing.T) {
	c := good(t, sheetNamed(t, "../../testdata/sheets/rd3.yaml"))
	c.Before = &Before{Seq: 7, Value: figure(t, "33.37 mm"), At: noon(), Held: true}
	if d := Decide(c); d.Outcome != fact.Held || d.HoldBefore {
		t.Errorf("%+v", d)
	}
	c.Before.Value = figure(t, "33.38 mm")
	if d := Decide(c); d.Outcome != fact.Aside {
		t.Errorf("%+v", d)
	}
}

// The guards stand in one order: where two object, the earlier one speaks. Each
// guard of the list has its objection here.
func TestOrder(t *testing.T) {
	rd3 := sheetNamed(t, "../../testdata/sheets/rd3.yaml")
	needs := needing(t, "needs: [zero, bearings rolled]")
	objections := []struct {
		change   func(*Case)
		sentence string
	}{
		{func(c *Case) { c.Known = false }, "no gauge of this bench"},
		{func(c *Case) { c.Bad = errors.New("it shows dashes") }, "From D07: it shows dashes."},
		{func(c *Case) { c.Open = false }, "no job is open"},
		{func(c *Case) { c.Step = nil }, "nothing was waiting"},
		{func(c *Case) {
			if c.Step != nil {
				c.Step = stepOf(t, rd3, "pinion pack")
			}
		}, "waits for no gauge"},
		{func(c *Case) { c.Kind = "micrometer" }, "a micrometer"},
		{func(c *Case) { c.Before = &Before{Value: figure(t, "33.37 mm"), At: noon()} }, "which is right?"},
		{func(c *Case) { c.Full = true }, "all its presses"},
		{func(c *Case) { c.Zero = &Zero{} }, "ZERO FIRST"},
		{func(c *Case) { c.Said = map[string]time.Time{} }, "ROLL FIRST"},
		{func(c *Case) { c.Missing = "Say which" }, "cannot count yet"},
		{func(c *Case) { c.Sample.Value = figure(t, "1.314 mm") }, "states no unit"},
		{func(c *Case) { c.Looks = ranged(t, "0.00 mm", "1.00 mm") }, "still D07?"},
		{func(c *Case) {
			if c.Sample.Value.Digits() == "33.38" {
				c.Sample.Value, c.Sample.UnitStated = figure(t, "3.38 mm"), true
			}
		}, "misses"},
		{func(c *Case) { c.Paper.Due = fact.DayOf(noon().AddDate(0, 0, -3)) }, "was due"},
		{func(c *Case) { c.Sample.Source, c.Unexplained = devices.SourceKeyed, true }, "nobody said why"},
	}
	start := func() Case {
		c := good(t, rd3)
		c.Step = needs
		return c
	}
	for i, first := range objections {
		for _, second := range objections[i+1:] {
			c := start()
			first.change(&c)
			second.change(&c)
			if d := Decide(c); !strings.Contains(d.Sentence, first.sentence) {
				t.Errorf("%s and %s give %q", first.sentence, second.sentence, d.Sentence)
			}
		}
	}
	last, spoke := 0, map[int]bool{}
	for _, o := range objections {
		c := start()
		o.change(&c)
		at := slices.IndexFunc(guards(), func(g func(Case) *Decision) bool { return g(c) != nil })
		if at < last {
			t.Errorf("%s is told by guard %d, after guard %d", o.sentence, at, last)
		}
		last, spoke[at] = at, true
	}
	if len(spoke) != len(guards()) || spoke[-1] {
		t.Errorf("the objections are told by guards %v of %d", spoke, len(guards()))
	}
}

// Every bad frame of every form of gauge is set aside in words that can be
// read, whatever its bytes.
func TestBadFrames(t *testing.T) {
	rd3 := sheetNamed(t, "../../testdata/sheets/rd3.yaml")
	for _, form := range decodertest.Forms() {
		lines := []string{strings.Repeat("\xff", 300) + "\r\n", strings.Repeat("\x1b[2J", 60) + "\r\n", strings.Repeat("9", 255) + "\r\n", "\u202e33.38\r\n"}
		for _, b := range form.Bad {
			lines = append(lines, b.Bytes)
		}
		for _, line := range lines {
			dec, err := kinds.Decoder(form.Profile)
			if err != nil {
				t.Fatal(err)
			}
			said := 0
			dec.Push(noon(), []byte(line), func(f devices.Frame, err error) {
				if err == nil {
					return
				}
				said++
				c := good(t, rd3)
				c.Sample.Frame, c.Bad = f, err
				d := Decide(c)
				if d.Outcome != fact.Aside || !strings.HasPrefix(d.Sentence, "From D07: ") || !strings.Contains(d.Sentence, `(received "`) {
					t.Errorf("%s, %q: %s %s", form.Name, line, d.Outcome, d.Sentence)
				}
				readable(t, d)
			})
			if said == 0 {
				t.Errorf("%s: %q gave no bad frame", form.Name, line)
			}
		}
	}
}

// The dashes of a gauge out of its travel are told as such.
func TestDashes(t *testing.T) {
	c := good(t, sheetNamed(t, "../../testdata/sheets/rd3.yaml"))
	c.Bad = &devices.FrameError{Reason: devices.NoNumber, Detail: `the gauge shows "---"`, Raw: []byte("-----\r")}
	want := Decision{Outcome: fact.Aside, Cause: "no number", Sentence: `From D07: no number: the gauge shows "---" (received "-----\r").`,
		Do: "Look at the gauge: over travel, dirt or battery? Press again."}
	if d := Decide(c); d != want {
		t.Errorf("%+v", d)
	}
	c.Bad = &devices.FrameError{Reason: devices.HalfLine, Raw: []byte(strings.Repeat("\xff", 100))}
	if d := Decide(c); d.Sentence != `From D07: half a line (received "`+strings.Repeat(`\xff`, 5)+`" and 95 more bytes).` {
		t.Errorf("%+v", d)
	}
}

// An instruction of several lines is one line in what to do.
func TestLongInstruction(t *testing.T) {
	c := good(t, sheetNamed(t, "../../testdata/sheets/rd3.yaml"))
	c.Step = &sheet.Step{Name: "rolled", Kind: sheet.KindConfirm, Say: "Roll the bearings\n\nten turns\n"}
	if d := Decide(c); d.Do != "Roll the bearings ten turns." {
		t.Errorf("%q", d.Do)
	}
}

// Every step of the sheets that come with the program, pressed with what fits
// and what does not, is spoken of in words that can be read.
func TestWordsForEverySheet(t *testing.T) {
	paths, err := filepath.Glob("../../cmd/shimwright/sheets/*.yaml")
	if err != nil || len(paths) == 0 {
		t.Fatal("no sheets", err)
	}
	rd3 := sheetNamed(t, "../../testdata/sheets/rd3.yaml")
	for _, path := range paths {
		s := sheetNamed(t, path)
		for _, st := range s.Steps() {
			for _, v := range []string{"33.38 mm", "0.07 mm", "1.3142 in", "38.0 N", "48.2 N.m", "-0.001 mm", "12.345678 in"} {
				for _, full := range []bool{false, true} {
					c := good(t, rd3)
					c.Step, c.Kind, c.Full = st, st.Gauge, full
					c.Sample.Value, c.Sample.UnitStated = figure(t, v), true
					if slots := st.Slots(); len(slots) > 0 {
						c.Spot = slots[len(slots)-1].Spot
					}
					readable(t, Decide(c))
				}
			}
		}
	}
}

// What a person is asked to say of each need, and nothing of a zero, which a
// gauge shows.
func TestNeedWords(t *testing.T) {
	for need, want := range map[string]string{
		sheet.NeedsRolled: "Are the bearings rolled, ten turns?", sheet.NeedsSeated: "Are the bearings seated?", sheet.NeedsZero: "",
	} {
		if got := NeedWords(need); got != want {
			t.Errorf("%s: %q", need, got)
		}
	}
}

func ExampleDecide() {
	d := Decide(Case{Known: true, Windows: Usual(), Sample: devices.Sample{Gauge: "D07", Frame: devices.Frame{}}})
	fmt.Println(d.Outcome, d.Do)
	// Output: aside Open a job first.
}

// Whatever comes, Decide gives an outcome and a readable sentence, and takes
// nothing that misses its window or that an earlier guard must stop.
func FuzzDecide(f *testing.F) {
	rd3 := sheetNamed(f, "../../testdata/sheets/rd3.yaml")
	steps := rd3.Steps()
	steps = append(steps, needing(f, "needs: [zero, bearings rolled]"), needing(f, "critical: yes"))
	f.Add("33.38", uint8(1), true, false, uint8(8), uint8(63), int64(0), "33.37", []byte(nil), uint8(0))
	f.Add("1.314", uint8(1), false, true, uint8(8), uint8(31), int64(-5), "33.37", []byte(nil), uint8(0))
	f.Add("0", uint8(0), false, true, uint8(0), uint8(0), int64(0), "", []byte("\x1b[2J\xff\r"), uint8(0))
	f.Add("-0.07", uint8(9), false, true, uint8(20), uint8(255), int64(800_000_000), "-0.07", []byte(nil), uint8(0))
	f.Add("33.38", uint8(1), true, false, uint8(len(steps)-2), uint8(26), int64(2_000_000_000_000), "33.30", []byte(nil), uint8(255))
	f.Add("33.38", uint8(1), true, false, uint8(len(steps)-1), uint8(26), int64(1_000_000_000), "33.50", []byte(nil), uint8(64+32))
	f.Fuzz(func(t *testing.T, digits string, unit uint8, stated, battery bool, step, flags uint8, ago int64, last string, raw []byte, circumstances uint8) {
		u := quantity.Unit(unit % uint8(quantity.Degree+1))
		v, err := quantity.Parse(digits, u)
		if err != nil {
			return
		}
		c := Case{Known: flags&1 != 0, Open: flags&2 != 0, Full: flags&4 == 0, Windows: Usual()}
		c.Sample = devices.Sample{Gauge: "D07", Source: devices.SourceGauge}
		c.Sample.Value, c.Sample.UnitStated, c.Sample.Battery, c.Sample.At = v, stated, battery, noon()
		if flags&8 != 0 {
			c.Step = steps[int(step)%len(steps)]
			c.Kind = c.Step.Gauge
		}
		if flags&16 == 0 {
			c.Kind = "micrometer"
		}
		if b, err := quantity.Parse(last, u); err == nil {
			c.Before = &Before{Value: b, At: noon().Add(-time.Duration(ago)), Held: flags&32 != 0}
		}
		if len(raw) > 0 {
			c.Bad = &devices.FrameError{Reason: devices.Noise, Raw: raw}
		}
		surround(&c, circumstances, noon().Add(-time.Duration(ago)), steps)
		d := Decide(c)
		readable(t, d)
		if d.HoldBefore && (c.Before == nil || d.Outcome != fact.Held) {
			t.Errorf("holds what was not there: %+v", d)
		}
		if d.Outcome != fact.Taken {
			return
		}
		b, ok := c.Step.Window()
		if !ok || v.Unit().Dimension() != b.Low.Unit().Dimension() || v.Exact().Less(b.Low.Exact()) || b.High.Exact().Less(v.Exact()) {
			t.Errorf("%s was taken at %s", v, c.Step.Name)
		}
		if !c.Known || c.Bad != nil || !c.Open || c.Full || c.Kind != c.Step.Gauge || c.Missing != "" {
			t.Errorf("taken in spite of %+v", c)
		}
		if c.Unexplained && c.Sample.Source == devices.SourceKeyed || daysPast(c.Paper.Due, c.Sample.At) > 0 ||
			c.Step.Need(sheet.NeedsZero) && c.Zero != nil && !c.Zero.Good || c.Step.Need(sheet.NeedsRolled) && c.Said != nil && len(c.Said) == 0 {
			t.Errorf("taken in spite of what surrounds it: %+v", c)
		}
	})
}

// surround fills what the later guards look at, by bits.
func surround(c *Case, bits uint8, at time.Time, steps []*sheet.Step) {
	if bits&1 != 0 {
		c.Zero = &Zero{Good: bits&2 != 0, At: at, Knocked: bits&4 != 0, Step: steps[int(bits)%len(steps)], Unit: quantity.Unit(bits % 3)}
	}
	if bits&8 != 0 {
		c.Said = map[string]time.Time{}
		if bits&4 == 0 {
			c.Said[sheet.NeedsRolled] = at
		}
	}
	if bits&16 != 0 {
		c.Paper.Due, c.Pieces = fact.DayOf(at), []Piece{{"S-31", Paper{Due: fact.DayOf(at), InDate: []string{"S-32"}, Withdrawn: bits&128 != 0}}}
	}
	if bits&32 != 0 {
		c.Sample.Source, c.Unexplained = devices.SourceKeyed, bits&64 != 0
	}
	if c.Before != nil && bits&64 != 0 {
		c.Repeats = []quantity.Value{c.Before.Value, c.Sample.Value, c.Before.Value}
	}
	if bits&128 != 0 {
		c.Waiting = steps
	}
}
