package network_test

import (
	"slices"
	"strings"
	"testing"

	"shimwright/calc/network"
	"shimwright/calc/quantity"
)

// The drives on which the places and the consequences are worked. Faces are
// listed outward from the wheel on a pinion's axis, from the tooth side to the
// back side on a wheel's. Where faces stand and what touches what is mechanics
// and common trade practice, no source.

func ratio(t testing.TB, a, b int64) quantity.Ratio {
	t.Helper()
	r, err := quantity.RatioOf(a, b)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// shares are the two bearings' shares of the squeeze, first bearing first.
type shares [2]quantity.Ratio

func equalShares(t testing.TB) shares { return shares{ratio(t, 1, 2), ratio(t, 1, 2)} }

// unequalShares give the first bearing 13/20 and the second 7/20.
func unequalShares(t testing.TB) shares { return shares{ratio(t, 13, 20), ratio(t, 7, 20)} }

func mustBuild(t testing.TB, s network.Spec) *network.Net {
	t.Helper()
	n, bad := network.Build(s)
	for _, p := range bad {
		t.Errorf("refused: %v", p)
	}
	if n == nil {
		t.FailNow()
	}
	return n
}

// lengths reads lines of "kind name: from > to".
func lengths(lines string) (out []network.Length) {
	kinds := map[string]network.Kind{
		"found": network.Found, "pack": network.Pack, "check": network.Check, "wanted": network.Wanted,
	}
	for line := range strings.Lines(lines) {
		kind, rest, ok := strings.Cut(strings.TrimSpace(line), " ")
		if !ok {
			continue
		}
		name, ends, _ := strings.Cut(rest, ": ")
		from, to, _ := strings.Cut(ends, " > ")
		out = append(out, network.Length{Name: name, From: from, To: to, Kind: kinds[kind]})
	}
	return out
}

func faces(list string) (out []string) {
	for f := range strings.SplitSeq(list, "<") {
		out = append(out, strings.TrimSpace(f))
	}
	return out
}

// nutClamped is a pinion whose nut clamps the two inner races from outside on
// the spacer P1, the outer races resting on shoulders between them. Pushed
// outward the shaft is held against the head bearing.
// F = inner stack − outer stack.
func nutClamped(s shares) network.Spec {
	return network.Spec{
		Axes: []network.Axis{{Name: "pinion", Faces: faces(`
			wheel axis < pinion back < head inner race back < head inner race < head outer race <
			head outer race back < head shoulder < head inner race end < casing flange < housing flange <
			tail inner race end < tail shoulder < tail outer race back < tail outer race < tail inner race`)}},
		Lengths: lengths(`
			wanted pinion distance: wheel axis > pinion back
			found casing depth: wheel axis > casing flange
			pack P2: casing flange > housing flange
			found head shoulder depth: head shoulder > housing flange
			found tail shoulder depth: housing flange > tail shoulder
			pack P4: head outer race back > head shoulder
			found head outer width: head outer race > head outer race back
			pack P5: tail shoulder > tail outer race back
			found tail outer width: tail outer race back > tail outer race
			pack P3: pinion back > head inner race back
			found head inner width: head inner race back > head inner race
			found head inner rest: head inner race > head inner race end
			pack P1: head inner race end > tail inner race end
			found tail inner rest: tail inner race end > tail inner race`),
		Shafts: []network.Shaft{{
			Name: "pinion shaft",
			Bearings: []network.Bearing{
				{Name: network.HeadBearing, From: "head inner race", To: "head outer race", Share: s[0]},
				{Name: network.TailBearing, From: "tail outer race", To: "tail inner race", Share: s[1]},
			},
			LocatedBy: network.HeadBearing,
			Gear:      "pinion distance",
		}},
	}
}

// coverClamped is a pinion whose cover clamps the two outer races from
// outside on a spacer between them; one race rests on the housing's shoulder.
// Pushed inward the shaft is held against the head bearing.
// F = outer stack − inner stack.
func coverClamped(s shares, spacer, shoulder string) network.Spec {
	spec := network.Spec{
		Axes: []network.Axis{{Name: "pinion", Faces: faces(`
			wheel axis < pinion back < head inner race back < head shoulder < head outer race < head inner race <
			head outer race end < casing flange < housing flange < tail outer race end < tail inner race <
			tail outer race < tail shoulder`)}},
		Lengths: lengths(`
			wanted pinion distance: wheel axis > pinion back
			found casing depth: wheel axis > casing flange
			pack P2: casing flange > housing flange
			pack P3: pinion back > head inner race back
			found head inner width: head inner race back > head inner race
			found inner stack: head inner race > tail inner race
			found head outer width: head outer race > head outer race end
			pack ` + spacer + `: head outer race end > tail outer race end
			found tail outer width: tail outer race end > tail outer race`),
		Shafts: []network.Shaft{{
			Name: "pinion shaft",
			Bearings: []network.Bearing{
				{Name: network.HeadBearing, From: "head outer race", To: "head inner race", Share: s[0]},
				{Name: network.TailBearing, From: "tail inner race", To: "tail outer race", Share: s[1]},
			},
			LocatedBy: network.HeadBearing,
			Gear:      "pinion distance",
		}},
	}
	unused, seat := "tail shoulder", `
			found head shoulder depth: head shoulder > housing flange
			found head race on its shoulder: head shoulder > head outer race`
	if shoulder == network.TailBearing {
		unused, seat = "head shoulder", `
			found tail shoulder depth: housing flange > tail shoulder
			found tail race on its shoulder: tail outer race > tail shoulder`
	}
	spec.Lengths = append(spec.Lengths, lengths(seat)...)
	spec.Axes[0].Faces = slices.DeleteFunc(spec.Axes[0].Faces, func(f string) bool { return f == unused })
	return spec
}

func headOnShoulder(s shares) network.Spec { return coverClamped(s, "P1b", network.HeadBearing) }
func tailOnShoulder(s shares) network.Spec { return coverClamped(s, "P1c", network.TailBearing) }

// wheel is a wheel shaft between two covers, each carrying its track.
// F = space between the seats − what stands between them.
func wheel(s shares) network.Spec {
	return network.Spec{
		Axes: []network.Axis{{Name: "wheel", Faces: faces(`
			tooth seat < tooth track < tooth race < tooth cover flange < tooth joint < pinion axis <
			wheel datum < back joint < back cover flange < back race < back track < back seat`)}},
		Lengths: lengths(`
			wanted wheel distance: pinion axis > wheel datum
			found tooth recess: tooth seat > tooth cover flange
			pack W4: tooth cover flange > tooth joint
			found tooth half: tooth joint > pinion axis
			found back half: pinion axis > back joint
			pack W3: back joint > back cover flange
			found back recess: back cover flange > back seat
			pack W2: tooth seat > tooth track
			found tooth height: tooth race > wheel datum
			found back height: wheel datum > back race
			pack W1: back track > back seat`),
		Shafts: []network.Shaft{{
			Name: "wheel shaft",
			Bearings: []network.Bearing{
				{Name: network.BackSide, From: "back race", To: "back track", Share: s[0]},
				{Name: network.ToothSide, From: "tooth track", To: "tooth race", Share: s[1]},
			},
			LocatedBy: network.BackSide,
			Gear:      "wheel distance",
		}},
	}
}

// helical is a shaft whose place along its axis is nobody's concern: no gear.
func helical(s shares) network.Spec {
	return network.Spec{
		Axes: []network.Axis{{Name: "helical", Faces: faces(`
			left seat < left race < right race < joint < cover flange < right track < cover seat`)}},
		Lengths: lengths(`
			found casing depth: left seat > joint
			found shaft height: left race > right race
			pack H2: joint > cover flange
			found recess: cover flange > cover seat
			pack H1: right track > cover seat`),
		Shafts: []network.Shaft{{
			Name: "helical shaft",
			Bearings: []network.Bearing{
				{Name: "left", From: "left seat", To: "left race", Share: s[0]},
				{Name: "right", From: "right race", To: "right track", Share: s[1]},
			},
			LocatedBy: "left",
		}},
	}
}

// copySpec is a spec that can be changed without touching the one given.
func copySpec(s network.Spec) network.Spec {
	out := network.Spec{Lengths: slices.Clone(s.Lengths)}
	for _, a := range s.Axes {
		out.Axes = append(out.Axes, network.Axis{Name: a.Name, Faces: slices.Clone(a.Faces)})
	}
	for _, sh := range s.Shafts {
		sh.Bearings = slices.Clone(sh.Bearings)
		out.Shafts = append(out.Shafts, sh)
	}
	return out
}

// locatedBy is the same drive with the other bearing's touch walked.
func locatedBy(s network.Spec, bearing string) network.Spec {
	out := copySpec(s)
	for i := range out.Shafts {
		out.Shafts[i].LocatedBy = bearing
	}
	return out
}

// turned is the same drive with every axis drawn from its other end.
func turned(s network.Spec) network.Spec {
	out := copySpec(s)
	for _, a := range out.Axes {
		slices.Reverse(a.Faces)
	}
	for i, l := range out.Lengths {
		out.Lengths[i].From, out.Lengths[i].To = l.To, l.From
	}
	for _, sh := range out.Shafts {
		for i, b := range sh.Bearings {
			sh.Bearings[i].From, sh.Bearings[i].To = b.To, b.From
		}
	}
	return out
}
