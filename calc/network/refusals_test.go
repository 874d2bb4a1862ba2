package network_test

import (
	"slices"
	"strings"
	"testing"

	"shimwright/calc/network"
	"shimwright/calc/quantity"
)

// Every refusal says what was found, at which name, and what to do instead.

// wantProblem asks that the spec is refused at a subject with these words.
func wantProblem(t *testing.T, s network.Spec, subject, words string) {
	t.Helper()
	n, bad := network.Build(s)
	if n != nil {
		t.Errorf("built; want it refused at %q: %q", subject, words)
		return
	}
	for _, p := range bad {
		if p.Subject == subject && strings.Contains(p.Message, words) {
			return
		}
	}
	t.Errorf("want a refusal at %q with %q; got %v", subject, words, bad)
}

// A change spoils a good drive.
type change func(*network.Spec)

func addLengths(lines string) change {
	return func(s *network.Spec) { s.Lengths = append(s.Lengths, lengths(lines)...) }
}

func dropLength(name string) change {
	return func(s *network.Spec) {
		s.Lengths = slices.DeleteFunc(s.Lengths, func(l network.Length) bool { return l.Name == name })
	}
}

func onShaft(edit func(*network.Shaft)) change {
	return func(s *network.Spec) { edit(&s.Shafts[0]) }
}

type refusal struct {
	name    string
	drive   func(shares) network.Spec
	spoil   change
	subject string
	words   string
}

func (r refusal) run(t *testing.T) {
	t.Run(r.name, func(t *testing.T) {
		spec := copySpec(r.drive(equalShares(t)))
		mustBuild(t, spec)
		r.spoil(&spec)
		wantProblem(t, spec, r.subject, r.words)
	})
}

func TestLengthsRefused(t *testing.T) {
	for _, r := range []refusal{
		{"a second way round", wheel, addLengths("found B: tooth joint > back joint"), "B",
			"B, from tooth joint to back joint, is already known by tooth half and back half: mark one of them as check"},
		{"a pack as second way", wheel, addLengths("pack spare: back joint > back cover flange"), "spare",
			"spare, from back joint to back cover flange, is already known by W3: mark one of them as check"},
		{"a length across a touch, which the touch then doubles", wheel, addLengths("found gap: back race > back track"), "wheel shaft",
			"the touch at the wheel-back side bearing, from back race to back track, is already known by gap: a bearing that holds both ways has no touch"},
		{"unknown first face", wheel, addLengths("found B: attic > back joint"), "B",
			`"attic" is no face of any axis: write one of the faces listed under axes`},
		{"unknown second face", wheel, addLengths("found B: back joint > cellar"), "B",
			`"cellar" is no face of any axis: write one of the faces listed under axes`},
		{"to itself", wheel, addLengths("found B: back joint > back joint"), "B", `it runs from "back joint" to itself`},
		{"from a later face", wheel, addLengths("check B: back seat > back joint"), "B",
			`"back seat" comes after "back joint" on axis "wheel": write [back joint, back seat], a length runs from a face to a later one`},
		{"two of one name", wheel, addLengths("check W1: back track > back seat"), "W1", "two lengths have this name: give each its own"},
		{"no kind known", wheel, func(s *network.Spec) { s.Lengths[2].Kind = 9 }, "W4",
			"kind 9 is no kind of length: it is found, a pack, a check or wanted"},
		{"nothing leads to a wanted length's end", helical, func(s *network.Spec) {
			s.Axes[0].Faces = append(s.Axes[0].Faces, "lip")
			addLengths("wanted gap: cover seat > lip")(s)
		}, "gap", `nothing leads from "cover seat" to "lip": a length or a pack between them is missing`},
		{"across axes", wheel, func(s *network.Spec) {
			s.Axes = append(s.Axes, network.Axis{Name: "pinion", Faces: []string{"wheel axis", "pinion back"}})
			addLengths("found A: wheel axis > pinion back\nfound B: back joint > pinion back")(s)
		}, "B", `"back joint" is on axis "wheel" and "pinion back" on axis "pinion": a length runs along one axis`},
	} {
		r.run(t)
	}
}

