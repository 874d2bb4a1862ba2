package remedy

import (
	"errors"
	"fmt"
	"strings"
	"testing"

	"github.com/shopspring/decimal"

	"shimwright/calc/network"
	"shimwright/calc/quantity"
	"shimwright/calc/ring"
	"shimwright/calc/stock"
)

// A draw makes figures out of fuzzed bytes, tame ones mostly and wild ones now
// and then.
type draw struct{ bytes []byte }

func (d *draw) byte() byte {
	if len(d.bytes) == 0 {
		return 0
	}
	b := d.bytes[0]
	d.bytes = d.bytes[1:]
	return b
}

func (d *draw) figure() quantity.Exact {
	n := int64(int8(d.byte()))<<4 + int64(d.byte()&15)
	switch b := d.byte(); {
	case b < 230:
		return quantity.FromDecimal(decimal.New(n, -2))
	case b < 240:
		return quantity.FromDecimal(decimal.New(n, -3)).Times(ratio(1, int64(b)))
	default:
		return quantity.FromDecimal(decimal.New(n, int32(int8(d.byte()))))
	}
}

func (d *draw) ratio() quantity.Ratio {
	return ratio(int64(int8(d.byte()))%4, int64(d.byte()%3)+1)
}

func (d *draw) leaves() []stock.Leaf {
	var out []stock.Leaf
	for range d.byte() % 5 {
		out = append(out, stock.Leaf{Size: d.figure(), Label: fmt.Sprint(d.byte() % 3), Count: int(int8(d.byte()))})
	}
	return out
}

func (d *draw) pack() Pack {
	p := Pack{Name: "p", Place: "under it", Row: network.Row{Float: d.ratio(), Gear: d.ratio()}, Figure: d.figure(), TrayName: []string{"", "one"}[d.byte()%2]}
	p.Leaves = d.leaves()
	if t, err := stock.NewTray(d.leaves()...); err == nil {
		p.Tray = t
	}
	p.Rules.AtLeast, p.Rules.AtMost = int(d.byte()%4), int(d.byte()%8)
	return p
}

func (d *draw) factor() Factor { return Factor{d.figure(), "fuzzed"} }

// told fails on an error that names no field.
func told(t *testing.T, err error) {
	t.Helper()
	var p *Problem
	if err != nil && (!errors.As(err, &p) || p.Field == "") {
		t.Errorf("error without a field: %v", err)
	}
}

func FuzzAdvise(f *testing.F) {
	f.Add([]byte{1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15, 16, 17, 18, 19, 20, 21, 22, 23, 24, 25, 26, 27, 28, 29, 30})
	f.Add([]byte(strings.Repeat("\x02\x0f\x00", 60)))
	f.Fuzz(func(t *testing.T, bytes []byte) {
		d := &draw{bytes}
		in := storyFive(t)
		in.Band = ring.Band{Low: d.figure(), High: d.figure()}
		in.U, in.Rule = d.figure(), ring.Rule(d.byte()%3)
		input := ring.Input{Band: in.Band, U: in.U, Rule: in.Rule}
		for i := range 3 + int64(d.byte()%3) {
			input.Points = append(input.Points, ring.Point{Angle: whole(i * 70), Repeats: []quantity.Exact{d.figure()}})
		}
		if r, err := ring.Judge(input); err == nil {
			in.Ring = r
		}
		if d.byte()%2 == 0 {
			in.Factor = d.factor()
		}
		for i := range in.Packs {
			if d.byte()%4 > 0 {
				in.Packs[i] = d.pack()
			}
		}
		in.Setting.Within = d.figure()
		if d.byte()%2 == 0 {
			x := d.figure()
			in.Setting.Figure = &x
		}
		a, err := Advise(in)
		told(t, err)
		for _, p := range a.Plans {
			if p.Setting.Abs().Cmp(in.Setting.Within) > 0 || !in.goodAt(p.MeanChange) {
				t.Errorf("a plan that does not pass: %s", p.Words)
			}
			if !p.Move.Mul(in.Factor.K).Equal(p.MeanChange) {
				t.Errorf("move %s × k %s is not %s", p.Move, in.Factor.K, p.MeanChange)
			}
			for _, c := range p.Changes {
				if c.After.Sign() < 0 {
					t.Errorf("negative pack: %s", c.Words)
				}
			}
		}
		if err == nil && a.Words == "" {
			t.Error("no words")
		}
	})
}

func FuzzOthers(f *testing.F) {
	f.Add([]byte("some bytes to make figures of, and then some more of them, to reach the end"))
	f.Fuzz(func(t *testing.T, bytes []byte) {
		d := &draw{bytes}
		change := SettingChange{Gear: "wheel", Packs: []Pack{d.pack(), d.pack()}, Now: d.figure(), Then: d.figure(), Within: d.figure(), Stay: d.figure()}
		for _, p := range change.Packs {
			change.Was = append(change.Was, network.Row{Float: p.Row.Float, Gear: d.ratio()})
		}
		_, err := KeepBacklash(change)
		told(t, err)
		_, err = Compare(Fit{Gear: "pinion", Predicted: d.figure(), Before: d.figure(), After: d.figure(), U: d.figure(), Factor: d.factor()})
		told(t, err)
		_, err = Learn([]Earlier{{d.figure(), d.figure(), d.figure()}, {d.figure(), d.figure(), d.figure()}}, d.factor())
		told(t, err)
		r := d.figure()
		_, err = Follow(PinionMove{Move: d.figure(), Ratio: &r, Step: d.figure()})
		told(t, err)
		_, err = Follow(PinionMove{Move: d.figure(), Pinion: int(d.byte()), Wheel: int(d.byte())})
		told(t, err)
		_, err = SamePinionTooth(int(d.byte()), int(d.byte()))
		told(t, err)
		_, err = PinionAngles(int(d.byte()), int(d.byte()), []quantity.Exact{d.figure(), d.figure()})
		told(t, err)
		s := Spacer{Name: "s", Float: d.ratio(), Band: ring.Band{Low: d.figure(), High: d.figure()}, U: d.figure(), Step: d.figure(), Cap: d.figure()}
		for range d.byte() % 5 {
			s.Trials = append(s.Trials, Trial{d.figure(), d.figure()})
		}
		a, err := NextSpacer(s)
		told(t, err)
		if a.Next != nil && (a.Next.Sign() <= 0 || a.Next.Sub(s.Trials[len(s.Trials)-1].Thickness).Sign() != a.Way) {
			t.Errorf("next %s after %v, way %d", a.Next, s.Trials, a.Way)
		}
		_, err = SealDrag(d.figure(), d.figure())
		told(t, err)
		_, err = CommonTable().Lookup([]Seen{{string(bytes), "high"}, {"coast", string(bytes)}}, ring.Verdict(d.byte()), true)
		told(t, err)
	})
}
