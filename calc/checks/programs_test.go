package checks

import (
	"fmt"
	"slices"
	"strconv"
	"testing"

	"github.com/shopspring/decimal"

	"shimwright/calc/budget"
	"shimwright/calc/quantity"
	"shimwright/calc/stat"
	"shimwright/calc/stat/checktest"
	"shimwright/calc/stock"
)

const programsPart = "Other programs on the same input"

func TestOtherPrograms(t *testing.T) {
	hold(t, programsPart,
		checktest.Section{Title: "How sure a figure is: packages overhaul and budget", Rows: append(jobRows(t), apartRows(t)...)},
		checktest.Section{Title: "Crossed gauge studies: package stat", Rows: anovaRows(t)},
		checktest.Section{Title: "Packs from a tray: package stock", Rows: trayRows(t)},
		checktest.Section{Title: "Units: package quantity", Rows: unitRows(t)})
}

// A sum as the other program gives it.
type otherSum struct {
	Figure string `json:"figure"`
	U      string `json:"u"`
}

const uncertain = "uncertainties 3.1.6, float64"

func otherSums(t testing.TB) map[string]otherSum {
	var all struct{ Sums map[string]otherSum }
	readJSON(t, top("compared", "uncertainty", "sums.json"), &all)
	if len(all.Sums) != 10 {
		t.Fatalf("%d sums, want 10", len(all.Sums))
	}
	return all.Sums
}

// rounded is a float64 as printed, at so many places or significant digits.
func rounded(t testing.TB, text string, kind byte, digits int) string {
	t.Helper()
	f, err := strconv.ParseFloat(text, 64)
	if err != nil {
		t.Fatal(err)
	}
	return strconv.FormatFloat(f, kind, digits, 64)
}

// jobRows are the figures of a whole job, by way of its sheet.
func jobRows(t *testing.T) []checktest.Row {
	sums := otherSums(t)
	r := work(t, readSheet(t, "rd3.yaml"), readFile(t, top("compared", "uncertainty", "job.yaml")))
	var rows []checktest.Row
	add := func(name string, figure quantity.Exact, u quantity.Exact) {
		x := sums[name]
		rows = append(rows,
			checktest.Compare(name, uncertain, checktest.Computed, rounded(t, x.Figure, 'f', 12), figure.Round(15), checktest.All),
			checktest.Compare(name+", standard uncertainty", uncertain, checktest.Computed, rounded(t, x.U, 'g', 10), u.Decimal(), checktest.All))
	}
	for _, name := range []string{"pinion face height", "casing depth"} {
		add(name, of(t, r, name).Figure.Value, of(t, r, name).Budget.Standard)
	}
	for _, name := range []string{"pinion pack", "wheel pack", "closing pack"} {
		add(name, worked(t, r, name), of(t, r, name).Budget.Standard)
	}
	torque := of(t, r, "pinion turning torque")
	add("pinion turning torque", torque.Check.Figure.Value, torque.Budget.Standard)
	c := of(t, r, "closing pack").Pack.Closure
	add("closing pack, the two ways apart", c.Value, c.Budget.Standard)
	if loop := of(t, r, "closing pack").Pack.Other; loop != nil {
		rows = append(rows, checktest.Compare("closing pack, by the loop", uncertain, checktest.Computed,
			rounded(t, sums["closing pack, by the loop"].Figure, 'f', 12), loop.Value.Round(15), checktest.All))
	}
	return rows
}

