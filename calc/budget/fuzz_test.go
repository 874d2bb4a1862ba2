package budget_test

import (
	"encoding/binary"
	"errors"
	"math"
	"strings"
	"testing"

	"github.com/shopspring/decimal"

	"shimwright/calc/budget"
	"shimwright/calc/quantity"
	"shimwright/calc/stat"
)

// FuzzWork makes sources of whatever comes: no panic, every error a Problem, no
// figure that is no number.
func FuzzWork(f *testing.F) {
	f.Add([]byte("\x01\x02\x03\x04\x05\x06\x07\x08\x01\x02\x03\x04\x05\x06"), "0.02 0.01 0.005")
	f.Add([]byte{3, 1, 3, 0, 0, 0, 0, 0, 0, 0, 4, 2, 0, 0}, "1e-60 1e60 -1")
	f.Add([]byte{}, "")
	f.Fuzz(func(t *testing.T, shape []byte, text string) {
		if len(text) > 500 || len(shape) > 400 {
			return
		}
		b, err := budget.Work(sourcesOf(shape, text))
		var p *stat.Problem
		switch {
		case err == nil:
			sane(t, b)
		case !errors.As(err, &p) || p.Field == "" || p.Found == "" || p.Wanted == "" || p.Kind == 0:
			t.Errorf("%v is no good refusal", err)
		}
	})
}

func sourcesOf(shape []byte, text string) []budget.Source {
	var out []budget.Source
	sizes := strings.Fields(text)
	for len(shape) >= 14 && len(sizes) > 0 {
		d, err := decimal.NewFromString(sizes[0])
		if err != nil {
			break
		}
		size := quantity.FromDecimal(d)
		s := budget.Source{
			Name: string(shape[0:1]), Kind: budget.Kind(shape[1] % 12), Size: size, N: int(int8(shape[2])),
			DF: math.Float64frombits(binary.BigEndian.Uint64(shape[3:11])), Coef: quantity.Whole(int64(int8(shape[11]))),
			K: quantity.FromDecimal(decimal.New(int64(int8(shape[12])), -1)), Through: shape[13]&1 > 0,
		}
		if shape[13]&2 > 0 {
			s.By = &size
		}
		if shape[13]&4 > 0 {
			s.Gauge = "D07"
		}
		if shape[13]&8 > 0 {
			s.Pool = "shop"
		}
		if shape[13]&16 > 0 {
			s.DF = 0
		}
		out, shape, sizes = append(out, s), shape[14:], sizes[1:]
	}
	return out
}

func sane(t *testing.T, b budget.Budget) {
	t.Helper()
	if b.Standard.Sign() <= 0 || b.Expanded.Less(b.Standard) || b.Student.Less(b.Standard) || !(b.DF >= 1-1e-9) {
		t.Errorf("u %s, U %s, t·u %s, %v degrees of freedom", b.Standard, b.Expanded, b.Student, b.DF)
	}
	for _, l := range b.Lines {
		if l.Share.Sign() < 0 || ex("1").Less(l.Share) || l.Part.Sign() < 0 {
			t.Errorf("%s: part %s, share %s", l.Name, l.Part, l.Share)
		}
	}
	for _, g := range b.Halve() {
		if g.Then.Sign() < 0 || g.Say(quantity.MM, 4) == "" || strings.Contains(g.Say(quantity.Inch, 5), "NaN") {
			t.Errorf("%+v", g)
		}
	}
}