func TestFacesRefused(t *testing.T) {
	lip := func(s *network.Spec) { s.Axes[0].Faces = append(s.Axes[0].Faces, "lip") }
	for _, r := range []refusal{
		{"unreached", wheel, lip, "lip", "nothing reaches this face: draw a found length or a pack to it, or take it out"},
		{"reached by a wanted length only", wheel, func(s *network.Spec) {
			lip(s)
			addLengths("wanted gap: back seat > lip")(s)
		}, "lip", "nothing reaches this face"},
		{"off on their own", wheel, func(s *network.Spec) {
			s.Axes[0].Faces = append(s.Axes[0].Faces, "lip", "rim")
			addLengths("found lip height: lip > rim")(s)
		}, "lip", `nothing leads from "tooth seat" to this face: a length or a pack between them is missing`},
		{"twice on one axis", wheel, func(s *network.Spec) { s.Axes[0].Faces = append(s.Axes[0].Faces, "back joint") }, "back joint",
			`this face stands already on axis "wheel": give each face a name of its own`},
		{"on two axes", wheel, func(s *network.Spec) {
			s.Axes = append(s.Axes, network.Axis{Name: "pinion", Faces: []string{"pinion axis", "pinion back"}})
		}, "pinion axis", `this face stands already on axis "wheel": give each face a name of its own`},
		{"an axis of one face", wheel, func(s *network.Spec) {
			s.Axes = append(s.Axes, network.Axis{Name: "pinion", Faces: []string{"pinion back"}})
		}, "pinion", "an axis needs two faces or more, in the order of the drawing"},
		{"an axis without lengths", wheel, func(s *network.Spec) {
			s.Axes = append(s.Axes, network.Axis{Name: "pinion", Faces: []string{"wheel axis", "pinion back"}})
		}, "pinion", "no length runs along this axis: draw its lengths or take it out"},
	} {
		r.run(t)
	}
}

func TestShaftsRefused(t *testing.T) {
	bearings := func(n int) change {
		return onShaft(func(sh *network.Shaft) { sh.Bearings = append(sh.Bearings, sh.Bearings...)[:n] })
	}
	share := func(i int, r quantity.Ratio) change {
		return onShaft(func(sh *network.Shaft) { sh.Bearings[i].Share = r })
	}
	for _, r := range []refusal{
		{"one bearing", wheel, bearings(1), "wheel shaft", "a shaft that can float has two bearings, each with its touch; this one has 1"},
		{"three bearings", wheel, bearings(3), "wheel shaft", "a shaft that can float has two bearings, each with its touch; this one has 3"},
		{"bearings of one name", wheel, onShaft(func(sh *network.Shaft) { sh.Bearings[1].Name = network.BackSide }), "wheel shaft",
			`both bearings are called "wheel-back side": give each its own name`},
		{"a bearing of no name", wheel, onShaft(func(sh *network.Shaft) { sh.Bearings[0].Name, sh.LocatedBy = "", "" }), "wheel shaft",
			"a bearing has no name: give each its own"},
		{"located by none of its bearings", wheel, onShaft(func(sh *network.Shaft) { sh.LocatedBy = "nut" }), "wheel shaft",
			`it is located by "nut", which is none of its bearings: write "wheel-back side" or "tooth side"`},
		{"shares below 1", wheel, share(0, ratio(t, 2, 5)), "wheel shaft",
			"the shares of the squeeze add up to 9/10: the two bearings' shares make 1"},
		{"shares above 1", wheel, share(1, ratio(t, 3, 4)), "wheel shaft",
			"the shares of the squeeze add up to 5/4: the two bearings' shares make 1"},
		{"a share of nought", wheel, share(1, quantity.Ratio{}), "wheel shaft",
			"the tooth side bearing's share of the squeeze is 0: write a share between 0 and 1"},
		{"a share of all", wheel, share(0, quantity.Whole(1)), "wheel shaft",
			"the wheel-back side bearing's share of the squeeze is 1: write a share between 0 and 1"},
		{"a gear that is no length", wheel, onShaft(func(sh *network.Shaft) { sh.Gear = "wheel place" }), "wheel shaft",
			`its gear is said to sit by "wheel place", which is no wanted length of this sheet`},
		{"a gear by a found length", wheel, onShaft(func(sh *network.Shaft) { sh.Gear = "back half" }), "wheel shaft",
			`its gear is said to sit by "back half", which is no wanted length of this sheet`},
		{"two of one name", wheel, func(s *network.Spec) { s.Shafts = append(s.Shafts, s.Shafts[0]) }, "wheel shaft",
			"two shafts have this name: give each its own"},
		{"a touch at an unknown face", wheel, onShaft(func(sh *network.Shaft) { sh.Bearings[1].To = "attic" }), "wheel shaft",
			`touch at the tooth side bearing: "attic" is no face of any axis`},
		{"a gap in the loop", wheel, dropLength("tooth height"), "wheel shaft",
			`nothing leads from "tooth track" to "tooth race" at the tooth side bearing: a length or a pack between them is missing`},
		{"a length across the other touch", wheel, addLengths("found stop: tooth track > tooth race"), "wheel shaft", "is already known by"},
		{"second touch not on the loop of the first", wheel, onShaft(func(sh *network.Shaft) {
			sh.Bearings[1].From, sh.Bearings[1].To = "tooth seat", "tooth track"
		}), "wheel shaft", "its two touches are not on one loop: opening one must close the other"},
	} {
		r.run(t)
	}
}

