package guard

import (
	"shimwright/calc/sheet"
	"shimwright/ingest/fact"
)

// rolled asks that bearings be rolled or seated before a press at a step that
// needs it: rollers that have not run in against their rib give a figure that
// is none. What was said goes stale.
func rolled(c Case) *Decision {
	if c.Said == nil {
		return nil
	}
	for _, w := range []struct{ need, first, are, do string }{
		{sheet.NeedsRolled, "ROLL FIRST", "rolled", "Roll the bearings ten turns, say so, then press again."},
		{sheet.NeedsSeated, "SEAT FIRST", "seated", "Seat the bearings, say so, then press again."},
	} {
		if !c.Step.Need(w.need) {
			continue
		}
		at, ok := c.Said[w.need]
		ago := c.Sample.At.Sub(at)
		switch {
		case !ok || ago < 0: // a clock set back tells nothing of when that was
			return aside(fact.BearingsFirst, w.do, "%s: nobody has said that the bearings are %s. %s does not count.", w.first, w.are, c.Sample.Value)
		case c.Windows.Seated > 0 && ago > c.Windows.Seated:
			return aside(fact.BearingsFirst, w.do, "%s: the bearings were %s %s ago, which holds for %s. %s does not count.",
				w.first, w.are, inWords(ago), inWords(c.Windows.Seated), c.Sample.Value)
		}
	}
	return nil
}

// NeedWords asks a person for what a step needs; "" for what is not asked of
// one.
func NeedWords(need string) string {
	switch need {
	case sheet.NeedsRolled:
		return "Are the bearings rolled, ten turns?"
	case sheet.NeedsSeated:
		return "Are the bearings seated?"
	}
	return ""
}
