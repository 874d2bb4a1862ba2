package main

import (
	"shimwright/calc/network"
	"shimwright/calc/quantity"
	"shimwright/calc/remedy"
	"shimwright/calc/stock"
)

// Re-shims: what to change, and what a change did.

// A jsonReshim is the plans that bring a ring into its band, or why there is
// none.
type jsonReshim struct {
	Cause    string     `json:"cause"`
	Words    string     `json:"words"`
	LookFor  []string   `json:"look_for,omitempty"`
	MoveFrom string     `json:"move_from,omitempty"`
	MoveTo   string     `json:"move_to,omitempty"`
	MoveAim  string     `json:"move_aim,omitempty"`
	Plans    []jsonPlan `json:"plans,omitempty"`
	CutShort bool       `json:"cut_short,omitempty"`
}

type jsonPlan struct {
	Gear       string          `json:"gear"`
	Way        string          `json:"way,omitempty"`
	Move       string          `json:"move"`
	MeanChange string          `json:"mean_change"`
	Changes    []jsonChange    `json:"changes"`
	Setting    string          `json:"setting_change"`
	Before     string          `json:"setting_before,omitempty"`
	After      string          `json:"setting_after,omitempty"`
	Ring       []jsonPredicted `json:"ring,omitempty"`
	Low        *jsonPredicted  `json:"curve_low,omitempty"`
	Mean       string          `json:"mean,omitempty"`
	Leaves     int             `json:"leaves"`
	Words      string          `json:"words"`
}

type jsonChange struct {
	Pack      string      `json:"pack"`
	Place     string      `json:"place"`
	Before    string      `json:"before"`
	After     string      `json:"after"`
	Change    string      `json:"change"`
	Exact     string      `json:"exact"`
	Take      []jsonLeaf  `json:"take,omitempty"`
	Add       []jsonLeaf  `json:"add,omitempty"`
	FromOther []jsonLeaf  `json:"from_other_pack,omitempty"`
	Anew      bool        `json:"made_anew,omitempty"`
	Makeup    *jsonMakeup `json:"make_up,omitempty"`
	Words     string      `json:"words"`
}

type jsonLeaf struct {
	Leaf  string `json:"leaf"`
	Size  string `json:"size"`
	Count int    `json:"count"`
}

type jsonPredicted struct {
	At      string `json:"at,omitempty"`
	Before  string `json:"before"`
	After   string `json:"after"`
	Verdict string `json:"verdict"`
}

func reshimJSON(a *remedy.Advice) *jsonReshim {
	if a == nil {
		return nil
	}
	out := &jsonReshim{Cause: a.Cause.String(), Words: a.Words, LookFor: a.LookFor, CutShort: a.CutShort}
	if m := a.Move; !m.From.IsZero() || !m.To.IsZero() {
		out.MoveFrom, out.MoveTo, out.MoveAim = lengthText(m.From), lengthText(m.To), lengthText(m.Aim)
	}
	for _, p := range a.Plans {
		out.Plans = append(out.Plans, planJSON(p))
	}
	return out
}

func planJSON(p remedy.Plan) jsonPlan {
	out := jsonPlan{
		Gear: p.Gear, Way: wayOf(p.Gear, p.Move.Sign()), Move: lengthText(p.Move), MeanChange: lengthText(p.MeanChange),
		Setting: lengthText(p.Setting), Before: maybeLength(p.Before), After: maybeLength(p.After), Mean: maybeLength(p.Mean),
		Leaves: p.Leaves, Words: p.Words,
	}
	for _, c := range p.Changes {
		out.Changes = append(out.Changes, changeJSON(c))
	}
	for _, x := range p.Points {
		at := predictedJSON(x)
		at.At = unitText(x.Angle, quantity.Degree)
		out.Ring = append(out.Ring, at)
	}
	if p.Low != nil {
		low := predictedJSON(*p.Low)
		out.Low = &low
	}
	return out
}

func predictedJSON(p remedy.Predicted) jsonPredicted {
	return jsonPredicted{Before: lengthText(p.Before), After: lengthText(p.After), Verdict: p.Verdict.String()}
}

func changeJSON(c remedy.Change) jsonChange {
	out := jsonChange{
		Pack: c.Pack, Place: c.Place, Before: lengthText(c.Before), After: lengthText(c.After), Change: lengthText(c.By()),
		Exact: lengthText(c.Exact), Take: leavesJSON(c.Take), Add: leavesJSON(c.Put), FromOther: leavesJSON(c.FromOther),
		Anew: c.Anew, Words: c.Words,
	}
	if c.Stack != nil {
		m := packOf(c.Stack)
		m.Error = lengthText(c.After.Sub(c.Exact))
		out.Makeup = &m
	}
	return out
}

func leavesJSON(leaves []stock.Leaf) []jsonLeaf {
	var out []jsonLeaf
	for _, l := range leaves {
		out = append(out, jsonLeaf{l.Label, lengthText(l.Size), l.Count})
	}
	return out
}

// A jsonCompared is what a re-shim did against what it should have done.
type jsonCompared struct {
	Gear      string `json:"gear"`
	Predicted string `json:"predicted"`
	Found     string `json:"found"`
	Change    string `json:"mean_change"`
	Miss      string `json:"miss"`
	Agrees    bool   `json:"agrees"`
	Learned   string `json:"factor,omitempty"`
	Words     string `json:"words"`
}

func comparedJSON(c *remedy.Comparison) *jsonCompared {
	if c == nil {
		return nil
	}
	out := &jsonCompared{
		Gear:      c.Gear,
		Predicted: lengthText(c.Predicted), Found: lengthText(c.Found), Change: lengthText(c.Change), Miss: lengthText(c.Miss),
		Agrees: c.Agrees, Words: c.Words,
	}
	if c.Learned != nil {
		out.Learned = c.Learned.Decimal().String()
	}
	return out
}

// wayOf is a gear's way in the workshop's word; "" where it does not move or
// the way is not known.
func wayOf(gear string, sign int) string {
	if sign == 0 {
		return ""
	}
	return network.WayWord(gear, sign)
}

func maybeLength(x *quantity.Exact) string {
	if x == nil {
		return ""
	}
	return lengthText(*x)
}
