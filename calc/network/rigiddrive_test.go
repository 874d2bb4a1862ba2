package network_test

import (
	"fmt"
	"math/rand/v2"
	"slices"

	"shimwright/calc/network"
	"shimwright/calc/quantity"
)

// A drive of rigid bodies, made at random. It knows where every face stands, as
// a whole number of twentieths, and measures a length by subtracting; packs and
// positions come from moving bodies about until their touches stand as the
// state says. It shares no code with the package's walk.

const twentieth = 20 // coordinates are multiples of it, so that shares of k/20 stay whole

// A body is faces that move as one. The first body of an axis is its housing;
// the others are shafts, each carried by an earlier body.
type body struct {
	shaft   string // "" for a housing
	faces   []string
	touches [2]touch
	share   [2]int64 // in twentieths
	state   network.State
	located int
}

type touch struct{ from, to string }

type rigid struct {
	at     map[string]int64
	bodies []*body // a carrier before what it carries
	spec   network.Spec
}

func (d *rigid) measure(from, to string) int64 { return d.at[to] - d.at[from] }

func (d *rigid) gap(b *body, i int) int64 { return d.measure(b.touches[i].from, b.touches[i].to) }

// float is what the two touches add up to, wherever the shaft happens to lie.
func (d *rigid) float(b *body) int64 { return d.gap(b, 0) + d.gap(b, 1) }

// seat slides each shaft, carriers first, until its touches stand as its state
// says.
func (d *rigid) seat() {
	for _, b := range d.bodies {
		if b.shaft == "" {
			continue
		}
		want := d.float(b) * b.share[0] / twentieth
		if b.state.How == network.HeldAgainst {
			want = 0
			if b.state.Bearing == "B" {
				want = d.float(b)
			}
		}
		// Touch 0 runs from the shaft to its carrier: outward closes it.
		d.slide(b.faces, d.gap(b, 0)-want)
	}
}

func (d *rigid) slide(faces []string, by int64) {
	for _, f := range faces {
		d.at[f] += by
	}
}

// thicken makes one pack thicker: what its body holds beyond the pack moves
// outward, then every shaft settles again.
func (d *rigid) thicken(pack network.Length, by int64) {
	d.slide(d.heldTo(pack.To, pack.Name), by)
	d.seat()
}

// heldTo are the faces held rigidly to one, with a length cut.
func (d *rigid) heldTo(face, cut string) []string {
	group := []string{face}
	for grown := true; grown; {
		grown = false
		for _, l := range d.spec.Lengths {
			if l.Name == cut || (l.Kind != network.Found && l.Kind != network.Pack) {
				continue
			}
			a, b := slices.Contains(group, l.From), slices.Contains(group, l.To)
			if a && !b {
				group, grown = append(group, l.To), true
			}
			if b && !a {
				group, grown = append(group, l.From), true
			}
		}
	}
	return group
}

// newRigid makes a drive at random: two or more axes, each a housing and up to
// two shafts.
func newRigid(rng *rand.Rand) *rigid {
	d := &rigid{at: map[string]int64{}}
	for a := range 2 + rng.IntN(2) {
		for !d.addAxis(rng, fmt.Sprintf("axis%d", a)) {
		}
	}
	rng.Shuffle(len(d.spec.Lengths), func(i, j int) {
		d.spec.Lengths[i], d.spec.Lengths[j] = d.spec.Lengths[j], d.spec.Lengths[i]
	})
	return d
}

// addAxis deals faces to bodies and joins each body's faces by a random tree;
// it fails where a shaft finds no two touches that face each other. Faces stand
// where they like, in another order than drawn: signs may not depend on it.
func (d *rigid) addAxis(rng *rand.Rand, name string) bool {
	axis := network.Axis{Name: name}
	for i := range 5 + rng.IntN(9) {
		axis.Faces = append(axis.Faces, fmt.Sprintf("%s face%d", name, i))
	}
	bodies := dealBodies(rng, axis, len(d.bodies))
	for i, b := range bodies {
		if b.shaft != "" && !b.placeTouches(rng, axis, bodies[rng.IntN(i)]) {
			return false
		}
	}
	for _, b := range bodies {
		d.spec.Lengths = append(d.spec.Lengths, b.tree(rng, axis)...)
		if b.shaft != "" {
			d.spec.Shafts = append(d.spec.Shafts, b.asShaft())
		}
	}
	d.addChords(rng, axis)
	for _, f := range axis.Faces {
		d.at[f] = twentieth * (rng.Int64N(4000) - 2000)
	}
	d.spec.Axes = append(d.spec.Axes, axis)
	d.bodies = append(d.bodies, bodies...)
	return true
}

