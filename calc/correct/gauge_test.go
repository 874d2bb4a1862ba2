package correct_test

import (
	"strings"
	"testing"

	"shimwright/calc/correct"
	"shimwright/calc/quantity"
)

func table(t testing.TB, rows ...string) correct.Table {
	t.Helper()
	var points []correct.Point
	for _, r := range rows {
		f := exs(r)
		points = append(points, correct.Point{At: f[0], Add: f[1]})
	}
	return must[correct.Table](t)(correct.NewTable(points))
}

func TestTableIsAStraightLineBetweenPoints(t *testing.T) {
	tab := table(t, "0 0", "25.00 0.004", "50 -0.002", "51.3 0.001")
	for _, c := range []struct{ at, times, want string }{ // want is the correction times a whole number
		{"0", "1", "0"}, {"25", "1", "0.004"}, {"51.3", "1", "0.001"},
		{"12.5", "1", "0.002"},
		{"33.38", "1", "0.0019888"}, // 0.004 − 8.38/25·0.006
		{"50.5", "13", "-0.011"},    // −0.002 + 0.5·0.003/1.3 is no decimal
	} {
		got := must[quantity.Exact](t)(tab.Correction(ex(c.at)))
		if !got.Mul(ex(c.times)).Equal(ex(c.want)) {
			t.Errorf("at %s %s, want %s over %s", c.at, got, c.want, c.times)
		}
		if sum := must[quantity.Exact](t)(tab.Correct(ex(c.at))); !sum.Equal(ex(c.at).Add(got)) {
			t.Errorf("%s put right is %s", c.at, sum)
		}
	}
	// A mean of three presses: 35/3·0.004/25 = 0.14/75.
	third := ex("35").Times(must[quantity.Ratio](t)(quantity.RatioOf(1, 3)))
	if got := must[quantity.Exact](t)(tab.Correction(third)); !got.Mul(ex("75")).Equal(ex("0.14")) {
		t.Errorf("at 35/3 %s", got)
	}
	if p := correct.FromError(ex("25"), ex("0.003")); !p.Add.Equal(ex("-0.003")) {
		t.Errorf("an error of 0.003 gives a correction of %s", p.Add)
	}
}

func TestTableRefusals(t *testing.T) {
	tab := table(t, "0 0", "25 0.004")
	for _, x := range []string{"-0.01", "25.01"} {
		_, err := tab.Correct(ex(x))
		refused(t, x, err, "reading", "one from 0 to 25, where the table was made")
	}
	_, err := tab.Correction(ex("1e9999"))
	refused(t, "far", err, "reading", "power of ten")
	_, err = correct.Table{}.Correction(ex("1"))
	refused(t, "zero table", err, "points", "NewTable")
	third := ex("1").Times(must[quantity.Ratio](t)(quantity.RatioOf(1, 3)))
	for _, c := range []struct {
		name, field, words string
		points             []correct.Point
	}{
		{"one", "points", "at least 2", []correct.Point{{}}},
		{"alike", "point 2", "more than", []correct.Point{{At: ex("1")}, {At: ex("1.0")}}},
		{"falling", "point 2", "more than the 2", []correct.Point{{At: ex("2")}, {At: ex("1")}}},
		{"no decimal", "point 1", "a decimal", []correct.Point{{At: third}, {At: ex("1")}}},
		{"long", "point 2", "18 digits", []correct.Point{{At: ex("0.0000000000000001")}, {At: ex("123456")}}},
		{"far", "point 1", "places", []correct.Point{{At: ex("1e-61")}, {At: ex("1")}}},
		{"huge", "point 2: correction", "at most", []correct.Point{{}, {At: ex("1"), Add: ex("1000001")}}},
	} {
		_, err := correct.NewTable(c.points)
		refused(t, c.name, err, c.field, c.words)
	}
}

func checks(errors string) []correct.Check {
	var out []correct.Check
	for _, e := range exs(errors) {
		out = append(out, correct.Check{Read: ex("25.002").Add(e), Certified: ex("25.002")})
	}
	return out
}

