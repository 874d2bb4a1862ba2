package network_test

import (
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"shimwright/calc/network"
	"shimwright/calc/quantity"
)

// The network against rigid drives: what it says of settings, positions, solved
// packs and moves, compared with what they measure.

// measured puts the drive's own measures into a form.
func (d *rigid) measured(f network.Form, lengths map[string]network.Length) (sum quantity.Ratio) {
	for _, t := range f.Lengths {
		l := lengths[t.Name]
		sum = sum.Add(t.Coef.Mul(quantity.Whole(d.measure(l.From, l.To))))
	}
	for _, t := range f.Settings {
		i := slices.IndexFunc(d.bodies, func(b *body) bool { return b.shaft == t.Name })
		sum = sum.Add(t.Coef.Mul(quantity.Whole(d.float(d.bodies[i]))))
	}
	return sum
}

// forms are all that the network says of a drive in its states.
type forms struct {
	lengths  map[string]network.Length
	chords   []string
	packs    []network.Length
	settings map[string]network.Form
	position map[string]network.Form
	through  map[string]network.Form
}

func formsOf(t *testing.T, d *rigid, n *network.Net) forms {
	t.Helper()
	f := forms{map[string]network.Length{}, nil, nil, map[string]network.Form{}, map[string]network.Form{}, map[string]network.Form{}}
	must := func(form network.Form, err error) network.Form {
		if err != nil {
			t.Fatal(err)
		}
		return form
	}
	var states []network.State
	for _, b := range d.bodies {
		if b.shaft != "" {
			states = append(states, b.state)
			f.settings[b.shaft] = must(n.Setting(b.shaft))
		}
	}
	for _, l := range n.Lengths() {
		f.lengths[l.Name] = l
		switch l.Kind {
		case network.Pack:
			f.packs = append(f.packs, l)
		case network.Wanted, network.Check:
			f.chords = append(f.chords, l.Name)
			f.position[l.Name] = must(n.Position(l.Name, states...))
			f.through[l.Name] = must(n.Through(f.position[l.Name]))
		}
	}
	return f
}

// agree compares every setting and position with the drive's own measures.
func (f forms) agree(t *testing.T, d *rigid) {
	t.Helper()
	for _, b := range d.bodies {
		if b.shaft == "" {
			continue
		}
		if got := d.measured(f.settings[b.shaft], f.lengths); !got.Equal(quantity.Whole(d.float(b))) {
			t.Errorf("setting of %s is %s, measured %d", b.shaft, got, d.float(b))
		}
	}
	for _, name := range f.chords {
		want := quantity.Whole(d.measure(f.lengths[name].From, f.lengths[name].To))
		if got := d.measured(f.position[name], f.lengths); !got.Equal(want) {
			t.Errorf("%s is %s, measured %s", name, got, want)
		}
		if got := d.measured(f.through[name], f.lengths); !got.Equal(want) {
			t.Errorf("%s through its settings is %s, measured %s", name, got, want)
		}
	}
}

// agreeSolved solves every chord and setting for every pack on it and compares
// with the pack's own thickness.
func (f forms) agreeSolved(t *testing.T, d *rigid, pack network.Length) (solved int) {
	t.Helper()
	try := func(what string, form network.Form, is int64) {
		loop, err := network.Solve(form, pack.Name)
		if form.Of(pack.Name).IsZero() {
			if err == nil {
				t.Errorf("%s was solved for %s, which is not on it", what, pack.Name)
			}
			return
		}
		if err != nil {
			t.Errorf("%s for %s: %v", what, pack.Name, err)
			return
		}
		got := loop.PerWanted.Mul(quantity.Whole(is)).Add(d.measured(loop.Rest, f.lengths))
		if want := quantity.Whole(d.measure(pack.From, pack.To)); !got.Equal(want) {
			t.Errorf("%s for %s gives %s, measured %s", what, pack.Name, got, want)
		}
		solved++
	}
	for _, name := range f.chords {
		is := d.measure(f.lengths[name].From, f.lengths[name].To)
		try(name, f.position[name], is)
		try(name+" through its settings", f.through[name], is)
	}
	for _, b := range d.bodies {
		if b.shaft != "" {
			try("setting of "+b.shaft, f.settings[b.shaft], d.float(b))
		}
	}
	return solved
}

