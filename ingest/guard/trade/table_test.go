package trade

import (
	"go/ast"
	"go/parser"
	"go/token"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// A wrong is a row of the trade's table of what goes wrong: how bad that is, the
// tests that show it prevented or caught, and what is not shown yet.
type wrong struct {
	what     string
	severity int // 1: drive wrecked or a person hurt; 2: stripped again
	shown    []string
	waits    string
}

// table is the rows of severity 1 and 2. A test is named by its package and
// name; without a package it is of this one.
func table() []wrong {
	return []wrong{
		{"a digit swapped, misread or misheard", 2, []string{"TestKeyedFigures", "TestNothingWrong", "ingest/guard TestGuards", "ingest/bench TestKeyedInTheBench", "ingest/bench TestSecondLook"}, ""},
		{"a sign error in the sum", 1, []string{"calc/overhaul TestExampleNoticesEveryLeaf", "calc/overhaul TestReversedAxisChangesNoPack",
			"calc/network TestPackWithItsFacesSwapped", "calc/overhaul TestFiguresAreTheSumsOfTheirLeaves", "ingest/bench TestPinionPackStory"}, ""},
		{"the place of a pack confused, under the track or under the flange", 1, []string{"calc/network TestPlaceTableInEveryState",
			"calc/sheet TestBadSheets", "calc/overhaul TestSisterDriveWithFlangePack", "calc/overhaul TestPackBelowNoughtOrOutOfRange", "ingest/bench TestNegativePackInTheBench"}, ""},
		{"the wrong standard picked, or its nominal used", 2, []string{"TestWrongPost", "calc/overhaul TestWrongPostIsHeld", "ingest/job TestDraws", "ingest/bench TestStoryWrongPostInTheBench"}, ""},
		{"the straightedge forgotten, or the wrong one", 2, []string{"TestStraightedgeForgotten", "calc/overhaul TestPressWithoutItsPieces",
			"calc/overhaul TestStraightedgeLeftOut", "ingest/bench TestPieceNotSaid", "ingest/bench TestTakenAgainstOtherGuards"}, ""},
		{"inch, millimetre, thou and hundredth mixed", 1, []string{"TestInchAmongMillimetres", "ingest/guard TestGuards",
			"ingest/bench TestStatedInch", "calc/overhaul TestReadingInInchesAmongMillimetres", "ingest/bench TestStoryUnitsInTheBench"}, ""},
		{"an etched mark's unit or sign read wrong", 1, []string{"TestEtchedMarkInTwoUnits", "calc/overhaul TestMarkDigitsInTwoUnits",
			"calc/overhaul TestMarksThatAreNoDistance", "ingest/bench TestStoryUnitsInTheBench"}, ""},
		{"zero not set, or lost", 1, []string{"TestZeroLost", "TestZeroChecks", "ingest/guard TestGuards", "calc/sheet TestNeeds", "ingest/bench TestZeroInTheBench"}, ""},
		{"a reading at the wrong step", 1, []string{"TestWrongStep", "ingest/bench TestNotWaitedFor", "ingest/bench TestWrongStepInTheBench"}, ""},
		{"a reading before bearings are seated or rolled", 1, []string{"TestNotRolled", "TestStillSettling", "calc/overhaul TestReadingsThatHaveNotSettled", "ingest/bench TestRolledInTheBench", "ingest/bench TestBurrAndSettlingInTheBench"}, ""},
		{"a burr or dirt under a face", 2, []string{"TestBurr", "calc/overhaul TestPressesThatDoNotAgree", "calc/overhaul TestBacklashRepeatsApart", "ingest/bench TestBurrAndSettlingInTheBench"}, ""},
		{"the wrong shim fitted, or one left out", 1, []string{"calc/overhaul TestWrongPackIsToldBeforeItIsFitted",
			"calc/overhaul TestLeavesMustAddUpToTheMeasuredPack", "calc/overhaul TestStoryFoundAgainstPredicted", "ingest/bench TestWrongPackInTheBench"}, ""},
		{"the inner pack or the gasket forgotten", 1, []string{"calc/overhaul TestInnerPackForgotten", "ingest/bench TestTwoPacksIn"}, ""},
		{"stale readings after a re-shim", 1, []string{"TestRingBeforeTheReshim", "calc/overhaul TestRingIsStalePointByPoint",
			"calc/overhaul TestStaleIsWhatMovesTheJudgedFigure", "ingest/bench TestStoryStaleRingInTheBench"}, ""},
		{"a mismatched gear pair", 1, []string{"calc/overhaul TestPairNumbersMustBeEqual", "ingest/bench TestPairHold"}, ""},
		{"the band of new bearings for old ones, or a worn bearing shimmed into its band", 1, []string{"TestWornBearing",
			"calc/overhaul TestLimitsWaitForTheirAnswer", "calc/overhaul TestPinionTurningTorque", "calc/overhaul TestStoryWornBearing", "ingest/bench TestBandInTheBench", "ingest/bench TestStoryWornBearingInTheBench"}, ""},
		{"a gauge or standard out of date, or damaged", 2, []string{"TestCertificateDue", "ingest/guard TestGuards", "ingest/bench TestOutOfDateInTheBench"}, ""},
		{"the job sheet lost", 2, []string{"ingest/journal TestKilled", "ingest/bench TestKilled", "ingest/bench TestReopened", "ingest/job TestFoldingFromAJournal", "ingest/bench TestKilledBeforeTheJudgement",
			"ui/record TestText", "ui/record TestLabel"}, ""},
		{"a person checks his own work, or a verdict is argued", 2, []string{"TestKeyedFigures", "calc/ring TestVerdictEdges", "ingest/guard TestGuards", "ingest/bench TestSecondLook", "ingest/bench TestSignOffRefused"}, ""},
		{"a tight tooth averaged away", 1, []string{"calc/overhaul TestHiddenTightToothIsNotGood", "calc/ring TestHiddenToothAndBentWheel", "ingest/bench TestTightToothInTheBench"}, ""},
		{"parts cold or warm", 2, []string{"calc/overhaul TestExpansionIsOnlyTold", "calc/overhaul TestLengthsAreBroughtToTwenty",
			"calc/correct TestLightAlloyCasing", "ingest/bench TestAsInAReadingsFile"}, ""},
	}
}

// Every row of the table is shown by tests that are there.
func TestEveryRowIsShown(t *testing.T) {
	known := map[string]map[string]bool{}
	for _, w := range table() {
		if w.severity < 1 || w.severity > 2 || len(w.shown) == 0 {
			t.Errorf("%s: severity %d, shown by %d tests", w.what, w.severity, len(w.shown))
		}
		if !slices.ContainsFunc(w.shown, func(s string) bool { return strings.HasPrefix(s, "ingest/bench ") }) {
			t.Errorf("%s: no bench shows it", w.what)
		}
		if w.waits != "" {
			t.Logf("%s: not shown yet: %s", w.what, w.waits)
		}
		for _, s := range w.shown {
			pkg, name, ok := strings.Cut(s, " ")
			if !ok {
				pkg, name = "ingest/guard/trade", s
			}
			if known[pkg] == nil {
				known[pkg] = testsOf(t, pkg)
			}
			if !known[pkg][name] {
				t.Errorf("%s: there is no test %s in %s: was it given another name?", w.what, name, pkg)
			}
		}
	}
}

// testsOf are the names of the tests in a package.
func testsOf(t *testing.T, pkg string) map[string]bool {
	t.Helper()
	paths, err := filepath.Glob(filepath.Join("..", "..", "..", filepath.FromSlash(pkg), "*_test.go"))
	if err != nil {
		t.Fatal(err)
	}
	out := map[string]bool{}
	for _, path := range paths {
		file, err := parser.ParseFile(token.NewFileSet(), path, nil, parser.SkipObjectResolution)
		if err != nil {
			t.Fatal(err)
		}
		for _, d := range file.Decls {
			if f, ok := d.(*ast.FuncDecl); ok && f.Recv == nil && strings.HasPrefix(f.Name.Name, "Test") {
				out[f.Name.Name] = true
			}
		}
	}
	return out
}
