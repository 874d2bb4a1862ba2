package register

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"shimwright/calc/quantity"
	"shimwright/ingest/fact"
)

func exact() cmp.Option {
	return cmp.Comparer(func(a, b quantity.Value) bool { return a.String() == b.String() && a.Places() == b.Places() })
}

func heap(size string, count int) fact.Heap { return fact.Heap{Size: figure(size), Count: count} }

// held is a tray in short: "0.05 mm 20, 0.30 mm 8".
func held(r *Register, tray string) string {
	var out []string
	for _, l := range r.Leaves(tray) {
		out = append(out, fmt.Sprintf("%s %d", l.Size, l.Count))
	}
	return strings.Join(out, ", ")
}

func shims(t testing.TB) *Register {
	t.Helper()
	return then(t, New(), "stock/shims", at(1, 8), fact.Counted{Leaves: []fact.Heap{heap("1.00 mm", 3), heap("0.05 mm", 20), heap("0.30 mm", 8)}})
}

func TestStock(t *testing.T) {
	r := shims(t)
	for _, c := range []struct {
		f    fact.Fact
		want string
	}{
		{fact.TakenOut{Job: "1", Step: "p", Leaves: []fact.Heap{heap("1.00 mm", 1), heap("0.30 mm", 2)}}, "0.05 mm 20, 0.30 mm 6, 1.00 mm 2"},
		{fact.PutBack{Job: "1", Step: "p", Leaves: []fact.Heap{heap("0.300 mm", 1)}}, "0.05 mm 20, 0.30 mm 7, 1.00 mm 2"},
		{fact.Received{Leaves: []fact.Heap{heap("3 thou", 10)}}, "0.05 mm 20, 3 thou 10, 0.30 mm 7, 1.00 mm 2"},
		{fact.TakenOut{Leaves: []fact.Heap{heap("0.0762 mm", 4)}}, "0.05 mm 20, 3 thou 6, 0.30 mm 7, 1.00 mm 2"},
		{fact.TakenOut{Leaves: []fact.Heap{heap("1.00 mm", 5)}}, "0.05 mm 20, 3 thou 6, 0.30 mm 7, 1.00 mm -3"},
		{fact.Counted{Leaves: []fact.Heap{heap("1.00 mm", 1)}}, "0.05 mm 20, 3 thou 6, 0.30 mm 7, 1.00 mm 1"},
		{fact.Counted{Leaves: []fact.Heap{heap("0.30 mm", 2), heap("0.30 mm", 3)}, All: true}, "0.05 mm 0, 3 thou 0, 0.30 mm 5, 1.00 mm 0"},
	} {
		before := held(r, "shims")
		next := then(t, r, "stock/shims", at(2, 8), c.f)
		if got := held(next, "shims"); got != c.want {
			t.Errorf("after %+v: %s, want %s", c.f, got, c.want)
		}
		if held(r, "shims") != before {
			t.Errorf("%+v changed the register it came from", c.f)
		}
		r = next
	}
}

func TestLowAndOffer(t *testing.T) {
	r := then(t, shims(t), "stock/shims", at(1, 9), fact.LowLimit{Size: figure("0.30 mm"), Count: 8}, fact.LowLimit{Size: figure("0.05 mm"), Count: 5})
	if low := r.Low(); len(low) != 0 {
		t.Errorf("%+v", low)
	}
	r = then(t, r, "stock/shims", at(1, 9), fact.TakenOut{Leaves: []fact.Heap{heap("0.30 mm", 1), heap("1.00 mm", 4)}},
		fact.Counted{Leaves: []fact.Heap{{Size: figure("0.05 mm"), Measured: pointer("0.048 mm"), Count: 6}}})
	var said []string
	for _, l := range r.Low() {
		said = append(said, l.Say())
	}
	if d := cmp.Diff([]string{"shims, 0.30 mm: 7 left, fewer than 8: order more.",
		"shims, 1.00 mm: 1 more fitted than counted: count them again (shimwright stock count)."}, said); d != "" {
		t.Error(d)
	}
	want := fact.Offered{Trays: map[string][]fact.Leaf{"shims": {{Size: figure("0.048 mm"), Count: 6}, {Size: figure("0.30 mm"), Count: 7}, {Size: figure("1.00 mm"), Count: 0}}}}
	if d := cmp.Diff(want, r.Offer(), exact()); d != "" {
		t.Error(d)
	}
}

