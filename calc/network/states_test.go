package network_test

import (
	"maps"
	"testing"

	"shimwright/calc/network"
	"shimwright/calc/quantity"
)

// What the model says follows from the places: how packs change together, what
// squeeze does, how the state before and after decides. All our own mechanics
// where a shaft is closed; the rest common trade practice, no source.

// A build is a drive with the sizes of its lengths, in hundredths.
type build struct {
	net   *network.Net
	shaft network.Shaft
	size  map[string]quantity.Ratio
}

// newBuild gives every length of the drive a size, the closing pack the one
// that brings the setting to f.
func newBuild(t *testing.T, spec network.Spec, closing string, f int64) build {
	t.Helper()
	b := build{mustBuild(t, spec), spec.Shafts[0], map[string]quantity.Ratio{}}
	for i, l := range spec.Lengths {
		if l.Kind == network.Found || l.Kind == network.Pack {
			b.size[l.Name] = quantity.Whole(int64(1000 + 137*i*i))
		}
	}
	setting, err := b.net.Setting(b.shaft.Name)
	if err != nil {
		t.Fatal(err)
	}
	loop, err := network.Solve(setting, closing)
	if err != nil {
		t.Fatal(err)
	}
	b.size[closing] = b.worth(loop.Rest, nil).Add(loop.PerWanted.Mul(quantity.Whole(f)))
	if got := b.setting(t); !got.Equal(quantity.Whole(f)) {
		t.Fatalf("closing pack %s gives a setting of %s, want %d", closing, got, f)
	}
	return b
}

// worth is a form with its figures put in.
func (b build) worth(f network.Form, settings map[string]quantity.Ratio) (sum quantity.Ratio) {
	for _, term := range f.Lengths {
		sum = sum.Add(term.Coef.Mul(b.size[term.Name]))
	}
	for _, term := range f.Settings {
		sum = sum.Add(term.Coef.Mul(settings[term.Name]))
	}
	return sum
}

func (b build) setting(t *testing.T) quantity.Ratio {
	t.Helper()
	f, err := b.net.Setting(b.shaft.Name)
	if err != nil {
		t.Fatal(err)
	}
	return b.worth(f, nil)
}

// gear is where the gear sits in a state, with the setting that the sizes give.
func (b build) gear(t *testing.T, st network.State) quantity.Ratio {
	t.Helper()
	st.Shaft = b.shaft.Name
	f, err := b.net.Position(b.shaft.Gear, st)
	if err != nil {
		t.Fatal(err)
	}
	return b.worth(f, map[string]quantity.Ratio{b.shaft.Name: b.setting(t)})
}

// with is the same drive with some packs changed.
func (b build) with(change packs) build {
	size := maps.Clone(b.size)
	for name, d := range change {
		size[name] = size[name].Add(d)
	}
	return build{b.net, b.shaft, size}
}

// packs are changes of packs, thicker above nought.
type packs map[string]quantity.Ratio

func (b build) states() []network.State {
	return []network.State{b.heldOn(0), b.heldOn(1), closed}
}

func (b build) heldOn(i int) network.State {
	return network.State{How: network.HeldAgainst, Bearing: b.shaft.Bearings[i].Name}
}

var closed = network.State{How: network.Closed}

// wantMove asks what a change of packs does to setting and gear between two
// states.
func wantMove(t *testing.T, before build, was network.State, change packs, is network.State, setting, gear quantity.Ratio) {
	t.Helper()
	after := before.with(change)
	if got := after.setting(t).Sub(before.setting(t)); !got.Equal(setting) {
		t.Errorf("%v, %v then %v: setting changes by %s, want %s", change, was, is, got, setting)
	}
	if got := after.gear(t, is).Sub(before.gear(t, was)); !got.Equal(gear) {
		t.Errorf("%v, %v then %v: gear moves %s, want %s", change, was, is, got, gear)
	}
}

var zero = quantity.Whole(0)

