package stock

import (
	"cmp"
	"fmt"
	"slices"

	"shimwright/calc/quantity"
)

// What a tray and a request may hold. More than this is a slip of the pen, not
// a tray of shims, and is refused by name.
const (
	MaxTarget    = 100     // mm: the thickest pack asked for, and the thickest leaf
	MaxSizes     = 200     // different sizes in one tray
	MaxCount     = 10000   // leaves of one kind
	MaxLeaves    = 60      // leaves in one pack
	MaxAnswers   = 100     // packs in one answer
	FinestPlaces = 4       // the grid of the sizes is no finer than 10⁻⁴ mm
	MaxCells     = 8000000 // sizes × steps of the grid: 64 MB of working table
)

// A Leaf is a kind of shim leaf in stock.
type Leaf struct {
	Size     quantity.Exact // mm: measured thickness where known, else nominal
	Label    string         // as written on it, such as "0.30 mm"
	Count    int            // how many there are
	Measured bool           // Size is a measured thickness
}

// sameKind tells whether two leaves differ in their count only.
func (l Leaf) sameKind(m Leaf) bool {
	return l.Label == m.Label && l.Measured == m.Measured && l.Size.Equal(m.Size)
}

// before is the order leaves are kept and drawn in: thickest first, then
// measured before nominal, then by label.
func (l Leaf) before(m Leaf) int {
	return cmp.Or(
		m.Size.Cmp(l.Size),
		cmp.Compare(rank(m.Measured), rank(l.Measured)),
		cmp.Compare(l.Label, m.Label),
	)
}

func rank(b bool) int {
	if b {
		return 1
	}
	return 0
}

// A Tray is a stock of leaves. It is never changed once made; the zero Tray is
// empty.
type Tray struct {
	leaves []Leaf // in the order of Leaf.before, no kind twice
}

// NewTray is a tray of these leaves; kinds given twice are counted together.
// It refuses a leaf without thickness or count, and more than MaxSizes sizes.
func NewTray(leaves ...Leaf) (Tray, error) {
	var kept []Leaf
	for i, l := range leaves {
		if err := l.check(); err != nil {
			return Tray{}, fmt.Errorf("leaf %d (%q): %w", i+1, l.Label, err)
		}
		kept = append(kept, l)
	}
	slices.SortStableFunc(kept, Leaf.before)
	var out []Leaf
	sizes := 0
	for _, l := range kept {
		n := len(out)
		if n == 0 || !out[n-1].Size.Equal(l.Size) {
			sizes++
		}
		if n == 0 || !out[n-1].sameKind(l) {
			out = append(out, l)
			continue
		}
		if out[n-1].Count += l.Count; out[n-1].Count > MaxCount {
			return Tray{}, fmt.Errorf("leaves %q: %d of them in all: the most of one kind is %d", l.Label, out[n-1].Count, MaxCount)
		}
	}
	if sizes > MaxSizes {
		return Tray{}, fmt.Errorf("tray of %d different sizes: the most is %d; leave out what does not suit this pack", sizes, MaxSizes)
	}
	return Tray{leaves: out}, nil
}

func (l Leaf) check() error {
	if l.Count <= 0 {
		return fmt.Errorf("count %d: give how many leaves there are, 1 or more, or leave the size out", l.Count)
	}
	if l.Count > MaxCount {
		return fmt.Errorf("count %d: the most of one kind is %d", l.Count, MaxCount)
	}
	if !l.Size.IsDecimal() {
		return fmt.Errorf("size %s mm does not end as a decimal: round it to the last digit of the micrometer", l.Size)
	}
	if err := checkDigits(l.Size); err != nil {
		return fmt.Errorf("size: %w", err)
	}
	if l.Size.Sign() <= 0 {
		return fmt.Errorf("size %s mm: a leaf has a thickness above 0", l.Size)
	}
	if l.Size.Cmp(maxTarget()) > 0 {
		return fmt.Errorf("size %s mm: the thickest leaf is %d mm; is the unit right?", l.Size, MaxTarget)
	}
	return nil
}

// Leaves is what the tray holds, thickest first.
func (t Tray) Leaves() []Leaf { return slices.Clone(t.leaves) }

// Draw is the tray without the leaves of a pack; the tray itself stays as it
// is. A pack whose leaves are not all in the tray is refused: two packs never
// share a leaf.
func (t Tray) Draw(p Pack) (Tray, error) {
	rest := t.Leaves()
	for _, l := range p.Leaves {
		if l.Count < 1 {
			return Tray{}, fmt.Errorf("leaf %q of %s mm: %d of it in the pack; a pack lists its leaves one by one", l.Label, l.Size, l.Count)
		}
		i := slices.IndexFunc(rest, l.sameKind)
		if i < 0 || rest[i].Count < l.Count {
			return Tray{}, fmt.Errorf("leaf %q of %s mm is not in the tray any more: make the pack up again from what is left", l.Label, l.Size)
		}
		rest[i].Count -= l.Count
	}
	return Tray{leaves: slices.DeleteFunc(rest, func(l Leaf) bool { return l.Count == 0 })}, nil
}