func leaves(sizes ...string) []quantity.Value {
	var out []quantity.Value
	for _, s := range sizes {
		out = append(out, figure(s))
	}
	return out
}

// A pack fitted anew puts the old leaves back; a measured leaf is found by
// either figure; a leaf that the tray does not have is told.
func TestExchange(t *testing.T) {
	r := then(t, shims(t), "stock/shims", at(1, 9), fact.Counted{Leaves: []fact.Heap{{Size: figure("0.30 mm"), Measured: pointer("0.298 mm"), Count: 8}}})
	facts, words := r.Exchange("shims", "0017", "pinion pack", leaves("1.00 mm"), leaves("0.298 mm", "1.000 mm", "0.30 mm", "0.12 mm", "0.12 mm"))
	want := []fact.Fact{
		fact.PutBack{Job: "0017", Step: "pinion pack", Leaves: []fact.Heap{heap("1.00 mm", 1)}},
		fact.TakenOut{Job: "0017", Step: "pinion pack", Leaves: []fact.Heap{heap("0.30 mm", 2), heap("1.00 mm", 1)}},
	}
	if d := cmp.Diff(want, facts, exact()); d != "" {
		t.Error(d)
	}
	if words != "Tray shims has no leaf of 0.12 mm: its stock was not changed for it." {
		t.Error(words)
	}
	if got := held(then(t, r, "stock/shims", at(2, 8), facts...), "shims"); got != "0.05 mm 20, 0.30 mm 6, 1.00 mm 3" {
		t.Error(got)
	}
	if facts, words := r.Exchange("none", "1", "p", nil, leaves("1 mm")); len(facts) != 0 || words == "" {
		t.Error(facts, words)
	}
	if facts, words := r.Exchange("shims", "1", "p", nil, nil); facts != nil || words != "" {
		t.Error(facts, words)
	}
}

func TestFromFile(t *testing.T) {
	l := Lists{
		Pieces: []FilePiece{{"山", figure("12 mm"), nil, nil}, {"S-31", figure("75.004 mm"), pointer("0.002 mm"), pointer("2")}},
		Gauges: []FileGauge{{"D07", "depth gauge", pointer("0.02 mm")}, {"P01", "spring balance", nil}},
		Trays:  map[string][]fact.Leaf{"shims": {{Size: figure("0.30 mm"), Count: 8}, {Size: figure("0.300 mm"), Count: 2}}, "none": nil},
	}
	now := at(1, 8)
	all := func(r *Register) (*Register, []string) {
		facts, words := FromFile(l, r, now)
		for _, f := range facts {
			r = then(t, r, f.Subject, now, f.Fact)
		}
		if again, _ := FromFile(l, r, now); len(again) != 0 {
			t.Errorf("asked again, it gives %v", again)
		}
		return r, words
	}
	strange := `The bench file's piece "\u5c71" is not kept in the register: the piece's number, "\u5c71", holds a character that takes no room or the room of two: write it in plain letters and digits.`
	told := func(when string, r *Register, want ...string) *Register {
		t.Helper()
		r, words := all(r)
		if d := cmp.Diff(append([]string{strange}, want...), words); d != "" {
			t.Errorf("%s: %s", when, d)
		}
		return r
	}
	r := told("the first time", New())
	if p, err := r.Piece("S-31", now); err != nil || !p.FromFile || held(r, "shims") != "0.30 mm 10" || len(r.Gauges(now)) != 2 {
		t.Fatal(p, err, held(r, "shims"))
	}
	now = at(2, 8)
	r = then(t, r, "stock/shims", now, fact.TakenOut{Leaves: []fact.Heap{heap("0.30 mm", 3)}})
	told("leaves were fitted", r)
	r = then(t, r, "piece/S-31", now, post("75.006 mm"))
	r = then(t, r, "gauge/D07", now, fact.GaugeCertified{GaugeKind: "depth gauge", Limit: pointer("0.03 mm")})
	piece := "Piece S-31 is 75.004 mm ± 0.002 mm (k 2) in the bench file and 75.006 mm ± 0.002 mm (k 2) in the register since 2026-03-02: the register counts. Take its line out of the file, or certify it anew (shimwright pieces certify)."
	gauge := "Gauge D07 is a depth gauge with the limit of error 0.02 mm in the bench file and a depth gauge with the limit of error 0.03 mm in the register since 2026-03-02: the register counts. Correct the file, or certify it anew (shimwright gauges certify)."
	r = told("certified anew", r, piece, gauge)
	l.Trays["shims"] = []fact.Leaf{{Size: figure("0.30 mm"), Count: 12}, {Size: figure("0.10 mm"), Count: 5}}
	r = told("the file's count changed", r, piece, gauge,
		"Tray shims differs from the bench file (0.30 mm: 12 in the file, 7 in the register): the register counts. Count them (shimwright stock count), and take the list out of the file.")
	if got := held(r, "shims"); got != "0.10 mm 5, 0.30 mm 7" {
		t.Error(got)
	}
	r = then(t, r, "piece/S-31", now, fact.Withdrawn{Reason: "bent"})
	l.Trays, l.Gauges = nil, nil
	told("withdrawn", r, "Piece S-31 stands in the bench file and is withdrawn since 2026-03-02: bent. Take its line out.")
}

