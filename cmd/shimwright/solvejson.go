package main

import (
	"encoding/json"
	"io"

	"shimwright/calc/overhaul"
	"shimwright/calc/quantity"
	"shimwright/calc/ring"
	"shimwright/calc/sheet"
	"shimwright/calc/stock"
)

// The JSON of solve. JSON.md describes every field; fields are only ever
// added. A figure is a text with its unit, never a number.

type jsonResults struct {
	Format    string         `json:"format"`
	Program   string         `json:"program"`
	Sheet     jsonSheet      `json:"sheet"`
	Good      bool           `json:"good"`
	Finished  bool           `json:"finished"`
	Next      string         `json:"next,omitempty"`
	Build     int            `json:"build_state"`
	Training  bool           `json:"training"`
	Steps     []jsonStep     `json:"steps"`
	Standings []jsonStanding `json:"standings"`
}

type jsonSheet struct {
	ID       string   `json:"id"`
	Issue    int      `json:"issue"`
	Title    string   `json:"title"`
	Manual   string   `json:"manual"`
	Unit     string   `json:"unit"`
	Cautions []string `json:"cautions,omitempty"`
}

type jsonStep struct {
	Name    string       `json:"name"`
	Stage   string       `json:"stage"`
	Kind    string       `json:"kind"`
	Status  string       `json:"status"`
	Wants   string       `json:"wants,omitempty"`
	Problem string       `json:"problem,omitempty"`
	Text    string       `json:"text,omitempty"`
	Figure  *jsonFigure  `json:"figure,omitempty"`
	Pack    *jsonPack    `json:"pack,omitempty"`
	Check   *jsonCheck   `json:"check,omitempty"`
	Closure *jsonClosure `json:"closure,omitempty"`
}

type jsonPack struct {
	Place     string       `json:"place,omitempty"`
	Makes     string       `json:"makes,omitempty"`
	SetBy     string       `json:"set_by,omitempty"`
	OneMore   string       `json:"one_more,omitempty"`
	Worked    *jsonFigure  `json:"worked,omitempty"`
	Other     *jsonFigure  `json:"other_way,omitempty"`
	Within    string       `json:"within,omitempty"`
	Makeup    []jsonMakeup `json:"make_up,omitempty"`
	Nearest   []jsonMakeup `json:"nearest,omitempty"`
	OrderLeaf string       `json:"order_leaf,omitempty"`
	NoTray    bool         `json:"no_stock,omitempty"`
	Effect    string       `json:"make_up_does,omitempty"`
	Fitted    *jsonFigure  `json:"fitted,omitempty"`
	Error     string       `json:"fitted_error,omitempty"`
	ErrorDoes string       `json:"fitted_does,omitempty"`
	Refit     bool         `json:"refit,omitempty"`
	Closure   *jsonClosure `json:"closure,omitempty"`
}

type jsonMakeup struct {
	Leaves []string `json:"leaves"`
	Total  string   `json:"total"`
	Error  string   `json:"error"`
}

type jsonCheck struct {
	What        string      `json:"what"`
	Verdict     string      `json:"verdict"`
	Words       string      `json:"words,omitempty"`
	Advice      string      `json:"advice,omitempty"`
	Figure      *jsonFigure `json:"figure,omitempty"`
	Low         string      `json:"low,omitempty"`
	High        string      `json:"high,omitempty"`
	Uncertainty string      `json:"uncertainty,omitempty"`
	Points      []jsonPoint `json:"points,omitempty"`
	Mean        string      `json:"mean,omitempty"`
	Spread      string      `json:"spread,omitempty"`
	FittedLow   string      `json:"curve_low,omitempty"`
	LowVerdict  string      `json:"curve_low_verdict,omitempty"`
	Notes       []string    `json:"notes,omitempty"`
	Moves       []string    `json:"moves,omitempty"`
}

type jsonPoint struct {
	Spot    string      `json:"spot,omitempty"`
	Verdict string      `json:"verdict,omitempty"`
	Figure  *jsonFigure `json:"figure,omitempty"`
	Presses []string    `json:"presses,omitempty"`
	Build   int         `json:"build_state,omitempty"`
	Stale   bool        `json:"stale,omitempty"`
}

type jsonClosure struct {
	Predicted *jsonFigure `json:"predicted"`
	Apart     string      `json:"apart"`
	Limit     string      `json:"limit"`
	Good      bool        `json:"good"`
}

type jsonStanding struct {
	Wanted string      `json:"wanted"`
	Low    *jsonFigure `json:"low"`
	High   *jsonFigure `json:"high"`
	State  string      `json:"state,omitempty"`
}

type jsonFigure struct {
	Name    string     `json:"name"`
	Value   string     `json:"value"`
	Exact   string     `json:"exact,omitempty"`
	Rule    string     `json:"rule,omitempty"`
	Arm     string     `json:"arm,omitempty"`
	Terms   []jsonTerm `json:"terms,omitempty"`
	Written string     `json:"written,omitempty"`
	Source  string     `json:"source,omitempty"`
	Ref     string     `json:"ref,omitempty"`
}

type jsonTerm struct {
	Coef   string      `json:"coef"`
	Figure *jsonFigure `json:"figure"`
}

func writeJSON(w io.Writer, r *overhaul.Results, version string) error {
	e := json.NewEncoder(w)
	e.SetIndent("", "  ")
	e.SetEscapeHTML(false)
	return e.Encode(resultsJSON(r, version))
}

