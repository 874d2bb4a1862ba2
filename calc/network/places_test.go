package network_test

import (
	"slices"
	"strconv"
	"testing"

	"shimwright/calc/network"
	"shimwright/calc/quantity"
)

// A placeRow is one row of the place table in workshop words: what one thicker
// does to the float, and to the gear with the shaft held against its first
// bearing, held against its second, closed with equal shares, and closed with
// 13/20 at the first and 7/20 at the second. AWAY and OUT are above nought.
// The rows are mechanics and common trade practice, no source; the closed
// columns are derived, no source.
type placeRow struct {
	pack, place string
	drive       func(shares) network.Spec
	float       string
	held        [2]string
	closed      string
	unequal     string
	own         int // the bearing on the pack's own side, −1 where F stays
}

var first, second = 0, 1

func placeTable() []placeRow {
	return []placeRow{
		{"P1", "between the pinion's inner races", nutClamped, "1", [2]string{"0", "-1"}, "-1/2", "-13/20", second},
		{"P1b", "between the pinion's outer races, head race on the shoulder", headOnShoulder, "1", [2]string{"0", "1"}, "1/2", "13/20", second},
		{"P1c", "between the pinion's outer races, tail race on the shoulder", tailOnShoulder, "1", [2]string{"-1", "0"}, "-1/2", "-7/20", first},
		{"P2", "under the pinion housing flange", nutClamped, "0", [2]string{"1", "1"}, "1", "1", -1},
		{"P2", "under the pinion housing flange", headOnShoulder, "0", [2]string{"1", "1"}, "1", "1", -1},
		{"P2", "under the pinion housing flange", tailOnShoulder, "0", [2]string{"1", "1"}, "1", "1", -1},
		{"P3", "between the pinion head and the inner race", nutClamped, "0", [2]string{"-1", "-1"}, "-1", "-1", -1},
		{"P3", "between the pinion head and the inner race", headOnShoulder, "0", [2]string{"-1", "-1"}, "-1", "-1", -1},
		{"P3", "between the pinion head and the inner race", tailOnShoulder, "0", [2]string{"-1", "-1"}, "-1", "-1", -1},
		{"P4", "behind the head bearing's outer race", nutClamped, "-1", [2]string{"-1", "0"}, "-1/2", "-7/20", first},
		{"P5", "behind the tail bearing's outer race", nutClamped, "-1", [2]string{"0", "1"}, "1/2", "13/20", second},
		{"W1", "under the track, wheel-back side", wheel, "-1", [2]string{"-1", "0"}, "-1/2", "-7/20", first},
		{"W2", "under the track, tooth side", wheel, "-1", [2]string{"0", "1"}, "1/2", "13/20", second},
		{"W3", "under the cover flange, wheel-back side", wheel, "1", [2]string{"1", "0"}, "1/2", "7/20", first},
		{"W4", "under the cover flange, tooth side", wheel, "1", [2]string{"0", "-1"}, "-1/2", "-13/20", second},
		{"H1", "under the track, helical shaft", helical, "-1", [2]string{"0", "0"}, "0", "0", -1},
		{"H2", "under the cover flange, helical shaft", helical, "1", [2]string{"0", "0"}, "0", "0", -1},
	}
}

func rowOf(t *testing.T, n *network.Net, pack string, sh network.Shaft, st network.State) network.Row {
	t.Helper()
	row, err := n.Row(pack, sh.Name, st)
	if err != nil {
		t.Fatal(err)
	}
	return row
}

func (r placeRow) check(t *testing.T, spec network.Spec, st network.State, gear string) {
	t.Helper()
	row := rowOf(t, mustBuild(t, spec), r.pack, spec.Shafts[0], st)
	if row.Float.String() != r.float || row.Gear.String() != gear {
		t.Errorf("%s, %v, located by %s: float %s, gear %s; the table says float %s, gear %s",
			r.pack, st, spec.Shafts[0].LocatedBy, row.Float, row.Gear, r.float, gear)
	}
}

// Every row in every state, whichever bearing's touch is walked.
func TestPlaceTableInEveryState(t *testing.T) {
	for _, r := range placeTable() {
		t.Run(r.pack, func(t *testing.T) {
			for _, b := range r.drive(equalShares(t)).Shafts[0].Bearings {
				equal := locatedBy(r.drive(equalShares(t)), b.Name)
				unequal := locatedBy(r.drive(unequalShares(t)), b.Name)
				for i, held := range equal.Shafts[0].Bearings {
					st := network.State{How: network.HeldAgainst, Bearing: held.Name}
					r.check(t, equal, st, r.held[i])
					r.check(t, unequal, st, r.held[i])
				}
				r.check(t, equal, network.State{How: network.Closed}, r.closed)
				r.check(t, unequal, network.State{How: network.Closed}, r.unequal)
			}
		})
	}
}