// quill is a shaft within a shaft: its inner bearing sits on the outer shaft,
// its outer one in the casing, so that its loop would cross the other's touch.
func quill(s shares) network.Spec {
	return network.Spec{
		Axes: []network.Axis{{Name: "line", Faces: faces(`
			casing left < outer left < outer right < casing right < casing end`)}},
		Lengths: lengths(`
			found casing: casing left > casing right
			found outer: outer left > outer right
			found rest: casing right > casing end`),
		Shafts: []network.Shaft{{
			Name: "outer shaft",
			Bearings: []network.Bearing{
				{Name: "left", From: "casing left", To: "outer left", Share: s[0]},
				{Name: "right", From: "outer right", To: "casing right", Share: s[1]},
			},
			LocatedBy: "left",
		}},
	}
}

func TestTwoShaftsMayNotShareALoop(t *testing.T) {
	for _, located := range []string{"left", "right"} {
		spec := copySpec(quill(equalShares(t)))
		mustBuild(t, spec)
		spec.Axes[0].Faces = slices.Insert(spec.Axes[0].Faces, 2, "inner left", "inner right")
		spec.Lengths = append(spec.Lengths, lengths("found inner: inner left > inner right")...)
		inner := spec.Shafts[0]
		inner.Name, inner.LocatedBy = "inner shaft", located
		inner.Bearings = []network.Bearing{
			{Name: "left", From: "outer left", To: "inner left", Share: inner.Bearings[0].Share},
			{Name: "right", From: "inner right", To: "casing end", Share: inner.Bearings[1].Share},
		}
		spec.Shafts = append(spec.Shafts, inner)
		wantProblem(t, spec, "inner shaft", "crosses the touch of outer shaft at the left bearing: two shafts may not share a loop")

		// Carried by the outer shaft at both ends it has a loop of its own.
		inner.Bearings[1].To = "outer right"
		mustBuild(t, spec)
	}
}

// All faults are told at once, each at its own name.
func TestEveryFaultIsTold(t *testing.T) {
	spec := copySpec(wheel(equalShares(t)))
	addLengths("found B: back joint > back joint\nfound C: attic > back joint")(&spec)
	spec.Shafts[0].LocatedBy = "nut"
	_, bad := network.Build(spec)
	var subjects []string
	for _, p := range bad {
		subjects = append(subjects, p.Subject)
		if !strings.HasPrefix(p.Error(), p.Subject+": ") {
			t.Errorf("%q does not name %s", p.Error(), p.Subject)
		}
	}
	if want := []string{"B", "C", "wheel shaft"}; !slices.Equal(subjects, want) {
		t.Errorf("refused at %v, want %v", subjects, want)
	}
}

// Faces off on their own are told once, at the first of them.
func TestFacesOffOnTheirOwnAreToldOnce(t *testing.T) {
	spec := copySpec(wheel(equalShares(t)))
	spec.Axes[0].Faces = append(spec.Axes[0].Faces, "lip", "rim", "brim")
	addLengths("found lip height: lip > rim\nfound rim height: rim > brim")(&spec)
	if _, bad := network.Build(spec); len(bad) != 1 || bad[0].Subject != "lip" {
		t.Errorf("refused with %v, want one problem at lip", bad)
	}
}

