package main

import (
	"github.com/shopspring/decimal"

	"shimwright/calc/overhaul"
	"shimwright/calc/quantity"
	"shimwright/calc/remedy"
	"shimwright/calc/ring"
)

// Checks, judged, with what they ask for.

type jsonCheck struct {
	What          string        `json:"what"`
	Verdict       string        `json:"verdict"`
	Words         string        `json:"words,omitempty"`
	Advice        string        `json:"advice,omitempty"`
	Figure        *jsonFigure   `json:"figure,omitempty"`
	Low           string        `json:"low,omitempty"`
	High          string        `json:"high,omitempty"`
	Uncertainty   string        `json:"uncertainty,omitempty"`
	Points        []jsonPoint   `json:"points,omitempty"`
	Mean          string        `json:"mean,omitempty"`
	Spread        string        `json:"spread,omitempty"`
	SpreadLimit   string        `json:"spread_limit,omitempty"`
	SpreadVerdict string        `json:"spread_verdict,omitempty"`
	FittedLow     string        `json:"curve_low,omitempty"`
	LowAt         string        `json:"curve_low_at,omitempty"`
	LowVerdict    string        `json:"curve_low_verdict,omitempty"`
	Notes         []string      `json:"notes,omitempty"`
	Once          string        `json:"once_per_turn,omitempty"`
	Twice         string        `json:"twice_per_turn,omitempty"`
	Window        string        `json:"passes,omitempty"`
	PassFrom      string        `json:"passes_from,omitempty"`
	PassTo        string        `json:"passes_to,omitempty"`
	Reshim        *jsonReshim   `json:"reshim,omitempty"`
	Compared      *jsonCompared `json:"compared,omitempty"`
	LookFor       []string      `json:"look_for,omitempty"`
	Asks          []string      `json:"asks,omitempty"`
	Rough         *jsonFigure   `json:"roughness,omitempty"`
	Spacer        *jsonSpacer   `json:"spacer,omitempty"`
	Marking       *jsonMarking  `json:"marking,omitempty"`
	Moves         []string      `json:"moves,omitempty"`
	Factor        *jsonFactor   `json:"move_factor,omitempty"`
	Expected      *jsonExpected `json:"expected,omitempty"`
	Follow        *jsonFollow   `json:"pinion_move,omitempty"`
}

type jsonPoint struct {
	Spot    string      `json:"spot,omitempty"`
	Verdict string      `json:"verdict,omitempty"`
	Figure  *jsonFigure `json:"figure,omitempty"`
	Presses []string    `json:"presses,omitempty"`
	Build   int         `json:"build_state,omitempty"`
	Stale   bool        `json:"stale,omitempty"`
}

func checkJSON(r *overhaul.Result, in units) *jsonCheck {
	c := r.Check
	if c == nil {
		return nil
	}
	u := in.base
	out := &jsonCheck{
		What: r.Step.Check.What, Verdict: c.Verdict.String(), Words: c.Words, Advice: c.Advice, Figure: wholeFigureJSON(c.Figure),
		LookFor: c.LookFor, Asks: c.Asks, Rough: roughJSON(c.Rough),
		Reshim: reshimJSON(c.Reshim), Compared: comparedJSON(c.Compared), Spacer: spacerJSON(c.Spacer), Marking: markingJSON(c.Marks),
		Window: c.Window, Factor: factorJSON(c), Expected: expectedJSON(c.Expected), Follow: followJSON(c.Follow),
	}
	if c.Band != nil {
		out.Low, out.High = unitText(c.Band.Low, u), unitText(c.Band.High, u)
	}
	if c.U.Sign() > 0 {
		out.Uncertainty = unitText(c.U, u)
	}
	for _, p := range c.Points {
		out.Points = append(out.Points, pointJSON(p))
	}
	for _, m := range c.Moves {
		out.Moves = append(out.Moves, m.Words)
	}
	if c.Ring != nil {
		ringJSON(out, c.Ring, r.Step.Check.Spread.Exact())
	}
	return out
}

