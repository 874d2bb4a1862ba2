package register

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"shimwright/calc/quantity"
	"shimwright/ingest/fact"
)

// Limits of a tray.
const (
	mostSizes = 500
	mostCount = 10_000        // of one size in one fact
	mostHeld  = 1_000_000_000 // of one size ever
)

// A Leaf is the shims of one size in a tray.
type Leaf struct {
	Size     quantity.Value  // as it is called
	Measured *quantity.Value // thickness, where somebody measured it
	// Count is below nought where more were fitted than were ever counted: count
	// them again.
	Count int
	Low   int // fewer are too few; nought asks for none

	file *int // the count that the bench file gave when it was first seen
}

// Thickness is what a leaf is worked with: measured, or as it is called.
func (l Leaf) Thickness() quantity.Value {
	if l.Measured != nil {
		return *l.Measured
	}
	return l.Size
}

// IsLow tells whether more are to be ordered, or counted.
func (l Leaf) IsLow() bool { return l.Count < l.Low || l.Count < 0 }

// tray is leaves by the key of their size.
type tray map[string]Leaf

// key is one for sizes that are the same, however they are written.
func key(v quantity.Value) string { return v.Exact().String() }

func (r *Register) foldTray(name string, f fact.Fact) error {
	if err := fact.CheckName("the tray's name", name); err != nil {
		return err
	}
	t := r.trays[name]
	if t == nil {
		t = tray{}
	}
	var err error
	switch f := f.(type) {
	case fact.Counted:
		err = t.count(f)
	case fact.Received:
		err = t.add(f.Leaves, +1)
	case fact.TakenOut:
		err = t.add(f.Leaves, -1)
	case fact.PutBack:
		err = t.add(f.Leaves, +1)
	case fact.LowLimit:
		err = t.limit(f)
	default:
		err = errAlien("the stock")
	}
	if err != nil {
		return fmt.Errorf("tray %s: %w", name, err)
	}
	r.trays[name] = t
	return nil
}

func (t tray) count(f fact.Counted) error {
	if err := CheckHeaps(f.Leaves); err != nil {
		return err
	}
	listed := map[string]bool{}
	for _, h := range f.Leaves {
		listed[key(h.Size)] = true
	}
	for k, l := range t {
		if f.All || listed[k] {
			l.Count = 0
			t[k] = l
		}
	}
	if err := t.add(f.Leaves, +1); err != nil {
		return err
	}
	if f.FromFile {
		for k := range listed {
			l := t[k]
			n := l.Count
			l.file = &n
			t[k] = l
		}
	}
	return nil
}

// add puts leaves in, or takes them out where way is −1.
func (t tray) add(heaps []fact.Heap, way int) error {
	if err := CheckHeaps(heaps); err != nil {
		return err
	}
	for _, h := range heaps {
		l, known := t[key(h.Size)]
		if !known {
			if len(t) >= mostSizes {
				return fmt.Errorf("it holds leaves of %d sizes, at most %d are kept: use another tray", len(t), mostSizes)
			}
			l.Size = h.Size
		}
		if h.Measured != nil {
			l.Measured = h.Measured
		}
		l.Count = min(max(l.Count+way*h.Count, -mostHeld), mostHeld)
		t[key(h.Size)] = l
	}
	return nil
}

func (t tray) limit(f fact.LowLimit) error {
	if err := CheckHeaps([]fact.Heap{{Size: f.Size, Count: f.Count}}); err != nil {
		return err
	}
	l, known := t[key(f.Size)]
	if !known {
		return fmt.Errorf("it holds no leaves of %s: count them first (shimwright stock count)", f.Size)
	}
	l.Low = f.Count
	t[key(f.Size)] = l
	return nil
}

// CheckHeaps says in words what is wrong with leaves.
func CheckHeaps(heaps []fact.Heap) error {
	if len(heaps) > mostSizes {
		return fmt.Errorf("%d sizes of leaves are listed: at most %d are kept", len(heaps), mostSizes)
	}
	for _, h := range heaps {
		if err := length("the leaf", h.Size); err != nil {
			return err
		}
		if h.Measured != nil {
			if err := length("the thickness measured", *h.Measured); err != nil {
				return err
			}
		}
		if h.Count < 0 || h.Count > mostCount {
			return fmt.Errorf("%d leaves of %s: write a count from 0 to %d", h.Count, h.Size, mostCount)
		}
	}
	return nil
}

