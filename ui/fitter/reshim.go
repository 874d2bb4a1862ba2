package fitter

import (
	"fmt"
	"strings"

	"github.com/shopspring/decimal"

	"shimwright/calc/overhaul"
	"shimwright/calc/quantity"
	"shimwright/calc/remedy"
	"shimwright/calc/stock"
)

// exactOf is a fitted figure as a decimal, rounded where figures are.
func exactOf(x float64) quantity.Exact {
	return quantity.FromDecimal(decimal.NewFromFloat(x).Round(quantity.WorkPlaces))
}

// planLines are the re-shim that would pass: which way the gear goes as an
// arrow, each place with the leaves to put in and take out, and the ring as it
// should be found.
func planLines(v *view, c *overhaul.Check, width int) []line {
	if c.Reshim == nil || len(c.Reshim.Plans) == 0 {
		return nil
	}
	best := c.Reshim.Plans[0]
	out := []line{arrowLine(v, best)}
	for _, ch := range best.Changes {
		out = append(out, changeLines(v, ch, width)...)
	}
	if len(best.Points) > 0 {
		u, places := v.lengthUnit()
		after, all := "  then the ring should be", "good"
		for _, p := range best.Points {
			after += " " + p.After.Show(u, places)
			if p.Verdict.String() != all {
				all = "not all good"
			}
		}
		out = append(out, line{{after + " " + u.String() + ", ", plain}, {"all " + all, strong}}.cut(width))
	}
	for _, p := range c.Reshim.Plans[1:min(len(c.Reshim.Plans), 3)] {
		out = append(out, lines(plain, "Also passes: "+p.Words, width, 3)...)
	}
	if c.Reshim.CutShort {
		out = append(out, say("The stock has more choices than were tried: a better one may exist."))
	}
	return out
}

// arrowLine says which way a gear goes, the pinion standing left of the wheel.
func arrowLine(v *view, p remedy.Plan) line {
	arrow, way := "<====", "TOWARD"
	if p.Gear == "pinion" {
		arrow, way = "====>", "IN"
	}
	if p.Move.Sign() > 0 {
		arrow, way = "====>", "AWAY"
		if p.Gear == "pinion" {
			arrow, way = "<====", "OUT"
		}
	}
	where := map[string]string{"TOWARD": " the pinion", "AWAY": " from the pinion"}[way]
	setting := "setting unchanged"
	if !p.Setting.IsZero() {
		setting = "setting changes by " + v.length(p.Setting)
	}
	return line{{fmt.Sprintf("%s %s %s%s by %s", arrow, strings.ToUpper(p.Gear), way, where, v.length(p.Move.Abs())), strong}, {"   " + setting, plain}}
}

// changeLines are one pack: its place, before and after, what to put in and to
// take out.
func changeLines(v *view, c remedy.Change, width int) []line {
	u, places := v.lengthUnit()
	word := "ADD "
	if c.By().Sign() < 0 {
		word = "TAKE"
	}
	out := []line{{
		{"  " + word + " ", strong}, {c.By().Abs().Show(u, places), strong},
		{fmt.Sprintf("  %s, %s: %s -> %s", c.Pack, c.Place, c.Before.Show(u, places), c.After.ShowUnit(u, places)), plain},
	}}
	var do []string
	if len(c.Take) > 0 {
		do = append(do, "take out "+leafNames(c.Take))
	}
	if len(c.Put) > 0 {
		do = append(do, "put in "+leafNames(c.Put))
	}
	if c.Anew {
		do = append(do, "made anew")
	}
	if c.Stack != nil {
		do = append(do, "stack "+c.Stack.String())
	}
	if len(do) > 0 {
		out = append(out, lines(plain, "       "+strings.Join(do, "; "), width-7, 2)...)
		for i := range out[1:] {
			out[i+1] = append(line{{"       ", plain}}, out[i+1]...)
		}
	}
	return out
}

func leafNames(of []stock.Leaf) string {
	var out []string
	for _, l := range of {
		if l.Count > 1 {
			out = append(out, fmt.Sprintf("%d × %s", l.Count, l.Label))
			continue
		}
		out = append(out, l.Label)
	}
	return strings.Join(out, ", ")
}
