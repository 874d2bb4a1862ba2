package board

import (
	"fmt"
	"math"
	"strings"

	"github.com/shopspring/decimal"

	"shimwright/calc/stat"
	"shimwright/ui/draw"
	"shimwright/ui/term"
)

// A guide is a line across a chart with what it is.
type guide struct {
	name string
	at   decimal.Decimal
	mark string
	tone draw.Tone
}

// guides are a chart's lines: what its jobs usually do, and what the sheet
// allows. Where two fall on one line the sheet's is kept.
func (c *control) guides(sheets ...guide) []guide {
	var out []guide
	if l := c.limits; l != nil {
		out = append(out,
			guide{"usual to", l.Upper, "┄", draw.Plain},
			guide{"middle", l.Centre, "─", draw.Faint},
			guide{"usual from", l.Lower, "┄", draw.Plain})
	}
	return append(out, sheets...)
}

// spreadGuides and meanGuides are those of a series.
func (s *Series) spreadGuides() []guide {
	var of []guide
	if s.allowed != nil {
		of = append(of, guide{"SHEET max", s.in(*s.allowed), "═", draw.Strong})
	}
	out := s.Spread.guides(of...)
	if l := s.Spread.limits; l != nil && l.Lower.Sign() == 0 {
		out = append(out[:2:2], out[3:]...) // nothing is usual from nought
	}
	return out
}

func (s *Series) meanGuides() []guide {
	var of []guide
	if s.band != nil {
		of = append(of, guide{"SHEET max", s.in(s.band[1]), "═", draw.Strong}, guide{"SHEET min", s.in(s.band[0]), "═", draw.Strong})
	}
	return s.Mean.guides(of...)
}

// labelWide is the room for the guides' names and figures.
const labelWide = 18

// rows draw a chart: the points of jobs from left to right, the newest last; a
// point outside what is usual, or what the sheet allows, has another shape. Where
// there are more jobs than columns, a column holds several, lowest to highest.
func (c *control) rows(width, height int, places int32, guides []guide, chosen int) []draw.Row {
	wide := width - labelWide - 1
	if len(c.points) == 0 || height < 3 || wide < 4 {
		return term.Lines(draw.Plain, c.words(places), width, max(height, 1))
	}
	s := scaleOf(c.points, guides, height)
	grid := make([][]cell, height)
	for y := range grid {
		grid[y] = make([]cell, wide)
	}
	labels := make([]draw.Row, height)
	for _, g := range guides {
		y := s.row(g.at)
		label := fmt.Sprintf("%-10s %6s ", g.name, g.at.StringFixedBank(places))
		labels[y] = term.Say(g.tone, label)
		for x := range grid[y] {
			grid[y][x] = cell{g.mark, g.tone}
		}
	}
	c.plot(grid, s, guides, chosen)
	out := make([]draw.Row, height)
	for y := range grid {
		out[y] = append(term.Pad(labels[y], labelWide), row(grid[y])...)
	}
	return out
}

// last is the chart with the last jobs alone, one to a column, and how many are
// left out before them; its limits are those of all.
func (c *control) last(width int) (control, int) {
	out, from := *c, max(0, len(c.points)-(width-labelWide-1))
	out.points = c.points[from:]
	return out, from
}

type cell struct {
	text string
	tone draw.Tone
}

func row(cells []cell) draw.Row {
	var out draw.Row
	for _, c := range cells {
		if c.text == "" {
			c.text = " "
		}
		if n := len(out); n > 0 && out[n-1].Tone == c.tone {
			out[n-1].Text += c.text
			continue
		}
		out = append(out, draw.Span{Text: c.text, Tone: c.tone})
	}
	return out
}

// perColumn is how many jobs share a column, and how far columns stand apart.
func perColumn(points, wide int) (jobs, apart int) {
	if points > wide {
		return (points + wide - 1) / wide, 1
	}
	return 1, max(1, min(4, wide/points))
}

