package remedy

import (
	"fmt"
	"testing"

	"shimwright/calc/network"
	"shimwright/calc/quantity"
)

// wheelNet is a wheel shaft between two covers, with a pack at all four places.
func wheelNet(t *testing.T, share int64) *network.Net {
	t.Helper()
	shares := [2]quantity.Ratio{ratio(share, 20), ratio(20-share, 20)}
	net, bad := network.Build(network.Spec{
		Axes: []network.Axis{{Name: "wheel", Faces: []string{
			"back cover seat", "back track", "back cover flange", "back joint", "back race", "pinion axis", "tooth face",
			"tooth race", "tooth joint", "tooth cover flange", "tooth track", "tooth cover seat"}}},
		Lengths: []network.Length{
			{Name: "W1", From: "back cover seat", To: "back track", Kind: network.Pack},
			{Name: "back recess", From: "back cover seat", To: "back cover flange"},
			{Name: "W3", From: "back cover flange", To: "back joint", Kind: network.Pack},
			{Name: "casing back", From: "back joint", To: "pinion axis"},
			{Name: "casing tooth", From: "pinion axis", To: "tooth joint"},
			{Name: "W4", From: "tooth joint", To: "tooth cover flange", Kind: network.Pack},
			{Name: "tooth recess", From: "tooth cover flange", To: "tooth cover seat"},
			{Name: "W2", From: "tooth track", To: "tooth cover seat", Kind: network.Pack},
			{Name: "race to tooth", From: "back race", To: "tooth face"},
			{Name: "tooth to race", From: "tooth face", To: "tooth race"},
			{Name: "wheel distance", From: "pinion axis", To: "tooth face", Kind: network.Wanted},
		},
		Shafts: []network.Shaft{{Name: "wheel shaft", Gear: "wheel distance", LocatedBy: "back", Bearings: []network.Bearing{
			{Name: "back", From: "back track", To: "back race", Share: shares[0]},
			{Name: "tooth", From: "tooth race", To: "tooth track", Share: shares[1]}}}},
	})
	if len(bad) > 0 {
		t.Fatal(bad[0])
	}
	return net
}

// With rows from a network: in every state, for every pair of places, at shares
// from 1/20 to 19/20, a plan keeps the setting exactly, moves the gear as it
// says, and adds k × move to every point.
func TestPlansHoldOnANetwork(t *testing.T) {
	states := []network.State{
		{How: network.HeldAgainst, Bearing: "back"}, {How: network.HeldAgainst, Bearing: "tooth"}, {How: network.Closed}}
	for _, share := range []int64{1, 7, 10, 13, 19} {
		net := wheelNet(t, share)
		for _, pair := range [][2]string{{"W1", "W2"}, {"W3", "W4"}, {"W1", "W4"}, {"W3", "W2"}} {
			for _, st := range states {
				name := fmt.Sprintf("%v %s at %d/20", pair, st, share)
				in := storyFive(t)
				for i := range in.Packs {
					r, err := net.Row(pair[i], "wheel shaft", st)
					if err != nil {
						t.Fatal(err)
					}
					in.Packs[i].Row = r
				}
				a := advise(t, in)
				if len(a.Plans) == 0 {
					t.Fatalf("%s: %s %v", name, a.Words, a.LookFor)
				}
				for _, p := range a.Plans {
					holds(t, name, net, st, pair, in, p)
				}
			}
		}
	}
}

func holds(t *testing.T, name string, net *network.Net, st network.State, pair [2]string, in Reshim, p Plan) {
	t.Helper()
	st.Shaft = "wheel shaft"
	setting, err := net.Setting("wheel shaft")
	if err != nil {
		t.Fatal(err)
	}
	at, err := net.Position("wheel distance", st)
	if err != nil {
		t.Fatal(err)
	}
	if at, err = net.Through(at); err != nil {
		t.Fatal(err)
	}
	var float, gear quantity.Exact
	for i, c := range p.Changes {
		float = float.Add(c.By().Times(setting.Of(pair[i])))
		gear = gear.Add(c.By().Times(at.Of(pair[i])))
	}
	if !float.IsZero() || !p.Setting.IsZero() {
		t.Errorf("%s: the setting changed by %s", name, float)
	}
	if !gear.Equal(p.Move) {
		t.Errorf("%s: the gear goes %s, said %s", name, gear, p.Move)
	}
	if !p.Changes[0].By().Abs().Equal(p.Move.Abs()) || !p.Changes[1].By().Abs().Equal(p.Move.Abs()) {
		t.Errorf("%s: a proper pair moves the gear fully: %s and %s for %s", name, p.Changes[0].By(), p.Changes[1].By(), p.Move)
	}
	for i, pt := range p.Points {
		want := in.Ring.Points[i].Mean.Value().Add(gear.Mul(in.Factor.K))
		if !pt.After.Equal(want) {
			t.Errorf("%s: point %d predicted %s, want %s", name, i+1, pt.After, want)
		}
	}
}

// A change of setting with rows from a network leaves the gear exactly where
// it was, worked as positions and not as changes.
func TestKeepBacklashHoldsOnANetwork(t *testing.T) {
	states := map[string]network.State{
		"back":   {Shaft: "wheel shaft", How: network.HeldAgainst, Bearing: "back"},
		"tooth":  {Shaft: "wheel shaft", How: network.HeldAgainst, Bearing: "tooth"},
		"closed": {Shaft: "wheel shaft", How: network.Closed}}
	for _, share := range []int64{1, 7, 10, 19} {
		net := wheelNet(t, share)
		for _, pair := range [][2]string{{"W1", "W2"}, {"W3", "W4"}, {"W1", "W4"}, {"W3", "W2"}} {
			for was, s0 := range states {
				for then, s1 := range states {
					stays(t, net, pair, s0, s1, figureFor(was), figureFor(then))
				}
			}
		}
	}
}

func figureFor(state string) string {
	if state == "closed" {
		return "-0.07"
	}
	return "0.11"
}

func stays(t *testing.T, net *network.Net, pair [2]string, s0, s1 network.State, f0, f1 string) {
	t.Helper()
	in := SettingChange{Gear: "wheel", Now: ex(f0), Then: ex(f1)}
	for i, p := range storyFive(t).Packs {
		before, err := net.Row(pair[i], "wheel shaft", s0)
		if err != nil {
			t.Fatal(err)
		}
		after, err := net.Row(pair[i], "wheel shaft", s1)
		if err != nil {
			t.Fatal(err)
		}
		p.Row = after
		in.Packs, in.Was = append(in.Packs, p), append(in.Was, before)
	}
	got, err := KeepBacklash(in)
	if err != nil {
		t.Fatal(err)
	}
	position := func(s network.State, by [2]quantity.Exact, f quantity.Exact) quantity.Exact {
		form, err := net.Position("wheel distance", s)
		if err != nil {
			t.Fatal(err)
		}
		x := f.Times(form.OfSetting("wheel shaft"))
		for i, name := range pair {
			x = x.Add(by[i].Times(form.Of(name)))
		}
		return x
	}
	setting, err := net.Setting("wheel shaft")
	if err != nil {
		t.Fatal(err)
	}
	f := ex(f0)
	for i, name := range pair {
		f = f.Add(got.Exact[i].Times(setting.Of(name)))
	}
	a, b := position(s0, [2]quantity.Exact{}, ex(f0)), position(s1, got.Exact, ex(f1))
	if !f.Equal(ex(f1)) || !a.Equal(b) {
		t.Errorf("%v from %s to %s: setting %s for %s, gear %s for %s", pair, s0, s1, f, f1, b, a)
	}
}
