package overhaul

import (
	"fmt"
	"strings"

	"shimwright/calc/quantity"
	"shimwright/calc/ring"
	"shimwright/calc/sheet"
)

// A Difference is one result that would be another.
type Difference struct {
	Of         string // the step, or the wanted figure
	What       string // which of its results, in words
	Was, Would string // "" where there was, or would be, none
}

// WhatIf works a job with some of its entries replaced, as sheet.Instead
// replaces them, and says which results differ from those of the job as it is.
// Nothing of the job changes.
func WhatIf(s *sheet.Sheet, job, instead sheet.Entries) (*Results, error) {
	was, err := Work(s, job)
	if err != nil {
		return nil, err
	}
	would, err := Work(s, sheet.Instead(s, job, instead))
	if err != nil {
		return nil, fmt.Errorf("with the entries replaced: %w", err)
	}
	would.Differences = Differences(was, would)
	return would, nil
}

// Differences are the results of one working of a sheet that are other in a
// second one, in the order of work, then where things stand.
func Differences(was, would *Results) []Difference {
	var out []Difference
	for i, r := range was.Steps {
		if i < len(would.Steps) {
			out = append(out, differ(r.Step.Name, sayings(was.Sheet, r), sayings(would.Sheet, would.Steps[i]))...)
		}
	}
	return append(out, differ("", standingSayings(was), standingSayings(would))...)
}

// saying is one result in words, as it is shown.
type saying struct{ of, what, words string }

// differ pairs two lists of sayings by what they speak of.
func differ(of string, was, would []saying) []Difference {
	var out []Difference
	seen := map[saying]bool{}
	words := func(list []saying, key saying) string {
		for _, s := range list {
			if s.of == key.of && s.what == key.what {
				return s.words
			}
		}
		return ""
	}
	for _, s := range append(append([]saying{}, was...), would...) {
		key := saying{of: s.of, what: s.what}
		if seen[key] {
			continue
		}
		seen[key] = true
		d := Difference{Of: of, What: s.what, Was: words(was, key), Would: words(would, key)}
		if d.Of == "" {
			d.Of = s.of
		}
		if d.Was != d.Would {
			out = append(out, d)
		}
	}
	return out
}

// sayings are a step's results in words.
func sayings(s *sheet.Sheet, r *Result) []saying {
	out := []saying{{what: "step", words: string(r.Status)}}
	add := func(what, words string) {
		if words != "" {
			out = append(out, saying{what: what, words: words})
		}
	}
	switch {
	case r.Pack != nil:
		packSayings(s, r.Pack, add)
	case r.Check != nil:
		checkSayings(s, r, add)
	case r.Figure != nil:
		add("figure", lengthShown(s, r.Figure.Value))
	default:
		add("answer", r.Text)
	}
	if r.Closure != nil {
		add("found less predicted", closureShown(s, r.Closure))
	}
	if r.Problem != "" && (r.Check == nil || !strings.EqualFold(r.Problem, r.Check.Words)) {
		add("problem", r.Problem)
	}
	return out
}

func packSayings(s *sheet.Sheet, p *Pack, add func(what, words string)) {
	if p.Worked != nil {
		add("worked", lengthShown(s, p.Worked.Value))
	}
	if p.Makeup != nil {
		best := "no pack of this stock"
		if len(p.Makeup.Packs) > 0 {
			best = p.Makeup.Packs[0].String()
		}
		add("make up", best)
	}
	if p.Fitted != nil {
		add("fitted", lengthShown(s, p.Fitted.Value))
	}
	if p.Fitted != nil && p.Worked != nil {
		does := "exact"
		if !p.Error.IsZero() {
			does = strings.TrimSuffix(lengthShown(s, p.Error)+", "+p.ErrorDoes, ", ")
		}
		add("fitted less worked", does)
	}
	if p.Closure != nil {
		add("the two ways apart by", closureShown(s, p.Closure))
	}
}

func checkSayings(s *sheet.Sheet, r *Result, add func(what, words string)) {
	c := r.Check
	if c.Figure != nil {
		add("figure", c.Figure.Value.ShowUnit(s.CheckShownIn(r.Step.Check)))
	}
	if c.Ring != nil {
		add("mean", lengthShown(s, c.Ring.Mean.Value()))
		add("spread", lengthShown(s, c.Ring.Spread))
	}
	if c.Verdict != ring.NotJudged {
		add("verdict", strings.ToUpper(c.Verdict.String()))
	}
	if c.Expected != nil {
		add("to expect", c.Expected.Words)
	}
	if c.Ring != nil || c.Spacer != nil || c.Marks != nil {
		add("what to do", c.Advice)
	}
}

func lengthShown(s *sheet.Sheet, x quantity.Exact) string { return x.ShowUnit(s.Unit, s.Places) }

func closureShown(s *sheet.Sheet, c *Closure) string {
	word := "GOOD"
	if !c.Good {
		word = "NOT GOOD"
	}
	return lengthShown(s, c.Value) + ", " + word
}

// standingSayings are where the wanted figures stand.
func standingSayings(r *Results) []saying {
	var out []saying
	for _, p := range r.Places {
		words := lengthShown(r.Sheet, p.Low.Value)
		if !p.Low.Value.Equal(p.High.Value) {
			words += " .. " + lengthShown(r.Sheet, p.High.Value)
		}
		if wd, ok := r.Sheet.WantedNamed(p.Wanted); ok && wd.SettingOf != "" {
			words += settingWord(p.Low.Value)
		} else if p.State != "" {
			words += ", " + p.State
		}
		out = append(out, saying{of: p.Wanted, what: "stands at", words: words})
	}
	return out
}

func settingWord(x quantity.Exact) string {
	if x.Sign() < 0 {
		return " preload"
	}
	return " float"
}
