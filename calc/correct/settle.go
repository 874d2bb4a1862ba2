package correct

import (
	"fmt"
	"strings"

	"shimwright/calc/quantity"
	"shimwright/calc/stat"
)

// LeastRun is how many repeats that only fall or only rise count as settling,
// unless the sheet says otherwise (common practice, no source).
const LeastRun = 3

// A SettleRule says when repeats are still settling. Three readings that do
// nothing but scatter fall or rise throughout one time in three, so a rule
// without a least Move cries often; two steps of the gauge's resolution, or the
// agreement the sheet asks of the repeats, keep it quiet.
type SettleRule struct {
	Least int            // repeats in the run, 3 or more; nought is LeastRun
	Move  quantity.Exact // by which the run must have moved in all to count; nought for any
}

// A Trend is which way repeats go.
type Trend uint8

// The trends.
const (
	Steady Trend = iota // they do not only fall or only rise
	Falling
	Rising
)

// String is the trend in words.
func (t Trend) String() string {
	switch t {
	case Steady:
		return "steady"
	case Falling:
		return "falling"
	case Rising:
		return "rising"
	default:
		return fmt.Sprintf("trend %d", uint8(t))
	}
}

// A Settling is what the last repeats show.
type Settling struct {
	Trend Trend            // Steady where nothing speaks against the readings
	Run   []quantity.Exact // the readings that only fall or only rise up to the last; none where Steady
}

// Settled tells whether the readings may be used as far as settling goes.
func (s Settling) Settled() bool { return s.Trend == Steady }

// Settle looks at repeats in the order they were taken. They are still settling
// where the last of them only fall, each below the one before, or only rise, in
// a run that the rule takes notice of. Two alike at the end have stopped. Our own
// rule: that bearings and gaskets creep is common practice, no source.
func Settle(readings []quantity.Exact, rule SettleRule) (Settling, error) {
	least := rule.Least
	if least == 0 {
		least = LeastRun
	}
	if least < LeastRun || least > MaxPoints {
		return Settling{}, problem(stat.OutOfRange, "least run", fmt.Sprintf("%d to %d repeats, or nought for %d", LeastRun, MaxPoints, LeastRun), "%d", rule.Least)
	}
	if err := bounded("move", rule.Move); err != nil {
		return Settling{}, err
	}
	if rule.Move.Sign() < 0 {
		return Settling{}, problem(stat.OutOfRange, "move", "not below nought, it has no direction", "%s", rule.Move)
	}
	if err := counted("readings", len(readings), 1); err != nil {
		return Settling{}, err
	}
	for i, r := range readings {
		if err := bounded(fmt.Sprintf("reading %d", i+1), r); err != nil {
			return Settling{}, err
		}
	}
	run, way := lastRun(readings)
	moved := run[len(run)-1].Sub(run[0]).Abs()
	if len(run) < least || moved.Less(rule.Move) {
		return Settling{}, nil
	}
	s := Settling{Trend: Rising, Run: append([]quantity.Exact(nil), run...)}
	if way < 0 {
		s.Trend = Falling
	}
	return s, nil
}

// lastRun is the longest end of readings that goes one way only.
func lastRun(readings []quantity.Exact) (run []quantity.Exact, way int) {
	from := len(readings) - 1
	for ; from > 0; from-- {
		step := readings[from].Cmp(readings[from-1])
		if step == 0 || way != 0 && step != way {
			break
		}
		way = step
	}
	return readings[from:], way
}

// Say is one sentence for the screen, in unit u; empty where the readings have
// settled.
func (s Settling) Say(u quantity.Unit, places int32) string {
	if s.Settled() {
		return ""
	}
	var figures []string
	for _, r := range s.Run {
		figures = append(figures, r.Show(u, places))
	}
	return fmt.Sprintf("Readings still %s %s: not seated yet.", s.Trend, strings.Join(figures, " "))
}
