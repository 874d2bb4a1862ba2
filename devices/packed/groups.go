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
func (d *Decoder) read(g *[groups]byte, r *wire.Reading) *devices.FrameError {
	if err := check(g); err != nil {
		return err
	}
	if d.overrange > 0 && figures >= d.overrange && (all(g, 9) || all(g, 8)) {
		return bad(devices.NoNumber, "all nines or all eights: out of the gauge's range, or its battery is low")
	}
	in := quantity.MM
	if g[unit] != unitMM {
		in = quantity.Inch
	}
	var room [figures + 2]byte // so that the text of a figure needs no allocation
	v, err := quantity.Parse(string(appendFigure(room[:0], g)), in)
	if err != nil {
		if why := errors.Unwrap(err); why != nil {
			err = why
		}
		return bad(devices.BadShape, "%s", err.Error())
	}
	r.Value, r.UnitStated = v, true
	return nil
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

// appendFigure writes the digits as sent, with their point, behind to.
func appendFigure(to []byte, g *[groups]byte) []byte {
	if g[sign] == minus {
		to = append(to, '-')
	}
	for i, b := range g[digits:point] {
		if i == figures-int(g[point]) {
			to = append(to, '.')
		}
		to = append(to, '0'+b)
	}
	return to
}
