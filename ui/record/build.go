package record

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"shimwright/calc/overhaul"
	"shimwright/calc/ring"
	"shimwright/calc/sheet"
	"shimwright/ingest/fact"
	"shimwright/ingest/guard"
	"shimwright/ingest/job"
	"shimwright/ingest/store"
)

func (w *walked) head(r *Record, res *overhaul.Results) {
	h, s := w.job.Head, w.job.Sheet
	r.Job, r.Bench, r.Drive, r.Serial = w.job.ID, w.carried.Bench, h.Drive, h.Serial
	r.Sheet, r.Issue, r.Digest, r.Manual = h.Sheet, h.Issue, h.Digest, strings.TrimSuffix(s.Manual, ".")
	r.Rule = ruleWords(h.Rule, s)
	first, last := w.carried.Facts[0], w.carried.Facts[len(w.carried.Facts)-1]
	r.Opened, r.LastFact = day(first.UTC), day(last.UTC)
	r.State = stateWords(w.job.Ended())
	r.Build, r.Programs, r.Warmth = res.Build, w.programs, w.warmth
	virtual := slices.ContainsFunc(w.job.Presses, func(p job.Press) bool { return p.Fact.Virtual() })
	switch {
	case virtual:
		r.Training = "readings came from a virtual gauge"
	case h.Training:
		r.Training = "it was opened as training, or by a sheet that nobody approved"
	case res.Training:
		r.Training = "its results are training"
	}
	r.Cautions = append([]string{}, s.Cautions...)
	r.Seq, r.Hash = w.carried.Last()
	r.QR = fmt.Sprintf("JOB %s HASH %s", r.Job, strings.ToUpper(r.Hash))
}

// ruleWords says how uncertainty counted in the verdicts.
func ruleWords(rule string, s *sheet.Sheet) string {
	if rule == ring.Simple.String() {
		return "simple: good is inside the limits or on them; the uncertainty U is told and left aside"
	}
	wide := "k = " + s.Guard.K.String()
	if s.Guard.Student {
		wide = "by Student's t"
	}
	return "guarded: good is inside the limits by at least the uncertainty U (" + wide + "), out is outside them by at least U, between is too close to call"
}

// ruleText is the rule as it is printed.
func (r *Record) ruleText() string {
	out := "Rule: " + r.Rule + "."
	if len(r.Packs) > 0 && strings.HasPrefix(r.Rule, "guarded") {
		out += " Packs as fitted, and figures worked two ways, are held to their limits as they stand; U says how sure they are."
	}
	return out
}

func stateWords(s store.State) string {
	switch s {
	case "":
		return "open, not released"
	case store.Signed:
		return "signed off"
	case store.Finished:
		return "finished as training: never released"
	}
	return string(s)
}

// parts are the records, marks and confirmations.
func (w *walked) parts(r *Record, res *overhaul.Results) {
	for _, x := range res.Steps {
		switch x.Step.Kind {
		case sheet.KindRecord, sheet.KindMark, sheet.KindConfirm:
		default:
			continue
		}
		p := Part{Step: x.Step.Name, Kind: string(x.Step.Kind), Words: x.Text}
		if seq, ok := w.marks[x.Step.Name]; ok {
			p.Seq, p.At, p.By = seq, w.at[seq], w.by[seq]
		}
		if p.Words == "" {
			p.Words = "not done"
		}
		if x.Problem != "" {
			p.Words += ". " + x.Problem
		}
		r.Parts = append(r.Parts, p)
	}
}

// tools are the gauges that sent presses and the pieces drawn.
func (w *walked) tools(r *Record) {
	at := map[string]int{}
	for _, p := range w.job.Presses {
		f := p.Fact
		i, ok := at[f.Gauge]
		if !ok {
			i = len(r.Gauges)
			at[f.Gauge] = i
			r.Gauges = append(r.Gauges, Gauge{ID: f.Gauge, Kind: f.GaugeKind, Source: sourceWord(f)})
		}
		if f.Limit != nil {
			r.Gauges[i].Limit = f.Limit.String()
		}
		r.Gauges[i].Presses++
		r.Gauges[i].Table = tableWords(w.known[f.Gauge])
		r.Gauges[i].Paper, r.Gauges[i].Due = paperOf(w.known[f.Gauge].Certificate)
	}
	slices.SortFunc(r.Gauges, func(a, b Gauge) int { return strings.Compare(a.ID, b.ID) })
	var ids []string
	for id := range w.drawn {
		ids = append(ids, id)
	}
	slices.Sort(ids)
	for _, id := range ids {
		p, ok := w.job.Piece(id)
		if !ok {
			continue
		}
		out := Piece{ID: id, Standard: p.Standard, Size: p.Size.String(), Drawn: w.drawn[id].at}
		out.Paper, out.Due = paperOf(w.drawn[id].Certificate)
		if p.Uncertainty != nil {
			out.Uncertainty = p.Uncertainty.String()
		}
		if p.K != nil {
			out.K = p.K.String()
		}
		r.Pieces = append(r.Pieces, out)
	}
}

