package network_test

import (
	"fmt"
	"testing"

	"shimwright/calc/network"
	"shimwright/calc/quantity"
)

// Whatever a spec says, Build refuses it or makes a net that answers every
// question with a figure or an error.

// A draw takes small numbers from bytes, nought when they run out.
type draw []byte

func (d *draw) next(below int) int {
	if len(*d) == 0 {
		return 0
	}
	b := int((*d)[0])
	*d = (*d)[1:]
	return b % below
}

// specOf reads a spec from bytes. Names are few, so that they clash, are
// missing and are empty now and then.
func specOf(data []byte) network.Spec {
	d := draw(data)
	var s network.Spec
	face := func() string { return []string{"a", "b", "c", "d", "e", "f", "g", "h", "i", ""}[d.next(10)] }
	for range d.next(4) {
		a := network.Axis{Name: fmt.Sprint("axis", d.next(3))}
		for range d.next(10) {
			a.Faces = append(a.Faces, face())
		}
		s.Axes = append(s.Axes, a)
	}
	for range d.next(14) {
		s.Lengths = append(s.Lengths, network.Length{
			Name: fmt.Sprint("length", d.next(12)), From: face(), To: face(), Kind: network.Kind(d.next(5)),
		})
	}
	for range d.next(4) {
		s.Shafts = append(s.Shafts, shaftOf(&d, face))
	}
	return s
}

func shaftOf(d *draw, face func() string) network.Shaft {
	bearing := func() string { return []string{"x", "y", "", "z"}[d.next(4)] }
	sh := network.Shaft{Name: fmt.Sprint("shaft", d.next(3)), LocatedBy: bearing()}
	if d.next(2) == 1 {
		sh.Gear = fmt.Sprint("length", d.next(12))
	}
	for range d.next(4) {
		share, _ := quantity.RatioOf(int64(d.next(7))-1, 4)
		sh.Bearings = append(sh.Bearings, network.Bearing{Name: bearing(), From: face(), To: face(), Share: share})
	}
	return sh
}

// small is a drive of specOf's names with one shaft: a < b < c < d, the shaft
// b–c between a and d.
var small = []byte{
	1, 0, 4, 0, 1, 2, 3, // axis a b c d
	3, 0, 0, 3, 0, 1, 1, 2, 1, 2, 0, 1, 3, // found a–d, pack b–c, wanted a–b
	1, 0, 0, 1, 2, 2, 3, 0, 0, 1, 3, 1, 2, 3, // touches a–b and c–d, half each, gear by a–b
}

func FuzzSpec(f *testing.F) {
	if n, bad := network.Build(specOf(small)); n == nil {
		f.Fatalf("the seed is refused: %v", bad)
	}
	f.Add(small)
	f.Add([]byte{})
	f.Add([]byte{3, 2, 9, 1, 1, 1, 9, 9, 13, 2, 2, 2, 3, 1, 3, 0, 2})
	f.Fuzz(func(t *testing.T, data []byte) {
		spec := specOf(data)
		n, bad := network.Build(spec)
		if (n == nil) != (len(bad) > 0) {
			t.Fatalf("net %v with problems %v", n, bad)
		}
		for _, p := range bad {
			if p.Message == "" {
				t.Errorf("a problem at %q without words", p.Subject)
			}
		}
		if n != nil {
			askAll(t, n, spec)
		}
	})
}

// askAll asks a built net all it can be asked. A built net has a way between
// any two faces of an axis, and every shaft with touches has a setting.
func askAll(t *testing.T, n *network.Net, spec network.Spec) {
	var closed []network.State
	for _, sh := range spec.Shafts {
		closed = append(closed, network.State{Shaft: sh.Name, How: network.Closed})
	}
	for _, a := range n.Axes() {
		for _, to := range a.Faces {
			if _, err := n.Walk(a.Faces[0], to, closed...); err != nil {
				t.Error(err)
			}
		}
	}
	for _, sh := range spec.Shafts {
		setting, err := n.Setting(sh.Name)
		if (err == nil) != (len(sh.Bearings) == 2) {
			t.Errorf("setting of %s: %v", sh.Name, err)
		}
		for _, l := range n.Lengths() {
			for _, st := range []network.State{{}, {How: network.Closed}, {How: network.HeldAgainst, Bearing: sh.LocatedBy}} {
				if row, err := n.Row(l.Name, sh.Name, st); err == nil && !row.Float.Equal(setting.Of(l.Name)) {
					t.Errorf("%s on %s: %v", l.Name, sh.Name, row)
				}
			}
			pos, err := n.Position(l.Name, closed...)
			if err != nil {
				t.Error(err)
				continue
			}
			if _, err := n.Through(pos); err != nil {
				t.Error(err)
			}
		}
	}
}
