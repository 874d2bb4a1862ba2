package main

import (
	"time"

	"shimwright/ingest/bench"
	"shimwright/ingest/job"
)

// A question asks how the bench stands and records nothing.
type question func(*running) any

func questions() map[string]question {
	return map[string]question{"gauges": of(askGauges), "jobs": of(askJobs), "standing": of(askStanding), "shop": askShop}
}

// of asks the newest snapshot.
func of(ask func(*bench.Snapshot) any) question {
	return func(b *running) any { return ask(b.Snapshot()) }
}

func askGauges(s *bench.Snapshot) any {
	out := gaugesLine{Gauges: []gaugeCounts{}}
	for _, g := range s.Gauges {
		out.Gauges = append(out.Gauges, countsOf(g, time.Now()))
	}
	return out
}

// jobsLine answers the command "jobs".
type jobsLine struct {
	Jobs []jobLine `json:"jobs"`
}

type jobLine struct {
	Job      string `json:"job"`
	Drive    string `json:"drive"`
	Serial   string `json:"serial"`
	Sheet    string `json:"sheet"`
	Issue    int    `json:"issue"`
	Opened   string `json:"opened"`
	Training bool   `json:"training,omitempty"`
	Front    bool   `json:"front,omitempty"`
}

func askJobs(s *bench.Snapshot) any {
	out := jobsLine{Jobs: []jobLine{}}
	for _, o := range s.Open {
		out.Jobs = append(out.Jobs, jobLine{o.ID, o.Drive, o.Serial, o.Sheet, o.Issue, o.Opened.UTC().Format(time.RFC3339),
			o.Training, s.Job != nil && s.Job.ID == o.ID})
	}
	return out
}

// standingLine answers the command "standing".
type standingLine struct {
	Standing    string           `json:"standing"` // the job's number; "" while none is in front
	Training    bool             `json:"training,omitempty"`
	Build       int              `json:"build,omitempty"`
	Unfinished  []string         `json:"unfinished,omitempty"`
	Signatures  []string         `json:"signatures_wanted,omitempty"`
	Signed      []signedLine     `json:"signed,omitempty"`
	Hands       []string         `json:"at_work,omitempty"`
	Held        []int64          `json:"held,omitempty"`
	Holds       []holdLine       `json:"holds,omitempty"`
	Concessions []concessionLine `json:"concessions,omitempty"`
	AsFound     []foundLine      `json:"as_found,omitempty"`
	Low         []string         `json:"low,omitempty"`
}

type signedLine struct {
	As string `json:"as"`
	By string `json:"by"`
}

type holdLine struct {
	Hold   int64  `json:"hold"`
	Step   string `json:"step,omitempty"`
	Reason string `json:"reason"`
	Rule   string `json:"rule,omitempty"`
	By     string `json:"by,omitempty"`
}

type concessionLine struct {
	Step   string `json:"step"`
	Limit  string `json:"limit,omitempty"`
	Found  string `json:"found"`
	Reason string `json:"reason"`
	By     string `json:"by"`
}

type foundLine struct {
	Step   string   `json:"step"`
	What   string   `json:"what"`
	Words  string   `json:"words"`
	Value  string   `json:"value,omitempty"`
	Points []string `json:"points,omitempty"`
}

func askStanding(s *bench.Snapshot) any {
	var out standingLine
	for _, l := range s.Low {
		out.Low = append(out.Low, l.Say())
	}
	if s.Job == nil {
		return out
	}
	out.Standing, out.Training, out.Build, out.Unfinished = s.Job.ID, s.Results.Training, s.Results.Build, s.Unfinished
	for _, r := range s.Wanted {
		out.Signatures = append(out.Signatures, string(r))
	}
	for _, p := range s.Held {
		out.Held = append(out.Held, p.Seq)
	}
	out.decided(s.Job)
	for _, f := range bench.AsFound(s.Results) {
		out.AsFound = append(out.AsFound, foundLine{f.Step, f.What, f.Words, f.Value, f.Points})
	}
	return out
}

func (out *standingLine) decided(j *job.Job) {
	for _, h := range j.Hands() {
		out.Hands = append(out.Hands, h.String())
	}
	for _, f := range j.Signatures() {
		out.Signed = append(out.Signed, signedLine{string(f.As), f.By.String()})
	}
	for _, h := range j.Holds() {
		out.Holds = append(out.Holds, holdLine{h.Seq, h.Step, h.Reason, h.Rule, h.By.String()})
	}
	for _, c := range j.Concessions() {
		out.Concessions = append(out.Concessions, concessionLine{c.Step, c.Limit, c.Found, c.Reason, c.By.String()})
	}
}
