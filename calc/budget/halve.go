package budget

import (
	"math"
	"sort"

	"github.com/shopspring/decimal"

	"shimwright/calc/quantity"
)

// A Means is a way to make a figure surer.
type Means uint8

// The means that Halve works out.
const (
	WithoutLargest Means = iota + 1 // the largest source were not there
	HalveLargest                    // the largest source were half as large
	ZeroOnPiece                     // read as a comparator, zeroed on a piece through the same setup
	BetterGauge                     // a gauge with smaller errors
	MorePresses                     // more readings in each mean
)

// MaxTimes is how many times as many presses are thought worth naming.
const MaxTimes = 20

// A Gain is what one means would do to the expanded uncertainty (k = 2), in the
// figure's base unit.
type Gain struct {
	Means  Means
	Name   string         // the source or gauge meant; empty where it is all of them
	Share  quantity.Exact // of the variance, from 0 to 1, that the means works on
	Now    quantity.Exact // U at present
	Then   quantity.Exact // U with the means; where it cannot halve, the best it can do
	Halves bool           // Then is at most half of Now
	Limit  quantity.Exact // BetterGauge: the limit of error that halves U, cut down to 3 digits; nought where there is none, or it is not in the figure's unit
	Factor quantity.Exact // BetterGauge: the part of its present errors it may have, cut down to 3 digits
	Times  int            // MorePresses: how many times as many, at most MaxTimes; nought where no repeats are in the figure
}

// Halve works out what would halve the expanded uncertainty, each means alone:
// the largest source taken out, then halved; a comparator; each gauge made
// better, then all; more presses. A means that does not apply is left out, but
// more presses are always spoken of, because they are what a fitter tries
// first.
//
// A comparator is zeroed on a piece through the same setup. What is marked
// Through and the gauge's zero drop out, and a tenth of its limit of error and
// scale stays, because it then reads a small part of its range (common
// practice, no source). The gauge's resolution comes in once more, for the
// zero.
func (b Budget) Halve() []Gain {
	if len(b.Lines) == 0 {
		return nil
	}
	first := b.Lines[0]
	gains := []Gain{
		b.gain(Gain{Means: WithoutLargest, Name: first.Name}, b.variance()-first.variance, first.variance),
		b.gain(Gain{Means: HalveLargest, Name: first.Name}, b.variance()-first.variance*3/4, first.variance),
	}
	if g, ok := b.comparator(); ok {
		gains = append(gains, g)
	}
	gains = append(gains, b.gauges()...)
	return append(gains, b.presses())
}

func (b Budget) variance() float64 { return b.u * b.u }

// target is the variance at which U is halved.
func (b Budget) target() float64 { return b.variance() / 4 }

// gain fills in what a variance then means. Half counts as half in spite of the
// last digits of float64.
func (b Budget) gain(g Gain, then, of float64) Gain {
	const slack = 1 + 1e-12
	then = math.Max(then, 0)
	g.Now, g.Then = b.Expanded, exact(2*math.Sqrt(then))
	g.Share = exact(of / b.variance())
	g.Halves = then <= b.target()*slack
	return g
}

// ofGauge tells whether a line is an error of the gauge itself.
func (l Line) ofGauge() bool {
	return l.source.Gauge != "" && (l.Kind == LimitOfError || l.Kind == GaugeZero || l.Kind == GaugeScale)
}

// comparator is the gain of zeroing on a piece.
func (b Budget) comparator() (Gain, bool) {
	const stays = 0.1 * 0.1 // of the variance of what mostly drops out
	then, of := 0.0, 0.0
	zeros, steps := map[string]float64{}, map[string]float64{}
	for _, l := range b.Lines {
		switch {
		case l.source.Through, l.ofGauge() && l.Kind == GaugeZero:
			of += l.variance
		case l.ofGauge():
			of += l.variance
			then += l.variance * stays
		default:
			then += l.variance
		}
		if l.ofGauge() && l.Kind != GaugeScale {
			zeros[l.source.Gauge] = math.Max(zeros[l.source.Gauge], math.Abs(l.Reach.Float()))
		}
		if g := l.source.Gauge; g != "" && l.Kind == Resolution {
			steps[g] = math.Max(steps[g], l.source.standard())
		}
	}
	if of == 0 {
		return Gain{}, false
	}
	for _, g := range sortedNames(zeros) {
		step := zeros[g] * steps[g]
		then += step * step
	}
	return b.gain(Gain{Means: ZeroOnPiece}, then, of), true
}

func sortedNames[T any](m map[string]T) []string {
	out := make([]string, 0, len(m))
	for k := range m {
		out = append(out, k)
	}
	sort.Strings(out)
	return out
}

// gauges are the gains of better gauges: each alone, then all together.
func (b Budget) gauges() []Gain {
	of, limit := map[string]float64{}, map[string]quantity.Exact{}
	all := 0.0
	for _, l := range b.Lines {
		if l.ofGauge() {
			of[l.source.Gauge] += l.variance
			all += l.variance
			if l.Kind == LimitOfError && l.source.By == nil { // else it is not in the figure's unit: a pull's, in a torque
				limit[l.source.Gauge] = l.Size
			}
		}
	}
	var gains []Gain
	for _, g := range sortedNames(of) {
		if of[g] > 0 {
			gains = append(gains, b.better(g, of[g], limit[g]))
		}
	}
	if len(gains) > 1 {
		gains = append(gains, b.better("", all, quantity.Exact{}))
	}
	return gains
}

// better is what a gauge's errors would have to come down to.
func (b Budget) better(name string, of float64, limit quantity.Exact) Gain {
	g, rest := Gain{Means: BetterGauge, Name: name}, b.variance()-of
	room := b.target() - rest
	if room <= 0 {
		return b.gain(g, rest, of) // a gauge without error would not do
	}
	g.Factor = cut3(math.Min(1, math.Sqrt(room/of)))
	if !limit.IsZero() {
		g.Limit = cut3(limit.Float() * g.Factor.Float())
		g.Factor = exact(g.Limit.Float() / limit.Float())
	}
	f := g.Factor.Float()
	return b.gain(g, rest+of*f*f, of)
}

// cut3 is f, not below nought, cut down to 3 significant digits.
func cut3(f float64) quantity.Exact {
	if !(f > 0) {
		return quantity.Exact{}
	}
	places := int32(2 - math.Floor(math.Log10(f)))
	return quantity.FromDecimal(decimal.NewFromFloat(f).RoundFloor(places))
}

// presses is the gain of more readings in each mean, and how many times as many.
func (b Budget) presses() Gain {
	of := 0.0
	for _, l := range b.Lines {
		if l.Kind == Repeats {
			of += l.variance
		}
	}
	rest, g := b.variance()-of, Gain{Means: MorePresses, Times: MaxTimes}
	if of == 0 {
		g.Times = 0
		return b.gain(g, rest, 0)
	}
	for n := 2; n <= MaxTimes; n++ {
		if then := rest + of/float64(n); then <= b.target() {
			g.Times = n
			return b.gain(g, then, of)
		}
	}
	return b.gain(g, rest+of/MaxTimes, of)
}
