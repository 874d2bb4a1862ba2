package budget

import (
	"fmt"

	"shimwright/calc/quantity"
)

// Say is the gain as one sentence, with figures in unit u at the given places.
func (g Gain) Say(u quantity.Unit, places int32) string {
	then, now := g.Then.ShowUnit(u, places), g.Now.ShowUnit(u, places)
	from := fmt.Sprintf("%s instead of %s", then, now)
	percent := g.Share.Times(quantity.Whole(100)).Round(0).String() + " % of the variance"
	enough := "that does not halve it"
	if g.Halves {
		enough = "that halves it"
	}
	switch g.Means {
	case WithoutLargest:
		return fmt.Sprintf("Without %s (%s) U would be %s: %s.", g.Name, percent, from, enough)
	case HalveLargest:
		return fmt.Sprintf("With %s half as large U would be %s: %s.", g.Name, from, enough)
	case ZeroOnPiece:
		return fmt.Sprintf("Zeroed on a piece through the same setup, the gauge's zero and straightedge drop out and most of its scale: U would be %s, %s.", from, enough)
	case BetterGauge:
		return g.sayGauge(u, places, from)
	case MorePresses:
		return g.sayPresses(now, then, percent)
	default:
		return fmt.Sprintf("U would be %s: %s.", from, enough)
	}
}

func (g Gain) sayGauge(u quantity.Unit, places int32, from string) string {
	which, better := "gauge "+g.Name, "a better gauge"
	if g.Name == "" {
		which, better = "all gauges", "better gauges"
	}
	switch {
	case !g.Halves:
		return fmt.Sprintf("Without any error of %s U would be %s: %s cannot halve it.", which, from, better)
	case !g.Limit.IsZero():
		return fmt.Sprintf("In place of %s, one with limit of error %s: U would be %s, that halves it.", which, g.Limit.ShowUnit(u, places+1), from)
	default:
		return fmt.Sprintf("In place of %s, %s with %s of the present errors: U would be %s, that halves it.", which, better, g.Factor.Decimal(), from)
	}
}

func (g Gain) sayPresses(now, then, percent string) string {
	switch {
	case g.Times == 0:
		return "More presses change nothing: no repeats stand in this figure, U stays " + now + "."
	case g.Halves:
		return fmt.Sprintf("With %d times as many presses U would be %s instead of %s: that halves it.", g.Times, then, now)
	default:
		return fmt.Sprintf("More presses cannot halve it: repeats are only %s, and with %d times as many U would still be %s instead of %s.",
			percent, g.Times, then, now)
	}
}
