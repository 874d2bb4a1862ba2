package overhaul_test

import (
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"

	"shimwright/calc/overhaul"
	"shimwright/calc/quantity"
	"shimwright/calc/ring"
	"shimwright/calc/sheet"
)

// A wheelEnd is one of the places of a wheel's pack, with its end of the axis
// and what one more of it does by common practice and mechanics, typed here
// apart from the network: the gear as seen with the shaft held on that side.
type wheelEnd struct {
	place   string
	faces   string
	between string
	found   []string // lengths of that end, each [name: face, face]
	float   int      // +1 looser
	gear    int      // +1 AWAY
}

func nearEnds() []wheelEnd {
	return []wheelEnd{
		{"under the track, wheel-back side", "back race, back track, back seat", "back track, back seat",
			[]string{"casing depth: pinion axis, back seat"}, -1, -1},
		{"under the cover flange, wheel-back side", "back race, back track, back casing flange, back cover flange", "back casing flange, back cover flange",
			[]string{"casing length: pinion axis, back casing flange", "back spigot: back track, back cover flange"}, +1, +1},
	}
}

func farEnds() []wheelEnd {
	return []wheelEnd{
		{"under the track, tooth side", "cover seat, tooth track, tooth race, casing joint", "cover seat, tooth track",
			[]string{"cover recess: cover seat, casing joint"}, -1, +1},
		{"under the cover flange, tooth side", "tooth track, tooth race, cover flange, casing joint", "cover flange, casing joint",
			[]string{"cover depth: tooth track, cover flange"}, +1, -1},
	}
}

// wheelDrive is a random drive with one of the four pairs of places.
type wheelDrive struct {
	near, far wheelEnd
	state     string // of the backlash check
	sheet     *sheet.Sheet
	fits      [2]quantity.Exact
	packs     string // entries that fit them
	head      string
	rnd       *rand.Rand
}

func hundredths(n int) quantity.Exact {
	x, err := quantity.RatioOf(int64(n), 100)
	if err != nil {
		return quantity.Exact{}
	}
	return quantity.MustExact("1").Times(x)
}

func mmText(x quantity.Exact) string { return x.Decimal().StringFixed(3) + " mm" }

// newWheelDrive makes one up: sizes such that both packs come out between 1 and
// 2 mm, in a state that the setting allows.
func newWheelDrive(t testing.TB, rnd *rand.Rand) wheelDrive {
	t.Helper()
	near, far := nearEnds(), farEnds()
	d := wheelDrive{near: near[rnd.IntN(2)], far: far[rnd.IntN(2)], rnd: rnd}
	share := 1 + rnd.IntN(9)
	setting, states := "preload: 0.08 mm", []string{"closed"}
	if rnd.IntN(2) == 0 {
		setting, states = "float: 0.08 mm", []string{"held against wheel-back side", "held against tooth side"}
	}
	d.state = states[rnd.IntN(len(states))]
	var steps strings.Builder
	measure := func(length string) {
		name, faces, _ := strings.Cut(length, ": ")
		fmt.Fprintf(&steps, `      - measure: %s
        found: [%s]
        setup: direct
        gauge: depth gauge
        window: 0.00 mm .. 300.00 mm
        presses: 1
        agree: 0.02 mm
`, name, faces)
	}
	for _, l := range append(append([]string{"joint to axis: casing joint, pinion axis", "wheel height: wheel datum, back race", "overall height: tooth race, back race"}, d.near.found...), d.far.found...) {
		measure(l)
	}
	body := fmt.Sprintf(`sheet: rnd
issue: 1
title: A drive made up
manual: none (invented)
units: mm
gears: {pinion: 9, wheel: 37, shafts: 90 deg, pressure: 20 deg, spiral: 35 deg}
axes:
  wheel: [%s, pinion axis, wheel datum, %s]
shafts:
  wheel shaft:
    carries: {wheel: wheel distance}
    bearings:
      wheel-back side: {touch: [back race, back track], share: %d/10}
      tooth side: {touch: [tooth track, tooth race], share: %d/10}
    located by: wheel-back side
wanted:
  wheel setting: {setting of: wheel shaft, %s}
stages:
  - stage: wheel
    steps:
      - mark: wheel distance
        wanted: [pinion axis, wheel datum]
        state: {wheel shaft: %s}
        nominal: 45.00 mm
        digits: 0.01 mm
        plus: longer
%s      - pack: near pack
        between: [%s]
        place: %s
        makes: wheel distance
        within: 2.00 mm
        stock: shims
      - pack: far pack
        between: [%s]
        place: %s
        makes: wheel setting
        within: 2.00 mm
        stock: shims
      - check: backlash
        what: backlash
        of: [wheel distance]
        state: {wheel shaft: %s}
        gauge: dial indicator
        points: [0 deg, 90 deg, 180 deg, 270 deg]
        window: 0.00 mm .. 2.00 mm
        band: 0.15 mm .. 0.25 mm
        uncertainty: 0.01 mm
        reads: normal
`, d.far.faces, d.near.faces, share, 10-share, setting, d.state, steps.String(), d.near.between, d.near.place, d.far.between, d.far.place, d.state)
	d.sheet = parse(t, body)
	d.head = `readings for: rnd
stock:
  shims: [{leaf: 0.05 mm, count: 20}, {leaf: 0.03 mm, count: 20}, {leaf: 0.20 mm, count: 5}]
entries:
`
	d.fits = [2]quantity.Exact{hundredths(100 + rnd.IntN(100)), hundredths(100 + rnd.IntN(100))}
	d.packs = "  - {step: wheel distance, digits: +3}\n" + d.sizes(setting) + fitText(d.fits)
	return d
}

