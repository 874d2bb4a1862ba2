package main

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"shimwright/calc/overhaul"
	"shimwright/calc/sheet"
)

// insides are what an error of what was read must not say: packages, types and
// functions of the program and of what it is built with.
var insides = regexp.MustCompile(`json:|yaml\.|ast\.|strconv|[Uu]nmarshal|\bstruct\b|interface|map\[|int64|float64|decimal\.|\bnil\b|\bGo\b|%!|\*?\b[a-z]+\.[A-Z]\w+\b.*type|can't convert`)

func plain(t *testing.T, what string, err error) {
	t.Helper()
	if err == nil {
		return
	}
	for _, line := range strings.Split(err.Error(), "\n") {
		if found := insides.FindString(line); found != "" {
			t.Errorf("%s: %q speaks of the program's insides: %s", what, found, line)
		}
	}
}

// A command that cannot be read is told by its field and what to write there.
func TestCommandErrorsArePlain(t *testing.T) {
	for _, c := range []struct{ line, want string }{
		{`{"do": "confirm", "step": 5}`, "Step: a number stands here: write a text"},
		{`{"do": "open", "sheet": ["fw3"]}`, "Sheet: a list stands here: write a text"},
		{`{"do": "in", "step": "x", "in": "yes"}`, "In: a text stands here: write true or false"},
		{`{"do": "fit", "step": "x", "leaves": "0.30 mm"}`, "Leaves: a text stands here: write a list"},
		{`{"do": "see", "marks": "high"}`, "Marks: a text stands here: write an object"},
		{`{"do": "take", "press": "17"}`, "Press: a text stands here: write a whole number"},
		{`{"do": "take", "press": 1.5}`, "Press: 1.5 stands here: write a whole number"},
		{`{"do": "take", "press": 1e99}`, "Press: 1e99 stands here: write a whole number"},
		{`{"do": "confirm", "shim": 1}`, `there is no field "shim"`},
		{`{"do": 5}`, "do: a number stands here: write a text"},
		{`{"do": "dance"}`, `"dance" is no command: the commands are`},
		{`{"step": "x"}`, `has no "do"`},
		{`null`, `has no "do"`},
		{`[]`, "a list stands here: write an object"},
		{`{"do"`, "ends too soon"},
		{`{do: "x"}`, "a field's name in quotes"},
		{`"confirm"`, "a text stands here: write an object"},
	} {
		_, _, err := parseCommand([]byte(c.line))
		if err == nil || !strings.Contains(strings.ToLower(err.Error()), strings.ToLower(c.want)) {
			t.Errorf("%s: %v, want %q", c.line, err, c.want)
		}
		plain(t, c.line, err)
	}
}

// Whatever stands in place of a value, the error of a file speaks of the file.
func TestFileErrorsArePlain(t *testing.T) {
	s, err := readSheet("fw3")
	if err != nil {
		t.Fatal(err)
	}
	instead := []string{
		"", "5", "-1", "1e999", "1e-999999", "[1, 2]", "{a: 1}", "null", "~", "yes", `"x"`, "&a b", "*a", "!!int x", "|", ">", "- -", "? x",
		"2001-02-03", "0x1F", ".inf", ".nan", "[", "}", "'", "%", "@", "`", "38.0 N", "1/0 mm", strings.Repeat("9", 400) + " mm", "\t",
	}
	readings := func(name string, text []byte) error {
		e, err := sheet.ReadEntries(s, name, text)
		if err == nil {
			_, err = overhaul.Work(s, e)
		}
		return err
	}
	sheets := func(name string, text []byte) error { _, err := sheet.Read(name, text); return err }
	for _, f := range []struct {
		path string
		read func(string, []byte) error
		each int // lines looked at: every so many
	}{
		{filepath.Join("demo", "fw3.readings.yaml"), readings, 6},
		{filepath.Join("sheets", "fw3.yaml"), sheets, 23},
	} {
		text, err := os.ReadFile(f.path)
		if err != nil {
			t.Fatal(err)
		}
		lines := strings.Split(string(text), "\n")
		for i, line := range lines {
			key, _, ok := strings.Cut(line, ":")
			if !ok || i%f.each != 0 {
				continue
			}
			for _, v := range instead {
				lines[i] = key + ": " + v
				plain(t, f.path+", "+lines[i], f.read("it.yaml", []byte(strings.Join(lines, "\n"))))
			}
			lines[i] = line
		}
	}
}