// Facts in any order, of any figures, give a register or an error, never a
// panic; a refused one changes nothing, and what is offered is never below
// nought.
func FuzzFold(f *testing.F) {
	f.Add([]byte{0, 1, 2, 3, 4, 5, 6, 7, 8, 9}, "S-31", "75.004 mm", 3, "dropped")
	f.Add([]byte{0x15, 0x26, 0x37, 0x48}, "A\x1b", "0 N", -1, "")
	f.Add([]byte{0x70, 0x71, 0x72}, strings.Repeat("é", 10<<10), "1 in", 1<<40, strings.Repeat("x", 10<<10))
	f.Fuzz(func(t *testing.T, order []byte, name, size string, count int, reason string) {
		v := pointer("0.30 mm")
		_ = v.UnmarshalText([]byte(size))
		h := []fact.Heap{{Size: *v, Count: count, Measured: v}, heap("0.30 mm", 1)}
		kinds := []fact.Fact{
			fact.Certified{Size: *v, Standard: reason}, fact.Certified{Size: *v, Uncertainty: v, K: v}, fact.Withdrawn{Reason: reason},
			fact.GaugeCertified{GaugeKind: reason, Limit: v}, fact.Checked{Piece: "S-31", Size: figure("1 mm"), Reading: *v}, fact.ZeroChecked{Reading: *v},
			fact.Counted{Leaves: h}, fact.Counted{Leaves: h, All: true, FromFile: true}, fact.Received{Leaves: h}, fact.TakenOut{Leaves: h},
			fact.PutBack{Leaves: h}, fact.LowLimit{Size: *v, Count: count}, fact.Approved{Digest: reason, By: fact.Signature{Initials: name}}, fact.Looked{},
		}
		subjects := []string{"piece/" + name, "gauge/" + name, "stock/" + name, "sheet/" + name, "piece/S-31", "gauge/D07", "stock/shims", name}
		r := New()
		for i, o := range order {
			next, err := r.Then(subjects[int(o>>4)%len(subjects)], at(1, i%24), kinds[int(o&15)%len(kinds)])
			if err != nil && next != r {
				t.Fatal("refused, it gives another register")
			}
			r = next
		}
		for _, when := range []time.Time{{}, at(1, 5), at(2, 0)} {
			for _, p := range r.Pieces(when) {
				_ = p.Usable(when)
			}
			for _, g := range r.Gauges(when) {
				_ = g.Usable(when)
				_, _ = r.Drift(g.ID, when)
			}
		}
		for _, tray := range r.Offer().Trays {
			for _, l := range tray {
				if l.Count < 0 {
					t.Fatal("fewer than none are offered")
				}
			}
		}
		_ = r.Low()
		_, _ = r.Exchange("shims", "1", "p", []quantity.Value{*v}, leaves("0.30 mm"))
		facts, _ := FromFile(Lists{Pieces: []FilePiece{{ID: name, Size: *v}}, Gauges: []FileGauge{{ID: name, Kind: reason, Limit: v}},
			Trays: map[string][]fact.Leaf{name: {{Size: *v, Count: count}}}}, r, at(3, 0))
		for _, a := range facts {
			if _, err := r.Then(a.Subject, at(3, 0), a.Fact); err != nil {
				t.Fatalf("a fact of the file is refused: %v", err)
			}
		}
	})
}