// Questions that a sound drive cannot answer.
func TestQuestionsRefused(t *testing.T) {
	n := mustBuild(t, wheel(equalShares(t)))
	stiff := copySpec(wheel(equalShares(t)))
	stiff.Shafts[0].Bearings = nil
	addLengths("found hub: back race > back track")(&stiff)
	held := mustBuild(t, stiff)
	closed := network.State{Shaft: "wheel shaft", How: network.Closed}
	notSaid := "the walk crosses a touch of wheel shaft and its state is not said: say held against wheel-back side, held against tooth side, or closed"
	one := func(_ any, err error) error { return err }
	for _, c := range []struct {
		name string
		err  error
		want string
	}{
		{"state not given", one(n.Position("wheel distance")), notSaid},
		{"state not said", one(n.Position("wheel distance", network.State{Shaft: "wheel shaft"})), notSaid},
		{"state of another shaft", one(n.Position("wheel distance", network.State{Shaft: "pinion shaft", How: network.Closed})), notSaid},
		{"row in no state", one(n.Row("W1", "wheel shaft", network.State{})), notSaid},
		{"held against another's bearing", one(n.Row("W1", "wheel shaft", network.State{How: network.HeldAgainst, Bearing: "head"})),
			`wheel shaft is said to be held against "head", which is none of its bearings`},
		{"no such length", one(n.Position("W9", closed)), `"W9" is no length of this sheet`},
		{"no such pack", one(n.Row("W9", "wheel shaft", closed)), `"W9" is no length of this sheet`},
		{"no such shaft", one(n.Setting("lay shaft")), `"lay shaft" is no shaft of this sheet`},
		{"no such shaft's row", one(n.Row("W1", "lay shaft", closed)), `"lay shaft" is no shaft of this sheet`},
		{"no such face", one(n.Walk("attic", "attic")), `"attic" is no face of this sheet`},
		{"no such last face", one(n.Walk("back seat", "attic", closed)), `"attic" is no face of this sheet`},
		{"no setting without touches", one(held.Setting("wheel shaft")), "wheel shaft has no touches, so it has no float and no preload to set"},
		{"no place of that name", one(network.PlaceNamed("under the carpet")), `"under the carpet" is no place known: write one of: between the pinion's inner races; `},
	} {
		if c.err == nil || !strings.Contains(c.err.Error(), c.want) {
			t.Errorf("%s: %v, want %q", c.name, c.err, c.want)
		}
	}
}

// A pack that is not on the loop cannot make its wanted length true.
func TestSolveForAPackOffTheLoop(t *testing.T) {
	n := mustBuild(t, wheel(equalShares(t)))
	// Worked from the back side, the tooth side's packs reach the wheel only
	// through the setting.
	pos, err := n.Position("wheel distance", network.State{Shaft: "wheel shaft", How: network.Closed})
	if err != nil {
		t.Fatal(err)
	}
	for _, pack := range []string{"W2", "W4", "none"} {
		_, err := network.Solve(pos, pack)
		if want := pack + " is not on the loop, so it cannot make it true"; err == nil || err.Error() != want {
			t.Errorf("%v, want %q", err, want)
		}
	}
}

// A shaft held both ways has no float; its row speaks of the gear alone, in no
// state.
func TestShaftHeldBothWays(t *testing.T) {
	spec := copySpec(wheel(equalShares(t)))
	spec.Shafts[0].Bearings = nil
	addLengths("found hub: back race > back track")(&spec)
	row, err := mustBuild(t, dropped(spec, "W2", "tooth height", "tooth track", "tooth race")).Row("W1", "wheel shaft", network.State{})
	if err != nil || !row.Float.IsZero() || row.Gear.String() != "-1" {
		t.Errorf("%v, %v; want float 0, gear -1", row, err)
	}
}

// dropped is a spec without some lengths and faces.
func dropped(s network.Spec, names ...string) network.Spec {
	s.Lengths = slices.DeleteFunc(s.Lengths, func(l network.Length) bool { return slices.Contains(names, l.Name) })
	for i := range s.Axes {
		s.Axes[i].Faces = slices.DeleteFunc(s.Axes[i].Faces, func(f string) bool { return slices.Contains(names, f) })
	}
	return s
}
