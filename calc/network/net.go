package network

import (
	"slices"
	"strings"

	"shimwright/calc/quantity"
)

// A Net is a spec that was found whole: every face reached, one way between
// any two of an axis, every touch the right way round.
type Net struct {
	axes    []Axis
	lengths map[string]Length
	order   []string // names of lengths as listed
	shafts  map[string]Shaft
	place   map[string]spot  // face → where it stands
	faces   map[string]*node // by name
}

type spot struct{ axis, index int }

// Build checks a spec and makes a Net of it. All problems are returned, each a
// *Problem at the name it concerns, so that an author can mend them at once.
func Build(s Spec) (*Net, []*Problem) {
	n := &Net{
		axes:    s.Axes,
		lengths: map[string]Length{},
		shafts:  map[string]Shaft{},
		place:   map[string]spot{},
		faces:   map[string]*node{},
	}
	var bad []*Problem
	bad = append(bad, n.setFaces(s.Axes)...)
	bad = append(bad, n.setLengths(s.Lengths)...)
	bad = append(bad, n.setShafts(s.Shafts)...)
	if len(bad) == 0 {
		bad = append(bad, n.growTree(s)...)
	}
	if len(bad) == 0 {
		bad = append(bad, n.closeLoops(s)...)
	}
	if len(bad) > 0 {
		return nil, bad
	}
	return n, nil
}

func (n *Net) setFaces(axes []Axis) (bad []*Problem) {
	for i, a := range axes {
		if len(a.Faces) < 2 {
			bad = append(bad, problem(a.Name, "an axis needs two faces or more, in the order of the drawing"))
		}
		for j, f := range a.Faces {
			if at, ok := n.place[f]; ok {
				bad = append(bad, problem(f, "this face stands already on axis %q: give each face a name of its own", axes[at.axis].Name))
				continue
			}
			n.place[f], n.faces[f] = spot{i, j}, newNode()
		}
	}
	return bad
}

func (n *Net) setLengths(lengths []Length) (bad []*Problem) {
	for _, l := range lengths {
		if _, ok := n.lengths[l.Name]; ok {
			bad = append(bad, problem(l.Name, "two lengths have this name: give each its own"))
			continue
		}
		if p := n.ends(l.Name, l.From, l.To); p != nil {
			bad = append(bad, p)
			continue
		}
		if l.Kind > Wanted {
			bad = append(bad, problem(l.Name, "kind %d is no kind of length: it is found, a pack, a check or wanted", l.Kind))
			continue
		}
		n.lengths[l.Name] = l
		n.order = append(n.order, l.Name)
	}
	return bad
}

// ends checks that a length runs from a face to a later one of the same axis.
func (n *Net) ends(name, from, to string) *Problem {
	a, ok := n.place[from]
	if !ok {
		return problem(name, "%q is no face of any axis: write one of the faces listed under axes", from)
	}
	b, ok := n.place[to]
	if !ok {
		return problem(name, "%q is no face of any axis: write one of the faces listed under axes", to)
	}
	switch {
	case a.axis != b.axis:
		return problem(name, "%q is on axis %q and %q on axis %q: a length runs along one axis",
			from, n.axes[a.axis].Name, to, n.axes[b.axis].Name)
	case a.index == b.index:
		return problem(name, "it runs from %q to itself", from)
	case a.index > b.index:
		return problem(name, "%q comes after %q on axis %q: write [%s, %s], a length runs from a face to a later one",
			from, to, n.axes[a.axis].Name, to, from)
	}
	return nil
}

func (n *Net) setShafts(shafts []Shaft) (bad []*Problem) {
	for _, s := range shafts {
		if _, ok := n.shafts[s.Name]; ok {
			bad = append(bad, problem(s.Name, "two shafts have this name: give each its own"))
			continue
		}
		n.shafts[s.Name] = s
		bad = append(bad, n.checkShaft(s)...)
	}
	return bad
}

func (n *Net) checkShaft(s Shaft) (bad []*Problem) {
	if g, ok := n.lengths[s.Gear]; s.Gear != "" && (!ok || g.Kind != Wanted) {
		bad = append(bad, problem(s.Name, "its gear is said to sit by %q, which is no wanted length of this sheet", s.Gear))
	}
	switch len(s.Bearings) {
	case 0:
		return bad
	case 2:
	default:
		return append(bad, problem(s.Name, "a shaft that can float has two bearings, each with its touch; this one has %d", len(s.Bearings)))
	}
	if s.Bearings[0].Name == s.Bearings[1].Name {
		bad = append(bad, problem(s.Name, "both bearings are called %q: give each its own name", s.Bearings[0].Name))
	}
	if !slices.ContainsFunc(s.Bearings, func(b Bearing) bool { return b.Name == s.LocatedBy }) {
		bad = append(bad, problem(s.Name, "it is located by %q, which is none of its bearings: write %q or %q",
			s.LocatedBy, s.Bearings[0].Name, s.Bearings[1].Name))
	}
	for _, b := range s.Bearings {
		if b.Name == "" {
			bad = append(bad, problem(s.Name, "a bearing has no name: give each its own"))
		}
		if p := n.ends(s.Name, b.From, b.To); p != nil {
			p.Message = "touch at the " + b.Name + " bearing: " + p.Message
			bad = append(bad, p)
		}
		if b.Share.Sign() <= 0 || b.Share.Cmp(quantity.Whole(1)) >= 0 {
			bad = append(bad, problem(s.Name, "the %s bearing's share of the squeeze is %s: write a share between 0 and 1", b.Name, b.Share))
		}
	}
	if sum := s.Bearings[0].Share.Add(s.Bearings[1].Share); !sum.Equal(quantity.Whole(1)) {
		bad = append(bad, problem(s.Name, "the shares of the squeeze add up to %s: the two bearings' shares make 1", sum))
	}
	return bad
}

