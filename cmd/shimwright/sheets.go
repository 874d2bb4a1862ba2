package main

import (
	"embed"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path"
	"strings"

	"shimwright/calc/document"
	"shimwright/calc/sheet"
)

// builtIn holds the sheets that come with the program: invented drives, for
// the demonstration and for trying the program out.
//
//go:embed sheets/*.yaml
var builtIn embed.FS

// sheetNames are the names of the sheets that come with the program.
func sheetNames() []string {
	found, err := fs.Glob(builtIn, "sheets/*.yaml")
	if err != nil {
		return nil
	}
	var out []string
	for _, f := range found {
		out = append(out, strings.TrimSuffix(path.Base(f), ".yaml"))
	}
	return out
}

// embeddedSheet is the text of a sheet that comes with the program, by its name.
func embeddedSheet(name string) ([]byte, bool) {
	text, err := builtIn.ReadFile("sheets/" + name + ".yaml")
	return text, err == nil
}

// readSheet reads a sheet by its path, or by its name where it comes with the
// program. A bare name that both could be is the program's own.
func readSheet(name string) (*sheet.Sheet, error) {
	if text, ok := embeddedSheet(name); ok {
		return sheet.Read(name+".yaml", text)
	}
	text, err := readFile("sheet", name)
	if err != nil {
		if statusOf(err) == exitInput && !strings.ContainsAny(name, `./\`) {
			return nil, fmt.Errorf("%w, and no sheet of this name comes with the program: it has %s", err, strings.Join(sheetNames(), ", "))
		}
		return nil, err
	}
	return sheet.Read(name, text)
}

// readFile reads a file named on the command line, no more of it than a
// document may have.
func readFile(what, name string) (text []byte, err error) {
	f, err := os.Open(name)
	if err != nil {
		return nil, fileError(what, name, err)
	}
	defer f.Close()
	if info, err := f.Stat(); err == nil && info.IsDir() {
		return nil, fmt.Errorf("%s %s: this is a folder, want a file", what, name)
	}
	text, err = io.ReadAll(io.LimitReader(f, document.MaxSize+1))
	if err != nil {
		return nil, fileError(what, name, err)
	}
	return text, nil
}
