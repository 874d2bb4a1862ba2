package stat_test

import (
	"errors"
	"math"
	"strconv"
	"strings"
	"testing"

	"github.com/shopspring/decimal"

	"shimwright/calc/stat"
)

// only drops a result, to put calls of every kind into one table.
func only[T any](_ T, err error) error { return err }

func count(n int) []decimal.Decimal {
	out := make([]decimal.Decimal, n)
	for i := range out {
		out[i] = decimal.NewFromInt(int64(i))
	}
	return out
}

func trials(rows string) []stat.Trial {
	var out []stat.Trial
	for _, r := range strings.Fields(rows) {
		f := strings.Split(r, "/")
		out = append(out, stat.Trial{Part: f[0], Operator: f[1], Reading: dec(f[2])})
	}
	return out
}

func study(rows string, change func(*stat.StudySettings)) error {
	s := stat.DefaultStudySettings()
	if change != nil {
		change(&s)
	}
	return only(stat.CrossedStudy(trials(rows), s))
}

const smallStudy = "1/A/1 1/A/2 1/B/1 1/B/3 2/A/5 2/A/5 2/B/6 2/B/7"

// A refusal: the call's error and what it must say.
type refusal struct {
	name  string
	err   error
	kind  stat.Kind
	field string
	want  string // of the whole sentence
}

func TestRefusals(t *testing.T) {
	list := append(readingRefusals(), studyRefusals()...)
	list = append(list, settingRefusals()...)
	for _, c := range list {
		var p *stat.Problem
		if !errors.As(c.err, &p) {
			t.Errorf("%s: error is %v, want a Problem", c.name, c.err)
			continue
		}
		if p.Kind != c.kind || p.Field != c.field || (c.want != "" && p.Error() != c.want) {
			t.Errorf("%s: %v, field %q: %s\nwant %v, field %q: %s", c.name, p.Kind, p.Field, p, c.kind, c.field, c.want)
		}
	}
}

