package draw

import (
	"slices"
	"strings"

	"shimwright/calc/network"
	"shimwright/calc/sheet"
)

// LoopOf are the lengths that a pack's loop goes through, the pack and what it
// makes true included; of any other step the length that it gives. None where
// the step gives no length.
func LoopOf(s *sheet.Sheet, st *sheet.Step) []string {
	switch {
	case st.Measure != nil:
		return []string{st.Measure.Length}
	case st.Mark != nil:
		return []string{st.Mark.Length}
	case st.Pack == nil:
		return nil
	}
	out := []string{st.Pack.Length}
	wd, ok := s.WantedNamed(st.Pack.Makes)
	if !ok {
		return out
	}
	form, err := s.Target(wd)
	if err != nil {
		return out
	}
	for _, name := range form.Names() {
		if !slices.Contains(out, name) {
			out = append(out, name)
		}
	}
	if wd.SettingOf == "" {
		out = append(out, wd.Name)
	}
	return out
}

// Faces draws some lengths of a sheet between the faces they run between, down
// the page in the order of the sheet, outward from the wheel on its axis; the
// first length stands out. Other faces are left out.
func Faces(s *sheet.Sheet, names []string, look Look) []Row {
	var out []Row
	for _, axis := range s.Net.Axes() {
		var bars []bar
		for _, b := range barsOf(s, axis.Faces) {
			if slices.Contains(names, b.name) {
				bars = append(bars, b)
			}
		}
		if len(bars) > 0 {
			out = append(out, faceRows(axis, bars, names[0], look)...)
		}
	}
	return out
}

func faceRows(axis network.Axis, bars []bar, first string, look Look) []Row {
	var faces []int
	for _, b := range bars {
		faces = append(faces, b.from, b.to)
	}
	slices.Sort(faces)
	faces = slices.Compact(faces)
	wide := 0
	for _, f := range faces {
		wide = max(wide, min(Cells(Visible(axis.Faces[f])), faceWide))
	}
	g := newGrid(min(look.Width, wide+2+3*len(bars)), len(faces)+1)
	for i, b := range bars {
		g.write(wide+2+3*i, 0, letter(i), toneOf(b, first))
	}
	line := "─"
	if look.ASCII {
		line = "-"
	}
	for n, f := range faces {
		y := n + 1
		g.write(0, y, Cut(axis.Faces[f], wide), Plain)
		for x := wide + 1; x < g.wide; x++ {
			g.put(x, y, line, Faint)
		}
		for i, b := range bars {
			if mark := barMark(b, f, look.ASCII); mark != "" {
				g.put(wide+2+3*i, y, mark, toneOf(b, first))
			}
		}
	}
	var legend []Row
	for _, b := range bars {
		words := letter(len(legend)) + " " + barLine(b.kind, look.ASCII) + " " + Visible(b.name)
		if !strings.HasSuffix(b.name, b.kind) {
			words += ", " + b.kind
		}
		legend = append(legend, Row{{words, toneOf(b, first)}})
	}
	return beside(g.rows(), legend, g.wide+1, look.Width)
}

func toneOf(b bar, first string) Tone {
	if b.name == first {
		return Strong
	}
	return Plain
}

// barMark is what a bar has at a face.
func barMark(b bar, face int, ascii bool) string {
	end := func(fine, plain string) string {
		if ascii {
			return plain
		}
		return fine
	}
	switch {
	case face == b.from:
		return end("┬", "+")
	case face == b.to:
		return end("┴", "+")
	case b.from < face && face < b.to:
		return barLine(b.kind, ascii)
	}
	return ""
}

func barLine(kind string, ascii bool) string {
	if ascii || kind == "touch" {
		return string(mark(kind))
	}
	switch kind {
	case "pack":
		return "█"
	case "wanted":
		return "┊"
	case "not measured":
		return "╎"
	}
	return "│"
}