func (d *rigid) addChords(rng *rand.Rand, axis network.Axis) {
	for i := range 2 + rng.IntN(3) {
		from, to := ordered(axis, rng.IntN(len(axis.Faces)), rng.IntN(len(axis.Faces)))
		if from == to {
			continue
		}
		kind := []network.Kind{network.Wanted, network.Check}[rng.IntN(2)]
		name := fmt.Sprintf("%s chord%d", axis.Name, i)
		if last := len(d.spec.Shafts) - 1; kind == network.Wanted && last >= 0 {
			d.spec.Shafts[last].Gear = name
		}
		d.spec.Lengths = append(d.spec.Lengths, network.Length{Name: name, From: from, To: to, Kind: kind})
	}
}

func dealBodies(rng *rand.Rand, axis network.Axis, from int) []*body {
	bodies := make([]*body, 1+rng.IntN(3))
	for i := range bodies {
		bodies[i] = &body{}
		if i > 0 {
			bodies[i].shaft = fmt.Sprintf("shaft%d", from+i)
		}
	}
	for i, at := range rng.Perm(len(axis.Faces)) {
		b, f := bodies[rng.IntN(len(bodies))], axis.Faces[at]
		if i < len(bodies) {
			b = bodies[i]
		}
		b.faces = append(b.faces, f)
	}
	return bodies
}

func ordered(axis network.Axis, i, j int) (string, string) {
	return axis.Faces[min(i, j)], axis.Faces[max(i, j)]
}

// placeTouches finds one pair of faces that meets when the shaft moves outward
// and one that meets when it moves inward, and a state, shares and figures at
// random.
func (b *body) placeTouches(rng *rand.Rand, axis network.Axis, on *body) bool {
	var out, in []touch
	for _, s := range b.faces {
		for _, c := range on.faces {
			if slices.Index(axis.Faces, s) < slices.Index(axis.Faces, c) {
				out = append(out, touch{s, c})
			} else {
				in = append(in, touch{c, s})
			}
		}
	}
	if len(out) == 0 || len(in) == 0 {
		return false
	}
	b.touches = [2]touch{out[rng.IntN(len(out))], in[rng.IntN(len(in))]}
	b.share[0] = 1 + rng.Int64N(twentieth-1)
	b.share[1] = twentieth - b.share[0]
	b.located = rng.IntN(2)
	b.state = network.State{Shaft: b.shaft, How: network.Closed}
	if i := rng.IntN(3); i < 2 {
		b.state = network.State{Shaft: b.shaft, How: network.HeldAgainst, Bearing: []string{"A", "B"}[i]}
	}
	return true
}

func (b *body) asShaft() network.Shaft {
	sh := network.Shaft{Name: b.shaft, LocatedBy: []string{"A", "B"}[b.located]}
	for i, name := range []string{"A", "B"} {
		share, _ := quantity.RatioOf(b.share[i], twentieth) // twentieth is not nought
		sh.Bearings = append(sh.Bearings, network.Bearing{Name: name, From: b.touches[i].from, To: b.touches[i].to, Share: share})
	}
	return sh
}

// tree joins a body's faces by found lengths and packs.
func (b *body) tree(rng *rand.Rand, axis network.Axis) (out []network.Length) {
	faces := slices.Clone(b.faces)
	rng.Shuffle(len(faces), func(i, j int) { faces[i], faces[j] = faces[j], faces[i] })
	for i := 1; i < len(faces); i++ {
		from, to := ordered(axis, slices.Index(axis.Faces, faces[i]), slices.Index(axis.Faces, faces[rng.IntN(i)]))
		l := network.Length{Name: from + " to " + to, From: from, To: to, Kind: network.Found}
		if rng.IntN(3) == 0 {
			l.Kind = network.Pack
		}
		out = append(out, l)
	}
	return out
}