func readingRefusals() []refusal {
	one, _ := stat.Summarise(decs("5"))
	flat, _ := stat.Summarise(decs("5 5 5.0"))
	long := decimal.RequireFromString("1" + strings.Repeat("0", 60) + "1")
	band := stat.Within(dec("1"), dec("2"))
	return []refusal{
		{"nothing", only(stat.Summarise(nil)), stat.TooFew, "readings", "readings: found none; wanted at least one reading"},
		{"sd of one", only(one.SD()), stat.TooFew, "readings", "readings: found 1; wanted at least 2 for a standard deviation"},
		{"sd of the mean of one", only(one.SDOfMean()), stat.TooFew, "readings", ""},
		{"variance of none", only(stat.Summary{}.Variance()), stat.TooFew, "readings", ""},
		{"lag of one", only(one.Lag1()), stat.TooFew, "readings", ""},
		{"lag of no spread", only(flat.Lag1()), stat.NoSpread, "readings", "readings: found 3 readings all alike; wanted readings that differ, for an autocorrelation"},
		{"too long", only(stat.Summarise([]decimal.Decimal{long})), stat.OutOfRange, "readings", ""},
		{"too small a place", only(stat.Summarise([]decimal.Decimal{decimal.New(1, -2e9)})), stat.OutOfRange, "readings", "readings: found -2000000000; wanted a power of ten from -100 to 100"},
		{"too large a place", only(stat.Summarise([]decimal.Decimal{decimal.New(1, 2e9)})), stat.OutOfRange, "readings", ""},

		{"one group", only(stat.OneWay([][]decimal.Decimal{count(3)})), stat.TooFew, "groups", ""},
		{"empty group", only(stat.OneWay([][]decimal.Decimal{count(3), nil})), stat.TooFew, "group 2", ""},
		{"groups of one", only(stat.OneWay([][]decimal.Decimal{count(1), count(1)})), stat.TooFew, "groups", ""},
		{"flat groups", only(stat.OneWay([][]decimal.Decimal{decs("1 1"), decs("2 2")})), stat.NoSpread, "groups", ""},

		{"one individual", only(stat.Individuals(count(1))), stat.TooFew, "readings", ""},
		{"flat individuals", only(stat.Individuals(decs("2 2 2"))), stat.NoSpread, "readings", ""},
		{"one chart group", only(stat.MeanAndRange([][]decimal.Decimal{count(5)})), stat.TooFew, "groups", ""},
		{"groups of one", only(stat.MeanAndRange([][]decimal.Decimal{count(1), count(1)})), stat.OutOfRange, "group 1", ""},
		{"uneven groups", only(stat.MeanAndSD([][]decimal.Decimal{count(5), count(4)})), stat.Unbalanced, "group 2", "group 2: found 4; wanted 5 readings, as in group 1"},
		{"flat ranges", only(stat.MeanAndRange([][]decimal.Decimal{decs("1 1"), decs("2 2")})), stat.NoSpread, "groups", ""},
		{"flat deviations", only(stat.MeanAndSD([][]decimal.Decimal{decs("1 1"), decs("2 2")})), stat.NoSpread, "groups", ""},
		{"group of 101", only(stat.ConstantsFor(101)), stat.OutOfRange, "group size", ""},

		{"12 readings for capability", only(stat.CapabilityOf(count(12), band, 0.95)), stat.TooFew, "readings",
			"readings: found 12; wanted at least 25 before a capability is given"},
		{"24 readings", only(stat.CapabilityOf(count(24), band, 0.95)), stat.TooFew, "readings", ""},
		{"flat readings", only(stat.CapabilityOf(make([]decimal.Decimal, 25), band, 0.95)), stat.NoSpread, "standard deviation", ""},
		{"limits upside down", only(stat.CapabilityOf(count(25), stat.Within(dec("2"), dec("1")), 0.95)), stat.UpsideDown, "tolerance",
			"tolerance: found lower 2 and upper 1; wanted a lower limit below the upper limit"},
		{"limits alike", only(stat.CapabilityOf(count(25), stat.Within(dec("2"), dec("2.0")), 0.95)), stat.UpsideDown, "tolerance", ""},
		{"no limit", only(stat.CapabilityOf(count(25), stat.Tolerance{}, 0.95)), stat.TooFew, "tolerance", ""},
		{"sure", only(stat.CapabilityOf(count(25), band, 1)), stat.OutOfRange, "confidence", ""},
		{"NaN confidence", only(stat.CapabilityOf(count(25), band, math.NaN())), stat.OutOfRange, "confidence", ""},
		{"sd below nought", only(stat.IndicesOf(dec("1"), dec("-1"), band)), stat.OutOfRange, "standard deviation", ""},
		{"limits of Cp from 24", only(stat.CpLimits(dec("1"), 24, 0.95)), stat.TooFew, "readings", ""},
		{"limits of Cpk from too many", only(stat.CpkLimits(dec("1"), 1e9, 0.95)), stat.TooMany, "readings", ""},
	}
}

