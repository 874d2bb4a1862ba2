package stat

import (
	"math/big"

	"github.com/shopspring/decimal"
)

// A Trial is one reading of a crossed gauge study: every operator measures
// every part the same number of times.
type Trial struct {
	Part, Operator string
	Reading        decimal.Decimal
}

// Rounding says how distinct categories are made whole.
type Rounding uint8

// The ways to make distinct categories whole.
const (
	Truncated Rounding = iota // cut down; the default
	Nearest                   // half up: some printings
)

// StudySettings are a shop's choices for a gauge study.
type StudySettings struct {
	// PoolAbove is the chance above which the interaction counts as none and
	// is pooled with repeatability: 0 pools nearly always, 1 never.
	PoolAbove float64
	// Width is how many standard deviations a study figure spans.
	Width decimal.Decimal
	// Tolerance is the width of the band judged with this gauge; where given,
	// figures are also shown as a share of it.
	Tolerance decimal.NullDecimal
	// Categories is how distinct categories are made whole.
	Categories Rounding
}

// DefaultStudySettings pools above 0.25 and spans 6 standard deviations, as
// the AIAG manual does (4th edition; from memory), and cuts categories down.
func DefaultStudySettings() StudySettings {
	return StudySettings{PoolAbove: 0.25, Width: decimal.NewFromInt(6)}
}

func (s StudySettings) check() error {
	if !(s.PoolAbove >= 0 && s.PoolAbove <= 1) {
		return problem(OutOfRange, "pool above", "a chance from 0 to 1, such as 0.25", "%s", show(s.PoolAbove))
	}
	if err := plain("width", s.Width); err != nil {
		return err
	}
	if s.Width.Sign() <= 0 {
		return problem(OutOfRange, "width", "standard deviations above nought, such as 6", "%s", s.Width)
	}
	if s.Categories > Nearest {
		return problem(OutOfRange, "categories", "Truncated or Nearest", "%d", s.Categories)
	}
	if !s.Tolerance.Valid {
		return nil
	}
	if err := plain("tolerance", s.Tolerance.Decimal); err != nil {
		return err
	}
	if s.Tolerance.Decimal.Sign() <= 0 {
		return problem(OutOfRange, "tolerance", "a width above nought", "%s", s.Tolerance.Decimal)
	}
	return nil
}

// A Test is an F test: F, and the chance of F or more where nothing is there.
// Made is false where the mean square below the line is nought.
type Test struct {
	Made bool
	F    decimal.Decimal
	P    float64
}

// A Share is one source of variation.
type Share struct {
	Raw          decimal.Decimal     // variance as it came out; may be below nought
	Variance     decimal.Decimal     // as reported: nought where Raw is below it
	SD           decimal.Decimal     // EV, AV, GRR, PV, TV in the AIAG manual's letters
	Contribution decimal.Decimal     // % of the total variance
	Study        decimal.Decimal     // % of the total standard deviation
	OfTolerance  decimal.NullDecimal // Width standard deviations as % of the tolerance
}

// Shares are the sources of variation, each as reported.
type Shares struct {
	Repeatability   Share           // EV: the gauge itself
	Operator        Share           // AV
	Interaction     Share           // operator by part; all nought where pooled
	Reproducibility Share           // operator and interaction together
	Gauge           Share           // GRR: repeatability and reproducibility together
	Part            Share           // PV
	Total           Share           // TV
	Distinct        decimal.Decimal // 1.41·PV/GRR
	Categories      int             // Distinct made whole by the setting
}

// A Study is a crossed gauge study worked by analysis of variance, and beside
// it by average and range.
type Study struct {
	Parts, Operators []string // in the order they first came
	Trials           int
	Mean             decimal.Decimal

	// The table with interaction, and the tests of part and operator against
	// the interaction, of interaction against repeatability.
	Part, Operator, Interaction, Repeatability, Total Row
	PartTest, OperatorTest, InteractionTest           Test

	Pooled bool // interaction pooled with repeatability
	Error  Row  // what repeatability is worked from: pooled or not
	// The tests of part and operator against Error, made where pooled.
	PooledPartTest, PooledOperatorTest Test

	Shares       Shares
	AverageRange AverageRange
}

// CrossedStudy works a gauge study out: at least 2 parts, 2 operators and 2
// trials of each, none missing. Sums of squares and the components of variance
// are exact:
//
//	repeatability = E
//	interaction   = (PO − E)/r             (nought where pooled)
//	operator      = (O − PO)/(p·r)         (E for PO where pooled)
//	part          = (P − PO)/(o·r)         (E for PO where pooled)
//
// with P, O, PO, E the mean squares, p parts, o operators, r trials (Montgomery,
// Introduction to Statistical Quality Control; AIAG manual; expected mean
// squares seen in a statistics manual). The interaction is pooled where its
// chance is above the setting. A component below nought is kept in Raw and
// reported as nought, and sums are of what is reported.
func CrossedStudy(trials []Trial, settings StudySettings) (Study, error) {
	if err := settings.check(); err != nil {
		return Study{}, err
	}
	c, err := crossed(trials)
	if err != nil {
		return Study{}, err
	}
	s := Study{Parts: c.parts, Operators: c.operators, Trials: c.trials}
	if err := s.table(c); err != nil {
		return Study{}, err
	}
	s.pool(c, settings)
	c.shares(&s, settings)
	s.AverageRange = averageRange(c, settings)
	return s, nil
}