// plot puts the points in.
func (c *control) plot(grid [][]cell, s scale, guides []guide, chosen int) {
	wide := len(grid[0])
	jobs, apart := perColumn(len(c.points), wide)
	columns := (len(c.points) + jobs - 1) / jobs
	for col := range columns {
		x := wide - 1 - (columns-1-col)*apart
		of := c.points[col*jobs : min((col+1)*jobs, len(c.points))]
		low, high := s.row(least(of)), s.row(most(of))
		for y := high + 1; y < low; y++ {
			grid[y][x] = cell{"│", draw.Faint}
		}
		for _, p := range of {
			y := s.row(p)
			mark, tone := c.mark(p, guides)
			if grid[y][x].tone == draw.Stop {
				continue // what is outside is never covered
			}
			grid[y][x] = cell{mark, tone}
		}
		if chosen >= col*jobs && chosen < col*jobs+len(of) {
			if y := s.row(c.points[chosen]); grid[y][x].tone != draw.Stop {
				grid[y][x] = cell{"◆", draw.Strong}
			}
		}
	}
}

// mark is a point's shape: a triangle out of what the sheet allows, a ring out of
// what is usual.
func (c *control) mark(p decimal.Decimal, guides []guide) (string, draw.Tone) {
	for _, g := range guides {
		switch {
		case g.name == "SHEET max" && p.GreaterThan(g.at):
			return "▲", draw.Stop
		case g.name == "SHEET min" && p.LessThan(g.at):
			return "▼", draw.Stop
		}
	}
	if l := c.limits; l != nil && (p.GreaterThan(l.Upper) || p.LessThan(l.Lower)) {
		return "◎", draw.Warn
	}
	return "●", draw.Good
}

// words say a chart in one sentence.
func (c *control) words(places int32) string {
	if len(c.points) == 0 {
		return "No job has been judged yet."
	}
	newest := c.points[len(c.points)-1]
	out := fmt.Sprintf("%s, newest %s", count(len(c.points), "job"), newest.StringFixedBank(places))
	if c.limits == nil {
		return out + "; " + c.none + "."
	}
	out += fmt.Sprintf("; usual %s .. %s, middle %s", c.limits.Lower.StringFixedBank(places), c.limits.Upper.StringFixedBank(places), c.limits.Centre.StringFixedBank(places))
	if n := len(c.limits.Outside(c.points)); n > 0 {
		out += fmt.Sprintf("; %d outside", n)
	}
	if len(c.points) < fewForLimits {
		out += "; limits from so few are a beginning"
	}
	return out + "."
}

// fewForLimits is how many readings limits want (common practice, no source).
const fewForLimits = 20

// scale turns figures into rows of a chart.
type scale struct {
	low, high float64
	rows      int
}

func scaleOf(points []decimal.Decimal, guides []guide, rows int) scale {
	s := scale{low: math.Inf(1), high: math.Inf(-1), rows: rows}
	take := func(d decimal.Decimal) {
		x := stat.Float(d)
		s.low, s.high = min(s.low, x), max(s.high, x)
	}
	for _, p := range points {
		take(p)
	}
	for _, g := range guides {
		take(g.at)
	}
	if s.high-s.low < 1e-9 {
		s.low, s.high = s.low-0.5, s.high+0.5
	}
	return s
}

func (s scale) row(d decimal.Decimal) int {
	share := (s.high - stat.Float(d)) / (s.high - s.low)
	return max(0, min(s.rows-1, int(math.Round(share*float64(s.rows-1)))))
}

func least(of []decimal.Decimal) decimal.Decimal { return decimal.Min(of[0], of[1:]...) }
func most(of []decimal.Decimal) decimal.Decimal  { return decimal.Max(of[0], of[1:]...) }

// spark draws the last points on one line, low to high in eight heights.
func spark(points []decimal.Decimal, most int) string {
	points = points[max(0, len(points)-most):]
	if len(points) == 0 {
		return ""
	}
	s := scaleOf(points, nil, 8)
	var b strings.Builder
	for _, p := range points {
		b.WriteRune([]rune("█▇▆▅▄▃▂▁")[s.row(p)])
	}
	return b.String()
}
