package main

import (
	"shimwright/calc/overhaul"
	"shimwright/calc/stock"
)

// Packs: worked, made up of the stock, fitted.

type jsonPack struct {
	Place       string       `json:"place,omitempty"`
	Makes       string       `json:"makes,omitempty"`
	SetBy       string       `json:"set_by,omitempty"`
	OneMore     string       `json:"one_more,omitempty"`
	Squeeze     string       `json:"squeeze_does,omitempty"`
	WorkedFrom  string       `json:"worked_from,omitempty"`
	Worked      *jsonFigure  `json:"worked,omitempty"`
	Other       *jsonFigure  `json:"other_way,omitempty"`
	Within      string       `json:"within,omitempty"`
	Makeup      []jsonMakeup `json:"make_up,omitempty"`
	Nearest     []jsonMakeup `json:"nearest,omitempty"`
	OrderLeaf   string       `json:"order_leaf,omitempty"`
	OrderMakes  *jsonMakeup  `json:"order_makes,omitempty"`
	OrderBreaks bool         `json:"order_breaks_rules,omitempty"`
	NoTray      bool         `json:"no_stock,omitempty"`
	Effect      string       `json:"make_up_does,omitempty"`
	Fitted      *jsonFigure  `json:"fitted,omitempty"`
	Error       string       `json:"fitted_error,omitempty"`
	ErrorDoes   string       `json:"fitted_does,omitempty"`
	Refit       bool         `json:"refit,omitempty"`
	Closure     *jsonClosure `json:"closure,omitempty"`
	Keep        *jsonKeep    `json:"keep_backlash,omitempty"`
	KeepWaits   string       `json:"keep_backlash_waits,omitempty"`
}

type jsonMakeup struct {
	Leaves []string `json:"leaves"`
	Total  string   `json:"total"`
	Error  string   `json:"error"`
	Does   string   `json:"does,omitempty"`
	Over   int      `json:"leaves_too_many,omitempty"`
}

func packJSON(r *overhaul.Result, in units) *jsonPack {
	p := r.Pack
	if p == nil {
		return nil
	}
	rules := r.Step.Pack
	out := &jsonPack{
		Place: rules.Place, Makes: rules.Makes, SetBy: rules.SetBy, OneMore: p.OneMore, Squeeze: p.Squeeze,
		Worked: wholeFigureJSON(p.Worked), Other: wholeFigureJSON(p.Other), NoTray: p.NoTray, Effect: p.Effect,
		Fitted: figureJSON(p.Fitted), ErrorDoes: p.ErrorDoes, Refit: p.Refit, Closure: closureJSON(p.Closure, in),
	}
	if p.Other != nil {
		out.WorkedFrom = "the measured lengths"
		if rules.ByChange {
			out.WorkedFrom = "the build before"
		}
	}
	if p.Worked != nil {
		out.Within = lengthText(p.Within)
	}
	if p.Worked != nil && p.Fitted != nil {
		out.Error = lengthText(p.Error)
	}
	makeupJSON(out, p.Makeup)
	for i := range p.Near {
		near := packOf(&p.Near[i].Pack)
		near.Does, near.Over = p.Near[i].Does, p.Near[i].TooMany
		out.Nearest = append(out.Nearest, near)
	}
	out.Keep, out.KeepWaits = keepJSON(p.Keep), p.KeepWaits
	return out
}

func makeupJSON(out *jsonPack, a *stock.Answer) {
	if a == nil {
		return
	}
	for i := range a.Packs {
		out.Makeup = append(out.Makeup, packOf(&a.Packs[i]))
	}
	if a.Order != nil {
		out.OrderLeaf = lengthText(a.Order.Size)
		makes := packOf(&a.Order.Pack)
		out.OrderMakes, out.OrderBreaks = &makes, a.Order.BreaksRules
	}
}

func packOf(p *stock.Pack) jsonMakeup {
	m := jsonMakeup{Leaves: []string{}, Total: lengthText(p.Total), Error: lengthText(p.Error)}
	for _, l := range p.Leaves {
		m.Leaves = append(m.Leaves, l.Label)
	}
	return m
}
