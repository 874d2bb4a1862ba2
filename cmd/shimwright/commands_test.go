package main

import (
	"os"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"shimwright/ingest/bench"
)

// JSON.md tells of every command that is read.
func TestEveryCommandIsTold(t *testing.T) {
	text, err := os.ReadFile("JSON.md")
	if err != nil {
		t.Fatal(err)
	}
	for name := range commands() {
		if !strings.Contains(string(text), "\n| `"+name+"` |") {
			t.Errorf("JSON.md has no line for the command %q", name)
		}
	}
}

// The commands about what surrounds a press, as they are written.
func TestCommandsAroundPresses(t *testing.T) {
	for line, want := range map[string]bench.Command{
		`{"do": "zero", "gauge": "D07"}`:                                                               bench.CheckZero{Gauge: "D07"},
		`{"do": "zero", "gauge": "D07", "cancel": true}`:                                               bench.CheckZero{Gauge: "D07", Cancel: true},
		`{"do": "knocked", "gauge": "D07"}`:                                                            bench.Knocked{Gauge: "D07"},
		`{"do": "say", "need": "rolled"}`:                                                              bench.SayNeed{Need: "rolled"},
		`{"do": "check piece", "gauge": "D07", "piece": "C-25"}`:                                       bench.CheckPiece{Gauge: "D07", Piece: "C-25"},
		`{"do": "temperatures", "part": "28 °C", "standards": "21 °C"}`:                                bench.Temperatures{Part: "28 °C", Standards: "21 °C"},
		`{"do": "seal", "step": "pinion turning torque", "with": "40.0 N", "without": "36.0 N"}`:       bench.Seal{Step: "pinion turning torque", With: "40.0 N", Without: "36.0 N"},
		`{"do": "keep backlash", "step": "closing pack", "float": "0.05 mm", "against": "tooth side"}`: bench.KeepBacklash{Step: "closing pack", Float: "0.05 mm", Against: "tooth side"},
	} {
		got, _, err := parseCommand([]byte(line))
		if err != nil {
			t.Errorf("%s: %v", line, err)
		} else if diff := cmp.Diff(want, got); diff != "" {
			t.Errorf("%s:\n%s", line, diff)
		}
	}
	if _, _, err := parseCommand([]byte(`{"do": "zero", "step": "x"}`)); err == nil {
		t.Error("an unknown field was taken")
	}
}
