package main

import (
	"fmt"
	"strconv"
	"strings"
	"unicode/utf8"

	"github.com/shopspring/decimal"

	"shimwright/calc/stat"
)

// shownDigits is how many significant digits of a figure worked out are
// printed: of the largest in a column, whose places the others take.
const shownDigits = 6

// page is the study as printed, at most 80 columns wide.
func (w *workedStudy) page() string {
	p := &studyPage{w: w}
	p.head()
	p.summary()
	if w.crossed != nil {
		p.crossed()
	}
	if w.chart != nil {
		p.chart()
	}
	p.capability()
	return p.b.String()
}

type studyPage struct {
	b strings.Builder
	w *workedStudy
}

func (p *studyPage) head() {
	w := p.w
	p.line("%s", w.name)
	p.line("gauge %s, unit %s", w.gauge, w.unitWords())
	if w.tolerance != nil {
		p.line("tolerance %s", w.tolerance.text)
	}
}

func (p *studyPage) summary() {
	w, s := p.w, p.w.summary
	p.title("readings")
	if c := w.crossed; c != nil {
		p.words("%d readings: %d parts by %d people, %d times each.", s.N, len(c.Parts), len(c.Operators), c.Trials)
	} else if w.groups != nil {
		p.words("%d readings: %d groups of %d.", s.N, len(w.groups), len(w.groups[0]))
	}
	rows := [][]string{{"count", strconv.Itoa(s.N)}, {"least", s.Min.String()}, {"greatest", s.Max.String()},
		{"range", s.Range.String()}, {"median", s.Median.String()}, {"mean", six(s.Mean.Decimal())}}
	if sd, err := s.SD(); err == nil {
		rows[len(rows)-1][1] = beside(sd, s.Mean.Decimal())[0]
		rows = append(rows, []string{"standard deviation", six(sd)})
	}
	if sd, err := s.SDOfMean(); err == nil && w.crossed == nil {
		rows = append(rows, []string{"standard deviation of the mean", six(sd)})
	}
	if r, err := s.Lag1(); err == nil && w.crossed == nil && w.groups == nil {
		rows = append(rows, []string{"each reading with the one before it (lag-1)", six(r)})
	}
	p.table(rows)
}

// crossed prints a study of parts and people, both ways.
func (p *studyPage) crossed() {
	c := p.w.crossed
	p.title("variances, with the interaction")
	p.variances([]varianceRow{
		{"part", c.Part, c.PartTest}, {"person", c.Operator, c.OperatorTest}, {"part by person", c.Interaction, c.InteractionTest},
		{"repeatability", c.Repeatability, stat.Test{}}, {"total", c.Total, stat.Test{}},
	})
	p.words("%s", poolWords(c, p.w.study.PoolAbove))
	if c.Pooled {
		p.title("variances, pooled")
		p.variances([]varianceRow{{"part", c.Part, c.PooledPartTest}, {"person", c.Operator, c.PooledOperatorTest},
			{"repeatability", c.Error, stat.Test{}}, {"total", c.Total, stat.Test{}}})
	}
	p.title("where the variation comes from, by variances")
	p.shares(c.Shares, false)
	p.negatives(c.Shares)
	p.categories(c.Shares)

	a := c.AverageRange
	p.title("beside it, by average and range")
	p.table([][]string{
		{"mean range of repeats", six(a.MeanRange), "K1", six(a.K1)},
		{"range of people's means", six(a.OperatorRange), "K2", six(a.K2)},
		{"range of the parts' means", six(a.PartRange), "K3", six(a.K3)},
	})
	p.blank()
	p.shares(a.Shares, true)
	p.negatives(a.Shares)
	p.categories(a.Shares)
	p.words("The constants are worked by formula. This way knows no interaction of part and person.")

	p.title("people")
	mean, spread := []decimal.Decimal{}, []decimal.Decimal{}
	for _, f := range p.w.people {
		mean, spread = append(mean, f.mean), append(spread, f.meanRange)
	}
	means, spreads := inStep(mean), inStep(spread)
	rows := [][]string{{"", "mean", "mean range"}}
	for i, f := range p.w.people {
		rows = append(rows, []string{cut(f.name, 40), means[i], spreads[i]})
	}
	p.table(rows)
}

// poolWords says whether the interaction was pooled, and by which rule.
func poolWords(c *stat.Study, above float64) string {
	rule := fmt.Sprintf("(the rule of this study: pool above %v)", above)
	if c.Pooled {
		return fmt.Sprintf("Part by person has p %s, above %v: it counts as none and is pooled with repeatability %s.", chanceWords(c.InteractionTest), above, rule)
	}
	return fmt.Sprintf("Part by person has p %s, not above %v: it is kept apart %s.", chanceWords(c.InteractionTest), above, rule)
}

type varianceRow struct {
	name string
	row  stat.Row
	test stat.Test
}

func (p *studyPage) variances(rows []varianceRow) {
	var squares, means []decimal.Decimal
	for _, r := range rows {
		squares, means = append(squares, r.row.SumSquares), append(means, r.row.MeanSquare)
	}
	ss, ms := inStep(squares), inStep(means)
	out := [][]string{{"", "freedom", "sum of squares", "mean square", "F", "p"}}
	for i, r := range rows {
		line := []string{r.name, strconv.Itoa(r.row.DF), ss[i], ms[i], "", ""}
		if r.name == "total" {
			line[3] = ""
		}
		if r.test.Made {
			line[4], line[5] = six(r.test.F), chanceWords(r.test)
		}
		out = append(out, line)
	}
	p.table(out)
}