// apartRows are budgets given source by source: what the correlation is worth.
func apartRows(t *testing.T) []checktest.Row {
	sums := otherSums(t)
	row := func(name string, sources ...budget.Source) checktest.Row {
		b, err := budget.Work(sources)
		if err != nil {
			t.Fatal(err)
		}
		return checktest.Compare(name+", standard uncertainty", uncertain, checktest.Computed, rounded(t, sums[name].U, 'g', 10), b.Standard.Decimal(), checktest.All)
	}
	one := quantity.Whole(1)
	source := func(name string, kind budget.Kind, size string, coef int64) budget.Source {
		return budget.Source{Name: name, Kind: kind, Size: ex(size), Coef: quantity.Whole(coef)}
	}
	piece := func(name, u, k string, coef int64) budget.Source {
		s := source(name, budget.CertifiedPiece, u, coef)
		s.K = ex(k)
		return s
	}
	// One reading in three is off by 0.01 mm: s = 0.01/√3.
	repeats := func(name string) []budget.Source {
		s, err := stat.Summarise([]decimal.Decimal{dec("1.00"), dec("1.00"), dec("1.01")})
		if err != nil {
			t.Fatal(err)
		}
		sd, err := s.SD()
		if err != nil {
			t.Fatal(err)
		}
		return []budget.Source{source(name, budget.Resolution, "0.01", 1),
			{Name: name, Kind: budget.Repeats, Size: quantity.FromDecimal(sd), N: 3, Coef: one}}
	}
	recess, depth, height, overall := repeats("recess"), repeats("depth"), repeats("height"), repeats("overall")
	loop := slices.Concat(recess, depth, overall, []budget.Source{
		piece("S-41", "0.003", "2", 1), piece("S-51", "0.004", "2", -1), piece("E-02", "0.0025", "2.5", -1), piece("E-02", "0.0025", "2.5", -1),
		source("wheel pack by hand", budget.Resolution, "0.01", -1)})
	gauges := func(names ...string) (out []budget.Source) {
		for _, n := range names {
			out = append(out, source(n, budget.LimitOfError, "0.02", 1))
		}
		return out
	}
	wheel := slices.Concat(depth, height, gauges("D07", "D07"), []budget.Source{
		source("wheel distance", budget.MarkRounding, "0.01", -1), source("joint", budget.MarkRounding, "0.01", -1),
		piece("S-41", "0.003", "2", 1), piece("S-31", "0.002", "2", -1)})
	return []checktest.Row{
		row("closing pack, by the loop", slices.Concat(loop, gauges("D07", "D07", "D07"))...),
		row("closing pack, three gauges", slices.Concat(loop, gauges("D07", "D08", "D09"))...),
		row("wheel pack", slices.Concat(wheel, []budget.Source{piece("E-02", "0.0025", "2.5", -2)})...),
		row("wheel pack, two straightedges", slices.Concat(wheel, []budget.Source{piece("E-02", "0.0025", "2.5", -1), piece("E-03", "0.0025", "2.5", -1)})...),
	}
}

// A line of an analysis of variance as the other program gives it.
type anovaLine struct {
	SumSquares string `json:"sum_sq"`
	DF         int    `json:"df"`
	MeanSquare string `json:"mean_sq"`
	F          string `json:"f"`
	P          string `json:"p"`
}

func anovaRows(t *testing.T) []checktest.Row {
	var all struct {
		Sets map[string]struct {
			Full    map[string]anovaLine `json:"with_interaction"`
			Against map[string]anovaLine `json:"against_interaction"`
			Without map[string]anovaLine `json:"without"`
		}
	}
	readJSON(t, top("compared", "variances", "anova.json"), &all)
	var rows []checktest.Row
	for _, name := range []string{"aiag", "gasket", "houf_berman", "vardeman"} {
		c, ok := all.Sets[name]
		if !ok {
			t.Fatalf("no set %s", name)
		}
		full, pooled := study(t, name, 1), study(t, name, 0)
		h := anovaHolder{t: t, set: name}
		h.line("part", c.Full["part"], full.Part)
		h.line("person", c.Full["person"], full.Operator)
		h.line("part by person", c.Full["part by person"], full.Interaction)
		h.line("repeatability", c.Full["repeatability"], full.Repeatability)
		h.test("part by person", c.Full["part by person"], full.InteractionTest)
		h.test("part against part by person", c.Against["part"], full.PartTest)
		h.test("person against part by person", c.Against["person"], full.OperatorTest)
		h.line("repeatability, pooled", c.Without["repeatability"], pooled.Error)
		h.test("part, pooled", c.Without["part"], pooled.PooledPartTest)
		h.test("person, pooled", c.Without["person"], pooled.PooledOperatorTest)
		rows = append(rows, checktest.Least(name, h.rows))
	}
	return rows
}