func resultsJSON(r *overhaul.Results, version string) jsonResults {
	s := r.Sheet
	out := jsonResults{
		Format: "shimwright results 1", Program: version,
		Sheet:     jsonSheet{ID: s.ID, Issue: s.Issue, Title: s.Title, Manual: s.Manual, Unit: s.Unit.String(), Cautions: s.Cautions},
		Standings: []jsonStanding{},
		Good:      allGood(r), Finished: r.Next() == nil, Build: r.Build, Training: r.Training,
	}
	if next := r.Next(); next != nil {
		out.Next = next.Step.Name
	}
	for _, step := range r.Steps {
		out.Steps = append(out.Steps, stepJSON(step))
	}
	for _, p := range r.Places {
		out.Standings = append(out.Standings, jsonStanding{p.Wanted, figureJSON(p.Low), figureJSON(p.High), p.State})
	}
	return out
}

func stepJSON(r *overhaul.Result) jsonStep {
	out := jsonStep{
		Name: r.Step.Name, Stage: r.Step.Stage, Kind: string(r.Step.Kind), Status: string(r.Status),
		Wants: r.Wants, Problem: r.Problem, Text: r.Text,
		Pack: packJSON(r), Check: checkJSON(r), Closure: closureJSON(r.Closure),
	}
	if r.Pack == nil {
		out.Figure = figureJSON(r.Figure)
	}
	return out
}

func packJSON(r *overhaul.Result) *jsonPack {
	p := r.Pack
	if p == nil {
		return nil
	}
	rules := r.Step.Pack
	out := &jsonPack{
		Place: rules.Place, Makes: rules.Makes, SetBy: rules.SetBy, OneMore: p.OneMore,
		Worked: figureJSON(p.Worked), Other: figureJSON(p.Other), NoTray: p.NoTray, Effect: p.Effect,
		Fitted: figureJSON(p.Fitted), ErrorDoes: p.ErrorDoes, Refit: p.Refit, Closure: closureJSON(p.Closure),
	}
	if p.Worked != nil {
		out.Within = lengthText(p.Within)
	}
	if p.Worked != nil && p.Fitted != nil {
		out.Error = lengthText(p.Error)
	}
	makeupJSON(out, p.Makeup)
	return out
}

func makeupJSON(out *jsonPack, a *stock.Answer) {
	if a == nil {
		return
	}
	for i := range a.Packs {
		out.Makeup = append(out.Makeup, packOf(&a.Packs[i]))
	}
	for _, near := range []*stock.Pack{a.Below, a.Above} {
		if near != nil {
			out.Nearest = append(out.Nearest, packOf(near))
		}
	}
	if a.Order != nil {
		out.OrderLeaf = lengthText(a.Order.Size)
	}
}

func packOf(p *stock.Pack) jsonMakeup {
	m := jsonMakeup{Leaves: []string{}, Total: lengthText(p.Total), Error: lengthText(p.Error)}
	for _, l := range p.Leaves {
		m.Leaves = append(m.Leaves, l.Label)
	}
	return m
}

func checkJSON(r *overhaul.Result) *jsonCheck {
	c := r.Check
	if c == nil {
		return nil
	}
	u := checkUnit(r.Step.Check.What)
	out := &jsonCheck{
		What: r.Step.Check.What, Verdict: c.Verdict.String(), Words: c.Words, Advice: c.Advice, Figure: figureJSON(c.Figure),
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
		ringJSON(out, c.Ring)
	}
	return out
}

func ringJSON(out *jsonCheck, r *ring.Result) {
	out.Mean, out.Spread = lengthText(r.Mean.Value()), lengthText(r.Spread)
	out.Notes = r.Fit.Notes
	if r.LowVerdict != ring.NotJudged {
		out.FittedLow, out.LowVerdict = lengthText(r.Fit.Low.Value), r.LowVerdict.String()
	}
}

func checkUnit(what string) quantity.Unit {
	switch what {
	case sheet.TurningTorque, sheet.Tightening:
		return quantity.NewtonMetre
	}
	return quantity.MM
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

func closureJSON(c *overhaul.Closure) *jsonClosure {
	if c == nil {
		return nil
	}
	return &jsonClosure{figureJSON(c.Predicted), lengthText(c.Value), lengthText(c.Limit), c.Good}
}

func figureJSON(f *overhaul.Figure) *jsonFigure {
	if f == nil {
		return nil
	}
	u := baseUnit(f)
	out := &jsonFigure{Name: f.Name, Value: unitText(f.Value, u), Rule: f.Rule}
	if !f.Value.IsDecimal() {
		out.Exact = f.Value.String() + " " + u.String()
	}
	if f.By != nil {
		out.Arm = f.By.Decimal().String() + " m"
	}
	for _, t := range f.Terms {
		out.Terms = append(out.Terms, jsonTerm{t.Coef.Signed(), figureJSON(t.Figure)})
	}
	if f.Leaf != nil {
		out.Source, out.Ref = f.Leaf.Source, f.Leaf.Ref
		if f.Leaf.Written.Unit() != quantity.Bare {
			out.Written = f.Leaf.Written.String()
		}
	}
	return out
}

// baseUnit is the unit in which a figure's value is kept: told by the first
// leaf written with a unit; a pull times its arm is a torque.
func baseUnit(f *overhaul.Figure) quantity.Unit {
	if f.By != nil {
		return quantity.NewtonMetre
	}
	for _, l := range f.Leaves() {
		switch l.Figure.Leaf.Written.Unit().Dimension() {
		case quantity.Force:
			return quantity.Newton
		case quantity.Torque:
			return quantity.NewtonMetre
		case quantity.Length:
			return quantity.MM
		}
	}
	return quantity.MM
}

func lengthText(x quantity.Exact) string { return unitText(x, quantity.MM) }

// unitText is a figure in its base unit with every decimal it has; one without
// an end is rounded half to even at quantity.WorkPlaces.
func unitText(x quantity.Exact, u quantity.Unit) string {
	return x.Decimal().String() + " " + u.String()
}