// chanceWords is a chance to four places; below what they show it says so.
func chanceWords(t stat.Test) string {
	switch {
	case !t.Made:
		return "not known"
	case t.P < 0.0001:
		return "< 0.0001"
	}
	return strconv.FormatFloat(t.P, 'f', 4, 64)
}

// namedShare is one line of where variation comes from.
type namedShare struct {
	name  string
	share stat.Share
}

// sharesOf lists the sources, parts of reproducibility set in.
func sharesOf(s stat.Shares, byRange bool) []namedShare {
	out := []namedShare{{"repeatability", s.Repeatability}, {"reproducibility", s.Reproducibility}}
	if !byRange {
		out = append(out, namedShare{"- person", s.Operator}, namedShare{"- part by person", s.Interaction})
	}
	return append(out, namedShare{"together", s.Gauge}, namedShare{"part", s.Part}, namedShare{"total", s.Total})
}

func (p *studyPage) shares(s stat.Shares, byRange bool) {
	list := sharesOf(s, byRange)
	var variance, sd []decimal.Decimal
	for _, n := range list {
		variance, sd = append(variance, n.share.Variance), append(sd, n.share.SD)
	}
	v, d := inStep(variance), inStep(sd)
	banded := s.Total.OfTolerance.Valid
	head := []string{"", "variance", "deviation", "% contribution", "% study"}
	if banded {
		head = append(head, "% tolerance")
	}
	rows := [][]string{head}
	for i, n := range list {
		line := []string{n.name, v[i], d[i], two(n.share.Contribution), two(n.share.Study)}
		if banded {
			line = append(line, two(n.share.OfTolerance.Decimal))
		}
		rows = append(rows, line)
	}
	p.table(rows)
	if banded && !byRange {
		p.words("%% tolerance is %s standard deviations as a share of the tolerance.", p.w.study.Width)
	}
}

// negatives says which variance came out below nought, and what it counts as.
func (p *studyPage) negatives(s stat.Shares) {
	for _, n := range []namedShare{{"person", s.Operator}, {"part by person", s.Interaction}, {"part", s.Part}} {
		if n.share.Raw.Sign() < 0 {
			p.words("The variance of %s comes out at %s, below nought, and is counted as nought.", n.name, six(n.share.Raw))
		}
	}
}

func (p *studyPage) categories(s stat.Shares) {
	how := "cut down to a whole number"
	if p.w.study.Categories == stat.Nearest {
		how = "rounded to the nearest whole number, halves up"
	}
	p.words("Distinct categories: 1.41 times part over together is %s, %s: %d.", two(s.Distinct), how, s.Categories)
}

func (p *studyPage) title(s string) { p.line("\n%s", s) }
func (p *studyPage) blank()         { p.line("") }

func (p *studyPage) line(format string, args ...any) {
	p.b.WriteString(strings.TrimRight(fmt.Sprintf(format, args...), " ") + "\n")
}

// words prints a sentence, set in by two and broken at 80 columns.
func (p *studyPage) words(format string, args ...any) {
	const width = 78
	row := ""
	for _, word := range strings.Fields(fmt.Sprintf(format, args...)) {
		if row != "" && utf8.RuneCountInString(row)+1+utf8.RuneCountInString(word) > width {
			p.line("  %s", row)
			row = ""
		}
		row = strings.TrimLeft(row+" "+word, " ")
	}
	p.line("  %s", row)
}

// table prints rows in columns, names to the left and figures to the right.
func (p *studyPage) table(rows [][]string) {
	var width []int
	for _, r := range rows {
		for i, cell := range r {
			if i == len(width) {
				width = append(width, 0)
			}
			width[i] = max(width[i], utf8.RuneCountInString(cell))
		}
	}
	for _, r := range rows {
		line := ""
		for i, cell := range r {
			pad := strings.Repeat(" ", width[i]-utf8.RuneCountInString(cell))
			if i == 0 {
				line = cell + pad
			} else {
				line += "  " + pad + cell
			}
		}
		p.line("  %s", line)
	}
}

// cut keeps a name within its column.
func cut(s string, width int) string {
	if r := []rune(s); len(r) > width {
		return string(r[:width-1]) + "…"
	}
	return s
}

func numbered(what string, i int) string { return what + " " + strconv.Itoa(i+1) }
func two(d decimal.Decimal) string       { return d.StringFixedBank(2) }

// six is a figure at six significant digits, half to even.
func six(d decimal.Decimal) string { return d.StringFixedBank(placesOf(d)) }

// beside prints figures at six significant digits, or as many as show a tenth of
// a per cent of their spread.
func beside(spread decimal.Decimal, list ...decimal.Decimal) []string {
	var largest decimal.Decimal
	for _, d := range list {
		largest = decimal.Max(largest, d.Abs())
	}
	places := placesOf(largest)
	if !spread.IsZero() {
		places = max(places, placesOf(spread)-2)
	}
	out := make([]string, len(list))
	for i, d := range list {
		out[i] = d.StringFixedBank(places)
	}
	return out
}

// inStep prints figures at the places that give the largest six digits.
func inStep(list []decimal.Decimal) []string { return beside(decimal.Zero, list...) }

// placesOf is how many decimals show a figure at six significant digits.
func placesOf(d decimal.Decimal) int32 {
	if d.IsZero() {
		return 0
	}
	magnitude := int32(d.NumDigits()) + d.Exponent()
	return max(0, shownDigits-magnitude)
}
