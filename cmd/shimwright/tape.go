package main

import (
	"errors"
	"fmt"
	"io"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"shimwright/devices/capture"
	"shimwright/devices/port"
)

// captureEnd is the ending of a capture's file.
const captureEnd = ".capture"

// through is how a bench's ports are run otherwise than straight.
type through func(port.Config, port.Opener) (port.Config, port.Opener, error)

// wires is what stands between the ports and the bench: nothing, a capture that
// is made, or captures that are played in place of the ports.
type wires struct {
	capture, play string // folders
	speed         int
	// anew has what follows from the journal's facts made anew.
	anew bool
	// between, which may be nil, changes each port behind what is made or
	// played.
	between through
	// errors, which may be nil, is where long work before the bench runs tells how
	// far it is, if that is a terminal.
	errors io.Writer
	// tell, which may be nil, gives a person words on what goes on beside the
	// bench; nil keeps them to itself.
	tell func(words string)
	log  *benchLog
}

// ready gives what runs the ports, and the capture that is to be closed; both may
// be nil.
func (w wires) ready(now func() time.Time) (through, *tape, error) {
	switch {
	case w.capture != "":
		t := &tape{folder: w.capture}
		return t.record, t, nil
	case w.play != "":
		played, err := play(w.play, w.speed, now)
		return played.then(w.between), nil, err
	}
	return w.between, nil, nil
}

// then is one after the other; next may be nil.
func (f through) then(next through) through {
	if next == nil {
		return f
	}
	return func(cfg port.Config, open port.Opener) (port.Config, port.Opener, error) {
		cfg, open, err := f(cfg, open)
		if err != nil {
			return cfg, open, err
		}
		return next(cfg, open)
	}
}

// journal is where the facts go: what is played stays out of the bench's own
// journal, where it would land in the job that is open.
func (w wires) journal(own string) string {
	if w.play == "" {
		return own
	}
	return filepath.Join(w.play, "played.journal")
}

// A tape records the ports of a bench into a folder, a file each.
type tape struct {
	folder    string
	recorders []*capture.Recorder
}

// record begins the capture of one port.
func (t *tape) record(cfg port.Config, open port.Opener) (port.Config, port.Opener, error) {
	if err := os.MkdirAll(t.folder, 0o755); err != nil {
		return cfg, nil, machine("capture", err)
	}
	path := filepath.Join(t.folder, fileName(cfg)+captureEnd)
	r, err := capture.Create(path, capture.HeadOf(cfg, string(cfg.Profile.Kind)), capture.DefaultLimit, cfg.Now)
	if errors.Is(err, os.ErrExist) {
		return cfg, nil, fmt.Errorf("%s is there already: give --capture a new folder", path)
	}
	if err != nil {
		return cfg, nil, machine("capture", err)
	}
	t.recorders = append(t.recorders, r)
	return cfg, r.Opener(open), nil
}

// close ends every file; it says what could not be written.
func (t *tape) close() error {
	if t == nil {
		return nil
	}
	var errs []error
	for _, r := range t.recorders {
		errs = append(errs, r.Close())
	}
	return machine("capture", errors.Join(errs...))
}

// fileName names a port's capture by its gauges, with nothing in it that a file
// name may not hold.
func fileName(cfg port.Config) string {
	plain := func(r rune) rune {
		if r == '-' || r == '_' || r >= '0' && r <= '9' || r >= 'A' && r <= 'Z' || r >= 'a' && r <= 'z' {
			return r
		}
		return '_'
	}
	return strings.Map(plain, strings.Join(gaugesOn(cfg.Gauge, cfg.Channels), "-"))
}

func gaugesOn(one string, channels map[string]string) []string {
	if len(channels) == 0 {
		return []string{one}
	}
	return slices.Sorted(maps.Values(channels))
}

// play readies the captures of a folder to be played in place of the ports of
// their gauges. A gauge without one is as if it were not plugged in.
func play(folder string, speed int, now func() time.Time) (through, error) {
	if speed < 1 {
		return nil, fmt.Errorf("--speed %d: write 1 for as fast as it was, up to 100", speed)
	}
	files, err := filepath.Glob(filepath.Join(folder, "*"+captureEnd))
	if err != nil || len(files) == 0 {
		return nil, fmt.Errorf("there is no file *%s in %s: give --play the folder that --capture made", captureEnd, folder)
	}
	players := map[string]*capture.Player{}
	for _, file := range files {
		c, err := capture.Load(file)
		if err != nil {
			return nil, err
		}
		of := strings.Join(gaugesOn(c.Gauge, c.Channels), "\n")
		if players[of] != nil {
			return nil, fmt.Errorf("%s: another capture in the folder is of the same gauges: take one of them out", file)
		}
		if players[of], err = capture.NewPlayer(c, speed, now); err != nil {
			return nil, err
		}
	}
	return func(cfg port.Config, _ port.Opener) (port.Config, port.Opener, error) {
		p := players[strings.Join(gaugesOn(cfg.Gauge, cfg.Channels), "\n")]
		if p == nil {
			return cfg, capture.Ports(nil), nil
		}
		cfg.Now = p.Now
		return cfg, p.Opener(), nil
	}, nil
}