func study(t testing.TB, name string, poolAbove float64) stat.Study {
	t.Helper()
	var trials []stat.Trial
	for _, r := range readRows(t, top("published", "grr", name+".csv")) {
		trials = append(trials, stat.Trial{Part: r[0], Operator: r[1], Reading: dec(r[3])})
	}
	settings := stat.DefaultStudySettings()
	settings.PoolAbove = poolAbove
	s, err := stat.CrossedStudy(trials, settings)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

type anovaHolder struct {
	t    *testing.T
	set  string
	rows []checktest.Row
}

// floatDigits is what must agree with least squares in float64.
const floatDigits = 9

func (h *anovaHolder) add(what, want string, ours decimal.Decimal) {
	h.rows = append(h.rows, checktest.Compare(what, "statsmodels 0.13.5, float64", checktest.Computed, want, ours, floatDigits))
}

func (h *anovaHolder) line(what string, want anovaLine, ours stat.Row) {
	h.t.Helper()
	if want.DF != ours.DF || want.DF == 0 {
		h.t.Errorf("%s, %s: %d degrees of freedom, want %d", h.set, what, ours.DF, want.DF)
	}
	h.add("sum of squares of "+what, want.SumSquares, ours.SumSquares)
	h.add("mean square of "+what, want.MeanSquare, ours.MeanSquare)
}

func (h *anovaHolder) test(what string, want anovaLine, ours stat.Test) {
	h.add("F of "+what, want.F, ours.F)
	h.add("p of "+what, want.P, decimal.NewFromFloat(ours.P))
}

// A tray and what is wanted of it, in whole steps.
type otherTray struct {
	Step   string
	Leaves []struct {
		Size  int64
		Count int
	}
	Want, Within int64
	AtLeast      int `json:"at_least"`
	AtMost       int `json:"at_most"`
}

// trayRows: the optimum must be the same, exactly, in each tray both ways; which
// of several packs alike in it stands first is our own rule.
func trayRows(t *testing.T) []checktest.Row {
	var trays []otherTray
	readJSON(t, top("compared", "packs", "trays.json"), &trays)
	same, of := map[string]int{}, map[string]int{}
	for _, r := range readRows(t, top("compared", "packs", "optima.csv")) {
		i, err := strconv.Atoi(r[0])
		if err != nil || i < 1 || i > len(trays) {
			t.Fatalf("tray %q", r[0])
		}
		order := map[string]stock.Objective{"closest": stock.Closest, "fewest": stock.FewestWithin}[r[1]]
		miss, leaves := trays[i-1].best(t, order)
		of[r[1]]++
		if miss != r[2] || leaves != r[3] {
			t.Errorf("tray %d, %s: miss %q with %q leaves, the other program %q with %q", i, r[1], miss, leaves, r[2], r[3])
			continue
		}
		same[r[1]]++
	}
	var rows []checktest.Row
	for _, c := range [][2]string{{"closest", "smallest error, then fewest leaves"}, {"fewest", "fewest leaves within the tolerance, then smallest error"}} {
		if of[c[0]] != 30 {
			t.Errorf("%s: %d trays, want 30", c[0], of[c[0]])
		}
		rows = append(rows, checktest.Words("trays whose optimum is the same, "+c[1], "GLPK 5.0, whole-number program", checktest.Computed,
			"30 of 30", fmt.Sprintf("%d of %d", same[c[0]], of[c[0]])))
	}
	return rows
}

// best is the error in steps and the leaves of our best pack; both empty where
// there is none.
func (o otherTray) best(t testing.TB, order stock.Objective) (miss, leaves string) {
	t.Helper()
	step := value(t, o.Step).Exact()
	steps := func(n int64) quantity.Exact { return step.Times(quantity.Whole(n)) }
	var kinds []stock.Leaf
	for _, l := range o.Leaves {
		kinds = append(kinds, stock.Leaf{Size: steps(l.Size), Label: fmt.Sprint(l.Size), Count: l.Count})
	}
	tray, err := stock.NewTray(kinds...)
	if err != nil {
		t.Fatal(err)
	}
	a, err := tray.MakeUp(stock.Request{Want: steps(o.Want), Within: steps(o.Within), Objective: order,
		Rules: stock.Rules{AtLeast: o.AtLeast, AtMost: o.AtMost}})
	if err != nil {
		t.Fatal(err)
	}
	if len(a.Packs) == 0 {
		return "", ""
	}
	off := a.Packs[0].Error.Abs()
	for n := range o.Within + 1 {
		if steps(n).Equal(off) {
			return fmt.Sprint(n), fmt.Sprint(len(a.Packs[0].Leaves))
		}
	}
	t.Fatalf("error %s is no whole number of steps within the tolerance", off)
	return "", ""
}

// unitDigits is what must agree with a chain of float64 factors.
const unitDigits = 14

// unitRows holds every ordered pair of units of one kind.
func unitRows(t *testing.T) []checktest.Row {
	want := map[[2]string]string{}
	for _, r := range readRows(t, top("compared", "units", "pairs.csv")) {
		want[[2]string{r[0], r[1]}] = r[2]
	}
	var rows []checktest.Row
	for from := quantity.MM; from <= quantity.Degree; from++ {
		for to := quantity.MM; to <= quantity.Degree; to++ {
			if from == to || from.Dimension() != to.Dimension() {
				continue
			}
			f, ok := want[[2]string{from.String(), to.String()}]
			if !ok {
				t.Errorf("%s in %s was not compared", from, to)
				continue
			}
			rows = append(rows, checktest.Compare("1 "+from.String()+" in "+to.String(), "GNU units 2.22, float64", checktest.Computed,
				rounded(t, f, 'g', 15), factor(t, from, to).Round(25), unitDigits))
		}
	}
	if len(rows) != len(want) {
		t.Errorf("%d pairs of ours, %d compared", len(rows), len(want))
	}
	return []checktest.Row{checktest.Least("every unit in every other of its kind", rows)}
}