// agreeMoved makes a pack thicker and compares what every setting and chord
// does with what the forms say one more does.
func (f forms) agreeMoved(t *testing.T, d *rigid, pack network.Length, by int64) {
	t.Helper()
	before := map[string]int64{}
	each := func(visit func(name string, form network.Form, is int64)) {
		for _, b := range d.bodies {
			if b.shaft != "" {
				visit(b.shaft, f.settings[b.shaft], d.float(b))
			}
		}
		for _, name := range f.chords {
			visit(name, f.through[name], d.measure(f.lengths[name].From, f.lengths[name].To))
		}
	}
	each(func(name string, _ network.Form, is int64) { before[name] = is })
	d.thicken(pack, by)
	each(func(name string, form network.Form, is int64) {
		if want := form.Of(pack.Name).Mul(quantity.Whole(by)); !want.Equal(quantity.Whole(is - before[name])) {
			t.Errorf("%s thicker by %d moves %s by %d, want %s", pack.Name, by, name, is-before[name], want)
		}
	})
}

// agreeRow compares a pack's row on each shaft with the forms, which have been
// compared with the drive. A gear whose place hangs on another shaft too is
// refused: one state is not enough.
func (f forms) agreeRow(t *testing.T, d *rigid, n *network.Net, pack string) (rows int) {
	t.Helper()
	for _, b := range d.bodies {
		sh, ok := n.Shaft(b.shaft)
		if !ok {
			continue
		}
		row, err := n.Row(pack, b.shaft, b.state)
		if err != nil && !strings.Contains(err.Error(), "crosses a touch of") {
			t.Errorf("row of %s on %s: %v", pack, b.shaft, err)
		}
		if err != nil {
			continue
		}
		if !row.Float.Equal(f.settings[b.shaft].Of(pack)) || !row.Gear.Equal(f.through[sh.Gear].Of(pack)) {
			t.Errorf("row of %s on %s: %v", pack, b.shaft, row)
		}
		rows++
	}
	return rows
}

// Two thousand drives, the same ones each time.
func TestRigidDrives(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 7))
	var chords, packs, solved, rows, crossed, preloaded, shafts int
	for drive := range 2000 {
		d := newRigid(rng)
		d.seat()
		n := mustBuild(t, d.spec)
		f := formsOf(t, d, n)
		f.agree(t, d)
		for _, p := range f.packs {
			solved += f.agreeSolved(t, d, p)
			rows += f.agreeRow(t, d, n, p.Name)
			f.agreeMoved(t, d, p, twentieth*(1+rng.Int64N(50)))
			f.agree(t, d)
		}
		chords, packs = chords+len(f.chords), packs+len(f.packs)
		for _, form := range f.position {
			crossed += min(1, len(form.Settings))
		}
		for _, b := range d.bodies {
			if b.shaft != "" {
				shafts++
				if d.float(b) < 0 {
					preloaded++
				}
			}
		}
		if t.Failed() {
			t.Fatalf("drive %d: %+v", drive, d.spec)
		}
	}
	t.Logf("%d chords (%d across a touch), %d packs, %d solved, %d rows, %d shafts (%d preloaded)",
		chords, crossed, packs, solved, rows, shafts, preloaded)
}

// Turning a whole axis round, or walking the other touch, or listing lengths in
// another order, changes no pack and no position.
func TestTurnedRoundNothingChanges(t *testing.T) {
	rng := rand.New(rand.NewPCG(2, 11))
	for range 500 {
		d := newRigid(rng)
		d.seat()
		shuffled := copySpec(d.spec)
		rng.Shuffle(len(shuffled.Lengths), func(i, j int) {
			shuffled.Lengths[i], shuffled.Lengths[j] = shuffled.Lengths[j], shuffled.Lengths[i]
		})
		as := formsOf(t, d, mustBuild(t, d.spec))
		for what, spec := range map[string]network.Spec{
			"turned round": turned(d.spec), "in another order": shuffled,
			"located by A": locatedBy(d.spec, "A"), "located by B": locatedBy(d.spec, "B"),
		} {
			is := formsOf(t, d, mustBuild(t, spec))
			for shaft, f := range as.settings {
				sameTerms(t, what+", setting of "+shaft, f, is.settings[shaft])
			}
			for name, f := range as.through {
				sameTerms(t, what+", "+name, f, is.through[name])
			}
		}
	}
}

func sameTerms(t *testing.T, what string, a, b network.Form) {
	t.Helper()
	if len(a.Lengths) != len(b.Lengths) {
		t.Errorf("%s: %v, was %v", what, b.Lengths, a.Lengths)
		return
	}
	for _, term := range a.Lengths {
		if !b.Of(term.Name).Equal(term.Coef) {
			t.Errorf("%s: %s counts %s, was %s", what, term.Name, b.Of(term.Name), term.Coef)
		}
	}
}