// squaresOf are the sums of squares of a study, exact.
type squaresOf struct{ part, operator, interaction, repeat *big.Rat }

// mean gives the mean squares.
func (c *cells) mean() (p, o, po, e *big.Rat) {
	np, no := len(c.parts), len(c.operators)
	return over(c.squares.part, np-1), over(c.squares.operator, no-1),
		over(c.squares.interaction, (np-1)*(no-1)), over(c.squares.repeat, np*no*(c.trials-1))
}

// table works the analysis of variance with interaction.
func (s *Study) table(c *cells) error {
	q := c.squares
	if q.repeat.Sign() == 0 {
		return problem(NoSpread, "readings", "repeats that differ; use a gauge or scale with a finer last digit",
			"every repeat the same as the one before it: the gauge is too coarse to show its spread")
	}
	np, no, n := len(c.parts), len(c.operators), len(c.parts)*len(c.operators)*c.trials
	dfPO, dfE := (np-1)*(no-1), np*no*(c.trials-1)
	s.Mean = round(over(c.total, n))
	s.Part, s.Operator = row(q.part, np-1), row(q.operator, no-1)
	s.Interaction, s.Repeatability = row(q.interaction, dfPO), row(q.repeat, dfE)
	s.Total = row(add(add(q.part, q.operator), add(q.interaction, q.repeat)), n-1)

	p, o, po, e := c.mean()
	s.PartTest = test(p, po, np-1, dfPO)
	s.OperatorTest = test(o, po, no-1, dfPO)
	s.InteractionTest = test(po, e, dfPO, dfE)
	return nil
}

func test(above, below *big.Rat, df1, df2 int) Test {
	if below.Sign() == 0 {
		return Test{}
	}
	f := round(div(above, below))
	return Test{Made: true, F: f, P: tailF(f, df1, df2)}
}

// pool decides whether there is an interaction, and sets Error.
func (s *Study) pool(c *cells, settings StudySettings) {
	s.Pooled = s.InteractionTest.P > settings.PoolAbove
	s.Error = s.Repeatability
	if !s.Pooled {
		return
	}
	df := s.Interaction.DF + s.Repeatability.DF
	squares := add(c.squares.interaction, c.squares.repeat)
	s.Error = row(squares, df)
	p, o, _, _ := c.mean()
	e := over(squares, df)
	s.PooledPartTest = test(p, e, s.Part.DF, df)
	s.PooledOperatorTest = test(o, e, s.Operator.DF, df)
}

// shares works the components of variance.
func (c *cells) shares(s *Study, settings StudySettings) {
	p, o, po, e := c.mean()
	interaction := over(sub(po, e), c.trials)
	if s.Pooled {
		e = over(add(c.squares.interaction, c.squares.repeat), s.Error.DF)
		po, interaction = e, new(big.Rat)
	}
	s.Shares = settings.shares(e,
		over(sub(o, po), len(c.parts)*c.trials),
		interaction,
		over(sub(p, po), len(c.operators)*c.trials))
}

// shares puts raw components together. Repeatability is above nought.
func (s StudySettings) shares(repeat, operator, interaction, part *big.Rat) Shares {
	reproduce := add(atLeastNought(operator), atLeastNought(interaction))
	gauge := add(repeat, reproduce)
	total := add(gauge, atLeastNought(part))
	x := Shares{
		Repeatability:   s.share(repeat, total),
		Operator:        s.share(operator, total),
		Interaction:     s.share(interaction, total),
		Reproducibility: s.share(reproduce, total),
		Gauge:           s.share(gauge, total),
		Part:            s.share(part, total),
		Total:           s.share(total, total),
	}
	distinct := mul(ratio(141, 100), div(rat(x.Part.SD), rat(x.Gauge.SD)))
	x.Distinct = round(distinct)
	x.Categories = s.Categories.whole(distinct)
	return x
}

func (s StudySettings) share(raw, total *big.Rat) Share {
	v := atLeastNought(raw)
	sd := root(v)
	hundred := ratio(100, 1)
	x := Share{
		Raw: round(raw), Variance: round(v), SD: sd,
		Contribution: round(mul(hundred, div(v, total))),
		Study:        round(mul(hundred, div(rat(sd), rat(root(total))))),
	}
	if s.Tolerance.Valid {
		spanned := mul(mul(hundred, rat(s.Width)), rat(sd))
		x.OfTolerance = decimal.NewNullDecimal(round(div(spanned, rat(s.Tolerance.Decimal))))
	}
	return x
}

// manyCategories is where counting them stops: beyond it parts swamp the gauge
// and the number says no more.
const manyCategories = 1_000_000

func (r Rounding) whole(x *big.Rat) int {
	if r == Nearest {
		x = add(x, ratio(1, 2))
	}
	q := new(big.Int).Quo(x.Num(), x.Denom()) // x is not below nought
	if !q.IsInt64() || q.Int64() > manyCategories {
		return manyCategories
	}
	return int(q.Int64())
}
