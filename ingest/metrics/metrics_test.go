package metrics_test

import (
	"flag"
	"fmt"
	"math/rand/v2"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/prometheus/client_golang/prometheus/testutil"
	dto "github.com/prometheus/client_model/go"
	"github.com/prometheus/common/expfmt"

	"shimwright/devices"
	"shimwright/ingest/fact"
)

var update = flag.Bool("update", false, "write the golden file anew")

// ours are the families that are not the client library's.
func ours(t testing.TB, r *rig) []*dto.MetricFamily {
	t.Helper()
	all, err := r.Gatherer().Gather()
	if err != nil {
		t.Fatal(err)
	}
	return slices.DeleteFunc(all, func(f *dto.MetricFamily) bool { return !strings.HasPrefix(f.GetName(), "shimwright_") })
}

// text is our families as a scraper gets them, without the version of Go.
func text(t testing.TB, r *rig) string {
	t.Helper()
	var b strings.Builder
	for _, f := range ours(t, r) {
		if _, err := expfmt.MetricFamilyToText(&b, f); err != nil {
			t.Fatal(err)
		}
	}
	return regexp.MustCompile(`goversion="[^"]*"`).ReplaceAllString(b.String(), `goversion="go"`)
}

// A day's facts give these figures.
func TestADay(t *testing.T) {
	r := newRig(t)
	r.aDay()
	got := text(t, r)
	const golden = "testdata/day.golden"
	if *update {
		if err := os.WriteFile(golden, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(golden)
	if err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(string(want), got); d != "" {
		t.Error(d)
	}
	var names []string
	for _, f := range ours(t, r) {
		if f.GetName() != "shimwright_build_info" {
			names = append(names, f.GetName())
		}
	}
	if err := testutil.GatherAndCompare(r.Gatherer(), strings.NewReader(string(want)), names...); err != nil {
		t.Error(err)
	}
}

// The names and units keep the rules that promtool holds them to.
func TestLint(t *testing.T) {
	r := newRig(t)
	r.aDay()
	problems, err := testutil.GatherAndLint(r.Gatherer())
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range problems {
		t.Errorf("%s: %s", p.Metric, p.Text)
	}
}

// METRICS.md lists every figure, and no other, with its type and labels.
func TestMetricsAreDocumented(t *testing.T) {
	doc, err := os.ReadFile("METRICS.md")
	if err != nil {
		t.Fatal(err)
	}
	row := regexp.MustCompile("(?m)^\\| `(shimwright_[a-z_]+)` \\| ([a-z]+) \\| ([a-z, ]*|-) \\| ([^|]+) \\| ([^|]+) \\|$")
	listed := map[string][]string{}
	for _, m := range row.FindAllStringSubmatch(string(doc), -1) {
		listed[m[1]] = m[2:]
	}
	r := newRig(t)
	r.aDay()
	for _, f := range ours(t, r) {
		d, ok := listed[f.GetName()]
		if !ok {
			t.Errorf("METRICS.md lacks %s", f.GetName())
			continue
		}
		delete(listed, f.GetName())
		if kind := strings.ToLower(f.GetType().String()); d[0] != kind {
			t.Errorf("METRICS.md has %s as a %s: it is a %s", f.GetName(), d[0], kind)
		}
		if labels := strings.Join(labelsOf(f), ", "); strings.Trim(d[1], "-") != labels {
			t.Errorf("METRICS.md has %s with labels %q: they are %q", f.GetName(), d[1], labels)
		}
	}
	for name := range listed {
		t.Errorf("METRICS.md lists %s, which no day shows", name)
	}
}

// labelsOf are a family's labels, the bay's left out.
func labelsOf(f *dto.MetricFamily) []string {
	var out []string
	for _, l := range f.GetMetric()[0].GetLabel() {
		if l.GetName() != "bay" {
			out = append(out, l.GetName())
		}
	}
	slices.Sort(out)
	return out
}

// What begins in an earlier run of the program is followed on, and counted from
// now on alone.
func TestOpenJobsAreTakenUp(t *testing.T) {
	r := newRig(t, func(r *rig) {
		head := opened(true)
		head.Text = string(fw3Text(t))
		r.store("job/0001", head, fact.Fitted{Step: "wheel pack"}, ring(1, "good", "0.20", "0.03"), fact.OnHold{Reason: "dinner"})
		r.store("job/0002", head, fact.Finished{})
		r.store("gauge/I03", fact.GaugeCertified{GaugeKind: "dial indicator", Certificate: fact.Certificate{Due: fact.DayOf(noon().AddDate(0, 0, -2))}})
	})
	has := func(lines ...string) {
		t.Helper()
		got := text(t, r)
		for _, l := range lines {
			if !strings.Contains(got, l+"\n") {
				t.Errorf("no line %s in\n%s", l, got)
			}
		}
	}
	has(`shimwright_jobs_open{bay="bay 2",sheet="fw3",stage="wheel position"} 1`,
		`shimwright_jobs_open{bay="bay 2",sheet="fw3",stage="not begun"} 0`,
		`shimwright_holds_open{bay="bay 2",sheet="fw3"} 1`,
		`shimwright_jobs_opened_total{bay="bay 2",sheet="fw3",training="yes"} 0`,
		`shimwright_reshims_total{bay="bay 2",sheet="fw3",training="yes"} 0`,
		`shimwright_calibration_due_seconds{bay="bay 2",gauge="I03"} -129600`)
	r.later(time.Hour)
	r.tell("job/0001", fact.Fitted{Step: "wheel pack"}, ring(2, "good", "0.20", "0.03"), fact.Finished{})
	r.tell("gauge/I03", fact.Withdrawn{Reason: "dropped"})
	has(`shimwright_jobs_open{bay="bay 2",sheet="fw3",stage="wheel position"} 0`,
		`shimwright_holds_open{bay="bay 2",sheet="fw3"} 0`,
		`shimwright_reshims_total{bay="bay 2",sheet="fw3",training="yes"} 1`,
		`shimwright_rings_total{bay="bay 2",pass="again",sheet="fw3",training="yes",verdict="good"} 1`,
		`shimwright_jobs_ended_total{bay="bay 2",how="finished",sheet="fw3"} 1`,
		`shimwright_job_duration_seconds_count{bay="bay 2",sheet="fw3",training="yes"} 1`)
	if strings.Contains(text(t, r), "calibration_due_seconds{") {
		t.Error("a gauge out of use has a day it is due")
	}
}

// hostile are facts that nothing of a bench can be told by.
func hostile(chance *rand.Rand) (subject string, f fact.Fact) {
	word := func() string {
		all := []string{"", "D07", "fw3", "backlash", "wheel pack", "pinion spacer", "\xff\xfe", "a\nb", strings.Repeat("x", 5000), fmt.Sprint(chance.Int())}
		return all[chance.IntN(len(all))]
	}
	p := pressed(word(), word(), fact.Outcome(word()), word())
	if chance.IntN(2) == 0 {
		p.Outcome = []fact.Outcome{fact.Held, fact.Aside}[chance.IntN(2)]
	}
	if chance.IntN(3) == 0 {
		p.Value = nil
	}
	p.Cause = fact.Cause(word())
	p.Source = devices.Source(chance.IntN(9))
	j := ring(chance.Int(), word(), word(), word())
	j.Step = word()
	if chance.IntN(2) == 0 {
		j = ring(chance.Int(), "good", []string{"NaN", "Inf", "1e999", "-5", "0.2"}[chance.IntN(5)], word())
	}
	all := []fact.Fact{p, p, j, j, fact.Opened{Sheet: word(), Serial: word(), Training: chance.IntN(2) == 0}, fact.Fitted{Step: word()}, fact.Confirmed{Step: word()},
		fact.OnHold{Step: word()}, fact.Lifted{Hold: int64(chance.IntN(1000))}, fact.Signed{Ends: chance.IntN(5) == 0}, fact.Finished{}, fact.Abandoned{},
		fact.GaugeCertified{Certificate: fact.Certificate{Due: fact.DayOf(noon())}}, fact.Withdrawn{}}
	subjects := []string{"bench", "gauge/" + word(), "gauge/D07", word(), job(chance.IntN(500)), job(chance.IntN(5)), job(chance.IntN(5))}
	return subjects[chance.IntN(len(subjects))], all[chance.IntN(len(all))]
}

// No stream of facts makes more series than bench file and sheets allow, nor a
// label that is a job, a serial number or a person; none makes counting fail.
func TestSeriesAreBounded(t *testing.T) {
	allowed := map[string][]string{
		"bay": {"bay 2"}, "gauge": {"D07", "I03", "keyed", "other"}, "sheet": {"fw3", "other"}, "stage": {"not begun", "other"},
		"training": {"yes", "no"}, "pass": {"first", "again"}, "how": {"signed", "finished", "abandoned"},
		"outcome": {"taken", "held", "aside", "other"}, "verdict": {"good", "too close to call", "out low", "out high", "not good"},
		"reason": {""}, "version": {"test"}, "goversion": nil,
	}
	for _, c := range fact.Causes() {
		allowed["reason"] = append(allowed["reason"], string(c))
	}
	for _, s := range fw3(t).Stages {
		allowed["stage"] = append(allowed["stage"], s.Name)
	}
	r := newRig(t)
	chance := rand.New(rand.NewPCG(7, 7))
	for range 10_000 {
		subject, f := hostile(chance)
		r.tell(subject, f)
		r.later(time.Duration(chance.Int64N(int64(time.Hour))) - 20*time.Minute)
	}
	for _, f := range ours(t, r) {
		most := 1
		for _, l := range labelsOf(f) {
			most *= max(1, len(allowed[l]))
		}
		if n := len(f.GetMetric()); n > most {
			t.Errorf("%s has %d series, and %d are allowed", f.GetName(), n, most)
		}
		for _, m := range f.GetMetric() {
			for _, l := range m.GetLabel() {
				values, ok := allowed[l.GetName()]
				if !ok || values != nil && !slices.Contains(values, l.GetValue()) {
					t.Fatalf("%s has the label %s=%q", f.GetName(), l.GetName(), l.GetValue())
				}
			}
			if f.GetType() == dto.MetricType_GAUGE && !strings.Contains(f.GetName(), "due_seconds") && m.GetGauge().GetValue() < 0 {
				t.Errorf("%s is %v", f.GetName(), m)
			}
		}
	}
}