// Trays are the names of all trays.
func (r *Register) Trays() []string { return sorted(r.trays) }

// Leaves are what a tray holds, thinnest first.
func (r *Register) Leaves(tray string) []Leaf {
	return slices.SortedFunc(maps.Values(r.trays[tray]), func(a, b Leaf) int { return a.Size.Exact().Cmp(b.Size.Exact()) })
}

// Offer is the stock for a job, by tray, each leaf with the thickness it is
// worked with; none of a size is offered as none.
func (r *Register) Offer() fact.Offered {
	out := fact.Offered{Trays: map[string][]fact.Leaf{}}
	for _, name := range r.Trays() {
		for _, l := range r.Leaves(name) {
			out.Trays[name] = append(out.Trays[name], fact.Leaf{Size: l.Thickness(), Count: max(0, l.Count)})
		}
	}
	return out
}

// A LowLeaf is a size of which there are too few.
type LowLeaf struct {
	Tray string
	Leaf
}

// Say is it in one sentence, with what to do.
func (l LowLeaf) Say() string {
	if l.Count < 0 {
		return fmt.Sprintf("%s, %s: %d more fitted than counted: count them again (shimwright stock count).", l.Tray, l.Size, -l.Count)
	}
	return fmt.Sprintf("%s, %s: %d left, fewer than %d: order more.", l.Tray, l.Size, l.Count, l.Low)
}

// Low are the sizes of which there are too few, by tray, thinnest first.
func (r *Register) Low() []LowLeaf {
	var out []LowLeaf
	for _, name := range r.Trays() {
		for _, l := range r.Leaves(name) {
			if l.IsLow() {
				out = append(out, LowLeaf{name, l})
			}
		}
	}
	return out
}

// Exchange gives the facts of a tray when a step's pack is fitted: the leaves of
// the pack that was there go back, those of the new one are taken out. Leaves
// are found by the size they are called by, else by their measured thickness.
// The words, where there are any, name leaves that the tray does not have; they
// are in no fact.
func (r *Register) Exchange(name, job, step string, before, after []quantity.Value) (facts []fact.Fact, words string) {
	back, strange := r.trays[name].heaps(before)
	out, more := r.trays[name].heaps(after)
	if len(back) > 0 {
		facts = append(facts, fact.PutBack{Job: job, Step: step, Leaves: back})
	}
	if len(out) > 0 {
		facts = append(facts, fact.TakenOut{Job: job, Step: step, Leaves: out})
	}
	if strange = append(strange, more...); len(strange) > 0 {
		slices.Sort(strange)
		words = fmt.Sprintf("Tray %s has no leaf of %s: its stock was not changed for it.", name, strings.Join(slices.Compact(strange), ", "))
	}
	return facts, words
}

// heaps gathers single leaves by size.
func (t tray) heaps(leaves []quantity.Value) (heaps []fact.Heap, strange []string) {
	for _, v := range leaves {
		l, ok := t.find(v)
		if !ok {
			strange = append(strange, v.String())
			continue
		}
		i := slices.IndexFunc(heaps, func(h fact.Heap) bool { return key(h.Size) == key(l.Size) })
		if i < 0 {
			heaps = append(heaps, fact.Heap{Size: l.Size})
			i = len(heaps) - 1
		}
		heaps[i].Count++
	}
	slices.SortFunc(heaps, func(a, b fact.Heap) int { return a.Size.Exact().Cmp(b.Size.Exact()) })
	return heaps, strange
}

func (t tray) find(v quantity.Value) (Leaf, bool) {
	if l, ok := t[key(v)]; ok {
		return l, true
	}
	for _, k := range sorted(t) {
		if l := t[k]; l.Measured != nil && key(*l.Measured) == key(v) {
			return l, true
		}
	}
	return Leaf{}, false
}
