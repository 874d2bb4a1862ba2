package main

import (
	"math"

	"github.com/shopspring/decimal"

	"shimwright/calc/budget"
	"shimwright/calc/overhaul"
)

// How sure a figure is, and what would explain a loop that does not close.

type jsonBudget struct {
	Standard   string     `json:"standard,omitempty"`
	Freedom    string     `json:"degrees_of_freedom,omitempty"`
	Expanded   string     `json:"expanded,omitempty"`
	T          string     `json:"student_t,omitempty"`
	Student    string     `json:"expanded_student,omitempty"`
	Guard      string     `json:"guard,omitempty"`
	Parts      []jsonPart `json:"parts,omitempty"`
	NotCounted []string   `json:"not_counted,omitempty"`
	Halving    []jsonGain `json:"halving,omitempty"`
}

type jsonPart struct {
	Name     string `json:"name"`
	Kind     string `json:"kind"`
	Size     string `json:"size,omitempty"`
	Coef     string `json:"coef"`
	Standard string `json:"standard"`
	Share    string `json:"share"`
	Freedom  string `json:"degrees_of_freedom"`
}

type jsonGain struct {
	Means    string `json:"means"`
	Of       string `json:"of,omitempty"`
	Expanded string `json:"expanded"`
	Halves   bool   `json:"halves"`
	Share    string `json:"share"`
	Limit    string `json:"limit_of_error,omitempty"`
	Factor   string `json:"of_present_errors,omitempty"`
	Times    int    `json:"times,omitempty"`
	Words    string `json:"words"`
}

func budgetJSON(b *overhaul.Budget, in units) *jsonBudget {
	if b == nil {
		return nil
	}
	out := &jsonBudget{NotCounted: b.Unknown}
	if len(b.Lines) == 0 {
		return out
	}
	out.Standard, out.Expanded, out.Student = unitText(b.Standard, in.base), unitText(b.Expanded, in.base), unitText(b.Student, in.base)
	out.Freedom, out.T, out.Guard = freedomText(b.DF), b.T.Decimal().String(), unitText(b.Guard, in.base)
	for _, l := range b.Lines {
		out.Parts = append(out.Parts, partJSON(l, in))
	}
	for _, g := range b.Halve() {
		out.Halving = append(out.Halving, gainJSON(g, in))
	}
	return out
}

func partJSON(l budget.Line, in units) jsonPart {
	return jsonPart{
		Name: l.Name, Kind: l.Kind.String(), Size: sizeText(l, in), Coef: l.Coef.Signed(), Standard: unitText(l.Part, in.base),
		Share: l.Share.Decimal().String(), Freedom: freedomText(l.DF),
	}
}

// sizeText is a source's size in the unit that its kind has it in; "" where the
// kind does not tell.
func sizeText(l budget.Line, in units) string {
	switch l.Kind {
	case budget.LimitOfError, budget.Resolution, budget.Repeats, budget.GaugeZero:
		return unitText(l.Size, in.reading)
	case budget.CertifiedPiece, budget.MarkRounding:
		return lengthText(l.Size)
	case budget.Temperature:
		return l.Size.Decimal().String() + " K"
	case budget.GaugeScale, budget.Expansion:
		return l.Size.Decimal().String()
	}
	return ""
}

// freedomText is degrees of freedom at four places.
func freedomText(df float64) string {
	if math.IsInf(df, 0) || math.IsNaN(df) {
		return "endless"
	}
	return decimal.NewFromFloat(df).RoundFloor(4).String()
}

func gainJSON(g budget.Gain, in units) jsonGain {
	out := jsonGain{
		Means: meansText(g.Means), Of: g.Name, Expanded: unitText(g.Then, in.base), Halves: g.Halves, Share: g.Share.Decimal().String(),
		Times: g.Times, Words: g.Say(in.shown, in.places+1),
	}
	if !g.Limit.IsZero() {
		out.Limit = unitText(g.Limit, in.reading)
	}
	if !g.Factor.IsZero() {
		out.Factor = g.Factor.Decimal().String()
	}
	return out
}

func meansText(m budget.Means) string {
	switch m {
	case budget.WithoutLargest:
		return "without the largest part"
	case budget.HalveLargest:
		return "the largest part halved"
	case budget.ZeroOnPiece:
		return "zeroed on a piece"
	case budget.BetterGauge:
		return "better gauge"
	case budget.MorePresses:
		return "more presses"
	}
	return "other"
}

// A jsonTemperature is what temperature does to a measured length.
type jsonTemperature struct {
	Part       string `json:"part"`
	At         string `json:"part_at"`
	Measured   string `json:"measured"`
	Against    string `json:"standards_growth"`
	Growth     string `json:"part_growth"`
	Correction string `json:"correction"`
	Value      string `json:"at_twenty"`
	Corrected  bool   `json:"corrected"`
	Feeds      string `json:"feeds,omitempty"`
	Room       string `json:"room,omitempty"`
	Matters    bool   `json:"matters"`
	Words      string `json:"words"`
}

func temperatureJSON(e *overhaul.Expansion) *jsonTemperature {
	if e == nil {
		return nil
	}
	out := &jsonTemperature{
		Part: e.Part.String(), At: e.At.Decimal().String() + " °C", Measured: lengthText(e.Measured), Against: lengthText(e.Against),
		Growth: lengthText(e.Brought.Part), Correction: lengthText(e.Correction), Value: lengthText(e.Value), Corrected: e.Corrected,
		Feeds: e.Feeds, Matters: e.Matters, Words: e.Words,
	}
	if e.Feeds != "" {
		out.Room = lengthText(e.Room)
	}
	return out
}

type jsonClosure struct {
	Predicted *jsonFigure   `json:"predicted"`
	Apart     string        `json:"apart"`
	Limit     string        `json:"limit"`
	Good      bool          `json:"good"`
	Budget    *jsonBudget   `json:"budget,omitempty"`
	WithinOwn *bool         `json:"within_uncertainty,omitempty"`
	Explains  []jsonCulprit `json:"explained_by,omitempty"`
}

type jsonCulprit struct {
	Of     string `json:"of"`
	Slip   string `json:"slip"`
	Left   string `json:"left"`
	Closes bool   `json:"closes"`
	Share  string `json:"share,omitempty"`
}

func closureJSON(c *overhaul.Closure, in units) *jsonClosure {
	if c == nil {
		return nil
	}
	out := &jsonClosure{
		Predicted: wholeFigureJSON(c.Predicted), Apart: lengthText(c.Value), Limit: lengthText(c.Limit), Good: c.Good,
		Budget: budgetJSON(c.Budget, in),
	}
	if c.Budget != nil && len(c.Budget.Lines) > 0 {
		within := !c.Budget.Expanded.Less(c.Value.Abs())
		out.WithinOwn = &within
	}
	for _, k := range c.Culprits {
		x := jsonCulprit{Of: k.Term, Slip: k.Slip, Left: lengthText(k.Left), Closes: k.Closes}
		if !k.Share.IsZero() {
			x.Share = k.Share.Decimal().String()
		}
		out.Explains = append(out.Explains, x)
	}
	return out
}
