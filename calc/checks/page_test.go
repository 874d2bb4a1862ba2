package checks

import (
	"errors"
	"flag"
	"io/fs"
	"os"
	"slices"
	"strings"
	"testing"

	"shimwright/calc/stat/checktest"
)

var update = flag.Bool("update", false, "write this package's parts of calc/CHECKS.md instead of comparing with them")

const page = "../CHECKS.md"

const head = `# Every outside check of the arithmetic

Written by tests; change a test, not this file. Each row sets our figure beside one from outside.

- **Seen**: read in the source or in a public copy of it. **Recalled**: from memory. **Computed**: not published, but the
  result of another program, or a closed form.
- **Exact**: ours is the printed number itself. **All N**: ours, rounded to the N digits printed, is the printed number. A
  bare number: so many digits agree (log relative error, cut down); it stands only where the source rounds on its way, is
  at fault or gives an order of size, and the row says so, or where another program works in float64.
- Where a row stands for many figures it shows the one that agrees least.
- "Common practice, no source" marks facts of the trade: nothing is proved by them but that the program agrees with them.

The data and their sources are in testdata/published, what other programs gave in testdata/compared.
`

// parts are the page's parts in order.
func parts() []string {
	return []string{
		"Statistics on readings (package stat)",
		"Uncertainty and corrections (packages budget and correct)",
		unitsPart, gearsPart, packsPart, tradePart, programsPart,
	}
}

// The page has this head and these parts, and no other.
func TestPage(t *testing.T) {
	arrange(t)
	text := readFile(t, page)
	if !strings.HasPrefix(text, head+"\n## ") {
		t.Error("the page's head is out of date: run the tests with -update and look at the difference")
	}
	if got := titles(text); !slices.Equal(got, parts()) {
		t.Errorf("the page's parts are %q, want %q", got, parts())
	}
}

// arrange puts the page's head and order right, with -update.
func arrange(t *testing.T) {
	t.Helper()
	if !*update {
		return
	}
	old, err := os.ReadFile(page)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		t.Fatal(err)
	}
	if err := os.WriteFile(page, []byte(arranged(string(old))), 0o644); err != nil {
		t.Fatal(err)
	}
}

func titles(text string) []string {
	var out []string
	for line := range strings.Lines(text) {
		if title, ok := strings.CutPrefix(line, "## "); ok {
			out = append(out, strings.TrimSuffix(title, "\n"))
		}
	}
	return out
}

// arranged is the page with its head and order, each part kept as it is.
func arranged(text string) string {
	var b strings.Builder
	b.WriteString(head)
	for _, title := range parts() {
		b.WriteString("\n## " + title + "\n\n")
		if _, rest, ok := strings.Cut(text, "\n## "+title+"\n\n"); ok {
			part, _, _ := strings.Cut(rest, "\n## ")
			b.WriteString(part)
		}
	}
	return b.String()
}

// hold keeps one of this package's parts.
func hold(t *testing.T, title string, sections ...checktest.Section) {
	t.Helper()
	text := checktest.Sections(t, sections)
	if t.Failed() {
		return
	}
	arrange(t)
	checktest.Part(t, page, title, text, *update)
}