// One pack alone moves the gear fully when the shaft is held on the pack's own
// side, not at all when held on the other, and by one less its own bearing's
// share when closed.
func TestOwnSideMovesTheGear(t *testing.T) {
	one := quantity.Whole(1)
	for _, r := range placeTable() {
		if r.own < 0 {
			continue
		}
		for k := int64(1); k < 20; k++ {
			s := shares{ratio(t, k, 20), ratio(t, 20-k, 20)}
			spec := r.drive(s)
			sh := spec.Shafts[0]
			n := mustBuild(t, spec)
			own := rowOf(t, n, r.pack, sh, network.State{How: network.HeldAgainst, Bearing: sh.Bearings[r.own].Name}).Gear
			other := rowOf(t, n, r.pack, sh, network.State{How: network.HeldAgainst, Bearing: sh.Bearings[1-r.own].Name}).Gear
			closed := rowOf(t, n, r.pack, sh, network.State{How: network.Closed}).Gear
			if !own.Mul(own).Equal(one) || !other.IsZero() || !closed.Equal(own.Mul(one.Sub(s[r.own]))) {
				t.Errorf("%s, own share %s: own side %s, other side %s, closed %s", r.pack, s[r.own], own, other, closed)
			}
		}
	}
}

// statedState is the state in which a place's row is worked.
func statedState(p network.Place) network.State {
	if p.Against == "" {
		return network.State{}
	}
	return network.State{How: network.HeldAgainst, Bearing: p.Against}
}

// A pack agrees with its own place and with no place that states another row.
// A place is worked against the bearing it names; where the shaft carries a
// gear and has no such bearing the row cannot be worked, and says so.
func TestPlaceAgreesWithItselfOnly(t *testing.T) {
	for _, r := range placeTable() {
		spec := r.drive(unequalShares(t))
		sh := spec.Shafts[0]
		n := mustBuild(t, spec)
		for _, p := range network.Places() {
			i := slices.IndexFunc(sh.Bearings, func(b network.Bearing) bool { return b.Name == p.Against })
			row, err := n.Row(r.pack, sh.Name, statedState(p))
			if sh.Gear != "" && i < 0 {
				if err == nil {
					t.Errorf("%s at place %q worked, though its shaft has no %q bearing", r.pack, p.Name, p.Against)
				}
				continue
			}
			if err != nil {
				t.Fatalf("%s at place %q: %v", r.pack, p.Name, err)
			}
			want := strconv.Itoa(p.Float) == r.float && (p.NoGear || strconv.Itoa(p.Gear) == r.held[max(i, 0)])
			if p.Name == r.place && !want {
				t.Errorf("%s: its own place states another row than the table", r.pack)
			}
			if p.Agrees(row) != want {
				t.Errorf("%s (%v) at place %q (%v): agrees is %v", r.pack, row, p.Name, p.Row(), !want)
			}
		}
	}
}

// The helical rows speak of float only: what the gear does is left open.
func TestHelicalPlacesSpeakOfFloatOnly(t *testing.T) {
	for _, p := range network.Places() {
		r := p.Row()
		if !p.Agrees(r) {
			t.Errorf("%q does not agree with its own row", p.Name)
		}
		r.Gear = r.Gear.Add(quantity.Whole(1))
		if p.Agrees(r) != p.NoGear {
			t.Errorf("%q with another gear move: agrees is %v", p.Name, !p.NoGear)
		}
		r = p.Row()
		r.Float = r.Float.Add(quantity.Whole(1))
		if p.Agrees(r) {
			t.Errorf("%q agrees with a float of %s", p.Name, r.Float)
		}
	}
}

// Every place of the table is known by its name and no other is.
func TestPlacesAreThoseOfTheTable(t *testing.T) {
	tested := map[string]bool{}
	for _, r := range placeTable() {
		tested[r.place] = true
	}
	for _, p := range network.Places() {
		if !tested[p.Name] {
			t.Errorf("place %q has no row in the table", p.Name)
		}
		delete(tested, p.Name)
	}
	for name := range tested {
		t.Errorf("place %q of the table is not known", name)
	}
}

