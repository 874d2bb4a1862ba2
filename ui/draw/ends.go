package draw

import (
	"fmt"
	"strings"

	"shimwright/calc/overhaul"
	"shimwright/calc/ring"
	"shimwright/calc/sheet"
)

// standings says where each gear sits and each setting stands.
func (j job) standings() {
	if len(j.r.Places) == 0 {
		return
	}
	j.t.blank()
	j.t.line("where things stand, with the packs fitted or as worked")
	for _, p := range j.r.Places {
		if p.Low.Value.Equal(p.High.Value) {
			j.entry(p.Wanted, j.show(p.Low), standingWords(j.r.Sheet, p))
			continue
		}
		j.entry(p.Wanted, "", fmt.Sprintf("%s .. %s, %s", j.show(p.Low), j.show(p.High), p.State))
	}
}

func standingWords(s *sheet.Sheet, p overhaul.Standing) string {
	wd, ok := s.WantedNamed(p.Wanted)
	if !ok || wd.SettingOf == "" {
		return p.State
	}
	if p.Low.Value.Sign() < 0 {
		return "preload"
	}
	return "float"
}

// end is what the reader leaves with: verdicts, what is open, cautions and
// whose limits these are.
func (j job) end() {
	j.verdicts()
	j.open()
	s := j.r.Sheet
	j.t.blank()
	for _, c := range s.Cautions {
		j.t.wrap("", 0, c)
	}
	j.t.wrap("", 0, fmt.Sprintf("Limits from %s, not from this tool.", strings.TrimSuffix(s.Manual, ".")))
}

func (j job) verdicts() {
	var any bool
	for _, r := range j.r.Steps {
		v := j.verdictOf(r)
		if v == "" {
			continue
		}
		if !any {
			j.t.blank()
			j.t.line("verdicts")
			any = true
		}
		j.t.line(strings.Repeat(" ", nameIn) + pad(r.Step.Name, nameWide) + "  " + v)
	}
}

// verdictOf is a step's word in the list of verdicts; "" where it has none.
func (j job) verdictOf(r *overhaul.Result) string {
	switch r.Status {
	case overhaul.Stopped:
		return "STOP"
	case overhaul.Stale:
		if r.Pack != nil {
			return "STALE: fit it anew"
		}
		return "STALE: take it again"
	}
	if r.Check != nil && r.Check.Verdict != ring.NotJudged {
		return verdictWord(r.Check)
	}
	if r.Status == overhaul.Held {
		return "HELD"
	}
	if r.Pack != nil && r.Pack.Fitted != nil && r.Pack.Worked != nil {
		return "fitted, " + j.thickness(r.Pack.Error)
	}
	return ""
}

func (j job) open() {
	waiting := 0
	for _, r := range j.r.Steps {
		if r.Status == overhaul.Waiting {
			waiting++
		}
	}
	j.t.blank()
	next := j.r.Next()
	switch {
	case next == nil:
		j.t.wrap("", 0, fmt.Sprintf("Every step is done. Build state %d.", j.r.Build))
		return
	case waiting == 1:
		j.t.wrap("", 0, fmt.Sprintf("1 of %d steps still wants something.", len(j.r.Steps)))
	case waiting > 1:
		j.t.wrap("", 0, fmt.Sprintf("%d of %d steps still want something.", waiting, len(j.r.Steps)))
	}
	j.t.wrap("", 0, "First open step: "+next.Step.Name+".")
	if j.r.Training {
		j.t.wrap("", 0, "TRAINING: this job cannot be released.")
	}
}
