package network_test

import (
	"fmt"
	"testing"

	"shimwright/calc/network"
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

var sizes = []int{10, 30, 100, 300, 1000}

func BenchmarkWalk(b *testing.B) {
	for _, faces := range sizes {
		n := mustBuild(b, chain(faces))
		b.Run(fmt.Sprintf("faces=%d", faces), func(b *testing.B) {
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
	for _, faces := range sizes {
		spec := chain(faces)
		b.Run(fmt.Sprintf("faces=%d", faces), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				network.Build(spec)
			}
		})
	}
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
