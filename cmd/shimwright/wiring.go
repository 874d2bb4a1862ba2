package main

import (
	"context"
	"crypto/rand"
	"encoding/hex"
	"errors"
	"fmt"
	"path/filepath"
	"strings"
	"time"

	"shimwright/calc/sheet"
	"shimwright/cmd/shimwright/benchfile"
	"shimwright/devices/port"
	"shimwright/ingest/bench"
	"shimwright/ingest/fact"
	"shimwright/ingest/journal"
)

// readBenchFile reads a bench file; its folder is where its relative paths
// start.
func readBenchFile(path string) (*benchfile.File, error) {
	text, err := readFile("bench file", path)
	if err != nil {
		return nil, err
	}
	full, err := filepath.Abs(path)
	if err != nil {
		return nil, err
	}
	return benchfile.Read(path, filepath.Dir(full), text)
}

// sheetsOf finds sheets for a bench: those of its file by path, and those the
// program carries by name.
func sheetsOf(f *benchfile.File, folder string) func(string) ([]byte, error) {
	return func(name string) ([]byte, error) {
		for _, s := range f.Sheets {
			base := strings.TrimSuffix(filepath.Base(s), ".yaml")
			if s != name && base != name {
				continue
			}
			if text, ok := embeddedSheet(s); ok {
				return text, nil
			}
			if !filepath.IsAbs(s) {
				s = filepath.Join(folder, s)
			}
			return readFile("sheet", s)
		}
		return nil, fmt.Errorf("%q is no sheet of this bench: its sheets are %s", name, strings.Join(f.Sheets, ", "))
	}
}

// readable are the bench's sheets that can be read, and a sentence on each that no
// job can be opened by.
func readable(f *benchfile.File, folder string) (out []*sheet.Sheet, faults []string) {
	find := sheetsOf(f, folder)
	for _, name := range f.Sheets {
		text, err := find(name)
		var s *sheet.Sheet
		if err == nil {
			s, err = sheet.Read(name, text)
		}
		if err == nil {
			out = append(out, s)
			continue
		}
		first, _, more := strings.Cut(err.Error(), "\n")
		if more {
			first += " (shimwright sheet check tells all of it)"
		}
		faults = append(faults, "No job can be opened by a sheet of the bench file: "+first)
	}
	return out, faults
}

// running is a bench with its journal, and with its capture where one is made;
// open until closed.
type running struct {
	*bench.Bench
	journal *journal.Journal
	tape    *tape
	shop    *shipping
	figures *figures
	log     *benchLog
	faults  []string // sentences on sheets that cannot be read
}

// Run runs the bench, and serves its figures meanwhile.
func (r *running) Run(ctx context.Context) error {
	defer r.figures.serve(ctx)()
	stop := r.log.watch(ctx, r.Bench)
	err := r.Bench.Run(ctx)
	stop()
	r.log.stopped(err)
	return err
}

// close ends the relay and the capture and closes the journal.
func (r *running) close() error {
	r.shop.end()
	return errors.Join(r.tape.close(), r.journal.Close())
}

// openBench opens the journal and the bench over it.
func openBench(ctx context.Context, f *benchfile.File, folder string, w wires, onFact func(bench.Recorded)) (*running, error) {
	through, t, err := w.ready(time.Now)
	if err != nil {
		return nil, err
	}
	run, err := runID()
	if err != nil {
		return nil, err
	}
	told, end := progressOn(w.errors)
	defer end()
	j, err := journal.OpenContext(ctx, w.journal(f.Journal), journal.Options{Bench: f.Name, Run: run, Now: time.Now, Rows: fact.Rows(), Anew: w.anew, Progress: told})
	if err != nil {
		return nil, journalError(err)
	}
	told("reading what the bench did so far", 0, 0)
	m, err := readyFigures(ctx, f, folder, j.Reader, w)
	if err != nil {
		return nil, errors.Join(err, j.Close())
	}
	b, err := bench.Open(ctx, j, bench.Config{
		Name: f.Name, Gauges: f.Gauges, Pieces: f.Pieces, Trays: f.Trays,
		Sheets: sheetsOf(f, folder), Ports: port.System(port.ListPorts), Now: time.Now,
		Windows: f.Windows, Quiet: f.Quiet, Rule: f.Rule, Program: version(), OnFact: w.log.beside(m.beside(onFact)), Through: through,
	})
	if err != nil {
		return nil, errors.Join(err, j.Close())
	}
	var s *shipping
	if w.play == "" { // what is played stays here
		s = ship(f, b, j, w.log)
	}
	m.watch(b, s)
	_, faults := readable(f, folder)
	out := &running{b, j, t, s, m, w.log, faults}
	w.log.started(out, f.Name, len(f.Gauges))
	return out, nil
}

// runID names one run of the program, so that times since its beginning are
// not mixed with another's.
func runID() (string, error) {
	b := make([]byte, 6)
	if _, err := rand.Read(b); err != nil {
		return "", err
	}
	return hex.EncodeToString(b), nil
}