// sizes are found lengths by which the packs, as fitted, leave about the setting
// that is wanted: what is on the one side of a bearing is the other side's and
// the packs'.
func (d wheelDrive) sizes(setting string) string {
	joint, height, overall := hundredths(6200), hundredths(6100), hundredths(18500)
	float := hundredths(8)
	if strings.HasPrefix(setting, "preload") {
		float = float.Neg()
	}
	backTrack := hundredths(4503 + 6100)                   // from the pinion axis, the wheel held there
	beyond := overall.Sub(backTrack).Sub(joint).Add(float) // how far the tooth track lies beyond the joint
	var out strings.Builder
	put := func(name string, x quantity.Exact) {
		fmt.Fprintf(&out, "  - {step: %s, presses: [%s]}\n", name, mmText(x))
	}
	put("joint to axis", joint)
	put("wheel height", height)
	put("overall height", overall)
	spigot := hundredths(1200)
	if d.near.float < 0 {
		put("casing depth", backTrack.Add(d.fits[0]))
	} else {
		put("casing length", backTrack.Add(spigot).Sub(d.fits[0]))
		put("back spigot", spigot)
	}
	if d.far.float < 0 {
		put("cover recess", beyond.Add(d.fits[1]))
	} else {
		put("cover depth", beyond.Sub(d.fits[1]))
	}
	return out.String()
}

func fitText(fits [2]quantity.Exact) string {
	return fmt.Sprintf("  - {step: near pack, fit: {measured: %s}}\n  - {step: far pack, fit: {measured: %s}}\n", mmText(fits[0]), mmText(fits[1]))
}

// stands is where the wheel and its setting stand; the wheel's as a range.
func stands(t testing.TB, res *overhaul.Results) (wheel, wheelHigh, setting quantity.Exact) {
	t.Helper()
	w := standing(t, res, "wheel distance")
	return w.Low.Value, w.High.Value, standing(t, res, "wheel setting").Low.Value
}

// Packs changed together between the two places keep the setting to the last
// digit, in every state and with every share: like places by a transfer, unlike
// ones by the same change of both. The wheel goes the whole way, as the near
// pack alone would send it held on that side.
func TestTransferKeepsTheSettingExactly(t *testing.T) {
	rnd := rand.New(rand.NewPCG(7, 2026))
	for range 300 {
		d := newWheelDrive(t, rnd)
		by := hundredths(rnd.IntN(61) - 30)
		other := by.Neg()
		if d.near.float != d.far.float {
			other = by
		}
		before := work(t, d.sheet, d.head+d.packs)
		after := work(t, d.sheet, d.head+d.packs+fitText([2]quantity.Exact{d.fits[0].Add(by), d.fits[1].Add(other)}))
		w0, h0, s0 := stands(t, before)
		w1, h1, s1 := stands(t, after)
		if !s0.Equal(s1) {
			t.Fatalf("%s, %s, %s: the setting goes from %s to %s", d.near.place, d.far.place, d.state, s0, s1)
		}
		want := by.Times(quantity.Whole(int64(d.near.gear)))
		if !w1.Sub(w0).Equal(want) || !h1.Sub(h0).Equal(want) {
			t.Fatalf("%s, %s, %s: %s more moves the wheel by %s, want %s", d.near.place, d.far.place, d.state, by, w1.Sub(w0), want)
		}
	}
}

