package ring

import "math"

// leastSquares fits y by the columns: x with the least sum of squares of
// y − Σ x·column, and that rest. It works through an orthonormal basis (QR by
// modified Gram-Schmidt, textbook, from memory); the columns are independent,
// as seenBeside makes sure.
func leastSquares(columns [][]float64, y []float64) (x, rest []float64) {
	k := len(columns)
	basis := orthonormal(columns)
	rest = append([]float64(nil), y...)
	along := make([]float64, k)
	for i, q := range basis {
		along[i] = dot(q, rest)
		subtract(rest, along[i], q)
	}
	x = make([]float64, k)
	for i := k - 1; i >= 0; i-- {
		sum := along[i]
		for j := i + 1; j < k; j++ {
			sum -= dot(basis[i], columns[j]) * x[j]
		}
		x[i] = sum / dot(basis[i], columns[i])
	}
	return x, rest
}

// orthonormal is a basis of the columns, each made upright on those before.
func orthonormal(columns [][]float64) [][]float64 {
	var basis [][]float64
	for _, c := range columns {
		v := beside(basis, c)
		scale := 1 / math.Sqrt(dot(v, v))
		for i := range v {
			v[i] *= scale
		}
		basis = append(basis, v)
	}
	return basis
}

// beside is what is left of v upright on a basis; the second pass takes out
// what rounding left of the first.
func beside(basis [][]float64, v []float64) []float64 {
	v = append([]float64(nil), v...)
	for range 2 {
		for _, q := range basis {
			subtract(v, dot(q, v), q)
		}
	}
	return v
}

func subtract(v []float64, k float64, q []float64) {
	for i := range v {
		v[i] -= k * q[i]
	}
}

func dot(a, b []float64) float64 {
	sum := 0.0
	for i := range a {
		sum += a[i] * b[i]
	}
	return sum
}

func ones(n int) []float64 {
	out := make([]float64, n)
	for i := range out {
		out[i] = 1
	}
	return out
}

// A pair is the cosine and sine of a harmonic at the points.
type pair struct{ cos, sin []float64 }

func newPair(n int) pair { return pair{make([]float64, n), make([]float64, n)} }

// seenBeside is the columns of a harmonic that the points see beside the terms
// already there: both, one turned to where it is seen best, or none. along is
// that one's direction, in radians of the harmonic.
//
// What is left of the two columns upright on the terms has a two by two matrix
// of products; its eigenvalues say how well each direction is seen.
func (p pair) seenBeside(terms [][]float64) (columns [][]float64, along float64) {
	basis := orthonormal(terms)
	c, s := beside(basis, p.cos), beside(basis, p.sin)
	cc, cs, ss := dot(c, c), dot(c, s), dot(s, s)
	middle, reach := (cc+ss)/2, math.Hypot((cc-ss)/2, cs)
	least := seenShare * float64(len(c))
	switch {
	case middle-reach >= least:
		return [][]float64{p.cos, p.sin}, 0
	case middle+reach < least:
		return nil, 0
	}
	along = math.Atan2(2*cs, cc-ss) / 2
	one := make([]float64, len(c))
	sin, cos := math.Sincos(along)
	for i := range one {
		one[i] = cos*p.cos[i] + sin*p.sin[i]
	}
	return [][]float64{one}, along
}
