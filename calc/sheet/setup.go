package sheet

import (
	"strings"

	"shimwright/calc/document"
	"shimwright/calc/quantity"
)

// A Move is one leg of a setup's walk.
type Move struct {
	Up       bool
	What     What
	Standard string
}

// What a leg of a walk runs along.
type What uint8

// A leg runs along a standard, along what the gauge shows, or along the gauge's
// own zero.
const (
	AlongStandard What = iota
	AlongReading
	AlongZero
)

// A Setup is how a length is got from a reading: a walk of up and down from the
// length's lower face to its upper one.
type Setup struct {
	Name string
	Walk []Move
	// ZeroedOnPiece: the gauge's nought was set on a piece, so that its zero
	// is unknown and must cancel; else it was set flush, foot and tip level.
	ZeroedOnPiece bool
}

// Standards are the roles that the setup uses, each once, in walking order.
func (s Setup) Standards() []string {
	var out []string
	seen := map[string]bool{}
	for _, m := range s.Walk {
		if m.What == AlongStandard && !seen[m.Standard] {
			seen[m.Standard] = true
			out = append(out, m.Standard)
		}
	}
	return out
}

// Carrier is the standard that carries the gauge, across the others: the one a
// depth goes down along, the last one a height goes up along. "" where none
// does.
func (s Setup) Carrier() string {
	carrier := ""
	for _, m := range s.Walk {
		if m.What == AlongStandard && ((s.Name == "depth" && !m.Up) || (s.Name == "height" && len(s.Standards()) > 1)) {
			carrier = m.Standard
		}
	}
	return carrier
}

// Readings is how often a reading is walked: up less down.
func (s Setup) Readings() quantity.Ratio {
	n := int64(0)
	for _, m := range s.Walk {
		if m.What == AlongReading {
			n += sign(m.Up)
		}
	}
	return quantity.Whole(n)
}

func sign(up bool) int64 {
	if up {
		return 1
	}
	return -1
}

// The setups with a name of their own, as walks (common practice, no source):
//
//	height: up each standard listed, down the reading
//	depth:  up each standard listed, up the reading, down the straightedge across
//	height against a piece: up the piece, down the reading, zero cancels
//	depth against a piece:  up the piece, up the reading, zero cancels
//	direct: up the reading
//
// Any other setup is a walk written out.
func readSetup(n document.Node) Setup {
	if n.IsText() {
		n.OneOf("direct")
		return Setup{Name: "direct", Walk: []Move{{Up: true, What: AlongReading}}}
	}
	f := n.Fields()
	first, ok := f.First()
	if !ok {
		return Setup{}
	}
	s := Setup{Name: first.Key}
	switch first.Key {
	case "height":
		s.Walk = append(ups(f.Get("height")), Move{What: AlongReading})
	case "depth":
		s.Walk = append(ups(f.Get("depth")), Move{Up: true, What: AlongReading})
		if across := f.Need("across", "the standard that lies across and carries the gauge"); across.Given() {
			s.Walk = append(s.Walk, Move{Standard: across.Name()})
		}
	case "height against":
		s.Walk = append(ups(f.Get("height against")), Move{Up: true, What: AlongZero}, Move{What: AlongReading})
		s.ZeroedOnPiece = true
	case "depth against":
		s.Walk = append(ups(f.Get("depth against")), Move{What: AlongZero}, Move{Up: true, What: AlongReading})
		s.ZeroedOnPiece = true
	case "walk":
		s.Walk = readWalk(f.Get("walk"))
		if z := f.Get("zeroed"); z.Given() {
			s.ZeroedOnPiece = z.OneOf("flush", "on a piece") != "flush"
		}
	default:
		n.Fail("%q is no setup: write direct, or a map that begins with height, depth, height against, depth against or walk", first.Key)
		f.All()
		return s
	}
	f.Done()
	s.check(n)
	return s
}

func ups(n document.Node) []Move {
	var out []Move
	names := []document.Node{n}
	if n.IsList() {
		names = n.List(6)
	}
	for _, item := range names {
		out = append(out, Move{Up: true, Standard: item.Name()})
	}
	return out
}

func readWalk(n document.Node) []Move {
	var out []Move
	for _, item := range n.List(12) {
		words := item.Name()
		way, along, ok := strings.Cut(words, " ")
		if !ok || (way != "up" && way != "down") {
			item.Fail("%q is no leg of a walk: write up or down and then reading, zero or a standard", words)
			continue
		}
		m := Move{Up: way == "up", Standard: along}
		switch along {
		case "reading":
			m.What, m.Standard = AlongReading, ""
		case "zero":
			m.What, m.Standard = AlongZero, ""
		}
		out = append(out, m)
	}
	return out
}

// check holds a walk to its rules: it has a reading, and a zero that is not
// known cancels.
func (s Setup) check(n document.Node) {
	var readings, zeros, total int64
	for _, m := range s.Walk {
		switch m.What {
		case AlongReading:
			readings++
			total += sign(m.Up)
		case AlongZero:
			zeros++
			total += sign(m.Up)
		}
	}
	switch {
	case readings == 0:
		n.Fail("this setup has no reading: a walk goes up or down the reading once or more")
	case s.ZeroedOnPiece && total != 0:
		n.Fail("the gauge's zero does not cancel in this walk: each reading carries it once, so go up zero for each reading gone down, and down zero for each gone up")
	case !s.ZeroedOnPiece && zeros > 0:
		n.Fail("the gauge is zeroed flush, so its zero is nought and is not walked: take it out, or write zeroed: on a piece")
	}
}

// Words says the walk: "up tall posts, up straightedge, down the reading".
func (s Setup) Words() string {
	var out []string
	for _, m := range s.Walk {
		way := "down "
		if m.Up {
			way = "up "
		}
		switch m.What {
		case AlongStandard:
			out = append(out, way+m.Standard)
		case AlongReading:
			out = append(out, way+"the reading")
		}
	}
	return strings.Join(out, ", ")
}
