package sheet_test

import (
	"errors"
	"reflect"
	"testing"

	"shimwright/calc/document"
	"shimwright/calc/sheet"
)

func seed(f *testing.F, patterns ...string) {
	f.Helper()
	for _, pattern := range patterns {
		for _, text := range files(f, pattern) {
			f.Add(text)
		}
	}
}

// FuzzRead: any bytes give a sheet that reads the same again and answers every
// question, or faults with a place; never a panic.
func FuzzRead(f *testing.F) {
	seed(f, "testdata/good/*.yaml", "testdata/bad/*.yaml", "../../cmd/shimwright/sheets/*.yaml", "../../testdata/stories/dm3.yaml")
	f.Fuzz(func(t *testing.T, text []byte) {
		s, err := sheet.Read("s.yaml", text)
		var fault *document.Fault
		if err != nil {
			if s != nil || !errors.As(err, &fault) {
				t.Fatalf("sheet %v with %v", s, err)
			}
			return
		}
		again, err := sheet.Read("s.yaml", text)
		if err != nil || !reflect.DeepEqual(s, again) {
			t.Fatalf("read again it is another sheet: %v", err)
		}
		ask(t, s)
	})
}

// ask asks a sheet all it can answer.
func ask(t *testing.T, s *sheet.Sheet) {
	for _, w := range s.Wanted {
		if form, err := s.Target(w); err == nil {
			if _, err := s.Net.Through(form); err != nil {
				t.Fatalf("%s stands on a setting that cannot be worked: %v", w.Name, err)
			}
		}
		s.ShaftOfGear(w.Name)
	}
	for _, st := range s.Steps() {
		if got, ok := s.Step(st.Name); !ok || got != st {
			t.Fatalf("the step %q is not found by its name", st.Name)
		}
		if length, before, ok := st.Gives(); ok && s.Giver(length, before) != st {
			t.Fatalf("%s gives %s and is not its giver", st.Name, length)
		}
		if b, ok := st.Window(); ok && b.High.Exact().Less(b.Low.Exact()) {
			t.Fatalf("%s has its window upside down", st.Name)
		}
		st.Slots()
		if st.Pack != nil {
			s.RowWords(st.Pack)
		}
		if st.Measure != nil {
			_ = st.Measure.Setup.Words()
		}
	}
}

// FuzzReadEntries: any bytes give entries of steps that the sheet has, or
// faults with a place; never a panic.
func FuzzReadEntries(f *testing.F) {
	s := every(f)
	seed(f, "testdata/readings/good/*.yaml", "testdata/readings/bad/*.yaml")
	f.Fuzz(func(t *testing.T, text []byte) {
		e, err := sheet.ReadEntries(s, "r.yaml", text)
		var fault *document.Fault
		if err != nil {
			if !errors.As(err, &fault) {
				t.Fatalf("%v is no fault with a place", err)
			}
			return
		}
		for _, x := range e.List {
			st, ok := s.Step(x.Step)
			if !ok {
				t.Fatalf("an entry of no step: %+v", x)
			}
			if x.Kind == sheet.EntryPress && len(st.Slots()) == 0 {
				t.Fatalf("a press at a step that wants none: %+v", x)
			}
		}
	})
}
