package draw

import (
	"bytes"
	"flag"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"shimwright/calc/overhaul"
	"shimwright/calc/sheet"
)

// update rewrites the golden files: go test ./ui/draw -update, then look at
// them with a fitter's eyes.
var update = flag.Bool("update", false, "rewrite the golden files")

func readSheet(t testing.TB, file string) *sheet.Sheet {
	t.Helper()
	text, err := os.ReadFile(filepath.Join("testdata", file))
	if err != nil {
		t.Fatal(err)
	}
	s, err := sheet.Read(file, text)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// worked works a readings file, or the sheet's example where none is named.
func worked(t testing.TB, s *sheet.Sheet, readings string) *overhaul.Results {
	t.Helper()
	var e sheet.Entries
	if readings == "" {
		e = s.Example.Entries
	} else {
		text, err := os.ReadFile(filepath.Join("testdata", readings))
		if err != nil {
			t.Fatal(err)
		}
		if e, err = sheet.ReadEntries(s, readings, text); err != nil {
			t.Fatal(err)
		}
	}
	r, err := overhaul.Work(s, e)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// golden holds text to a file, to the page's width, and to no blanks at the end
// of a line.
func golden(t *testing.T, name string, write func(io.Writer) error) {
	t.Helper()
	var b bytes.Buffer
	if err := write(&b); err != nil {
		t.Fatal(err)
	}
	for i, line := range strings.Split(b.String(), "\n") {
		if columns(line) > DefaultWidth {
			t.Errorf("line %d has %d columns, at most %d: %q", i+1, columns(line), DefaultWidth, line)
		}
		if strings.HasSuffix(line, " ") || strings.ContainsAny(line, "\t\x00\x1b") {
			t.Errorf("line %d has blanks at its end or a control character: %q", i+1, line)
		}
	}
	file := filepath.Join("testdata", name+".golden")
	if *update {
		if err := os.WriteFile(file, b.Bytes(), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	want, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(string(want), b.String()); diff != "" {
		t.Errorf("%s (-want +got):\n%s", file, diff)
	}
}

// jobs are the jobs that the goldens and the pencil work on.
func jobs() []struct{ name, sheet, readings string } {
	return []struct{ name, sheet, readings string }{
		{"full", "fw3.yaml", "full.yaml"},
		{"begun", "fw3.yaml", ""},
		{"trouble", "fw3.yaml", "trouble.yaml"},
		{"again", "fw3.yaml", "again.yaml"},
		{"inch", "inch.yaml", "inch.readings.yaml"},
		{"measured", "../../../testdata/sheets/fs2.yaml", "../../../testdata/sheets/fs2-job.yaml"},
	}
}

func TestResults(t *testing.T) {
	for _, job := range jobs() {
		t.Run(job.name, func(t *testing.T) {
			s := readSheet(t, job.sheet)
			r := worked(t, s, job.readings)
			golden(t, "results_"+job.name, func(w io.Writer) error { return Results(w, PageFor(s), r, Short) })
			golden(t, "results_"+job.name+"_full", func(w io.Writer) error { return Results(w, PageFor(s), r, Full) })
		})
	}
}

// A job with a virtual reading says so at its head and at its end.
func TestTraining(t *testing.T) {
	s := readSheet(t, "fw3.yaml")
	e := s.Example.Entries
	e.List[2].Virtual = true
	r, err := overhaul.Work(s, e)
	if err != nil {
		t.Fatal(err)
	}
	var b strings.Builder
	if err := Results(&b, PageFor(s), r, Short); err != nil {
		t.Fatal(err)
	}
	if n := strings.Count(b.String(), "TRAINING"); n != 2 {
		t.Errorf("TRAINING is said %d times, want at the head and at the end:\n%s", n, b.String())
	}
}

func TestSum(t *testing.T) {
	s := readSheet(t, "fw3.yaml")
	r := worked(t, s, "")
	closing := r.Of("closing pack").Pack
	golden(t, "sum_closing_pack", func(w io.Writer) error { return Sum(w, PageFor(s), closing.Other) })
	golden(t, "sum_closing_pack_change", func(w io.Writer) error { return Sum(w, PageFor(s), closing.Worked) })
	full := worked(t, s, "full.yaml")
	golden(t, "sum_torque", func(w io.Writer) error {
		return Sum(w, PageFor(s), full.Of("pinion turning torque").Check.Figure)
	})
	golden(t, "sum_reading", func(w io.Writer) error { return Sum(w, PageFor(s), full.Of("pinion head").Figure) })
}

func TestStack(t *testing.T) {
	for _, file := range []string{"fw3.yaml", "inch.yaml", "wide.yaml"} {
		s := readSheet(t, file)
		for _, a := range s.Net.Axes() {
			golden(t, "stack_"+s.ID+"_"+a.Name, func(w io.Writer) error { return Stack(w, PageFor(s), s, a.Name) })
		}
	}
	s := readSheet(t, "fw3.yaml")
	if err := Stack(io.Discard, PageFor(s), s, "no axis"); err == nil {
		t.Error("an axis that is not there was drawn")
	}
}

func TestLoops(t *testing.T) {
	for _, file := range []string{"fw3.yaml", "inch.yaml"} {
		s := readSheet(t, file)
		golden(t, "loops_"+s.ID, func(w io.Writer) error { return Loops(w, PageFor(s), s) })
	}
}

// A page as narrow as may be still keeps to its width.
func TestNarrow(t *testing.T) {
	for _, job := range jobs() {
		s := readSheet(t, job.sheet)
		r := worked(t, s, job.readings)
		p := PageFor(s)
		p.Width = 1
		var b strings.Builder
		for _, err := range []error{Results(&b, p, r, Full), Loops(&b, p, s), Stack(&b, p, s, s.Net.Axes()[0].Name)} {
			if err != nil {
				t.Fatal(err)
			}
		}
		for _, line := range strings.Split(b.String(), "\n") {
			if columns(line) > leastWidth {
				t.Errorf("%d columns, at most %d: %q", columns(line), leastWidth, line)
			}
		}
	}
}

// full is a writer that fails, as a full disk does.
type fullDisk struct{}

func (fullDisk) Write([]byte) (int, error) { return 0, io.ErrShortWrite }

func TestWriterFails(t *testing.T) {
	s := readSheet(t, "fw3.yaml")
	r := worked(t, s, "")
	for name, err := range map[string]error{
		"Results": Results(fullDisk{}, PageFor(s), r, Full),
		"Loops":   Loops(fullDisk{}, PageFor(s), s),
		"Stack":   Stack(fullDisk{}, PageFor(s), s, "pinion"),
		"Sum":     Sum(fullDisk{}, PageFor(s), r.Of("pinion pack").Pack.Worked),
	} {
		if err == nil {
			t.Errorf("%s says nothing of a writer that fails", name)
		}
	}
}
