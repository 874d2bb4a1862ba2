package guard

import (
	"fmt"
	"strings"

	"shimwright/calc/overhaul"
	"shimwright/calc/sheet"
)

// OtherPiece says of a figure that is held, because it lies outside what the
// sheet expects, which other certified piece of a register would bring it in;
// "" where the figure is not held for that, or none would. Twins of one nominal
// size cannot be told apart by it: two are named, and the number on the piece
// decides.
//
// The results name such a piece themselves among those drawn in the job; they
// know no register.
func OtherPiece(r *overhaul.Result, register []sheet.Piece) (sentence, do string) {
	if r == nil || r.Step.Measure == nil || r.Step.Measure.Worked == nil || r.Figure == nil || r.Status != overhaul.Held {
		return "", ""
	}
	expected := *r.Step.Measure.Worked
	if inside(r.Figure.Value, expected) {
		return "", ""
	}
	leaves := r.Figure.Leaves()
	in := map[string]bool{}
	for _, t := range leaves {
		in[t.Figure.Leaf.Key] = true
	}
	var found []string
	for _, t := range leaves {
		stood, ok := strings.CutPrefix(t.Figure.Leaf.Key, "piece:")
		if !ok {
			continue
		}
		for _, p := range register {
			v := r.Figure.Value.Add(p.Size.Exact().Sub(t.Figure.Value).Times(t.Coef))
			if in["piece:"+p.ID] || !inside(v, expected) {
				continue
			}
			found = append(found, fmt.Sprintf("%s, %s, in place of %s it would be %s", p.ID, p.Size, stood,
				v.ShowUnit(expected.Low.Unit(), expected.Low.Places()+1)))
		}
	}
	if len(found) == 0 {
		return "", ""
	}
	sentence = "With " + found[0] + "."
	if len(found) > 1 {
		sentence = joined(sentence, "With "+found[1]+".")
	}
	return sentence, "Look at the number on the piece. Draw the one that stands there and take the step again."
}
