package sheet_test

import (
	"errors"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"shimwright/calc/document"
	"shimwright/calc/sheet"
)

// files are the fixtures of a folder by name.
func files(t testing.TB, pattern string) map[string][]byte {
	t.Helper()
	paths, err := filepath.Glob(pattern)
	if err != nil || len(paths) == 0 {
		t.Fatalf("no fixtures at %s: %v", pattern, err)
	}
	out := map[string][]byte{}
	for _, p := range paths {
		text, err := os.ReadFile(p)
		if err != nil {
			t.Fatal(err)
		}
		out[filepath.Base(p)] = text
	}
	return out
}

func mustRead(t testing.TB, name string, text []byte) *sheet.Sheet {
	t.Helper()
	s, err := sheet.Read(name, text)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// holdFaults holds a fixture's faults to its first lines, one for each:
// "# want line:column: fragment of the message".
func holdFaults(t *testing.T, name string, text []byte, err error) {
	t.Helper()
	var wanted []string
	for line := range strings.Lines(string(text)) {
		want, ok := strings.CutPrefix(strings.TrimSpace(line), "# want ")
		if !ok {
			break
		}
		wanted = append(wanted, want)
	}
	var fault *document.Fault
	if len(wanted) == 0 || !errors.As(err, &fault) {
		t.Fatalf("want %q, and the fault is %v", wanted, err)
	}
	got := strings.Split(err.Error(), "\n")
	for i, want := range wanted {
		place, fragment, _ := strings.Cut(want, ": ")
		if len(got) != len(wanted) || !strings.HasPrefix(got[i], name+":"+place+": ") || !strings.Contains(got[i], fragment) {
			t.Fatalf("faults:\n%v\nwant:\n%s:%s", err, name, strings.Join(wanted, "\n"))
		}
	}
}

// Each bad sheet has one thing wrong, and is refused for it, at its place.
func TestBadSheets(t *testing.T) {
	for name, text := range files(t, "testdata/bad/*.yaml") {
		t.Run(name, func(t *testing.T) {
			_, err := sheet.Read(name, text)
			holdFaults(t, name, text, err)
		})
	}
}

// A good sheet reads, and reads the same a second time, with other line ends
// and with more comments.
func TestGoodSheetsReadTheSame(t *testing.T) {
	all := files(t, "testdata/good/*.yaml")
	for name, text := range files(t, "../../cmd/shimwright/sheets/*.yaml") {
		all[name] = text
	}
	for name, text := range all {
		t.Run(name, func(t *testing.T) {
			a := mustRead(t, name, text)
			if string(a.Text) != string(text) {
				t.Error("the sheet does not keep its text")
			}
			b := mustRead(t, name, []byte(strings.ReplaceAll(string(text), "\n", "\r\n")))
			c := mustRead(t, name, []byte(strings.ReplaceAll(string(text), "\n", " # note\n")))
			a.Text, b.Text, c.Text = nil, nil, nil
			for _, other := range []*sheet.Sheet{b, c, mustRead(t, name, text)} {
				other.Text = nil
				if !reflect.DeepEqual(a, other) {
					t.Errorf("read again it is another sheet:\n%+v\n%+v", a, other)
				}
			}
		})
	}
}
