// Package checktest holds our figures against published ones and writes the
// table of it. It is for tests only.
//
// A test collects a [Row] for each published figure with [Compare], or [Words]
// where it is no figure, fails on each row that is Short, makes tables of them
// with [Sections] and keeps its own part of the one page up to date with [Part].
package checktest

import (
	"math"
	"os"
	"strconv"
	"strings"
	"testing"

	"github.com/shopspring/decimal"
)

// A Status says how sure we are that the source prints the expected figure.
type Status string

// How an expected figure is known.
const (
	Seen     Status = "seen"     // read in the source, or in a public copy of it
	Recalled Status = "recalled" // from memory
	Computed Status = "computed" // not published: worked out by another program, or by a closed form
)

// All is asked of Compare where every printed digit must agree.
const All = 0

// A Row is one published figure beside ours.
type Row struct {
	Check    string // what was checked
	Source   string
	Status   Status
	Expected string // as printed
	Ours     string
	Agreed   string // "exact", "all N" or a number of digits
	Short    bool   // fewer digits agree than were asked for
}

// Compare sets ours beside the figure as printed. It is Short unless ours,
// rounded to the places printed, is the printed figure, or atLeast is not All
// and at least so many digits agree: for sources that round on the way.
func Compare(check, source string, status Status, expected string, ours decimal.Decimal, atLeast int) Row {
	r := Row{Check: check, Source: source, Status: status, Expected: expected}
	digits, all := Agreed(expected, ours)
	want, err := decimal.NewFromString(expected)
	shown := significant(expected) + 2
	switch {
	case err != nil:
		r.Agreed, r.Short = "not a number", true
	case want.Equal(ours):
		r.Agreed = "exact"
	case all:
		r.Agreed = "all " + strconv.Itoa(digits)
	default:
		r.Agreed = strconv.Itoa(digits)
		r.Short = atLeast == All || digits < atLeast
		shown = digits + 3 // where they part is what there is to see
	}
	r.Ours = shorten(ours, max(shown, 4))
	return r
}

// Words sets a word or an exact text of ours beside that of a source: Short
// unless they are the same.
func Words(check, source string, status Status, expected, ours string) Row {
	r := Row{Check: check, Source: source, Status: status, Expected: expected, Ours: ours, Agreed: "exact"}
	if expected != ours {
		r.Agreed, r.Short = "not the same", true
	}
	return r
}

// Least is the row of many that agrees least, named for all of them. Rows that
// agree in all digits count as agreeing best.
func Least(what string, rows []Row) Row {
	if len(rows) == 0 {
		return Row{Check: what, Agreed: "nothing compared", Short: true}
	}
	worst, digits := rows[0], math.MaxInt
	for _, r := range rows {
		n := math.MaxInt
		if i, err := strconv.Atoi(r.Agreed); err == nil {
			n = i
		}
		if r.Short {
			n = -1
		}
		if n < digits {
			worst, digits = r, n
		}
	}
	worst.Check = what + ": " + strconv.Itoa(len(rows)) + " figures, least: " + worst.Check
	return worst
}

// Agreed counts the digits of ours that agree with a figure as printed: all of
// those printed, if ours rounds to it, else the whole part of the log relative
// error −log10(|ours − expected|/|expected|), not below nought.
func Agreed(expected string, ours decimal.Decimal) (digits int, all bool) {
	want, err := decimal.NewFromString(expected)
	if err != nil {
		return 0, false
	}
	printed := significant(expected)
	places := -want.Exponent()
	if ours.Round(places).Equal(want) || ours.RoundBank(places).Equal(want) {
		return printed, true
	}
	return int(max(0, math.Floor(LogError(want, ours)))), false
}

// LogError is −log10 of the relative error of ours, or of the error itself
// where nought is expected; +Inf where they are equal.
func LogError(want, ours decimal.Decimal) float64 {
	off, _ := ours.Sub(want).Abs().Float64()
	size, _ := want.Abs().Float64()
	if size > 0 {
		off /= size
	}
	return -math.Log10(off)
}

// significant counts the significant digits of a number as printed.
func significant(printed string) int {
	mantissa, _, _ := strings.Cut(strings.ToLower(printed), "e")
	digits := strings.Map(func(r rune) rune {
		if r < '0' || r > '9' {
			return -1
		}
		return r
	}, mantissa)
	return max(1, len(strings.TrimLeft(digits, "0")))
}

// shorten is d at so many significant digits, for reading.
func shorten(d decimal.Decimal, digits int) string {
	if d.IsZero() {
		return "0"
	}
	magnitude := d.NumDigits() + int(d.Exponent())
	s := d.RoundBank(int32(digits - magnitude))
	if magnitude < -3 {
		f := s.Shift(int32(1 - magnitude))
		return f.String() + "e" + strconv.Itoa(magnitude-1)
	}
	return s.String()
}

// Table is rows as a Markdown table.
func Table(rows []Row) string {
	var b strings.Builder
	b.WriteString("| check | source | seen or recalled | expected | ours | digits agreed |\n")
	b.WriteString("| --- | --- | --- | ---: | ---: | ---: |\n")
	for _, r := range rows {
		cells := []string{r.Check, r.Source, string(r.Status), r.Expected, r.Ours, r.Agreed}
		b.WriteString("| " + strings.Join(cells, " | ") + " |\n")
	}
	return b.String()
}

// A Section is rows under a title.
type Section struct {
	Title string
	Rows  []Row
}

// Sections are tables with their titles; the test fails for each row that is
// Short.
func Sections(t testing.TB, sections []Section) string {
	t.Helper()
	var b strings.Builder
	for i, s := range sections {
		Report(t, s.Rows)
		if i > 0 {
			b.WriteString("\n")
		}
		b.WriteString("### " + s.Title + "\n\n" + Table(s.Rows))
	}
	return b.String()
}

// Report fails the test for each row that is Short.
func Report(t testing.TB, rows []Row) {
	t.Helper()
	for _, r := range rows {
		if r.Short {
			t.Errorf("%s: ours %s, %s prints %s: %s digits agree", r.Check, r.Ours, r.Source, r.Expected, r.Agreed)
		}
	}
}

// Part compares what a test would write with its part of the page at path, and
// fails where they differ; with update it writes that part instead. The part
// runs from a line "## title" to the next such line, so that several packages
// keep one page: write it with one of them at a time (go test -p 1).
func Part(t testing.TB, path, title, content string, update bool) {
	t.Helper()
	page, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	before, old, after, ok := cutPart(string(page), title)
	switch {
	case !ok:
		t.Fatalf("%s has no line %q", path, "## "+title)
	case !update && old != content:
		t.Errorf("the part %q of %s is out of date: run the test with -update and look at the difference", title, path)
	case update:
		if err := os.WriteFile(path, []byte(before+content+after), 0o644); err != nil {
			t.Fatal(err)
		}
	}
}

// cutPart cuts a page before and after what stands under a title.
func cutPart(page, title string) (before, part, after string, ok bool) {
	head := "\n## " + title + "\n\n"
	i := strings.Index(page, head)
	if i < 0 {
		return "", "", "", false
	}
	i += len(head)
	rest := page[i:]
	end := len(rest)
	if j := strings.Index(rest, "\n## "); j >= 0 {
		end = j
	}
	return page[:i], rest[:end], rest[end:], true
}
