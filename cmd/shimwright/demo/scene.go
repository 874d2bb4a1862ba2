// Package demo carries the demonstration: benches of virtual gauges, jobs of
// readings, and a fitter who works a job by pressing the virtual gauges'
// buttons. Everything in it is invented.
//
// The fitter uses what a person has: the gauges' buttons and the bench's
// commands. The presses travel through pseudo-terminals and the real serial
// driver, so every job it works is a training job.
package demo

import (
	"embed"
	"errors"
	"fmt"
	"path/filepath"

	"shimwright/calc/quantity"
	"shimwright/cmd/shimwright/benchfile"
	"shimwright/devices/virtual"
	"shimwright/ingest/fact"
)

//go:embed *.yaml scenes/*.jsonl
var files embed.FS

// Bench reads the demonstration bench of a sheet; folder is where its virtual
// gauges are plugged in and its journal lies.
func Bench(sheetID, folder string) (*benchfile.File, error) {
	name := sheetID + ".bench.yaml"
	text, err := files.ReadFile(name)
	if err != nil {
		return nil, fmt.Errorf("there is no demonstration of %q: %w", sheetID, err)
	}
	return benchfile.Read(name, folder, text)
}

// Readings is the demonstration job of a sheet, as a readings file.
func Readings(sheetID string) (name string, text []byte, err error) {
	name = sheetID + ".readings.yaml"
	text, err = files.ReadFile(name)
	return name, text, err
}

// A Plugged is a virtual gauge of a bench, which may be one channel of several.
type Plugged struct {
	*virtual.Gauge
	Channel string
}

// Press presses the gauge's button.
func (p Plugged) Press(v quantity.Value) error {
	if p.Channel != "" {
		return p.PressOn(p.Channel, v)
	}
	return p.Gauge.Press(v)
}

// Gauges are the virtual gauges of a bench, by name.
type Gauges map[string]Plugged

// Hand presses the gauges' buttons.
type Hand interface {
	// Has tells whether there is such a gauge to press.
	Has(gauge string) bool
	// Press presses a button while the gauge shows a value.
	Press(gauge string, v quantity.Value) error
	// Raw has a gauge send what no press would.
	Raw(gauge string, p []byte) error
}

var _ Hand = Gauges{}

// Has tells whether the bench has the gauge.
func (g Gauges) Has(gauge string) bool { return g[gauge].Gauge != nil }

// Press presses the gauge's button.
func (g Gauges) Press(gauge string, v quantity.Value) error { return g[gauge].Press(v) }

// Raw sends bytes as they are.
func (g Gauges) Raw(gauge string, p []byte) error { return g[gauge].SendRaw(p) }

// PlugIn makes a virtual gauge for each gauge of the bench, and one for those that
// share a port.
func PlugIn(f *benchfile.File) (Gauges, error) {
	out, on := Gauges{}, map[string]*virtual.Gauge{}
	for _, g := range f.Gauges {
		path := filepath.Clean(g.Find.Path)
		if on[path] == nil {
			v, err := virtual.New(g.Profile, path)
			if err != nil {
				return nil, errors.Join(fmt.Errorf("virtual gauge %s: %w", g.ID, err), out.Close())
			}
			on[path] = v
		}
		out[g.ID] = Plugged{on[path], g.Channel}
	}
	return out, nil
}

// Close unplugs them all.
func (g Gauges) Close() error {
	var errs []error
	for _, v := range g {
		errs = append(errs, v.Close())
	}
	return errors.Join(errs...)
}

// A Slip is what goes wrong on a wire or in a hand before a step's first good
// press, and what the bench must make of it.
type Slip struct {
	Step, Gauge string
	Raw         string
	Wants       fact.Outcome
	What        string
}

// Slips are those of every demonstration whose bench has the gauge.
func Slips() []Slip {
	return []Slip{
		{"pinion head", "D07", "+42.37mm\r", fact.Aside, "the wrong gauge"},
		{"pinion face height", "D07", "-----\r", fact.Aside, "an error sign from the gauge"},
		{"pinion face height", "D07", "+3.38mm\r", fact.Held, "the foot not on the face"},
		{"casing depth", "D07", "+0031.4A8mm\r", fact.Aside, "noise on the wire"},
	}
}