// Turning a pack's two faces round in the pack alone is refused; turning them
// on the axis as well gives another drive, whose row disagrees with the place.
func TestPackWithItsFacesSwapped(t *testing.T) {
	for _, r := range placeTable() {
		place, err := network.PlaceNamed(r.place)
		if err != nil {
			t.Fatal(err)
		}
		spec := copySpec(r.drive(equalShares(t)))
		i := slices.IndexFunc(spec.Lengths, func(l network.Length) bool { return l.Name == r.pack })
		l := &spec.Lengths[i]
		l.From, l.To = l.To, l.From
		wantProblem(t, spec, r.pack, "a length runs from a face to a later one")

		swapFaces(spec.Axes, l.From, l.To)
		n, bad := network.Build(spec)
		if len(bad) > 0 {
			t.Logf("%s swapped on the axis as well is refused: %v", r.pack, bad[0])
			continue
		}
		if row := rowOf(t, n, r.pack, spec.Shafts[0], statedState(place)); place.Agrees(row) {
			t.Errorf("%s swapped, axis and all, gives %v and agrees with place %q", r.pack, row, r.place)
		}
	}
}

func swapFaces(axes []network.Axis, a, b string) {
	for _, axis := range axes {
		for i, f := range axis.Faces {
			switch f {
			case a:
				axis.Faces[i] = b
			case b:
				axis.Faces[i] = a
			}
		}
	}
}

func swapTouch(b *network.Bearing) { b.From, b.To = b.To, b.From }

// A touch with its two faces swapped is refused, whether alone or with the
// axis redrawn to suit, and whichever touch is walked.
func TestTouchWithItsFacesSwapped(t *testing.T) {
	for _, drive := range []func(shares) network.Spec{nutClamped, headOnShoulder, tailOnShoulder, wheel, helical} {
		for i := range 2 {
			for _, located := range drive(equalShares(t)).Shafts[0].Bearings {
				spec := locatedBy(drive(equalShares(t)), located.Name)
				b := &spec.Shafts[0].Bearings[i]
				swapTouch(b)
				wantProblem(t, spec, spec.Shafts[0].Name, "touch at the "+b.Name+" bearing:")
				swapFaces(spec.Axes, b.From, b.To)
				wantProblem(t, spec, spec.Shafts[0].Name, "one of them is drawn backwards")
			}
		}
	}
}

// Both touches swapped are both refused. With the axis redrawn to suit it is
// another drive, in which every pack that changes the setting disagrees with
// its place.
func TestBothTouchesSwapped(t *testing.T) {
	for _, r := range placeTable() {
		place, err := network.PlaceNamed(r.place)
		if err != nil {
			t.Fatal(err)
		}
		spec := copySpec(r.drive(equalShares(t)))
		sh := spec.Shafts[0]
		for i := range sh.Bearings {
			swapTouch(&sh.Bearings[i])
		}
		for _, b := range sh.Bearings {
			wantProblem(t, spec, sh.Name, "touch at the "+b.Name+" bearing:")
		}
		for _, b := range sh.Bearings {
			swapFaces(spec.Axes, b.From, b.To)
		}
		row := rowOf(t, mustBuild(t, spec), r.pack, sh, statedState(place))
		if r.float != "0" && place.Agrees(row) {
			t.Errorf("%s with both touches swapped gives %v and agrees with place %q", r.pack, row, r.place)
		}
	}
}

// A row's words, as both rows of a refusal show them.
func TestRowWords(t *testing.T) {
	for _, c := range []struct {
		float, gear quantity.Ratio
		of, want    string
	}{
		{quantity.Whole(1), quantity.Whole(0), "pinion", "looser, pinion does not move"},
		{quantity.Whole(0), quantity.Whole(1), "pinion", "setting unchanged, pinion goes OUT"},
		{quantity.Whole(-1), quantity.Whole(-1), "pinion", "tighter, pinion goes IN"},
		{quantity.Whole(-1), quantity.Whole(1), "wheel", "tighter, wheel goes AWAY"},
		{quantity.Whole(1), ratio(t, -13, 20), "wheel", "looser, wheel goes TOWARD the pinion by 13/20"},
		{quantity.Whole(-1), ratio(t, 1, 2), "wheel", "tighter, wheel goes AWAY by 1/2"},
		{quantity.Whole(-1), quantity.Whole(0), "", "tighter"},
	} {
		if got := (network.Row{Float: c.float, Gear: c.gear}).WordsFor(c.of); got != c.want {
			t.Errorf("float %s, gear %s: %q, want %q", c.float, c.gear, got, c.want)
		}
	}
}
