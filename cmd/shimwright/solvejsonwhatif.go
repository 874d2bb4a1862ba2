package main

import (
	"shimwright/calc/overhaul"
	"shimwright/calc/quantity"
	"shimwright/calc/remedy"
)

// What would be: the factor that predictions go by, the backlash to expect, a
// pinion move with the wheel following, another setting, and what differs in a
// what-if.

type jsonDifference struct {
	Of    string `json:"of"`
	What  string `json:"what"`
	Was   string `json:"was,omitempty"`
	Would string `json:"would_be,omitempty"`
}

type jsonFactor struct {
	K       string `json:"factor"`
	Source  string `json:"source"`
	Earlier int    `json:"earlier_moves,omitempty"`
	Low     string `json:"earlier_low,omitempty"`
	High    string `json:"earlier_high,omitempty"`
	Mean    string `json:"earlier_mean,omitempty"`
	LeftOut int    `json:"left_out,omitempty"`
	Differ  bool   `json:"disagrees,omitempty"`
	Words   string `json:"words,omitempty"`
}

type jsonExpected struct {
	Wheel  string          `json:"wheel_move"`
	Pinion string          `json:"pinion_move"`
	Ring   []jsonPredicted `json:"ring,omitempty"`
	Good   bool            `json:"good"`
	Words  string          `json:"words"`
}

type jsonFollow struct {
	Pinion string   `json:"pinion"`
	Wheel  string   `json:"wheel"`
	Steps  []string `json:"steps"`
	Alone  string   `json:"backlash_alone,omitempty"`
	Both   string   `json:"backlash_both,omitempty"`
	Words  string   `json:"words"`
}

type jsonKeep struct {
	Exact   []string     `json:"exact"`
	Changes []jsonChange `json:"changes,omitempty"`
	Plan    *jsonPlan    `json:"plan,omitempty"`
	Words   string       `json:"words"`
}

func differencesJSON(all []overhaul.Difference) []jsonDifference {
	var out []jsonDifference
	for _, d := range all {
		out = append(out, jsonDifference(d))
	}
	return out
}

func factorJSON(c *overhaul.Check) *jsonFactor {
	if c.Factor == nil {
		return nil
	}
	out := &jsonFactor{K: c.Factor.K.Decimal().String(), Source: c.Factor.Source}
	if l := c.Learned; l != nil {
		out.Earlier, out.LeftOut, out.Differ, out.Words = l.N, l.LeftOut, l.Disagrees, l.Words
		if l.N > 0 {
			out.Low, out.High, out.Mean = l.Low.Decimal().String(), l.High.Decimal().String(), l.Mean.Decimal().String()
		}
	}
	return out
}

func expectedJSON(e *overhaul.Expected) *jsonExpected {
	if e == nil {
		return nil
	}
	out := &jsonExpected{Wheel: lengthText(e.Wheel), Pinion: lengthText(e.Pinion), Good: e.Good, Words: e.Words}
	for _, p := range e.Points {
		at := predictedJSON(p)
		at.At = unitText(p.Angle, quantity.Degree)
		out.Ring = append(out.Ring, at)
	}
	return out
}

func followJSON(f *remedy.Following) *jsonFollow {
	if f == nil {
		return nil
	}
	out := &jsonFollow{Pinion: lengthText(f.Pinion), Wheel: lengthText(f.Wheel), Steps: []string{},
		Alone: maybeLength(f.Alone), Both: maybeLength(f.Both), Words: f.Words}
	for _, s := range f.Steps {
		out.Steps = append(out.Steps, lengthText(s))
	}
	return out
}

func keepJSON(k *remedy.SettingAdvice) *jsonKeep {
	if k == nil {
		return nil
	}
	out := &jsonKeep{Exact: []string{lengthText(k.Exact[0]), lengthText(k.Exact[1])}, Words: k.Words}
	if len(k.Stock.Plans) > 0 {
		plan := planJSON(k.Stock.Plans[0])
		out.Plan = &plan
		for _, c := range k.Stock.Plans[0].Changes {
			out.Changes = append(out.Changes, changeJSON(c))
		}
	}
	return out
}