// paperOf is a certificate's number and the last day it holds. A paper without a
// number has its digest's beginning in its place, so that it is not taken for none.
func paperOf(c fact.Certificate) (number, due string) {
	number, due = c.Number, c.Due.String()
	if number == "" && c.Digest != "" {
		number = fmt.Sprintf("file of SHA-256 %.12s", c.Digest)
	}
	return number, due
}

// tableWords is a gauge's correction table in words; "" where it has none.
func tableWords(k fact.GaugeKnown) string {
	var out []string
	for _, c := range k.Corrections {
		out = append(out, fmt.Sprintf("at %s add %s", c.At, c.Add))
	}
	say := strings.Join(out, "; ")
	if say != "" && k.Uncertainty != nil {
		say += "; U " + k.Uncertainty.String()
		if k.K != nil {
			say += ", k = " + k.K.String()
		}
	}
	return say
}

func sourceWord(f fact.Pressed) string {
	switch {
	case f.Virtual():
		return "virtual"
	case f.Keyed():
		return "keyed"
	}
	return "gauge"
}

// presses sorts the presses into those that count, by stage, and the rest with
// the reason.
func (w *walked) presses(r *Record, res *overhaul.Results) {
	counts := counting(res)
	byStage := map[string][]Press{}
	for _, p := range w.job.Presses {
		out := w.press(p)
		if st, ok := w.job.Sheet.Step(p.Fact.Step); ok && counts[p.Seq] {
			byStage[st.Stage] = append(byStage[st.Stage], out)
			continue
		}
		out.Reason = w.why(p)
		r.Aside = append(r.Aside, out)
	}
	for _, s := range res.Sheet.Stages {
		r.Stages = append(r.Stages, Stage{Name: s.Name, Cautions: s.Cautions, Presses: byStage[s.Name]})
	}
}

// counting are the presses that figures rest on now, by number.
func counting(res *overhaul.Results) map[int64]bool {
	out := map[int64]bool{}
	add := func(p overhaul.Press) {
		if seq, err := strconv.ParseInt(p.Entry.Ref, 10, 64); err == nil && !p.Stale {
			out[seq] = true
		}
	}
	for _, x := range res.Steps {
		for _, p := range x.Presses {
			add(p)
		}
		if x.Check == nil {
			continue
		}
		for _, point := range x.Check.Points {
			for _, p := range point.Pressed {
				add(p)
			}
		}
	}
	return out
}

func (w *walked) press(p job.Press) Press {
	f := p.Fact
	out := Press{Seq: p.Seq, Step: f.Step, Spot: f.Spot, Gauge: f.Gauge, Source: sourceWord(f),
		Pieces: strings.Join(f.Pieces, ", "), At: pressTime(f.Arrived), By: w.by[p.Seq], Build: w.build[p.Seq],
		Outcome: string(p.Now), Value: "no number"}
	if f.Value != nil {
		out.Value = f.Value.String()
	}
	if len(f.Raw) > 0 {
		out.Raw = f.Bytes()
	}
	if p.Now == fact.Taken && p.Reason != "" {
		out.Reason = "was held; let count: " + p.Reason
		if by, ok := w.job.TookBy(p.Seq); ok && by.Initials != "" {
			out.Reason += " (" + by.String() + ")"
		}
	}
	if f.Keyed() && f.Reason != "" {
		out.Reason = strings.TrimPrefix(out.Reason+"; keyed: "+f.Reason, "; ")
	}
	out.Doubt = w.doubts[p.Seq]
	if look, ok := w.job.Look(p.Seq); ok {
		out.Look = look.String()
	}
	return out
}

// why says why a press does not count.
func (w *walked) why(p job.Press) string {
	switch {
	case p.Struck:
		return "struck: " + p.Reason
	case p.Now == fact.Held && p.Reason != "":
		return "held: " + p.Reason
	case p.Now == fact.Held:
		return "held: " + p.Fact.Sentence
	case p.Now == fact.Aside:
		return "aside: " + p.Fact.Sentence
	}
	for _, d := range w.decisions {
		if d.Seq > p.Seq && d.What == "taken again" && d.Step == p.Fact.Step {
			return "taken again: " + d.Words
		}
	}
	if w.build[p.Seq] < w.buildNow {
		return fmt.Sprintf("of build state %d: metal was changed after it", w.build[p.Seq])
	}
	return "another press took its place"
}

// open is what still wants something.
func (w *walked) open(r *Record, res *overhaul.Results) {
	r.Open = []string{}
	for _, x := range res.Steps {
		if x.Status == overhaul.Done {
			continue
		}
		say := x.Step.Name + ": " + string(x.Status)
		if x.Problem != "" {
			say += ". " + x.Problem
		} else if x.Wants != "" {
			say += ", " + x.Wants
		}
		r.Open = append(r.Open, say)
	}
	r.Open = append(r.Open, guard.Undecided(w.job)...)
	for _, h := range w.job.Holds() {
		where := "the whole job"
		if h.Step != "" {
			where = h.Step
		}
		r.Open = append(r.Open, fmt.Sprintf("%s: on hold since fact %d: %s", where, h.Seq, h.Reason))
	}
}
