package main

import (
	"fmt"
	"os"
	"strings"
	"time"

	"github.com/spf13/pflag"
	"golang.org/x/term"

	"shimwright/calc/quantity"
	"shimwright/calc/sheet"
	"shimwright/cmd/shimwright/benchfile"
	"shimwright/ui/fitter"
)

// looks are how the fitter's screen is to look.
type looks struct {
	comma, ascii bool
	units        string
	unit         quantity.Unit
}

func (l *looks) flags(f *pflag.FlagSet) {
	f.BoolVar(&l.comma, "comma", false, "show and take figures with a decimal comma")
	f.BoolVar(&l.ascii, "ascii", false, "draw with plain characters alone")
	f.StringVar(&l.units, "units", "", "show lengths in mm, in or thou; the sheet's unit unless given")
}

// read holds what was asked to what there is.
func (l *looks) read() error {
	if l.units == "" {
		return nil
	}
	u, err := quantity.ParseUnit(l.units)
	if err != nil || u != quantity.MM && u != quantity.Inch && u != quantity.Thou {
		return fmt.Errorf("--units %q: write mm, in or thou", l.units)
	}
	l.unit = u
	return nil
}

// options are the screen's, without what a bench adds.
func (l looks) options() fitter.Options {
	return fitter.Options{Bell: bell, Now: time.Now, NoColor: noColor(), ASCII: l.ascii || !wideCharacters(), Comma: l.comma, Unit: l.unit}
}

// noColor tells whether the person asked for no colour, by the usual variable.
func noColor() bool { _, set := os.LookupEnv("NO_COLOR"); return set }

// wideCharacters tells whether the terminal's character set holds the blocks and
// dots that drawings are made of: the first of the locale's settings that is
// set decides, and where none is they are taken to be there.
func wideCharacters() bool {
	if os.Getenv("TERM") == "linux" {
		return false // a console's own letters have no dots and few blocks
	}
	for _, name := range []string{"LC_ALL", "LC_CTYPE", "LANG"} {
		if v := os.Getenv(name); v != "" {
			v = strings.ToLower(v)
			return strings.Contains(v, "utf-8") || strings.Contains(v, "utf8")
		}
	}
	return true
}

// onTerminal tells whether there is a screen and a keyboard.
func onTerminal() bool {
	return term.IsTerminal(int(os.Stdin.Fd())) && term.IsTerminal(int(os.Stdout.Fd()))
}

// choices are the sheets of a bench that a job may be opened by, with their
// titles.
func choices(f *benchfile.File, folder string) []fitter.Choice {
	var out []fitter.Choice
	read := sheetsOf(f, folder)
	for _, name := range f.Sheets {
		c := fitter.Choice{ID: name}
		if text, err := read(name); err == nil {
			if s, err := sheet.Read(name, text); err == nil {
				c.Words = s.Title
			}
		}
		out = append(out, c)
	}
	return out
}

// options are the demonstration's: leaving it leaves nothing behind.
func (d demoChoice) options(st *stage) fitter.Options {
	o := d.look.options()
	o.Sheets = choices(st.file, st.folder)
	o.Leaving = "This is a demonstration: its job and its journal are thrown away."
	return o
}