// Packs changed together so that F stays move the gear fully in every state:
// like places by a transfer, unlike ones by the same change in both, P4 with
// P1 alike.
func TestPacksChangedTogether(t *testing.T) {
	d := quantity.Whole(12)
	for _, s := range []shares{equalShares(t), unequalShares(t)} {
		for _, c := range []struct {
			drive  func(shares) network.Spec
			change packs
			gear   quantity.Ratio
		}{
			{wheel, packs{"W1": d, "W2": d.Neg()}, d.Neg()},
			{wheel, packs{"W1": d.Neg(), "W2": d}, d},
			{wheel, packs{"W3": d, "W4": d.Neg()}, d},
			{wheel, packs{"W1": d, "W4": d}, d.Neg()},
			{wheel, packs{"W2": d, "W3": d}, d},
			{wheel, packs{"W2": d.Neg(), "W3": d.Neg()}, d.Neg()},
			{nutClamped, packs{"P4": d, "P1": d}, d.Neg()},
			{nutClamped, packs{"P5": d, "P1": d}, zero},
			{nutClamped, packs{"P4": d, "P5": d.Neg()}, d.Neg()},
		} {
			b := newBuild(t, c.drive(s), firstOf(c.change), -10)
			for _, st := range b.states() {
				wantMove(t, b, st, c.change, st, zero, c.gear)
			}
		}
	}
}

// firstOf is the pack of least name among those changed.
func firstOf(change packs) string {
	least := "~"
	for name := range change {
		least = min(least, name)
	}
	return least
}

// A transfer between unlike places changes the setting by twice the transfer.
func TestTransferBetweenUnlikePlaces(t *testing.T) {
	d := quantity.Whole(12)
	b := newBuild(t, wheel(equalShares(t)), "W1", -10)
	for _, c := range []struct {
		change packs
		twice  quantity.Ratio
	}{
		{packs{"W1": d, "W4": d.Neg()}, d.Neg().Add(d.Neg())},
		{packs{"W2": d.Neg(), "W3": d}, d.Add(d)},
	} {
		if got := b.with(c.change).setting(t).Sub(b.setting(t)); !got.Equal(c.twice) {
			t.Errorf("%v: setting changes by %s, want %s", c.change, got, c.twice)
		}
	}
}

// All of a squeeze put in on the closing pack pushes the gear into the other
// bearing by that bearing's share: a wheel TOWARD from the back, AWAY from the
// tooth side.
func TestSqueezeOnTheClosingPack(t *testing.T) {
	squeeze := quantity.Whole(20)
	for _, s := range []shares{equalShares(t), unequalShares(t)} {
		for _, c := range []struct {
			drive   func(shares) network.Spec
			closing string
			change  quantity.Ratio
			gear    quantity.Ratio
		}{
			{wheel, "W1", squeeze, squeeze.Mul(s[1]).Neg()},
			{wheel, "W2", squeeze, squeeze.Mul(s[0])},
			{wheel, "W3", squeeze.Neg(), squeeze.Mul(s[1]).Neg()},
			{wheel, "W4", squeeze.Neg(), squeeze.Mul(s[0])},
			{nutClamped, "P5", squeeze, squeeze.Mul(s[0])},
			{nutClamped, "P4", squeeze, squeeze.Mul(s[1]).Neg()},
			{nutClamped, "P1", squeeze.Neg(), squeeze.Mul(s[0])},
		} {
			b := newBuild(t, c.drive(s), c.closing, 0)
			wantMove(t, b, closed, packs{c.closing: c.change}, closed, squeeze.Neg(), c.gear)
		}
	}
}

// Solved for a wanted distance, the pack that places the gear allows for the
// squeeze to come: its loop holds the wanted setting by the share of the
// bearing walked, whichever that is.
func TestSolvedPackAllowsForTheSqueeze(t *testing.T) {
	s := unequalShares(t)
	for i, pack := range []string{"W1", "W2"} {
		b := newBuild(t, locatedBy(wheel(s), wheel(s).Shafts[0].Bearings[i].Name), "W3", 0)
		pos, err := b.net.Position("wheel distance", network.State{Shaft: "wheel shaft", How: network.Closed})
		if err != nil {
			t.Fatal(err)
		}
		loop, err := network.Solve(pos, pack)
		if err != nil {
			t.Fatal(err)
		}
		// Both packs of the wheel's two tracks stand against the squeeze: more
		// preload (F further below nought) wants a thicker pack.
		if got := loop.Rest.OfSetting("wheel shaft"); !got.Equal(s[i].Neg()) {
			t.Errorf("%s allows %s of the setting, want −%s", pack, got, s[i])
		}
	}
}

