package overhaul_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"shimwright/calc/network"
	"shimwright/calc/overhaul"
	"shimwright/calc/sheet"
)

// A rig is a drive with a size for every length, worked by laying its faces
// out on a line. It knows nothing of forms and coefficients: it is there to
// prove them.
type rig struct {
	sheet *sheet.Sheet
	size  map[string]float64
}

func newRig(s *sheet.Sheet) rig {
	r := rig{s, map[string]float64{}}
	for i, l := range s.Net.Lengths() {
		if l.Kind == network.Found || l.Kind == network.Pack {
			r.size[l.Name] = float64(100 + 7*i)
		}
	}
	return r
}

// between is the distance between two faces, with gap open at the first
// bearing of a shaft and nought at the first bearing of every other.
func (r rig) between(from, to, shaft string, gap float64) (float64, bool) {
	at := map[string]float64{from: 0}
	for grown := true; grown; {
		grown = false
		lay := func(a, b string, d float64) {
			if x, ok := at[a]; ok {
				if _, ok := at[b]; !ok {
					at[b], grown = x+d, true
				}
			}
		}
		edge := func(a, b string, d float64) { lay(a, b, d); lay(b, a, -d) }
		for _, l := range r.sheet.Net.Lengths() {
			if d, ok := r.size[l.Name]; ok {
				edge(l.From, l.To, d)
			}
		}
		for _, s := range r.sheet.Shafts {
			if len(s.Bearings) == 2 {
				d := 0.0
				if s.Name == shaft {
					d = gap
				}
				edge(s.Bearings[0].From, s.Bearings[0].To, d)
			}
		}
	}
	d, ok := at[to]
	return d, ok
}

// setting is the float of a shaft: what its second touch opens to while its
// first is closed.
func (r rig) setting(shaft sheet.Shaft) float64 {
	d, _ := r.between(shaft.Bearings[1].From, shaft.Bearings[1].To, shaft.Name, 0)
	return d
}

// judged is a wanted figure as it stands, in a state.
func (r rig) judged(name string, states []network.State) float64 {
	w, ok := r.sheet.WantedNamed(name)
	of := name
	if ok {
		of = w.SettingOf
	}
	if shaft, is := r.sheet.ShaftNamed(of); is {
		return r.setting(shaft)
	}
	l, _ := r.sheet.Net.Length(name)
	shaft, gap := "", 0.0
	for _, st := range states {
		sh, _ := r.sheet.ShaftNamed(st.Shaft)
		shaft = st.Shaft
		f := r.setting(sh)
		switch {
		case st.How == network.Closed:
			gap = f * sh.Bearings[0].Share.Float()
		case st.Bearing != sh.Bearings[0].Name:
			gap = f
		}
	}
	d, _ := r.between(l.From, l.To, shaft, gap)
	return d
}

// rests are the lengths a check rests on: each is made one longer, and a
// figure that it judges moves.
func (r rig) rests(c *sheet.Check) map[string]bool {
	names := slices.Clone(c.Of)
	if c.Before != "" {
		names = append(names, c.Before)
	}
	out := map[string]bool{}
	for _, name := range names {
		was := r.judged(name, c.State)
		for l := range r.size {
			r.size[l]++
			if math.Abs(r.judged(name, c.State)-was) > 1e-9 {
				out[l] = true
			}
			r.size[l]--
		}
	}
	return out
}

// An op is one thing done at the bench, as entries.
type op struct {
	entries []sheet.Entry
	changes []string // lengths whose metal it changes
	trial   bool     // an old or trial pack was fitted
	check   string   // or the check that was taken
	spots   []string
}

func metalOps(t testing.TB, s *sheet.Sheet, names []string) []op {
	var out []op
	read := func(line string) []sheet.Entry {
		return parseEntries(t, s, "readings for: "+s.ID+"\nentries:\n  - "+line+"\n").List
	}
	for _, st := range s.Steps() {
		if st.Pack != nil {
			out = append(out, op{
				entries: read("{step: " + st.Name + ", fit: {measured: 1.25 mm}}"),
				changes: []string{st.Pack.Length}, trial: st.Pack.Before,
			})
		}
	}
	first := s.Steps()[0].Name
	for _, name := range names {
		out = append(out, op{
			entries: read("{step: " + first + ", metal changed: [" + name + "], reason: reseated}"),
			changes: []string{name},
		})
	}
	return out
}

func checkOps(t testing.TB, s *sheet.Sheet) []op {
	var out []op
	for _, st := range s.Steps() {
		if st.Check == nil {
			continue
		}
		body := "presses: [12.0 N, 12.0 N, 12.0 N, 12.0 N]"
		spots := st.Check.Spots()
		switch {
		case st.Check.What == sheet.Marking:
			body, spots = "seen: {drive: central, coast: central}", []string{""}
		case len(spots) > 1:
			body = "at: {"
			for _, spot := range spots {
				body += spot + ": [" + strings.TrimSuffix(strings.Repeat("0.20 mm, ", st.Check.Each), ", ") + "], "
			}
			body = strings.TrimSuffix(body, ", ") + "}"
		}
		all := parseEntries(t, s, "readings for: "+s.ID+"\nentries:\n  - {step: "+st.Name+", "+body+"}\n").List
		for _, spot := range spots {
			var of []sheet.Entry
			for _, e := range all {
				if e.Spot == spot {
					of = append(of, e)
				}
			}
			out = append(out, op{entries: of, check: st.Name, spots: []string{spot}})
		}
	}
	return out
}

