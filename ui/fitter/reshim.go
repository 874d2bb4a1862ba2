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

// planLines are the re-shim that would pass, and in the rest of the room other
// ones: which way the gear goes as an arrow, each place with the leaves to put in
// and take out, and the ring as it should be found. Where there is not room for
// the whole of it (nought is no bound) the changes stand in short or not at all:
// half a re-shim on the screen would be done by half.
func planLines(v *view, c *overhaul.Check, width, room int) []line {
	if c.Reshim == nil || len(c.Reshim.Plans) == 0 {
		return nil
	}
	fits := func(of []line) bool { return room <= 0 || len(of) <= room }
	best := c.Reshim.Plans[0]
	out := planWhole(v, best, width)
	if !fits(out) {
		out = append([]line{arrowLine(v, best)}, planShort(v, best, width)...)
	}
	if !fits(out) {
		return []line{arrowLine(v, best)}
	}
	for _, p := range c.Reshim.Plans[1:min(len(c.Reshim.Plans), 3)] {
		if more := append(out[:len(out):len(out)], lines(plain, "Also passes: "+p.Words, width, 3)...); fits(more) {
			out = more
		}
	}
	if more := append(out[:len(out):len(out)], say("The stock has more choices than were tried: a better one may exist.")); c.Reshim.CutShort && fits(more) {
		out = more
	}
	return out
}

// planWhole is a re-shim with its leaves.
func planWhole(v *view, p remedy.Plan, width int) []line {
	out := []line{arrowLine(v, p)}
	for _, ch := range p.Changes {
		out = append(out, changeLines(v, ch, width)...)
	}
	if len(p.Points) == 0 {
		return out
	}
	u, places := v.lengthUnit()
	after, all := "  then the ring should be", "good"
	for _, x := range p.Points {
		after += " " + x.After.Show(u, places)
		if x.Verdict.String() != all {
			all = "not all good"
		}
	}
	return append(out, line{{after + " " + u.String() + ", ", plain}, {"all " + all, strong}}.cut(width))
}

// planShort are a re-shim's changes of packs without their leaves.
func planShort(v *view, p remedy.Plan, width int) []line {
	u, places := v.lengthUnit()
	parts := []string{" "}
	for i, c := range p.Changes {
		end := ","
		if i == len(p.Changes)-1 {
			end = " " + u.String()
		}
		parts = append(parts, fmt.Sprintf("%s %s %s %s -> %s%s", addOrTake(c), c.By().Abs().Show(u, places), c.Pack,
			c.Before.Show(u, places), c.After.Show(u, places), end))
	}
	return unbroken(parts, width, len(parts))
}

func addOrTake(c remedy.Change) string {
	if c.By().Sign() < 0 {
		return "TAKE"
	}
	return "ADD"
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
	out := []line{{
		{fmt.Sprintf("  %-4s ", addOrTake(c)), strong}, {c.By().Abs().Show(u, places), strong},
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
