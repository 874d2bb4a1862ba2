package draw

import (
	"fmt"
	"strings"

	"shimwright/calc/overhaul"
	"shimwright/calc/quantity"
	"shimwright/calc/stock"
)

// A Leaved is one pack to draw: how it is made up or how it was measured.
type Leaved struct {
	Name   string         // "make up", "or", "measured"
	Total  quantity.Exact // mm
	Leaves []stock.Leaf   // one by one, in stacking order; none where they are not known
	Does   string         // what its error does, in words; "" for none
}

// Packs are drawn against the figure that is wanted.
type Packs struct {
	Wanted *quantity.Exact // mm; nil where none is
	Within quantity.Exact  // mm either way; nought where the sheet gives none
	Rows   []Leaved
	Stock  []stock.Leaf // counted, before any is taken
	Unit   quantity.Unit
	Places int32
}

// PacksOf is how a pack's make-ups, what comes near, and the pack as fitted are
// drawn. tray is the stock offered.
func PacksOf(p *overhaul.Pack, tray []stock.Leaf, page Page) Packs {
	out := Packs{Within: p.Within, Stock: tray, Unit: page.Unit, Places: page.Places}
	if p.Worked != nil {
		out.Wanted = &p.Worked.Value
	}
	if p.Makeup != nil {
		for i, m := range p.Makeup.Packs {
			row := Leaved{Name: "make up", Total: m.Total, Leaves: m.Leaves}
			if i == 0 {
				row.Does = p.Effect
			} else {
				row.Name = "or"
			}
			out.Rows = append(out.Rows, row)
		}
	}
	for _, n := range p.Near {
		out.Rows = append(out.Rows, Leaved{Name: "near", Total: n.Pack.Total, Leaves: n.Pack.Leaves, Does: n.Does + tooMany(n.TooMany)})
	}
	if p.Fitted != nil {
		out.Rows = append(out.Rows, Leaved{Name: "fitted", Total: p.Fitted.Value, Does: p.ErrorDoes})
	}
	return out
}

// Columns of the drawing of packs.
const (
	nameCells  = 9
	rulerCells = 15 // the ruler of how far off, its two ends included
	mostDrawn  = 6  // packs
)

// Draw draws each pack as its leaves side on, to one scale, with the wanted
// length marked under them, how far each is off on a finer ruler, and the
// stock as it is left once the first is made up.
func (p Packs) Draw(look Look) []Row {
	strip := max(10, look.Width-nameCells-rulerCells-18)
	var out []Row
	for _, r := range p.Rows[:min(len(p.Rows), mostDrawn)] {
		out = append(out, p.row(r, strip, look))
		words := "         " + leavesWords(r.Leaves)
		if r.Does != "" {
			words = strings.TrimRight(words, " ") + "  " + r.Does
		}
		if strings.TrimSpace(words) != "" {
			out = append(out, Row{{Cut("         "+strings.TrimSpace(words), look.Width), Plain}})
		}
	}
	if p.Wanted != nil {
		out = append(out, p.wantedRow(strip, look))
	}
	return append(out, p.stockRows(look)...)
}

func leavesWords(of []stock.Leaf) string {
	if len(of) == 0 {
		return ""
	}
	leaves := "leaves"
	if len(of) == 1 {
		leaves = "leaf"
	}
	return fmt.Sprintf("%s: %d %s", stock.Pack{Leaves: of}.String(), len(of), leaves)
}

// scale is how many cells a millimetre takes.
func (p Packs) scale(strip int) float64 {
	most := 0.0
	for _, r := range p.Rows {
		most = max(most, r.Total.Float())
	}
	if p.Wanted != nil {
		most = max(most, p.Wanted.Float()+p.Within.Float())
	}
	if most <= 0 {
		return 0
	}
	return float64(strip) / most
}

func (p Packs) row(r Leaved, strip int, look Look) Row {
	text := p.leafStrip(r, p.scale(strip), look.ASCII)
	out := Row{{fmt.Sprintf("%-*s", nameCells, r.Name), Plain}, {text, Strong}}
	out = append(out, Span{strings.Repeat(" ", max(0, strip-Cells(text))+1), Plain}, Span{r.Total.Show(p.Unit, p.Places) + " ", Strong})
	if p.Wanted != nil {
		out = append(out, p.ruler(r.Total.Sub(*p.Wanted), look.ASCII))
	}
	return out.Clip(look.Width)
}