func studyRefusals() []refusal {
	var many strings.Builder
	for i := range 101 {
		many.WriteString("p" + strconv.Itoa(i) + "/A/1 ")
	}
	return []refusal{
		{"empty study", study("", nil), stat.TooFew, "readings", ""},
		{"one part", study("1/A/1 1/A/2 1/B/1 1/B/2", nil), stat.TooFew, "parts", "parts: found 1; wanted at least 2 in a crossed study (with one, pool the repeats)"},
		{"one operator", study("1/A/1 1/A/2 2/A/1 2/A/2", nil), stat.TooFew, "operators", ""},
		{"101 parts", study(many.String(), nil), stat.TooMany, "parts", ""},
		{"one trial", study("1/A/1 1/B/2 2/A/1 2/B/2", nil), stat.TooFew, "trials", ""},
		{"a cell short", study("1/A/1 1/A/2 1/B/1 1/B/2 2/A/1 2/A/2 2/B/1", nil), stat.Unbalanced, `part "2" by operator "B"`,
			`part "2" by operator "B": found 1; wanted as many trials as the first part by the first operator: 2`},
		{"a cell missing", study("1/A/1 1/A/2 1/B/1 1/B/2 2/A/1 2/A/2", nil), stat.Unbalanced, `part "2" by operator "B"`, ""},
		{"repeats all alike", study("1/A/1 1/A/1 1/B/2 1/B/2 2/A/3 2/A/3 2/B/4 2/B/4", nil), stat.NoSpread, "readings", ""},
		{"a long reading", study("1/A/1e999 1/A/2 1/B/1 1/B/2 2/A/1 2/A/2 2/B/1 2/B/1", nil), stat.OutOfRange, "readings", ""},
		{"no pool", only(stat.Pool(nil)), stat.TooFew, "standard deviations", ""},
		{"no degrees of freedom", only(stat.Pool([]stat.Spread{{SD: dec("1"), DF: 2}, {SD: dec("1")}})), stat.OutOfRange, "standard deviation 2", ""},
		{"spread below nought", only(stat.Pool([]stat.Spread{{SD: dec("-1"), DF: 2}})), stat.OutOfRange, "standard deviation 1", ""},
		{"no groups to pool", only(stat.PoolReadings(nil)), stat.TooFew, "groups", ""},
		{"a group of one to pool", only(stat.PoolReadings([][]decimal.Decimal{count(2), count(1)})), stat.TooFew, "group 2", ""},
		{"squares below nought", only(stat.SpreadOf(dec("-1"), 3)), stat.OutOfRange, "sum of squares", ""},
		{"one repeat", only(stat.NestedStudy(stat.Spread{DF: 1}, stat.Spread{DF: 1}, stat.Spread{DF: 1}, 1, 2)), stat.OutOfRange, "repeats", ""},
		{"one day", only(stat.NestedStudy(stat.Spread{DF: 1}, stat.Spread{DF: 1}, stat.Spread{DF: 1}, 2, 1)), stat.OutOfRange, "days", ""},
		{"level without freedom", only(stat.NestedStudy(stat.Spread{DF: 1}, stat.Spread{}, stat.Spread{DF: 1}, 2, 2)), stat.OutOfRange, "level 2", ""},
		{"no terms", only(stat.EffectiveDF(nil)), stat.NoSpread, "terms", ""},
		{"NaN variance", only(stat.EffectiveDF([]stat.Term{{Variance: math.NaN(), DF: 3}})), stat.OutOfRange, "term 1", ""},
		{"NaN freedom", only(stat.EffectiveDF([]stat.Term{{Variance: 1, DF: math.NaN()}})), stat.OutOfRange, "term 1", ""},
	}
}

func settingRefusals() []refusal {
	return []refusal{
		{"settings left empty", only(stat.CrossedStudy(trials(smallStudy), stat.StudySettings{})), stat.OutOfRange, "width", ""},
		{"pool above 2", study(smallStudy, func(s *stat.StudySettings) { s.PoolAbove = 2 }), stat.OutOfRange, "pool above",
			"pool above: found 2; wanted a chance from 0 to 1, such as 0.25"},
		{"pool above NaN", study(smallStudy, func(s *stat.StudySettings) { s.PoolAbove = math.NaN() }), stat.OutOfRange, "pool above", ""},
		{"tolerance of nought", study(smallStudy, func(s *stat.StudySettings) { s.Tolerance = decimal.NewNullDecimal(dec("0")) }), stat.OutOfRange, "tolerance", ""},
		{"rounding unknown", study(smallStudy, func(s *stat.StudySettings) { s.Categories = 9 }), stat.OutOfRange, "categories", ""},
		{"t with half a degree", only(stat.StudentT(0.95, 0.5)), stat.OutOfRange, "degrees of freedom", ""},
		{"t with NaN", only(stat.StudentT(0.95, math.NaN())), stat.OutOfRange, "degrees of freedom", ""},
		{"normal, sure", only(stat.Normal(1)), stat.OutOfRange, "confidence", ""},
		{"chi-squared, never", only(stat.ChiSquared(0, 3)), stat.OutOfRange, "chance", ""},
		{"chi-squared without freedom", only(stat.ChiSquared(0.5, 0)), stat.OutOfRange, "degrees of freedom", ""},
	}
}

func TestKindsHaveNames(t *testing.T) {
	seen := map[string]bool{}
	for k := stat.TooFew; k <= stat.OutOfRange; k++ {
		if seen[k.String()] || k.String() == "unknown" {
			t.Errorf("kind %d is called %q", k, k)
		}
		seen[k.String()] = true
	}
	if got := (stat.OutOfRange + 1).String(); got != "unknown" {
		t.Errorf("a kind beyond the last is called %q", got)
	}
}