func ringJSON(out *jsonCheck, r *ring.Result, limit quantity.Exact) {
	out.Mean, out.Spread = lengthText(r.Mean.Value()), lengthText(r.Spread)
	if r.SpreadVerdict != ring.NotJudged {
		out.SpreadLimit, out.SpreadVerdict = lengthText(limit), r.SpreadVerdict.String()
	}
	out.Notes = r.Fit.Notes
	if r.Fit.Once.Sight == ring.Whole {
		out.FittedLow = lengthText(r.Fit.Low.Value)
		if at := r.Fit.Low.At; at.Known {
			out.LowAt = quantity.FromDecimal(decimal.NewFromFloat(at.Degrees)).ShowUnit(quantity.Degree, 0)
		}
	}
	out.Once, out.Twice = swingText(r.Fit.Once), swingText(r.Fit.Twice)
	if r.LowVerdict != ring.NotJudged {
		out.LowVerdict = r.LowVerdict.String()
	}
	if !r.Good() && !r.Window.Empty() {
		out.PassFrom, out.PassTo = lengthText(r.Window.From), lengthText(r.Window.To)
	}
}

// swingText is how far a part of the curve swings either way, at nine places; ""
// where the points do not see it.
func swingText(h ring.Harmonic) string {
	if h.Sight == ring.Unseen {
		return ""
	}
	return decimal.NewFromFloat(h.Amplitude).RoundBank(quantity.WorkPlaces).String() + " mm"
}

func pointJSON(p overhaul.Point) jsonPoint {
	out := jsonPoint{Spot: p.Spot, Figure: figureJSON(p.Figure), Build: p.Build, Stale: p.Stale}
	if p.Verdict != ring.NotJudged {
		out.Verdict = p.Verdict.String()
	}
	for _, x := range p.Pressed {
		out.Presses = append(out.Presses, x.Entry.Value.String())
	}
	return out
}

// roughJSON is how far the pulls differ; the roughness itself stands in its rule.
func roughJSON(f *overhaul.Figure) *jsonFigure {
	if f == nil {
		return nil
	}
	return &jsonFigure{Name: f.Name, Value: unitText(f.Value, quantity.Newton), Rule: f.Rule}
}

// A jsonSpacer is what spacer to try next.
type jsonSpacer struct {
	Way    string `json:"way,omitempty"`
	Next   string `json:"next,omitempty"`
	Line   string `json:"line,omitempty"`
	Capped bool   `json:"capped,omitempty"`
	Words  string `json:"words"`
}

func spacerJSON(a *remedy.SpacerAdvice) *jsonSpacer {
	if a == nil {
		return nil
	}
	way := map[int]string{1: "thicker", -1: "thinner"}[a.Way]
	return &jsonSpacer{Way: way, Next: maybeLength(a.Next), Line: maybeLength(a.Exact), Capped: a.Capped, Words: a.Words}
}

// A jsonMarking is what the sheet's table says of a contact marking.
type jsonMarking struct {
	Known   bool     `json:"known"`
	Good    bool     `json:"good"`
	Gear    string   `json:"gear,omitempty"`
	Way     string   `json:"way,omitempty"`
	First   string   `json:"first,omitempty"`
	LookFor []string `json:"look_for,omitempty"`
	From    string   `json:"from,omitempty"`
	Warning string   `json:"warning,omitempty"`
	Words   string   `json:"words"`
}

func markingJSON(a *remedy.MarkAdvice) *jsonMarking {
	if a == nil {
		return nil
	}
	return &jsonMarking{
		Known: a.Known, Good: a.Good, Gear: a.Gear, Way: wayOf(a.Gear, a.Way), First: a.First, LookFor: a.Look,
		From: a.From, Warning: a.Warning, Words: a.Words,
	}
}