// leafStrip is the leaves side on, each as long as it is thick and at least one
// cell, with its size written in it where it fits. Neighbours differ in their
// filling.
func (p Packs) leafStrip(r Leaved, scale float64, ascii bool) string {
	of := r.Leaves
	if len(of) == 0 {
		of = []stock.Leaf{{Size: r.Total}}
	}
	fills := []string{"█", "▒"}
	if ascii {
		fills = []string{"#", "="}
	}
	var b strings.Builder
	at, sum := 0, 0.0
	for i, l := range of {
		sum += l.Size.Float()
		to := max(at+1, int(sum*scale+0.5))
		n := to - at
		label := p.marked(l)
		if len(of) == 1 || label == "" || Cells(label)+4 > n {
			b.WriteString(strings.Repeat(fills[i%2], n))
		} else {
			left := (n - Cells(label) - 2) / 2
			b.WriteString(strings.Repeat(fills[i%2], left) + " " + Visible(label) + " " + strings.Repeat(fills[i%2], n-left-Cells(label)-2))
		}
		at = to
	}
	return b.String()
}

// marked is what a leaf is marked with; without its unit only where that is the
// unit of the drawing.
func (p Packs) marked(l stock.Leaf) string {
	if p.Unit == quantity.MM {
		return strings.TrimSuffix(l.Label, " mm")
	}
	return l.Label
}

// ruler shows how far a pack is off: the middle is exact, the brackets are as
// far as it may be, further out it is an arrow.
func (p Packs) ruler(off quantity.Exact, ascii bool) Span {
	if p.Within.Sign() <= 0 {
		return Span{offWords(off, p.Unit, p.Places), Plain}
	}
	cells := []string{}
	for range rulerCells {
		cells = append(cells, pickLine(ascii))
	}
	mid, reach := rulerCells/2, rulerCells/2-2
	cells[mid], cells[mid-reach], cells[mid+reach] = "+", "[", "]"
	at := mid + int(roundAway(off.Float()/p.Within.Float()*float64(reach)))
	tone := Good
	mark := "o"
	if off.Abs().Cmp(p.Within) > 0 {
		tone = Stop
		mark = ">"
		at = rulerCells - 1
		if off.Sign() < 0 {
			at, mark = 0, "<"
		}
	}
	cells[at] = mark
	return Span{strings.Join(cells, ""), tone}
}

func pickLine(ascii bool) string {
	if ascii {
		return "-"
	}
	return "─"
}

func roundAway(x float64) float64 {
	if x < 0 {
		return -float64(int(-x + 0.5))
	}
	return float64(int(x + 0.5))
}

func offWords(off quantity.Exact, u quantity.Unit, places int32) string {
	switch off.Sign() {
	case 1:
		return off.ShowUnit(u, places) + " too thick"
	case -1:
		return off.Neg().ShowUnit(u, places) + " too thin"
	}
	return "exact"
}

// wantedRow marks the wanted length under the strips and the ends of the ruler.
func (p Packs) wantedRow(strip int, look Look) Row {
	if len(p.Rows) == 0 { // nothing stands above it to be measured against
		words := fmt.Sprintf("%-*s%s", nameCells, "wanted", p.Wanted.ShowUnit(p.Unit, p.Places))
		if p.Within.Sign() > 0 {
			words += " ± " + p.Within.Show(p.Unit, p.Places)
		}
		return Row{{words, Plain}}.Clip(look.Width)
	}
	at := max(0, int(p.Wanted.Float()*p.scale(strip)+0.5)-1)
	words := "wanted " + p.Wanted.ShowUnit(p.Unit, p.Places)
	mark := "▲"
	if look.ASCII {
		mark = "^"
	}
	left := strings.Repeat(" ", nameCells+at)
	text := left + mark
	if before := nameCells + at - Cells(words) - 1; before >= 0 {
		text = strings.Repeat(" ", before) + words + " " + mark
	} else {
		text += " " + words
	}
	if p.Within.Sign() > 0 {
		end := "thin ± " + p.Within.Show(p.Unit, p.Places) + " thick"
		if gap := nameCells + strip + 8 - Cells(text); gap > 0 {
			text += strings.Repeat(" ", gap) + end
		} else {
			text += "   " + end
		}
	}
	return Row{{text, Plain}}.Clip(look.Width)
}

// stockRows are the leaves in stock, with what the first pack takes.
func (p Packs) stockRows(look Look) []Row {
	if len(p.Stock) == 0 {
		return nil
	}
	var taken []stock.Leaf
	if len(p.Rows) > 0 && p.Rows[0].Name == "make up" {
		taken = p.Rows[0].Leaves
	}
	var parts []string
	for _, l := range p.Stock {
		n := 0
		for _, t := range taken {
			if t.Label == l.Label && t.Size.Equal(l.Size) {
				n++
			}
		}
		part := fmt.Sprintf("%s × %d", Visible(p.marked(l)), l.Count)
		if n > 0 {
			part += fmt.Sprintf(" (%d left)", l.Count-n)
		}
		parts = append(parts, part)
	}
	rows := flowRows(parts, look.Width-nameCells)
	for i := range rows {
		head := strings.Repeat(" ", nameCells)
		if i == 0 {
			head = fmt.Sprintf("%-*s", nameCells, "in stock")
		}
		rows[i] = append(Row{{head, Plain}}, rows[i]...)
	}
	return rows
}
