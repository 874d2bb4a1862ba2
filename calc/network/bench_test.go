package network_test

import (
	"fmt"
	"math/big"
	"testing"

	"github.com/shopspring/decimal"

	"shimwright/calc/network"
	"shimwright/calc/quantity"
)

// chain is a housing of many faces, one length after another: the longest walk
// that so many faces allow.
func chain(faces int) network.Spec {
	s := network.Spec{Axes: []network.Axis{{Name: "line"}}}
	for i := range faces {
		s.Axes[0].Faces = append(s.Axes[0].Faces, fmt.Sprint("face", i))
		if i == 0 {
			continue
		}
		s.Lengths = append(s.Lengths, network.Length{
			Name: fmt.Sprint("length", i), From: s.Axes[0].Faces[i-1], To: s.Axes[0].Faces[i], Kind: network.Found,
		})
	}
	s.Lengths = append(s.Lengths, network.Length{
		Name: "whole", From: s.Axes[0].Faces[0], To: s.Axes[0].Faces[faces-1], Kind: network.Wanted,
	})
	return s
}

// doubled are faces from a sheet's usual ten on, to far more than any sheet has.
func doubled() []int { return []int{10, 20, 40, 80, 160, 320, 640, 1280, 2560} }

func BenchmarkWalk(b *testing.B) {
	for _, faces := range doubled() {
		n := mustBuild(b, chain(faces))
		b.Run(fmt.Sprintf("n=%d", faces), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := n.Position("whole"); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func BenchmarkBuild(b *testing.B) {
	for _, faces := range doubled() {
		spec := chain(faces)
		b.Run(fmt.Sprintf("n=%d", faces), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				network.Build(spec)
			}
		})
	}
}

// BenchmarkLoop sums a loop of ten lengths, as a drive has, and of a hundred.
// Every third length is a mean of three presses, so that its sum ends in
// thirds; decimals has none of those. The peer is the same sum of the same
// lengths in math/big's rationals. walk and sum finds the way round first, by
// the names of the faces, as a worked sheet does; its floor is that sum of
// rationals with the way already known.
func BenchmarkLoop(b *testing.B) {
	for _, faces := range []int{11, 101} {
		n := mustBuild(b, chain(faces))
		form, err := n.Position("whole")
		if err != nil {
			b.Fatal(err)
		}
		for _, c := range []struct {
			name  string
			share int64
		}{{"decimals", 1}, {"thirds", 3}} {
			ours, rats := measured(b, form, c.share)
			want := sumRats(form, rats)
			if got := sumExact(form, ours); got.Round(12).String() != decimalOf(want) {
				b.Fatalf("ours %s, in rationals %s", got, want.RatString())
			}
			name := fmt.Sprintf("%d lengths, %s", faces-1, c.name)
			timed(b, name+": sum/ours", func() { sumExact(form, ours) })
			timed(b, name+": sum/peer=big.Rat", func() { sumRats(form, rats) })
			timed(b, name+": walk and sum/ours", func() {
				form, err := n.Position("whole")
				if err != nil {
					b.Fatal(err)
				}
				sumExact(form, ours)
			})
			timed(b, name+": walk and sum/floor=big.Rat-sum", func() { sumRats(form, rats) })
		}
	}
}

func timed(b *testing.B, name string, do func()) {
	b.Run(name, func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			do()
		}
	})
}

// measured gives each length of a form a size in thousandths of a millimetre,
// every third over share, as exact lengths and as rationals.
func measured(b *testing.B, form network.Form, share int64) (map[string]quantity.Exact, map[string]*big.Rat) {
	b.Helper()
	ours, rats := map[string]quantity.Exact{}, map[string]*big.Rat{}
	for i, t := range form.Lengths {
		over := int64(1)
		if i%3 == 0 {
			over = share
		}
		part, err := quantity.RatioOf(1, over)
		if err != nil {
			b.Fatal(err)
		}
		thousandths := int64(33380 + 7*i)
		ours[t.Name] = quantity.FromDecimal(decimal.New(thousandths, -3)).Times(part)
		rats[t.Name] = big.NewRat(thousandths, 1000*over)
	}
	return ours, rats
}

// sumExact is a form's sum as calc/overhaul makes it.
func sumExact(form network.Form, sizes map[string]quantity.Exact) quantity.Exact {
	var sum quantity.Exact
	for _, t := range form.Lengths {
		sum = sum.Add(sizes[t.Name].Times(t.Coef))
	}
	return sum
}

func sumRats(form network.Form, sizes map[string]*big.Rat) *big.Rat {
	sum, term, coef := new(big.Rat), new(big.Rat), new(big.Rat)
	for _, t := range form.Lengths {
		coef.SetInt64(int64(t.Coef.Sign())) // a chain's coefficients are 1 and −1
		sum.Add(sum, term.Mul(sizes[t.Name], coef))
	}
	return sum
}

func decimalOf(r *big.Rat) string {
	n := new(big.Int).Mul(r.Num(), big.NewInt(1e15))
	return decimal.NewFromBigInt(n.Quo(n, r.Denom()), -15).RoundBank(12).String()
}

// A wheel's row, as a sheet's check asks for each pack.
func BenchmarkRow(b *testing.B) {
	n := mustBuild(b, wheel(equalShares(b)))
	b.ReportAllocs()
	for b.Loop() {
		if _, err := n.Row("W1", "wheel shaft", network.State{How: network.Closed}); err != nil {
			b.Fatal(err)
		}
	}
}