// lengthsOf are the lengths with metal of their own.
func lengthsOf(s *sheet.Sheet) []string {
	var out []string
	for _, l := range s.Net.Lengths() {
		if l.Kind == network.Found || l.Kind == network.Pack {
			out = append(out, l.Name)
		}
	}
	return out
}

// Whatever order packs are fitted, metal is changed and checks are taken in, a
// spot is stale exactly when metal was changed after it was pressed that moves
// a figure the check judges, in its state.
func TestStaleIsWhatMovesTheJudgedFigure(t *testing.T) {
	closed := "state: {wheel shaft: closed}\n        gauge: dial indicator"
	for _, c := range []struct {
		name, sheet string
		swaps       []string
	}{
		{"closed", "rd3.yaml", nil},
		{"held against the back", "rd3.yaml", []string{closed, strings.Replace(closed, "closed", "held against wheel-back side", 1)}},
		{"held against the tooth side", "rd3.yaml", []string{closed, strings.Replace(closed, "closed", "held against tooth side", 1)}},
		{"in inches", "br7.yaml", nil},
		{"helical", "hx4.yaml", nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := readSheet(t, c.sheet, c.swaps...)
			r := newRig(s)
			rests := map[string]map[string]bool{}
			for _, st := range s.Steps() {
				if st.Check != nil {
					rests[st.Name] = r.rests(st.Check)
				}
			}
			metal, checks := metalOps(t, s, lengthsOf(s)), checkOps(t, s)
			rng := rand.New(rand.NewPCG(11, uint64(len(c.name))))
			for range 150 {
				ops := slices.Clone(checks) // each spot once, so that it can be stale
				for range 1 + rng.IntN(12) {
					if rng.IntN(3) == 0 {
						ops = append(ops, checks[rng.IntN(len(checks))])
						continue
					}
					ops = append(ops, metal[rng.IntN(len(metal))])
				}
				holdStale(t, s, ops, rests)
			}
		})
	}
}

// holdStale works the ops in their order and compares what is stale.
func holdStale(t *testing.T, s *sheet.Sheet, ops []op, rests map[string]map[string]bool) {
	t.Helper()
	e := sheet.Entries{}
	stale := map[string]bool{} // check and spot
	var done []string
	for _, o := range ops {
		e.List = append(e.List, o.entries...)
		done = append(done, fmt.Sprint(o.check, o.spots, o.changes))
		for _, spot := range o.spots {
			stale[o.check+"|"+spot] = false
		}
		for _, st := range s.Steps() {
			if st.Check == nil || st.Check.Before != "" && !o.trial {
				continue // what is done to the drive later leaves the build before as it was
			}
			if slices.ContainsFunc(o.changes, func(l string) bool { return rests[st.Name][l] }) {
				for key := range stale {
					if strings.HasPrefix(key, st.Name+"|") {
						stale[key] = true
					}
				}
			}
		}
	}
	res, err := overhaul.Work(s, e)
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range res.Steps {
		if r.Check == nil {
			continue
		}
		any := false
		for _, p := range r.Check.Points {
			want := stale[r.Step.Name+"|"+p.Spot]
			any = any || want
			if p.Stale != want {
				t.Fatalf("%s %s is stale %t, want %t, after\n %s", r.Step.Name, p.Spot, p.Stale, want, strings.Join(done, "\n "))
			}
		}
		any = any || stale[r.Step.Name+"|"]
		if (r.Status == overhaul.Stale) != any {
			t.Fatalf("%s is %s, want stale %t, after\n %s", r.Step.Name, r.Status, any, strings.Join(done, "\n "))
		}
	}
}

// The rig itself agrees with what is known of places: held against the back the
// closing pack moves no wheel, closed it does.
func TestRigKnowsTheStates(t *testing.T) {
	s := readSheet(t, "rd3.yaml")
	r := newRig(s)
	for how, want := range map[string]bool{"closed": true, "wheel-back side": false, "tooth side": true} {
		st := network.State{Shaft: "wheel shaft", How: network.HeldAgainst, Bearing: how}
		if how == "closed" {
			st = network.State{Shaft: "wheel shaft", How: network.Closed}
		}
		rests := r.rests(&sheet.Check{Of: []string{"wheel distance"}, State: []network.State{st}})
		if rests["closing pack"] != want {
			t.Errorf("%s: the wheel rests on the closing pack: %t", how, rests["closing pack"])
		}
		if rests["pinion pack"] || rests["wheel pack"] != (how != "tooth side") {
			t.Errorf("%s: rests on %v", how, rests)
		}
	}
}
