package stat

import (
	"math/big"
	"strconv"

	"github.com/shopspring/decimal"
)

// Numbers of readings for capability.
const (
	// MinCapability is the fewest readings a capability is worked out for: the
	// 95 % limits of Cp from 25 already lie 28 % either side of it. Fewer are
	// refused.
	MinCapability = 25
	// AdvisedCapability is what the NIST/SEMATECH e-Handbook 6.1.6 advises at
	// least (seen as quoted elsewhere).
	AdvisedCapability = 50
)

// A Tolerance is a band with one limit or two, in the unit of the readings.
type Tolerance struct {
	Lower, Upper decimal.NullDecimal
}

// Within is the band from lower to upper.
func Within(lower, upper decimal.Decimal) Tolerance {
	return Tolerance{Lower: decimal.NewNullDecimal(lower), Upper: decimal.NewNullDecimal(upper)}
}

// AtMost is the band with an upper limit only.
func AtMost(upper decimal.Decimal) Tolerance {
	return Tolerance{Upper: decimal.NewNullDecimal(upper)}
}

// AtLeast is the band with a lower limit only.
func AtLeast(lower decimal.Decimal) Tolerance {
	return Tolerance{Lower: decimal.NewNullDecimal(lower)}
}

func (t Tolerance) both() bool { return t.Lower.Valid && t.Upper.Valid }

func (t Tolerance) check() error {
	if !t.Lower.Valid && !t.Upper.Valid {
		return problem(TooFew, "tolerance", "a lower limit, an upper limit or both", "neither")
	}
	if t.Lower.Valid {
		if err := plain("lower limit", t.Lower.Decimal); err != nil {
			return err
		}
	}
	if t.Upper.Valid {
		if err := plain("upper limit", t.Upper.Decimal); err != nil {
			return err
		}
	}
	if t.both() && !t.Lower.Decimal.LessThan(t.Upper.Decimal) {
		return problem(UpsideDown, "tolerance", "a lower limit below the upper limit",
			"lower %s and upper %s", t.Lower.Decimal, t.Upper.Decimal)
	}
	return nil
}

// Indices are the capability indices for a mean and a standard deviation. One
// that needs a limit the tolerance does not have is not valid.
//
//	Cp  = (U − L)/6s       Cpu = (U − m)/3s       Cpl = (m − L)/3s
//	Cpk = the smaller of Cpu and Cpl
//	k   = |(U + L)/2 − m| / ((U − L)/2)
//
// (NIST/SEMATECH e-Handbook 6.1.6.) With the standard deviation of all readings
// some books write Pp and Ppk, and keep Cp for a standard deviation from a
// chart's ranges; the formulas are the same.
type Indices struct {
	Cp, Cpu, Cpl, K decimal.NullDecimal
	Cpk             decimal.Decimal
}

// IndicesOf works the indices out; sd must be above nought. It does not know
// how many readings stand behind the mean: for readings use CapabilityOf.
func IndicesOf(mean, sd decimal.Decimal, t Tolerance) (Indices, error) {
	if err := plain("mean", mean); err != nil {
		return Indices{}, err
	}
	if err := plain("standard deviation", sd); err != nil {
		return Indices{}, err
	}
	return indices(rat(mean), rat(sd), t)
}

func indices(mean, sd *big.Rat, t Tolerance) (Indices, error) {
	if err := t.check(); err != nil {
		return Indices{}, err
	}
	if sd.Sign() == 0 {
		return Indices{}, problem(NoSpread, "standard deviation", "above nought", "nought: no reading differs")
	}
	if sd.Sign() < 0 {
		return Indices{}, problem(OutOfRange, "standard deviation", "above nought", "%s", round(sd))
	}
	three := mul(ratio(3, 1), sd)
	var x Indices
	if t.Upper.Valid {
		x.Cpu = valid(div(sub(rat(t.Upper.Decimal), mean), three))
		x.Cpk = x.Cpu.Decimal
	}
	if t.Lower.Valid {
		x.Cpl = valid(div(sub(mean, rat(t.Lower.Decimal)), three))
		x.Cpk = x.Cpl.Decimal
	}
	if t.both() {
		x.Cpk = decimal.Min(x.Cpu.Decimal, x.Cpl.Decimal)
		lower, upper := rat(t.Lower.Decimal), rat(t.Upper.Decimal)
		half := mul(ratio(1, 2), sub(upper, lower))
		middle := mul(ratio(1, 2), add(upper, lower))
		x.Cp = valid(div(half, three))
		x.K = valid(div(new(big.Rat).Abs(sub(middle, mean)), half))
	}
	return x, nil
}

func valid(r *big.Rat) decimal.NullDecimal { return decimal.NewNullDecimal(round(r)) }