// growTree links found lengths, packs and each shaft's locating touch. A
// second way between two faces is refused by the names of the first.
func (n *Net) growTree(s Spec) (bad []*Problem) {
	for _, l := range s.Lengths {
		if l.Kind != Found && l.Kind != Pack {
			continue
		}
		if way, ok := n.way(l.From, l.To); ok {
			bad = append(bad, problem(l.Name, "%s, from %s to %s, is already known by %s: mark one of them as check",
				l.Name, l.From, l.To, names(way)))
			continue
		}
		n.join(l.From, l.To, l.Name, "")
	}
	for _, sh := range s.Shafts {
		for _, b := range sh.Bearings {
			if b.Name != sh.LocatedBy {
				continue
			}
			if way, ok := n.way(b.From, b.To); ok {
				bad = append(bad, problem(sh.Name, "the touch at the %s bearing, from %s to %s, is already known by %s: a bearing that holds both ways has no touch",
					b.Name, b.From, b.To, names(way)))
				continue
			}
			n.join(b.From, b.To, sh.Name, b.Name)
		}
	}
	return bad
}

func names(way []link) string {
	var out []string
	for _, l := range way {
		if l.touch != "" {
			out = append(out, "the touch at the "+l.touch+" bearing")
			continue
		}
		out = append(out, l.name)
	}
	if len(out) < 2 {
		return strings.Join(out, "")
	}
	return strings.Join(out[:len(out)-1], ", ") + " and " + out[len(out)-1]
}

// closeLoops checks that every face is reached, that each chord has its way
// round, and that opening one touch of a shaft closes the other.
func (n *Net) closeLoops(s Spec) (bad []*Problem) {
	for _, l := range s.Lengths {
		if l.Kind != Check && l.Kind != Wanted {
			continue
		}
		if _, ok := n.way(l.From, l.To); !ok {
			bad = append(bad, problem(l.Name, "nothing leads from %q to %q: a length or a pack between them is missing", l.From, l.To))
		}
	}
	for _, sh := range s.Shafts {
		if p := n.checkTouches(sh); p != nil {
			bad = append(bad, p)
		}
	}
	for _, a := range s.Axes {
		bad = append(bad, n.checkWhole(a)...)
	}
	return bad
}

// checkWhole checks that the lengths of an axis hang together: every face is
// reached, and from every other.
func (n *Net) checkWhole(a Axis) (bad []*Problem) {
	i := slices.IndexFunc(a.Faces, func(f string) bool { return !n.faces[f].alone() })
	if i < 0 {
		return []*Problem{problem(a.Name, "no length runs along this axis: draw its lengths or take it out")}
	}
	first := a.Faces[i]
	whole := map[*node]bool{n.faces[first].root: true}
	for _, f := range a.Faces {
		if whole[n.faces[f].root] {
			continue
		}
		if n.faces[f].alone() {
			bad = append(bad, problem(f, "nothing reaches this face: draw a found length or a pack to it, or take it out"))
			continue
		}
		bad = append(bad, problem(f, "nothing leads from %q to this face: a length or a pack between them is missing (one that is not measured is drawn too)", first))
		whole[n.faces[f].root] = true
	}
	return bad
}

func (n *Net) checkTouches(sh Shaft) *Problem {
	if len(sh.Bearings) == 0 {
		return nil
	}
	near, far := sh.located()
	way, ok := n.way(far.From, far.To)
	if !ok {
		return problem(sh.Name, "nothing leads from %q to %q at the %s bearing: a length or a pack between them is missing", far.From, far.To, far.Name)
	}
	var coef int64
	for _, l := range way {
		switch {
		case l.touch == "":
		case l.name != sh.Name:
			return problem(sh.Name, "its loop, from %q to %q, crosses the touch of %s at the %s bearing: two shafts may not share a loop, draw each between faces that are held",
				far.From, far.To, l.name, l.touch)
		default:
			coef += l.coef
		}
	}
	switch coef {
	case -1:
		return nil
	case 0:
		return problem(sh.Name, "its two touches are not on one loop: opening one must close the other")
	}
	return problem(sh.Name, "opening the touch at the %s bearing opens the one at the %s bearing too: one of them is drawn backwards", near.Name, far.Name)
}

// located gives the bearing whose touch is walked, then the other.
func (s Shaft) located() (near, far Bearing) {
	if s.Bearings[0].Name == s.LocatedBy {
		return s.Bearings[0], s.Bearings[1]
	}
	return s.Bearings[1], s.Bearings[0]
}