func TestDrift(t *testing.T) {
	for _, c := range []struct {
		errors, moved, perCheck string
		state                   correct.State
		lastGood                int
		say                     string
	}{
		{"0.002", "0", "0", correct.Within, 0, "Check 1 is off by +0.002 mm, within its limit of 0.010 mm."},
		{"0.002 0.004 0.003", "0.001", "0.0005", correct.Within, 2, "within its limit"},
		{"0.002 0.005 0.008", "0.006", "0.003", correct.Nearing, 2, "it moves +0.0030 mm a check: the next would be beyond it."},
		{"0.002 0.010", "0.008", "0.008", correct.Within, 1, "within"}, // two checks foretell nothing; the limit itself is within
		{"-0.002 -0.006 -0.011 -0.012", "-0.010", "-0.0035", correct.Beyond, 1, "off by -0.012 mm, larger than its limit of 0.010 mm: readings since check 2"},
		{"0.011 0.012", "0.001", "0.001", correct.Beyond, -1, "no check was good"},
		{"0.002 0.020 0.002", "0", "0", correct.Within, 2, "within"},
	} {
		d := must[correct.Drift](t)(correct.Watch(checks(c.errors), ex("0.010")))
		if !d.Moved.Equal(ex(c.moved)) || !d.PerCheck.Equal(ex(c.perCheck)) || d.State != c.state || d.LastGood != c.lastGood {
			t.Errorf("%s: moved %s, per check %s, %s, last good %d", c.errors, d.Moved, d.PerCheck, d.State, d.LastGood)
		}
		if said := d.Say(quantity.MM, 3); !strings.Contains(said, c.say) {
			t.Errorf("%s: said %q, want %q in it", c.errors, said, c.say)
		}
	}
}

func TestDriftRefusals(t *testing.T) {
	watch := func(c []correct.Check, limit string) error { _, err := correct.Watch(c, ex(limit)); return err }
	refused(t, "none", watch(nil, "0.01"), "checks", "at least 1")
	refused(t, "limit", watch(checks("0"), "0"), "limit", "above nought")
	refused(t, "far limit", watch(checks("0"), "1e-99"), "limit", "power")
	refused(t, "reading", watch([]correct.Check{{Read: ex("1e8")}}, "1"), "check 1: reading", "at most")
	refused(t, "piece", watch([]correct.Check{{Certified: ex("1e8")}}, "1"), "check 1: certified", "at most")
	refused(t, "many", watch(make([]correct.Check, correct.MaxPoints+1), "1"), "checks", "at most")
}

func TestSettling(t *testing.T) {
	for _, c := range []struct {
		readings, move string
		least          int
		trend          correct.Trend
		say            string
	}{
		{"0.06 0.04 0.03", "0", 0, correct.Falling, "Readings still falling 0.06 0.04 0.03: not seated yet."},
		{"0.03 0.04 0.06", "0", 0, correct.Rising, "Readings still rising 0.03 0.04 0.06: not seated yet."},
		{"0.06 0.04 0.03 0.03", "0", 0, correct.Steady, ""},
		{"0.06 0.04", "0", 0, correct.Steady, ""},
		{"0.06", "0", 0, correct.Steady, ""},
		{"0.02 0.06 0.05 0.03", "0", 0, correct.Falling, "falling 0.06 0.05 0.03"},
		{"0.06 0.05 0.03 0.04", "0", 0, correct.Steady, ""},
		{"0.06 0.05 0.04", "0.03", 0, correct.Steady, ""}, // moved 0.02: scatter
		{"0.06 0.05 0.03", "0.03", 0, correct.Falling, "falling"},
		{"0.06 0.05 0.03", "0", 4, correct.Steady, ""},
	} {
		s := must[correct.Settling](t)(correct.Settle(exs(c.readings), correct.SettleRule{Least: c.least, Move: ex(c.move)}))
		said := s.Say(quantity.MM, 2)
		if s.Trend != c.trend || s.Settled() != (c.trend == correct.Steady) || !strings.Contains(said, c.say) || (c.say == "") != (said == "") {
			t.Errorf("%s: %s, said %q", c.readings, s.Trend, said)
		}
	}
}

func TestSettlingRefusals(t *testing.T) {
	settle := func(r []quantity.Exact, rule correct.SettleRule) error { _, err := correct.Settle(r, rule); return err }
	refused(t, "none", settle(nil, correct.SettleRule{}), "readings", "at least 1")
	refused(t, "two", settle(exs("1"), correct.SettleRule{Least: 2}), "least run", "3 to")
	refused(t, "negative", settle(exs("1"), correct.SettleRule{Least: -1}), "least run", "-1")
	refused(t, "move", settle(exs("1"), correct.SettleRule{Move: ex("-0.1")}), "move", "no direction")
	refused(t, "far move", settle(exs("1"), correct.SettleRule{Move: ex("1e-61")}), "move", "power")
	refused(t, "far reading", settle(exs("1 1e80"), correct.SettleRule{}), "reading 2", "power")
}

func TestWords(t *testing.T) {
	for _, c := range []struct{ got, want string }{
		{correct.Within.String(), "within its limit"}, {correct.Nearing.String(), "nearing its limit"},
		{correct.Beyond.String(), "larger than its limit"}, {correct.State(9).String(), "state 9"},
		{correct.Steady.String(), "steady"}, {correct.Trend(9).String(), "trend 9"},
	} {
		if c.got != c.want {
			t.Errorf("%q, want %q", c.got, c.want)
		}
	}
}