// An Interval is a lower and an upper confidence limit of an index, which has no
// unit.
type Interval struct{ Low, High decimal.Decimal }

// A Capability is what readings say about a process against a tolerance, with
// limits that hold the true index with the stated confidence, each by itself.
//
//	Cp:  Cp·√(χ²(α/2, n−1)/(n−1)) to Cp·√(χ²(1−α/2, n−1)/(n−1)), exact for
//	     normal readings (NIST/SEMATECH e-Handbook 6.1.6; from memory)
//	Cpk: Cpk ± z(1−α/2)·√(1/(9n) + Cpk²/(2(n−1))), an approximation
//	     (Bissell 1990, also in the e-Handbook 6.1.6; from memory)
type Capability struct {
	Summary    Summary
	SD         decimal.Decimal // of all readings
	Indices    Indices
	Confidence float64
	Cp         *Interval // nil where the tolerance has one limit only
	Cpk        Interval
	Few        bool // fewer readings than AdvisedCapability
}

// CapabilityOf works the capability of readings out. It refuses fewer than
// MinCapability readings, readings that do not differ and a tolerance that is
// empty or upside down.
func CapabilityOf(readings []decimal.Decimal, t Tolerance, confidence float64) (Capability, error) {
	if n := len(readings); n < MinCapability {
		return Capability{}, problem(TooFew, "readings",
			"at least "+strconv.Itoa(MinCapability)+" before a capability is given", "%d", n)
	}
	s, err := Summarise(readings)
	if err != nil {
		return Capability{}, err
	}
	sd, err := s.SD()
	if err != nil {
		return Capability{}, err
	}
	x, err := indices(over(rat(s.Sum), s.N), rat(sd), t)
	if err != nil {
		return Capability{}, err
	}
	c := Capability{Summary: s, SD: sd, Indices: x, Confidence: confidence, Few: s.N < AdvisedCapability}
	if c.Cpk, err = cpkLimits(rat(x.Cpk), s.N, confidence); err != nil {
		return Capability{}, err
	}
	if x.Cp.Valid {
		i, err := cpLimits(rat(x.Cp.Decimal), s.N, confidence)
		if err != nil {
			return Capability{}, err
		}
		c.Cp = &i
	}
	return c, nil
}

// CpLimits are the confidence limits of a Cp from n readings (see Capability).
func CpLimits(cp decimal.Decimal, n int, confidence float64) (Interval, error) {
	if err := plain("Cp", cp); err != nil {
		return Interval{}, err
	}
	if cp.Sign() < 0 {
		return Interval{}, problem(OutOfRange, "Cp", "a width over a width, not below nought", "%s", cp)
	}
	return cpLimits(rat(cp), n, confidence)
}

// CpkLimits are the confidence limits of a Cpk from n readings (see
// Capability).
func CpkLimits(cpk decimal.Decimal, n int, confidence float64) (Interval, error) {
	if err := plain("Cpk", cpk); err != nil {
		return Interval{}, err
	}
	return cpkLimits(rat(cpk), n, confidence)
}

func enough(n int) error {
	wanted := strconv.Itoa(MinCapability) + " to " + strconv.Itoa(MaxDF) + " for confidence limits of a capability"
	if n < MinCapability {
		return problem(TooFew, "readings", wanted, "%d", n)
	}
	if n > MaxDF {
		return problem(TooMany, "readings", wanted, "%d", n)
	}
	return nil
}

func cpLimits(cp *big.Rat, n int, confidence float64) (Interval, error) {
	if err := enough(n); err != nil {
		return Interval{}, err
	}
	if err := confident(confidence); err != nil {
		return Interval{}, err
	}
	side := func(p float64) (decimal.Decimal, error) {
		q, err := ChiSquared(p, n-1)
		if err != nil {
			return decimal.Decimal{}, err
		}
		return round(mul(cp, rat(root(over(rat(factor(q)), n-1))))), nil
	}
	low, err := side((1 - confidence) / 2)
	if err != nil {
		return Interval{}, err
	}
	high, err := side((1 + confidence) / 2)
	return Interval{Low: low, High: high}, err
}

func cpkLimits(cpk *big.Rat, n int, confidence float64) (Interval, error) {
	if err := enough(n); err != nil {
		return Interval{}, err
	}
	z, err := Normal(confidence)
	if err != nil {
		return Interval{}, err
	}
	variance := add(ratio(1, 9*int64(n)), div(square(cpk), ratio(2*int64(n-1), 1)))
	reach := mul(rat(factor(z)), rat(root(variance)))
	return Interval{Low: round(sub(cpk, reach)), High: round(add(cpk, reach))}, nil
}
