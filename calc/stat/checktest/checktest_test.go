package checktest

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/shopspring/decimal"
)

func TestAgreed(t *testing.T) {
	for _, c := range []struct {
		expected, ours string
		digits         int
		all            bool
	}{
		{"1.2500", "1.25000", 5, true},
		{"1.25", "1.2549", 3, true},
		{"1.25", "1.26", 2, false}, // off by 8 in 1000
		{"-0.5", "-0.5", 1, true},
		{"0.0790105478190518", "0.079010547819051812", 15, true},
		{"1.68000000000000E+00", "1.68", 15, true},
		{"2.166E-01", "0.2167", 3, false},
		{"100", "200", 0, false},
		{"100", "1000", 0, false},
		{"0", "0.001", 1, true},
		{"0.000", "0.002", 2, false},
		{"words", "1", 0, false},
	} {
		digits, all := Agreed(c.expected, decimal.RequireFromString(c.ours))
		if digits != c.digits || all != c.all {
			t.Errorf("Agreed(%s, %s) = %d, %v; want %d, %v", c.expected, c.ours, digits, all, c.digits, c.all)
		}
	}
}

func TestCompareShort(t *testing.T) {
	for _, c := range []struct {
		expected, ours string
		atLeast        int
		short          bool
		agreed         string
	}{
		{"2.115", "2.1144994", All, true, "3"},
		{"2.115", "2.1144994", 3, false, "3"},
		{"2.115", "2.1144994", 4, true, "3"},
		{"2.114", "2.1144994", All, false, "all 4"},
		{"0.1", "0.1", All, false, "exact"},
		{"?", "0.1", All, true, "not a number"},
	} {
		r := Compare("d", "s", Seen, c.expected, decimal.RequireFromString(c.ours), c.atLeast)
		if r.Short != c.short || r.Agreed != c.agreed {
			t.Errorf("Compare(%s, %s, %d): short %v, agreed %q; want %v, %q",
				c.expected, c.ours, c.atLeast, r.Short, r.Agreed, c.short, c.agreed)
		}
	}
}

func TestOursIsReadable(t *testing.T) {
	for _, c := range []struct{ expected, ours, want string }{
		{"0.1", "0.1", "0.1"},
		{"1.05E-08", "0.0000000104951729", "1.0495e-8"},
		{"33", "33.333333333", "33.33"},
		{"0", "0", "0"},
	} {
		if r := Compare("", "", Seen, c.expected, decimal.RequireFromString(c.ours), 1); r.Ours != c.want {
			t.Errorf("ours %s beside %s shows as %s, want %s", c.ours, c.expected, r.Ours, c.want)
		}
	}
}

func TestPart(t *testing.T) {
	path := filepath.Join(t.TempDir(), "page.md")
	if err := os.WriteFile(path, []byte("# Page\n\n## one\n\nold\n\n## two\n\nstays\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	one := Sections(t, []Section{{"Means", []Row{Compare("mean", "here", Seen, "1.0", decimal.New(1, 0), All)}}})
	if !strings.Contains(one, "### Means\n\n| check |") || !strings.Contains(one, "| mean | here | seen | 1.0 | 1 | exact |") {
		t.Errorf("table is\n%s", one)
	}
	watched := new(watch)
	Part(watched, path, "one", one, false)
	if !watched.failed {
		t.Error("a part that differs was let pass")
	}
	Part(t, path, "one", one, true)
	Part(t, path, "one", one, false)
	Part(t, path, "two", "stays\n", false)
	Part(t, path, "two", "goes\n", true)
	Part(t, path, "one", one, false)
}

func TestLeast(t *testing.T) {
	rows := []Row{
		Words("a", "s", Seen, "GOOD", "GOOD"),
		Compare("b", "s", Seen, "2.115", decimal.RequireFromString("2.1144"), 3),
		Compare("c", "s", Seen, "2.115", decimal.RequireFromString("2.12"), 1),
	}
	if r := Least("all", rows); r.Check != "all: 3 figures, least: c" || r.Short {
		t.Errorf("%+v", r)
	}
	if r := Least("all", append(rows, Words("d", "s", Seen, "GOOD", "OUT"))); !r.Short || r.Agreed != "not the same" {
		t.Errorf("%+v", r)
	}
	if r := Least("none", nil); !r.Short {
		t.Error("nothing compared was let pass")
	}
}

// watch stands in for the test that Golden should fail.
type watch struct {
	testing.TB
	failed bool
}

func (w *watch) Helper()               {}
func (w *watch) Errorf(string, ...any) { w.failed = true }
