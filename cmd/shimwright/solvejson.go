package main

import (
	"encoding/json"
	"io"

	"shimwright/calc/overhaul"
	"shimwright/calc/quantity"
	"shimwright/calc/sheet"
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
	Notes     []string       `json:"notes,omitempty"`
	// Of a what-if: what differs from the readings as they are.
	Differences []jsonDifference `json:"differences,omitempty"`
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
	Name    string           `json:"name"`
	Stage   string           `json:"stage"`
	Kind    string           `json:"kind"`
	Status  string           `json:"status"`
	Wants   string           `json:"wants,omitempty"`
	Problem string           `json:"problem,omitempty"`
	Text    string           `json:"text,omitempty"`
	Figure  *jsonFigure      `json:"figure,omitempty"`
	Pack    *jsonPack        `json:"pack,omitempty"`
	Check   *jsonCheck       `json:"check,omitempty"`
	Closure *jsonClosure     `json:"closure,omitempty"`
	Budget  *jsonBudget      `json:"budget,omitempty"`
	Notes   []string         `json:"notes,omitempty"`
	Warm    *jsonTemperature `json:"temperature,omitempty"`
}

type jsonStanding struct {
	Wanted string      `json:"wanted"`
	Low    *jsonFigure `json:"low"`
	High   *jsonFigure `json:"high"`
	State  string      `json:"state,omitempty"`
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
		Differences: differencesJSON(r.Differences), Notes: r.Notes,
	}
	if next := r.Next(); next != nil {
		out.Next = next.Step.Name
	}
	for _, step := range r.Steps {
		out.Steps = append(out.Steps, stepJSON(step, unitsOf(s, step.Step)))
	}
	for _, p := range r.Places {
		out.Standings = append(out.Standings, jsonStanding{p.Wanted, figureJSON(p.Low), figureJSON(p.High), p.State})
	}
	return out
}

// units are those of a step's figure: its base unit, that of a reading of
// it, and the one that words show it in.
type units struct {
	base, reading, shown quantity.Unit
	places               int32
}

func unitsOf(s *sheet.Sheet, st *sheet.Step) units {
	u := units{quantity.MM, quantity.MM, s.Unit, s.Places}
	if st.Check == nil {
		return u
	}
	u.shown, u.places = s.CheckShownIn(st.Check)
	switch st.Check.What {
	case sheet.TurningTorque:
		u.base, u.reading = quantity.NewtonMetre, quantity.Newton
	case sheet.Tightening:
		u.base, u.reading = quantity.NewtonMetre, quantity.NewtonMetre
	}
	return u
}

func stepJSON(r *overhaul.Result, in units) jsonStep {
	out := jsonStep{
		Name: r.Step.Name, Stage: r.Step.Stage, Kind: string(r.Step.Kind), Status: string(r.Status),
		Wants: r.Wants, Problem: r.Problem, Text: r.Text,
		Pack: packJSON(r, in), Check: checkJSON(r, in), Closure: closureJSON(r.Closure, in), Budget: budgetJSON(r.Budget, in),
		Notes: r.Notes, Warm: temperatureJSON(r.Expansion),
	}
	if r.Pack == nil {
		out.Figure = wholeFigureJSON(r.Figure)
	}
	return out
}
