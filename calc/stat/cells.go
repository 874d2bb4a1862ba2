package stat

import (
	"math/big"
	"strconv"

	"github.com/shopspring/decimal"
)

// Bounds of a gauge study.
const (
	MaxParts     = MaxGroup
	MaxOperators = MaxGroup
)

// cells is a crossed study sorted by part and operator, with its exact sums.
type cells struct {
	parts, operators []string
	trials           int
	readings         [][][]decimal.Decimal // part, operator, trial

	ofPart, ofOperator []*big.Rat // sums
	total              *big.Rat
	squares            squaresOf
}

// crossed sorts trials into cells and refuses a study that is too small, too
// large or has cells of unequal size.
func crossed(trials []Trial) (*cells, error) {
	if len(trials) == 0 {
		return nil, problem(TooFew, "readings", "a study of parts, operators and trials", "none")
	}
	if len(trials) > MaxReadings {
		return nil, problem(TooMany, "readings", "at most "+strconv.Itoa(MaxReadings), "%d", len(trials))
	}
	c := new(cells)
	partAt, operatorAt := map[string]int{}, map[string]int{}
	for _, t := range trials {
		if _, seen := partAt[t.Part]; !seen {
			partAt[t.Part] = len(c.parts)
			c.parts = append(c.parts, t.Part)
		}
		if _, seen := operatorAt[t.Operator]; !seen {
			operatorAt[t.Operator] = len(c.operators)
			c.operators = append(c.operators, t.Operator)
		}
	}
	if err := c.size("parts", len(c.parts), MaxParts); err != nil {
		return nil, err
	}
	if err := c.size("operators", len(c.operators), MaxOperators); err != nil {
		return nil, err
	}
	c.readings = make([][][]decimal.Decimal, len(c.parts))
	for i := range c.readings {
		c.readings[i] = make([][]decimal.Decimal, len(c.operators))
	}
	for _, t := range trials {
		if err := plain("readings", t.Reading); err != nil {
			return nil, err
		}
		cell := &c.readings[partAt[t.Part]][operatorAt[t.Operator]]
		*cell = append(*cell, t.Reading)
	}
	if err := c.balanced(); err != nil {
		return nil, err
	}
	return c, c.sum()
}

func (c *cells) size(field string, n, most int) error {
	if n < 2 {
		return problem(TooFew, field, "at least 2 in a crossed study (with one, pool the repeats)", "%d", n)
	}
	if n > most {
		return problem(TooMany, field, "at most "+strconv.Itoa(most), "%d", n)
	}
	return nil
}

func (c *cells) balanced() error {
	c.trials = len(c.readings[0][0])
	for i, p := range c.parts {
		for j, o := range c.operators {
			if n := len(c.readings[i][j]); n != c.trials {
				return problem(Unbalanced, "part "+strconv.Quote(p)+" by operator "+strconv.Quote(o),
					"as many trials as the first part by the first operator: "+strconv.Itoa(c.trials), "%d", n)
			}
		}
	}
	if c.trials < 2 {
		return problem(TooFew, "trials", "at least 2 of each part by each operator", "%d", c.trials)
	}
	if c.trials > MaxGroup {
		return problem(TooMany, "trials", "at most "+strconv.Itoa(MaxGroup), "%d", c.trials)
	}
	return nil
}

// sum works the sums and sums of squares. With T the grand total, n the count:
// part ΣP²/(o·r) − T²/n, operator ΣO²/(p·r) − T²/n, cells ΣC²/r − T²/n, the
// interaction what the cells have beyond part and operator, repeatability
// Σx² − ΣC²/r.
func (c *cells) sum() error {
	np, no := len(c.parts), len(c.operators)
	c.ofPart, c.ofOperator, c.total = noughts(np), noughts(no), new(big.Rat)
	cellSquares, repeat := new(big.Rat), new(big.Rat)
	for i := range c.readings {
		for j := range c.readings[i] {
			s, err := Summarise(c.readings[i][j])
			if err != nil {
				return err
			}
			sum := rat(s.Sum)
			c.ofPart[i].Add(c.ofPart[i], sum)
			c.ofOperator[j].Add(c.ofOperator[j], sum)
			c.total.Add(c.total, sum)
			cellSquares.Add(cellSquares, square(sum))
			repeat.Add(repeat, s.squares)
		}
	}
	common := over(square(c.total), np*no*c.trials)
	q := squaresOf{repeat: repeat}
	q.part = sub(over(sumOfSquares(c.ofPart), no*c.trials), common)
	q.operator = sub(over(sumOfSquares(c.ofOperator), np*c.trials), common)
	q.interaction = sub(sub(sub(over(cellSquares, c.trials), common), q.part), q.operator)
	c.squares = q
	return nil
}

func noughts(n int) []*big.Rat {
	out := make([]*big.Rat, n)
	for i := range out {
		out[i] = new(big.Rat)
	}
	return out
}

func sumOfSquares(xs []*big.Rat) *big.Rat {
	sum := new(big.Rat)
	for _, x := range xs {
		sum.Add(sum, square(x))
	}
	return sum
}
