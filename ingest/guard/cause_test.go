package guard

import (
	"slices"
	"testing"
	"time"

	"shimwright/calc/sheet"
	"shimwright/devices"
	"shimwright/ingest/fact"
)

type change = func(*Case)

// caused are changes of a good press that a guard objects to, by the cause that
// it should give.
func caused(t *testing.T, s *sheet.Sheet) map[fact.Cause][]change {
	bad := func(r devices.Reason) []change {
		return []change{
			func(c *Case) {
				c.Bad = &devices.FrameError{Reason: r, Detail: "it has \"; the step \" in it", Raw: []byte("+0\x01")}
			},
			func(c *Case) {
				c.Known, c.Stray, c.Bad = false, true, &devices.FrameError{Reason: r}
			}}
	}
	needs := func(c *Case, need string) {
		st := *c.Step
		st.Needs = []string{need}
		c.Step = &st
	}
	out := map[fact.Cause][]change{
		"": {func(*Case) {}},
		fact.UnknownGauge: {func(c *Case) { c.Known = false },
			func(c *Case) { c.Known, c.Stray, c.Sample.Channel = false, true, "3" }},
		fact.NoJob:     {func(c *Case) { c.Open = false }},
		fact.NoStep:    {func(c *Case) { c.Step = nil }, func(c *Case) { c.Step = stepOf(t, s, "pinion pair number") }},
		fact.OtherKind: {func(c *Case) { c.Kind = "micrometer" }, func(c *Case) { c.Sample.Value = figure(t, "3 N") }},
		fact.StepFull:  {func(c *Case) { c.Full = true }},
		fact.Double: {
			func(c *Case) { c.Before = &Before{Value: c.Sample.Value, At: c.Sample.At} },
			func(c *Case) { c.Before = &Before{Value: figure(t, "0.30 mm"), At: c.Sample.At} }},
		fact.ZeroFirst: {func(c *Case) { needs(c, sheet.NeedsZero); c.Zero = &Zero{} }},
		fact.BearingsFirst: {
			func(c *Case) { needs(c, sheet.NeedsRolled); c.Said = map[string]time.Time{} },
			func(c *Case) {
				needs(c, sheet.NeedsSeated)
				c.Said = map[string]time.Time{sheet.NeedsSeated: c.Sample.At.Add(-time.Hour)}
			}},
		fact.SayFirst:       {func(c *Case) { c.Missing = "Say which post it is" }},
		fact.StepOnHold:     {func(c *Case) { c.Missing, c.OnHold = "Backlash is on hold: no parts. A lead lifts the hold", true }},
		fact.UnitMissed:     {func(c *Case) { c.Sample.Value, c.Sample.UnitStated = figure(t, "7 mm"), false }},
		fact.OutOfWindow:    {func(c *Case) { c.Sample.Value = figure(t, "55 mm") }},
		fact.LooksOtherwise: {func(c *Case) { c.Looks = []fact.Looked{{Unit: "in", Stated: true, Places: 4}} }},
		fact.NotCertified: {func(c *Case) { c.Paper.Withdrawn = true },
			func(c *Case) { c.Paper.Due = fact.DayOf(c.Sample.At.AddDate(0, 0, -3)) }},
		fact.Unexplained: {func(c *Case) { c.Sample.Source, c.Unexplained = devices.SourceKeyed, true }},
		fact.OtherCause:  {func(c *Case) { c.Bad = errUnknown{} }},
	}
	for _, r := range fact.FrameReasons() {
		out[fact.Cause(r)] = bad(r)
	}
	return out
}

type errUnknown struct{}

func (errUnknown) Error() string { return "something else" }

// Each guard's objection has its cause, and every cause has a guard that gives it.
func TestCauses(t *testing.T) {
	s := sheetNamed(t, "../../cmd/shimwright/sheets/fw3.yaml")
	all := caused(t, s)
	for _, want := range fact.Causes() {
		if len(all[want]) == 0 {
			t.Errorf("nothing is tried that has the cause %q", want)
		}
	}
	for want, changes := range all {
		if want != "" && !slices.Contains(fact.Causes(), want) {
			t.Errorf("%q is no cause", want)
		}
		for i, change := range changes {
			sample := devices.Sample{Gauge: "I03", Source: devices.SourceGauge}
			sample.Value, sample.UnitStated, sample.At = figure(t, "0.20 mm"), true, noon()
			c := Case{Sample: sample, Known: true, Open: true, Kind: "dial indicator", Step: stepOf(t, s, "backlash"), Windows: Usual()}
			change(&c)
			if d := Decide(c); d.Cause != want || (d.Outcome == fact.Taken) != (d.Cause == "") {
				t.Errorf("%q, way %d: %s %q has the cause %q", want, i, d.Outcome, d.Sentence, d.Cause)
			}
		}
	}
}
