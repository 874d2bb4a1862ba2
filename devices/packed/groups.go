package packed

import (
	"errors"
	"fmt"

	"shimwright/calc/quantity"
	"shimwright/devices"
	"shimwright/devices/internal/wire"
)

// The groups of a frame.
const (
	groups  = 13
	header  = 4 // F each
	sign    = 4 // its place, from 0
	digits  = 5
	point   = 11
	unit    = 12
	figures = 6

	mark       = 0xF
	minus      = 8
	unitMM     = 0
	unitInch   = 8
	unitInchM  = 1 // inch, from memory
	mostPlaces = figures - 1
)

func bad(r devices.Reason, format string, args ...any) *devices.FrameError {
	return &devices.FrameError{Reason: r, Detail: fmt.Sprintf(format, args...)}
}

// read reads the groups of one frame.
func (d *Decoder) read(g *[groups]byte) (wire.Reading, *devices.FrameError) {
	if err := check(g); err != nil {
		return wire.Reading{}, err
	}
	if d.overrange > 0 && figures >= d.overrange && (all(g, 9) || all(g, 8)) {
		return wire.Reading{}, bad(devices.NoNumber, "all nines or all eights: out of the gauge's range, or its battery is low")
	}
	in := quantity.MM
	if g[unit] != unitMM {
		in = quantity.Inch
	}
	v, err := quantity.Parse(d.figure(g), in)
	if err != nil {
		if why := errors.Unwrap(err); why != nil {
			err = why
		}
		return wire.Reading{}, bad(devices.BadShape, "%s", err.Error())
	}
	return wire.Reading{Value: v, UnitStated: true}, nil
}

// check refuses groups that no gauge sends.
func check(g *[groups]byte) *devices.FrameError {
	for i := range header {
		if g[i] != mark {
			return bad(devices.BadShape, "group %d is %X, where a frame begins with four F", i+1, g[i])
		}
	}
	if g[sign] != 0 && g[sign] != minus {
		return bad(devices.BadShape, "the sign is %X: 0 is plus and 8 is minus", g[sign])
	}
	for i := digits; i < point; i++ {
		if g[i] > 9 {
			return bad(devices.BadShape, "digit %d of the figure is %X", i-digits+1, g[i])
		}
	}
	if g[point] > mostPlaces {
		return bad(devices.BadShape, "the point stands before %X digits: 0 to 5 are known", g[point])
	}
	if g[unit] != unitMM && g[unit] != unitInch && g[unit] != unitInchM {
		return bad(devices.BadShape, "the unit is %X: 0 is mm, 1 and 8 are inch", g[unit])
	}
	return nil
}

func all(g *[groups]byte, digit byte) bool {
	for _, b := range g[digits:point] {
		if b != digit {
			return false
		}
	}
	return true
}

// figure is the digits as sent, with their point.
func (d *Decoder) figure(g *[groups]byte) string {
	var text [figures + 1]byte
	out := text[:0]
	for i, b := range g[digits:point] {
		if i == figures-int(g[point]) {
			out = append(out, '.')
		}
		out = append(out, '0'+b)
	}
	return d.figures.Figure(g[sign] == minus, out)
}
