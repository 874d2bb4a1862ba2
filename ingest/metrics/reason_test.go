package metrics_test

import (
	"os"
	"strings"
	"testing"
	"time"

	"shimwright/calc/quantity"
	"shimwright/calc/sheet"
	"shimwright/devices"
	"shimwright/ingest/fact"
	"shimwright/ingest/guard"
	"shimwright/ingest/metrics"
)

// step gives a step of the sheet.
func step(t *testing.T, s *sheet.Sheet, name string) *sheet.Step {
	t.Helper()
	st, ok := s.Step(name)
	if !ok {
		t.Fatalf("no step %q", name)
	}
	return st
}

// needing is a step that needs something said or done first.
func needing(st sheet.Step, need string) *sheet.Step {
	st.Needs = []string{need}
	return &st
}

// Each guard's objection has its reason, in the words that the guard says now.
func TestReasonsFollowTheGuards(t *testing.T) {
	s := fw3(t)
	const backlash = "backlash"
	bad := func(r devices.Reason) func(*guard.Case) {
		return func(c *guard.Case) {
			c.Bad = &devices.FrameError{Reason: r, Detail: "it has \"; the step \" in it", Raw: []byte("+0\x01")}
		}
	}
	type change = func(*guard.Case)
	for want, changes := range map[string][]change{
		"": {func(*guard.Case) {}},
		"unknown gauge": {func(c *guard.Case) { c.Known = false },
			func(c *guard.Case) { c.Known, c.Stray, c.Sample.Channel = false, true, "3" }},
		"no job":              {func(c *guard.Case) { c.Open = false }},
		"no step":             {func(c *guard.Case) { c.Step = nil }, func(c *guard.Case) { c.Step = step(t, s, "pinion pair number") }},
		"other kind of gauge": {func(c *guard.Case) { c.Kind = "micrometer" }, func(c *guard.Case) { c.Sample.Value = value(t, "3 N") }},
		"step full":           {func(c *guard.Case) { c.Full = true }},
		"double": {
			func(c *guard.Case) { c.Before = &guard.Before{Value: c.Sample.Value, At: c.Sample.At} },
			func(c *guard.Case) { c.Before = &guard.Before{Value: value(t, "0.30 mm"), At: c.Sample.At} }},
		"something to say first": {func(c *guard.Case) { c.Missing = "Say which post it is" }},
		"unit":                   {func(c *guard.Case) { c.Sample.Value, c.Sample.UnitStated = value(t, "7 mm"), false }},
		"out of window":          {func(c *guard.Case) { c.Sample.Value = value(t, "55 mm") }},
		"looks otherwise":        {func(c *guard.Case) { c.Looks = []fact.Looked{{Unit: "in", Stated: true, Places: 4}} }},
		"certificate": {func(c *guard.Case) { c.Paper.Withdrawn = true },
			func(c *guard.Case) { c.Paper.Due = fact.DayOf(c.Sample.At.AddDate(0, 0, -3)) }},
		"no number":                         {bad(devices.NoNumber)},
		"not a line of this gauge":          {bad(devices.BadShape)},
		"no gauge on this channel":          {bad(devices.Absent)},
		"noise on the line":                 {bad(devices.Noise)},
		"half a line":                       {bad(devices.HalfLine)},
		"too long":                          {bad(devices.TooLong)},
		"began before the port had settled": {bad(devices.Unsettled)},
		"keyed without a reason":            {func(c *guard.Case) { c.Sample.Source, c.Unexplained = devices.SourceKeyed, true }},
		"zero":                              {func(c *guard.Case) { c.Step, c.Zero = needing(*c.Step, sheet.NeedsZero), &guard.Zero{} }},
		"bearings": {
			func(c *guard.Case) { c.Step, c.Said = needing(*c.Step, sheet.NeedsRolled), map[string]time.Time{} },
			func(c *guard.Case) {
				c.Step, c.Said = needing(*c.Step, sheet.NeedsSeated), map[string]time.Time{sheet.NeedsSeated: c.Sample.At.Add(-time.Hour)}
			}},
	} {
		for i, change := range changes {
			sample := devices.Sample{Gauge: "I03", Source: devices.SourceGauge}
			sample.Value, sample.UnitStated, sample.At = value(t, "0.20 mm"), true, noon()
			c := guard.Case{Sample: sample, Known: true, Open: true, Kind: "dial indicator", Step: step(t, s, backlash), Windows: guard.Usual()}
			change(&c)
			d := guard.Decide(c)
			f := fact.Pressed{Gauge: c.Sample.Gauge, Outcome: d.Outcome, Sentence: d.Sentence}
			if c.Bad == nil {
				f.Value = &c.Sample.Value
			}
			if got := metrics.ReasonOf(f); got != want {
				t.Errorf("%q, way %d: %s %q has the reason %q", want, i, d.Outcome, d.Sentence, got)
			}
		}
	}
}

func value(t *testing.T, s string) quantity.Value {
	t.Helper()
	v, err := quantity.ParseWithUnit(s)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// METRICS.md names every reason.
func TestReasonsAreDocumented(t *testing.T) {
	doc, err := os.ReadFile("METRICS.md")
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range metrics.Reasons() {
		if !strings.Contains(string(doc), "`"+r+"`") {
			t.Errorf("METRICS.md lacks the reason %q", r)
		}
	}
}
