package sheet

import (
	"maps"
	"slices"

	"shimwright/calc/document"
)

// ReadInstead decodes a file of entries to be put in place of some of a job's,
// in the grammar of a readings file; pieces and gauges of the job are known in
// it. What it gives is for Instead.
func ReadInstead(s *Sheet, file string, text []byte, job Entries) (Entries, error) {
	top, doc, err := document.Parse(file, text)
	if err != nil {
		return Entries{}, err
	}
	f := top.Fields()
	readingsFor(s, f)
	e := readEntriesOver(s, f, job)
	f.Done()
	return e, doc.Err()
}

// Instead is a job with some of its entries replaced. An entry takes the place
// of those of its kind at its step (of presses: at its spot too) that count
// now, which are the ones since metal was last changed before the latest of
// them. Where there are none it comes at the end; so does a pack fitted, metal
// changed and a step taken again, which are done to the drive as it is now, so
// that what was pressed before is of the build before. A pack of the build
// before is replaced. Pieces, gauges, stock and earlier re-shims that are given
// replace those of the same name.
func Instead(s *Sheet, job, put Entries) Entries {
	out := put
	out.Pieces = over(job.Pieces, put.Pieces)
	out.Gauges = over(job.Gauges, put.Gauges)
	out.Trays = over(job.Trays, put.Trays)
	out.Earlier = over(job.Earlier, put.Earlier)
	if out.Temperatures == nil {
		out.Temperatures = job.Temperatures
	}
	out.List = nil
	builds := buildsOf(job.List)
	gone, at := map[int]bool{}, map[int][]Entry{}
	var end []Entry
	for _, e := range put.List {
		last := lastLike(job.List, e)
		if last < 0 || fitsNow(s, e) {
			end = append(end, e)
			continue
		}
		for i, o := range job.List {
			if builds[i] == builds[last] && alike(o, e) {
				gone[i] = true
			}
		}
		at[last] = append(at[last], e)
	}
	for i, e := range job.List {
		if !gone[i] {
			out.List = append(out.List, e)
		}
		out.List = append(out.List, at[i]...)
	}
	out.List = append(out.List, end...)
	return out
}

// fitsNow tells of a pack that goes into the drive as it is now.
func fitsNow(s *Sheet, e Entry) bool {
	st, ok := s.Step(e.Step)
	return ok && e.Kind == EntryFit && !st.Pack.Before
}

func over[V any](under, top map[string]V) map[string]V {
	out := maps.Clone(under)
	if out == nil {
		return top
	}
	maps.Copy(out, top)
	return out
}

// buildsOf is the build state that each entry was put in at.
func buildsOf(list []Entry) []int {
	build, out := 1, make([]int, len(list))
	for i, e := range list {
		if e.ChangesMetal() {
			build++
		}
		out[i] = build
	}
	return out
}

func lastLike(list []Entry, e Entry) int {
	for i, o := range slices.Backward(list) {
		if alike(o, e) {
			return i
		}
	}
	return -1
}

// alike tells whether an entry may take another's place.
func alike(a, b Entry) bool {
	if a.Step != b.Step || a.Spot != b.Spot {
		return false
	}
	if isMark(a.Kind) && isMark(b.Kind) {
		return true
	}
	return a.Kind == b.Kind && a.Kind != EntryAgain && a.Kind != EntryMetal
}

func isMark(k EntryKind) bool {
	return k == EntryDigits || k == EntryFigure || k == EntryAbsent
}