// To change the setting and keep the backlash, both places under a track (near
// the bearing that carries, far from it): what each takes depends on the state
// before and after.
func TestChangeTheSettingAndKeepTheBacklash(t *testing.T) {
	const float, squeeze = 6, 20
	f, q := quantity.Whole(float), quantity.Whole(squeeze)
	for _, s := range []shares{equalShares(t), unequalShares(t)} {
		for _, c := range []struct {
			drive func(shares) network.Spec
			packs [2]string // at the first bearing, at the second
		}{{wheel, [2]string{"W1", "W2"}}, {nutClamped, [2]string{"P4", "P5"}}} {
			for near := range 2 {
				nearPack, farPack := c.packs[near], c.packs[1-near]
				loose := newBuild(t, c.drive(s), farPack, float)
				tight := newBuild(t, c.drive(s), farPack, -squeeze)
				held := loose.heldOn(near)

				// Closed before and after: each its own bearing's share, half
				// each when the bearings are equal.
				wantMove(t, tight, closed, packs{nearPack: q.Mul(s[near]), farPack: q.Mul(s[1-near])}, closed, q.Neg(), zero)
				// Floating and held to one side, before and after: the far
				// pack alone.
				wantMove(t, loose, held, packs{farPack: f}, held, f.Neg(), zero)
				// From float held to one side to preload: the near pack by its
				// share of the new squeeze, the far pack by the rest.
				all, nearPart := f.Add(q), q.Mul(s[near])
				wantMove(t, loose, held, packs{nearPack: nearPart, farPack: all.Sub(nearPart)}, closed, all.Neg(), zero)
				// And back again.
				wantMove(t, tight, closed, packs{nearPack: nearPart.Neg(), farPack: nearPart.Sub(all)}, held, all, zero)
			}
		}
	}
}

// Half each is wrong whenever the shaft floats before or after: the gear
// moves.
func TestHalfEachMovesAFloatingGear(t *testing.T) {
	b := newBuild(t, wheel(equalShares(t)), "W1", 6)
	two := quantity.Whole(2)
	half := packs{"W1": two, "W2": two}
	wantMove(t, b, b.heldOn(0), half, b.heldOn(0), quantity.Whole(-4), two.Neg())
	wantMove(t, b, b.heldOn(1), half, b.heldOn(1), quantity.Whole(-4), two)
	thirteen := quantity.Whole(13) // from float 6 to preload 20
	wantMove(t, b, b.heldOn(0), packs{"W1": thirteen, "W2": thirteen}, closed, quantity.Whole(-26), quantity.Whole(-3))
}

// Predicting, the setting follows from what is fitted; through it, a closed
// shaft's gear knows every pack of its loop.
func TestThroughReplacesTheSetting(t *testing.T) {
	b := newBuild(t, wheel(unequalShares(t)), "W1", -15)
	for _, st := range b.states() {
		st.Shaft = b.shaft.Name
		pos, err := b.net.Position(b.shaft.Gear, st)
		if err != nil {
			t.Fatal(err)
		}
		through, err := b.net.Through(pos)
		if err != nil {
			t.Fatal(err)
		}
		if len(through.Settings) > 0 {
			t.Errorf("%v: %v is still set", st, through.Settings)
		}
		if got, want := b.worth(through, nil), b.gear(t, st); !got.Equal(want) {
			t.Errorf("%v: predicted %s, want %s", st, got, want)
		}
	}
}

// The words of a state.
func TestStateWords(t *testing.T) {
	for want, st := range map[string]network.State{
		"not said":                      {},
		"closed":                        closed,
		"held against the head bearing": {How: network.HeldAgainst, Bearing: network.HeadBearing},
	} {
		if got := st.String(); got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
}
