//go:build unix

package main

import (
	"errors"
	"strings"
	"testing"

	"github.com/gdamore/tcell/v2"

	"shimwright/calc/quantity"
	"shimwright/ingest/bench"
	"shimwright/ingest/fact"
	"shimwright/ingest/journal"
)

func millimetres(t testing.TB, digits string) quantity.Value {
	t.Helper()
	v, err := quantity.ParseWithUnit(digits + " mm")
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// inFlight presses the depth gauge, and gives the gate that the press waits at:
// read from the gauge, and neither decoded nor durable.
func inFlight(t *testing.T, digits string) (*workplace, *gate) {
	t.Helper()
	g := newGate("D07")
	w := underGlass(t, 80, 24, "cover recess", g.between, nil)
	g.close()
	if err := w.gauges.Press("D07", millimetres(t, digits)); err != nil {
		t.Fatal(err)
	}
	<-g.held
	return w, g
}

// presses are the figures of a journal's presses, in order.
func presses(t *testing.T, path string) []string {
	t.Helper()
	r, err := journal.OpenReader(path)
	if err != nil {
		t.Fatal(err)
	}
	defer func() {
		if err := r.Close(); err != nil {
			t.Error(err)
		}
	}()
	j, _, err := bench.Load(t.Context(), r, "0001")
	if err != nil {
		t.Fatal(err)
	}
	var out []string
	for _, p := range j.Presses {
		if p.Fact.Outcome == fact.Taken {
			out = append(out, p.Fact.Value.String())
		}
	}
	return out
}

// The window is made larger and smaller while a press is on its way: it is drawn
// in the window as it is then.
func TestResizeWithAPressInFlight(t *testing.T) {
	w, g := inFlight(t, "18.74")
	for _, size := range [][2]int{{132, 43}, {40, 10}, {200, 60}} {
		w.glass.SetSize(size[0], size[1])
		if err := w.glass.PostEvent(tcell.NewEventResize(size[0], size[1])); err != nil {
			t.Fatal(err)
		}
		if size[0] < 80 {
			w.glass.see(t, "Make it larger")
		} else {
			w.glass.see(t, "> ... cover recess", "PRESS the depth gauge: press 1 of 3")
		}
	}
	close(g.open)
	s, _ := w.glass.see(t, "18.74 mm from D07 at cover recess", "(o) TAKEN", "press 2 of 3")
	if lines := strings.Split(s, "\n"); len(lines) != 60 || len([]rune(lines[0])) != 200 {
		t.Errorf("the screen has %d lines", len(lines))
	}
}

// However the screen ends, by a signal or because its terminal is gone, a press
// that was on its way is in the journal.
func TestScreenEndsWithAPressInFlight(t *testing.T) {
	for name, end := range map[string]func(*workplace){
		"signal": func(w *workplace) { w.stop() },
		"terminal gone": func(w *workplace) {
			_ = w.glass.PostEvent(tcell.NewEventError(errors.New("the terminal is gone")))
		},
	} {
		t.Run(name, func(t *testing.T) {
			w, g := inFlight(t, "18.75")
			end(w)
			<-w.glass.gone
			close(g.open)
			w.wait(t)
			if got := presses(t, w.file.Journal); len(got) != 1 || got[0] != "18.75 mm" {
				t.Errorf("the journal has %q", got)
			}
		})
	}
}

// What a gauge sends that no terminal should obey is written out, and no more.
func TestWhatAGaugeSendsIsNeverObeyed(t *testing.T) {
	w := underGlass(t, 80, 24, "cover recess", nil, nil)
	for raw, want := range map[string]string{"\x1b[2J\x1b[31m\r": `\x1b[2J`, "[red]18.74mm[-]\r": "[red]18.74mm[-]"} {
		if err := w.gauges.Raw("D07", []byte(raw)); err != nil {
			t.Fatal(err)
		}
		s, _ := w.glass.see(t, want, "[-] ASIDE")
		if strings.Contains(s, "\x1b") {
			t.Errorf("%q reached the screen", raw)
		}
	}
	if err := w.gauges.Press("D07", millimetres(t, "18.74")); err != nil {
		t.Fatal(err)
	}
	w.glass.see(t, "18.74 mm from D07 at cover recess", "(o) TAKEN")
}
