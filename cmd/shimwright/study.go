package main

import (
	"errors"
	"io"
	"strings"

	"github.com/shopspring/decimal"
	"github.com/spf13/cobra"

	"shimwright/calc/stat"
)

// newStudy builds the command that works a gauge study.
func newStudy() *cobra.Command {
	var asJSON, people bool
	c := &cobra.Command{
		Use:   "study FILE",
		Short: "Work a gauge study, a control chart or a capability",
		Long: `Work a file of readings and print what they say about the gauge or the process:
a summary; a crossed study of parts and people, by variances and by average and
range; the limits of a control chart; a capability with its confidence limits.

    study: bore gauge, three fitters
    gauge: bore gauge 4
    unit: mm                           # or none
    tolerance: 10.00 mm .. 10.10 mm    # or at least …, at most …; may be left out
    settings: {pool above: 0.25}
    trials:
      - {part: 1, person: A, readings: [10.041, 10.043]}

In place of trials: readings: [10.04, …], or chart: {individuals: [10.04, …]},
or chart: {groups: [[10.04, 10.05], …]}. Settings of trials are pool above (0.25),
width in standard deviations (6) and categories (cut down, or nearest); those of
the others, confidence (0.95).

A study reports and judges nothing: the exit status is 0, or 2 for a file that is
refused, told with line and column.`,
		Args: takes("FILE"),
		RunE: func(c *cobra.Command, args []string) error {
			return study(c, args[0], asJSON, people)
		},
	}
	c.Flags().BoolVar(&asJSON, "json", false, "print the results as JSON, as JSON.md describes")
	c.Flags().BoolVar(&people, "people", false, "print people's names instead of numbers")
	return c
}

func study(c *cobra.Command, name string, asJSON, people bool) error {
	text, err := readFile("study", name)
	if err != nil {
		return err
	}
	w, err := workStudy(name, text)
	if err != nil {
		return err
	}
	if !people {
		w.hideNames()
	}
	if asJSON {
		return machine("standard output", w.writeJSON(c.OutOrStdout(), c.Root().Version))
	}
	_, err = io.WriteString(c.OutOrStdout(), w.page())
	return machine("standard output", err)
}

// workedStudy is a study file and all that its readings come to. Parts that the
// file does not ask for are nil.
type workedStudy struct {
	studyFile
	summary    stat.Summary
	crossed    *stat.Study
	people     []personFigures
	chart      *stat.Chart
	capability *stat.Capability
	refused    string // why there is no capability, where one was asked for
}

// personFigures are one person's own figures: they show who reads apart, and
// rank nobody.
type personFigures struct {
	name            string
	mean, meanRange decimal.Decimal
}

// workStudy reads a study file and works it. What the arithmetic refuses is laid
// at the list of readings that it refuses.
func workStudy(file string, text []byte) (*workedStudy, error) {
	f, doc, err := readStudy(file, text)
	if err != nil {
		return nil, err
	}
	w := &workedStudy{studyFile: f}
	if err := w.work(); err != nil {
		f.readingsAt.Fail("%s", inFileWords(err))
	}
	return w, doc.Err()
}

// inFileWords puts an error of the arithmetic, which speaks of operators, into
// the words of the file.
func inFileWords(err error) string {
	return strings.NewReplacer("operators", "people", "operator", "person").Replace(err.Error())
}

func (w *workedStudy) work() (err error) {
	if w.summary, err = stat.Summarise(w.all()); err != nil {
		return err
	}
	switch {
	case w.trials != nil:
		return w.workCrossed()
	case w.groups != nil:
		err = w.workChart(stat.MeanAndRange(w.groups))
	case w.individuals != nil:
		err = w.workChart(stat.Individuals(w.individuals))
	}
	if err != nil || w.tolerance == nil {
		return err
	}
	return w.workCapability()
}

func (w *workedStudy) workChart(c stat.Chart, err error) error {
	w.chart = &c
	return err
}

// workCapability takes too few readings as an answer, not as a fault of the file.
func (w *workedStudy) workCapability() error {
	c, err := stat.CapabilityOf(w.all(), w.tolerance.limits(), w.confidence)
	var p *stat.Problem
	switch {
	case errors.As(err, &p) && p.Kind == stat.TooFew:
		w.refused = tooFewWords(w.summary.N)
		return nil
	case errors.As(err, &p) && p.Kind == stat.NoSpread:
		w.refused = "No capability: the readings do not differ, so the gauge is too coarse to show the spread of the process."
		return nil
	case err != nil:
		return err
	}
	w.capability = &c
	return nil
}

func (w *workedStudy) workCrossed() error {
	s, err := stat.CrossedStudy(w.trials, w.study)
	if err != nil {
		return err
	}
	w.crossed = &s
	cells := map[string]map[string][]decimal.Decimal{}
	for _, t := range w.trials {
		if cells[t.Operator] == nil {
			cells[t.Operator] = map[string][]decimal.Decimal{}
		}
		cells[t.Operator][t.Part] = append(cells[t.Operator][t.Part], t.Reading)
	}
	for _, name := range s.Operators {
		p, err := figuresOf(name, cells[name], s.Parts)
		if err != nil {
			return err
		}
		w.people = append(w.people, p)
	}
	return nil
}

// figuresOf works one person's mean and mean range over the parts.
func figuresOf(name string, cells map[string][]decimal.Decimal, parts []string) (personFigures, error) {
	var own, ranges []decimal.Decimal
	for _, part := range parts {
		s, err := stat.Summarise(cells[part])
		if err != nil {
			return personFigures{}, err
		}
		own, ranges = append(own, cells[part]...), append(ranges, s.Range)
	}
	mean, err := stat.Summarise(own)
	if err != nil {
		return personFigures{}, err
	}
	spread, err := stat.Summarise(ranges)
	return personFigures{name, mean.Mean.Decimal(), spread.Mean.Decimal()}, err
}

// hideNames puts numbers, in the order of the file, for the names of people.
func (w *workedStudy) hideNames() {
	for i := range w.people {
		w.people[i].name = numbered("person", i)
	}
}

// limits is the band as the arithmetic takes it.
func (b *studyBand) limits() stat.Tolerance {
	return stat.Tolerance{Lower: b.low, Upper: b.high}
}

// all are the readings in the order of the file.
func (f *studyFile) all() []decimal.Decimal {
	switch {
	case f.trials != nil:
		out := make([]decimal.Decimal, len(f.trials))
		for i, t := range f.trials {
			out[i] = t.Reading
		}
		return out
	case f.groups != nil:
		var out []decimal.Decimal
		for _, g := range f.groups {
			out = append(out, g...)
		}
		return out
	case f.individuals != nil:
		return f.individuals
	}
	return f.readings
}
