package main

import (
	"math"
	"slices"
)

// A point is one size of a curve and the figure there.
type point struct {
	n     int
	value float64
}

// laws are the growths that a curve is held against, slowest first.
func laws() []law {
	return []law{
		{"flat", func(float64) float64 { return 1 }},
		{"log n", func(n float64) float64 { return math.Log2(n + 1) }},
		{"√n", math.Sqrt},
		{"linear", func(n float64) float64 { return n }},
		{"n log n", func(n float64) float64 { return n * math.Log2(n+1) }},
		{"n√n", func(n float64) float64 { return n * math.Sqrt(n) }},
		{"quadratic", func(n float64) float64 { return n * n }},
		{"cubic", func(n float64) float64 { return n * n * n }},
	}
}

type law struct {
	name string
	of   func(n float64) float64
}

// upper is the half of a curve with the larger sizes, and at least four of them:
// what an operation costs at any size hides the growth at the smaller ones.
func upper(points []point) []point {
	return points[min(len(points)/2, max(0, len(points)-4)):]
}

// slope is the log-log slope of a curve by least squares.
func slope(points []point) float64 {
	var x, y, xx, xy float64
	for _, p := range points {
		lx, ly := math.Log(float64(p.n)), math.Log(p.value)
		x, y, xx, xy = x+lx, y+ly, xx+lx*lx, xy+lx*ly
	}
	n := float64(len(points))
	return (n*xy - x*y) / (n*xx - x*x)
}

// alike is how much worse a law may fit than the best and still not be told from
// it.
const alike = 1.25

// growth names the law that fits best, by the mean square of what is left over
// in logarithms, and the next one where the two cannot be told apart.
func growth(points []point) string {
	type fit struct {
		name string
		left float64
	}
	var fits []fit
	for _, l := range laws() {
		var mean, square float64
		for _, p := range points {
			off := math.Log(p.value / l.of(float64(p.n)))
			mean += off / float64(len(points))
			square += off * off / float64(len(points))
		}
		fits = append(fits, fit{l.name, math.Sqrt(max(0, square-mean*mean))})
	}
	slices.SortStableFunc(fits, func(a, b fit) int {
		switch {
		case a.left < b.left:
			return -1
		case a.left > b.left:
			return 1
		}
		return 0
	})
	name := fits[0].name
	if fits[1].left <= alike*fits[0].left+0.01 {
		name += " or " + fits[1].name
	}
	if fits[0].left > 0.35 {
		name += ", roughly"
	}
	return name
}
