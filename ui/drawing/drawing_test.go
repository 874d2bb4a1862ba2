package drawing_test

import (
	"bytes"
	"encoding/xml"
	"errors"
	"flag"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"shimwright/calc/sheet"
	"shimwright/ui/drawing"
)

var update = flag.Bool("update", false, "write the golden files anew") //nolint:gochecknoglobals // a test flag

func read(t testing.TB, path string) *sheet.Sheet {
	t.Helper()
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	s, err := sheet.Read(filepath.Base(path), text)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// sheets are those that come with the program and those of the tests.
func sheets(t testing.TB) map[string]*sheet.Sheet {
	t.Helper()
	out := map[string]*sheet.Sheet{}
	for _, pattern := range []string{"../../cmd/shimwright/sheets/*.yaml", "../../testdata/sheets/*.yaml"} {
		found, err := filepath.Glob(pattern)
		if err != nil {
			t.Fatal(err)
		}
		for _, f := range found {
			if base := filepath.Base(f); !strings.Contains(base, "-") {
				out[base] = read(t, f)
			}
		}
	}
	if len(out) < 5 {
		t.Fatalf("only %d sheets were found", len(out))
	}
	return out
}

func svg(t testing.TB, s *sheet.Sheet) string {
	t.Helper()
	var b bytes.Buffer
	if err := drawing.SVG(&b, s); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

func pdf(t testing.TB, s *sheet.Sheet) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := drawing.PDF(&b, s); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// words are all words of an SVG image, which must be sound XML.
func words(t testing.TB, image string) string {
	t.Helper()
	var out strings.Builder
	d := xml.NewDecoder(strings.NewReader(image))
	for {
		token, err := d.Token()
		if errors.Is(err, io.EOF) {
			return out.String()
		}
		if err != nil {
			t.Fatal(err)
		}
		if c, ok := token.(xml.CharData); ok {
			out.Write(c)
			out.WriteByte(' ')
		}
	}
}

// Whoever approves a sheet sees every face, length, pack and step of it.
func TestNothingIsLeftOut(t *testing.T) {
	for name, s := range sheets(t) {
		all := strings.Join(strings.Fields(words(t, svg(t, s))), " ")
		var want []string
		for _, a := range s.Net.Axes() {
			want = append(append(want, a.Name+" axis"), a.Faces...)
		}
		for _, l := range s.Net.Lengths() {
			want = append(want, l.Name)
		}
		for _, st := range s.Steps() {
			want = append(want, st.Name)
		}
		for _, w := range want {
			if !strings.Contains(all, w) {
				t.Errorf("%s: %q is not in its drawing", name, w)
			}
		}
	}
}

// The golden image was looked at, as were the PDFs of four sheets, page by page.
func TestGolden(t *testing.T) {
	s := sheets(t)["fw3.yaml"]
	got := svg(t, s)
	path := filepath.Join("testdata", "fw3.svg")
	if *update {
		if err := os.MkdirAll("testdata", 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil || string(want) != got {
		t.Errorf("the drawing of fw3 is another than %s (%v)", path, err)
	}
	if !bytes.Equal(pdf(t, s), pdf(t, s)) || got != svg(t, s) {
		t.Error("the same sheet gave other bytes")
	}
}

// Every PDF can be read, and no words stand outside its pages.
func TestPDFReads(t *testing.T) {
	if _, err := exec.LookPath("pdftotext"); err != nil {
		t.Skip("there is no pdftotext")
	}
	for name, s := range sheets(t) {
		path := filepath.Join(t.TempDir(), "x.pdf")
		if err := os.WriteFile(path, pdf(t, s), 0o600); err != nil {
			t.Fatal(err)
		}
		out, err := exec.Command("pdftotext", "-bbox", path, "-").Output()
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		inside(t, name, out)
	}
}

// inside holds every word to the page of 842 by 595 points.
func inside(t *testing.T, name string, boxes []byte) {
	t.Helper()
	type word struct {
		XMin float64 `xml:"xMin,attr"`
		XMax float64 `xml:"xMax,attr"`
		YMin float64 `xml:"yMin,attr"`
		YMax float64 `xml:"yMax,attr"`
		Text string  `xml:",chardata"`
	}
	d := xml.NewDecoder(bytes.NewReader(boxes))
	d.Strict, d.Entity = false, xml.HTMLEntity
	n := 0
	for {
		token, err := d.Token()
		if err != nil {
			break
		}
		e, ok := token.(xml.StartElement)
		if !ok || e.Name.Local != "word" {
			continue
		}
		var w word
		if err := d.DecodeElement(&w, &e); err != nil {
			t.Fatal(err)
		}
		if n++; w.XMin < 20 || w.XMax > 825 || w.YMin < 15 || w.YMax > 585 {
			t.Errorf("%s: %+v is outside its page", name, w)
		}
	}
	if n < 20 {
		t.Errorf("%s has %d words", name, n)
	}
}

// Names are as long and as odd as a sheet lets them be, and are only words.
func TestOddNames(t *testing.T) {
	text, err := os.ReadFile("../../cmd/shimwright/sheets/fw3.yaml")
	if err != nil {
		t.Fatal(err)
	}
	for _, odd := range []string{strings.Repeat("lange ", 9) + "Fläche", "Тест <b>&", "山田"} {
		s, err := sheet.Read("fw3.yaml", bytes.ReplaceAll(text, []byte("casing joint"), []byte(odd)))
		if err != nil {
			t.Fatalf("%q: %v", odd, err)
		}
		if got := strings.Join(strings.Fields(words(t, svg(t, s))), " "); !strings.Contains(got, odd) {
			t.Errorf("%q is not in its drawing", odd)
		}
		pdf(t, s)
	}
}

func BenchmarkPDF(b *testing.B) {
	s := sheets(b)["fw3.yaml"]
	for b.Loop() {
		pdf(b, s)
	}
}