// A random ring's advice, done as it says, does what it says: the wheel and the
// setting go where the plan says, thicker is called add, and no word says a way
// opposite to the one that the wheel takes. A ring too wide brings the wheel
// TOWARD the pinion, one too tight AWAY.
func TestAdviceNeverSaysTheOppositeWay(t *testing.T) {
	rnd := rand.New(rand.NewPCG(8, 2026))
	plans := 0
	for range 200 {
		d := newWheelDrive(t, rnd)
		middle := 5 + rnd.IntN(40)
		at := func() string { return mmText(hundredths(middle + rnd.IntN(3))) }
		ringText := fmt.Sprintf("  - {step: backlash, at: {0 deg: [%s], 90 deg: [%s], 180 deg: [%s], 270 deg: [%s]}}\n", at(), at(), at(), at())
		job := d.head + d.packs + ringText
		res := work(t, d.sheet, job)
		c := of(t, res, "backlash").Check
		if c.Reshim == nil {
			continue
		}
		w0, _, s0 := stands(t, res)
		for _, p := range c.Reshim.Plans {
			plans++
			done := work(t, d.sheet, job+fitText([2]quantity.Exact{p.Changes[0].After, p.Changes[1].After}))
			w1, _, s1 := stands(t, done)
			same(t, "the wheel's move", w1.Sub(w0), p.Move)
			same(t, "the setting", s1.Sub(s0), p.Setting)
			way, not := "TOWARD the pinion", "AWAY"
			if p.Move.Sign() > 0 {
				way, not = not, way
			}
			if !strings.Contains(p.Words, "wheel goes "+way) || strings.Contains(p.Words, not) {
				t.Errorf("the wheel moves by %s, and it is said: %s", p.Move, p.Words)
			}
			if tooWide := c.Verdict == ring.OutHigh; c.Verdict != ring.TooClose && tooWide != (p.Move.Sign() < 0) {
				t.Errorf("a ring that is %s moves the wheel by %s", c.Verdict, p.Move)
			}
			for i, change := range p.Changes {
				add := fmt.Sprintf("add %s %s", change.By().Abs().ShowUnit(quantity.MM, 3), change.Place)
				if said := strings.Contains(p.Words, add); said != (change.By().Sign() > 0) {
					t.Errorf("pack %d changes by %s, and it is said: %s", i, change.By(), p.Words)
				}
			}
			e := of(t, done, "backlash").Check.Expected
			same(t, "the expected move", e.Wheel, p.Move)
			for i := range p.Points {
				same(t, "a point to expect", e.Points[i].After, p.Points[i].After)
			}
		}
	}
	if plans < 100 {
		t.Errorf("only %d plans were tried", plans)
	}
}

// A pack fitted off its figure says in words what the drive then shows: tighter
// or looser as the setting went, the wheel the way that it went.
func TestErrorWordsSayWhatHappens(t *testing.T) {
	rnd := rand.New(rand.NewPCG(9, 2026))
	for range 300 {
		d := newWheelDrive(t, rnd)
		which := rnd.IntN(2)
		off := hundredths(1 + rnd.IntN(4)) // less than the setting, so that the state holds
		if rnd.IntN(2) == 0 {
			off = off.Neg()
		}
		end := []wheelEnd{d.near, d.far}[which]
		near := worked(t, work(t, d.sheet, d.head+d.packs), "near pack")
		fits := [2]quantity.Exact{near, d.fits[1]}
		fits[1] = worked(t, work(t, d.sheet, d.head+d.packs+fitText(fits)), "far pack")
		before := work(t, d.sheet, d.head+d.packs+fitText(fits))
		fits[which] = fits[which].Add(off)
		after := work(t, d.sheet, d.head+d.packs+fitText(fits))
		w0, _, s0 := stands(t, before)
		w1, _, s1 := stands(t, after)
		same(t, "the setting", s1.Sub(s0), off.Times(quantity.Whole(int64(end.float))))
		says := of(t, after, []string{"near pack", "far pack"}[which]).Pack.ErrorDoes
		for word, is := range map[string]bool{
			"looser": s1.Sub(s0).Sign() > 0, "tighter": s1.Sub(s0).Sign() < 0,
			"AWAY": w1.Sub(w0).Sign() > 0, "TOWARD": w1.Sub(w0).Sign() < 0,
		} {
			if strings.Contains(says, word) != is {
				t.Errorf("%s in state %s off by %s: setting %s, wheel %s, and it is said: %s", end.place, d.state, off, s1.Sub(s0), w1.Sub(w0), says)
			}
		}
		if g := w1.Sub(w0); !g.IsZero() && g.Sign() != off.Sign()*end.gear {
			t.Errorf("%s off by %s moves the wheel by %s in state %s", end.place, off, g, d.state)
		}
	}
}
