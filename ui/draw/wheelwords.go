package draw

import (
	"fmt"
	"strings"

	"shimwright/calc/ring"
)

// legend says what the marks of a ring mean: those that are in it.
func (r Ring) legend(look Look) []Row {
	var parts []string
	if r.Band != nil {
		parts = append(parts, fmt.Sprintf("%s limits %s .. %s", bandMark(look.ASCII), r.Band.Low.Show(r.Unit, r.Places), r.Band.High.ShowUnit(r.Unit, r.Places)))
	}
	seen := map[string]bool{}
	for _, s := range r.Spots {
		mark, _ := spotMark(s, look.ASCII)
		if word := spotWord(s); !seen[word] {
			seen[word] = true
			parts = append(parts, mark+" "+word)
		}
	}
	if f := r.Fit; f != nil && f.Once.Sight == ring.Whole {
		low := "L curve lowest " + f.Low.Value.ShowUnit(r.Unit, r.Places)
		if f.Low.At.Known {
			low += fmt.Sprintf(" at %.0f deg", f.Low.At.Degrees)
		} else {
			low = "the curve is even, " + f.Low.Value.ShowUnit(r.Unit, r.Places)
		}
		parts = append(parts, low)
	}
	return flowRows(parts, look.Width)
}

func spotWord(s Spot) string {
	switch {
	case s.Next:
		return "next"
	case s.Value == nil:
		return "to be read"
	case s.Stale:
		return "stale"
	case s.Verdict == ring.NotJudged:
		return "read"
	}
	return s.Verdict.String()
}

// flowRows sets parts one behind the other, on as many rows as they need.
func flowRows(parts []string, width int) []Row {
	var out []Row
	at := ""
	for _, p := range parts {
		switch {
		case at == "":
			at = p
		case Cells(at)+3+Cells(p) <= width:
			at += "   " + p
		default:
			out = append(out, Row{{Cut(at, width), Plain}})
			at = p
		}
	}
	if at != "" {
		out = append(out, Row{{Cut(at, width), Plain}})
	}
	return out
}

// table is the ring where there is no room to draw it: a spot a line.
func (r Ring) table(look Look) []Row {
	var out []Row
	for _, s := range r.Spots {
		mark, tone := spotMark(s, look.ASCII)
		figure := "____"
		if s.Value != nil {
			figure = s.Value.ShowUnit(r.Unit, r.Places)
		}
		out = append(out, Row{{Cut(fmt.Sprintf("%s %.0f deg  %s  %s", mark, s.Angle, figure, spotWord(s)), look.Width), tone}})
		if len(out) == max(look.Height-1, 1) && len(r.Spots) > len(out) {
			return append(out, Row{{Cut(fmt.Sprintf("and %d more", len(r.Spots)-len(out)), look.Width), Plain}})
		}
	}
	return out
}

// Words tells a ring line by line, for those who hear it or read a log.
func (r Ring) Words() string {
	var b strings.Builder
	for _, row := range r.table(Look{Width: DefaultWidth, Height: ring.MaxPoints + 1, ASCII: true}) {
		b.WriteString(row.Text() + "\n")
	}
	for _, row := range r.legend(Look{Width: DefaultWidth, ASCII: true}) {
		b.WriteString(row.Text() + "\n")
	}
	return b.String()
}
