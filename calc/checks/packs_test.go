package checks

import (
	"fmt"
	"strings"
	"testing"

	"github.com/shopspring/decimal"

	"shimwright/calc/quantity"
	"shimwright/calc/remedy"
	"shimwright/calc/stat/checktest"
)

const packsPart = "Packs, marks and turning torque (packages overhaul and remedy)"

func TestPacksMarksTorque(t *testing.T) {
	hold(t, packsPart,
		checktest.Section{Title: "Pinion packs and marks", Rows: append(packRows(t), markRows(t)...)},
		checktest.Section{Title: "Turning torque by spring scale", Rows: torqueRows(t)})
}

const (
	manualA = "US Army TM 10-3930-660-34, task 9-5"
	manualB = "US Army TM 9-2320-280-34, table 9-1"
)

// oldNew works a pack from the pack that was in and two marks, in inches; place
// and plus are of the sheet.
func oldNew(t testing.TB, place, plus string) func(old, oldMark, newMark string) decimal.Decimal {
	s := readSheet(t, "oldnew-"+place+".yaml")
	if plus != "longer" {
		body := strings.ReplaceAll(readFile(t, top("sheets", "oldnew-"+place+".yaml")), "plus: longer", "plus: "+plus)
		s = parse(t, body)
	}
	return func(old, oldMark, newMark string) decimal.Decimal {
		t.Helper()
		r := work(t, s, fmt.Sprintf("readings for: oldnew\nentries:\n"+
			"  - {step: old pack, fit: {measured: %s in}}\n  - {step: old mark, digits: %s}\n  - {step: pinion distance, digits: %s}\n", old, oldMark, newMark))
		return worked(t, r, "pinion pack").In(quantity.Inch).Decimal()
	}
}

func packRows(t *testing.T) []checktest.Row {
	a, b := oldNew(t, "flange", "longer"), oldNew(t, "flange", "shorter")
	const old = "0.0940"
	var cells []checktest.Row
	table := readFile(t, top("published", "gear", "pinion_variance_table_in.csv"))
	newMarks := strings.Split(strings.TrimSpace(strings.SplitN(table, "\n", 2)[0]), ",")[1:]
	for _, r := range readRows(t, top("published", "gear", "pinion_variance_table_in.csv")) {
		for j, cell := range r[1:] {
			cells = append(cells, checktest.Compare("mark "+r[0]+" to "+newMarks[j], manualB, checktest.Seen, cell, b(old, r[0], newMarks[j]).Sub(dec(old)), checktest.All))
		}
	}
	if len(cells) != 81 {
		t.Errorf("%d cells of the table, want 81", len(cells))
	}
	inMM := b(old, "-3", "+2").Sub(dec(old)).Mul(quantity.Inch.Factor())
	return []checktest.Row{
		checktest.Compare("old pack 0.030 in, old mark −2: standard pack, in", manualA, checktest.Seen, "0.032", a("0.030", "-2", "0"), checktest.All),
		checktest.Compare("the same, new mark −5: new pack, in", manualA, checktest.Seen, "0.027", a("0.030", "-2", "-5"), checktest.All),
		checktest.Least("change of the pack for two marks, in", cells),
		checktest.Compare("old mark −3, new mark +2: change in mm, later edition", "US Army TM 9-2320-387-24-2, table 30-1", checktest.Seen, "-0.13", inMM, checktest.All),
		checktest.Compare("the same exactly (the first edition prints -0.12, a fault: cut down, not rounded)", "0.005 times 25.4", checktest.Computed, "-0.127", inMM, checktest.All),
	}
}

// markRows: what one digit of a mark stands for.
func markRows(t *testing.T) []checktest.Row {
	mark := func(digits string, u quantity.Unit) quantity.Exact {
		v, err := quantity.Parse(digits, u)
		if err != nil {
			t.Fatal(err)
		}
		return v.Exact()
	}
	return []checktest.Row{
		checktest.Compare("mark +3 in thousandths, in", manualA, checktest.Seen, "0.003", mark("+3", quantity.Thou).In(quantity.Inch).Decimal(), checktest.All),
		checktest.Compare("mark +4 in thousandths, in", "US Army TM 9-2320-365-34-2, p. 24-16", checktest.Seen, "0.004", mark("+4", quantity.Thou).In(quantity.Inch).Decimal(), checktest.All),
		checktest.Compare("one digit of 0.001 cm, mm", "US Army TM 9-2320-366-34-4, p. 24-12", checktest.Seen, "0.01", mark("1", quantity.Hundredth).Decimal(), checktest.All),
		checktest.Compare("shim step 0.0005 in, mm, later edition", "US Army TM 9-2320-387-24-2, table 30-1", checktest.Seen, "0.0127", mark("0.0005", quantity.Inch).Decimal(), checktest.All),
	}
}

func torqueRows(t *testing.T) []checktest.Row {
	pull := func(pull, across string) decimal.Decimal {
		x, err := remedy.TorqueOfPull(value(t, pull), value(t, across), value(t, "0 in"))
		if err != nil {
			t.Fatal(err)
		}
		return x.In(quantity.PoundForceInch).Decimal()
	}
	in := func(text string, u quantity.Unit) decimal.Decimal { return value(t, text).Exact().In(u).Decimal() }
	const cab, loader, truck = "US Army TM 5-3895-359-14&P, p. 5-16", "US Army TM 5-4210-233-14&P-1, p. 5-267", "US Army TM 5-4210-220-34, 2-21.2"
	compare := func(check, source, want string, ours decimal.Decimal, atLeast int) checktest.Row {
		return checktest.Compare(check, source, checktest.Seen, want, ours, atLeast)
	}
	return []checktest.Row{
		compare("5 lbf on a cage of 6 in, lbf.in", cab, "15", pull("5 lbf", "6 in"), checktest.All),
		compare("7.5 lbf on a cage of 6.62 in, lbf.in", loader, "24.8", pull("7.5 lbf", "6.62 in"), checktest.All),
		checktest.Compare("7.75 lbf on that cage, lbf.in (the manual has that pull in its product and prints 24.8, a fault)", "7.75 times 3.31", checktest.Computed,
			"25.6525", pull("7.75 lbf", "6.62 in"), checktest.All),
		compare("10 lbf.in in N.m", truck, "1.1", in("10 lbf.in", quantity.NewtonMetre), checktest.All),
		compare("20 lbf.in in N.m", truck, "2.3", in("20 lbf.in", quantity.NewtonMetre), checktest.All),
		compare("spacer of 0.638 in, mm", truck, "16.2", in("0.638 in", quantity.MM), checktest.All),
		compare("spacer of 0.496 in, mm", truck, "12.6", in("0.496 in", quantity.MM), checktest.All),
		compare("backlash of 0.005 in, mm", "US Army TM 9-2320-289-34, p. 6-22", "0.13", in("0.005 in", quantity.MM), checktest.All),
		compare("backlash of 0.008 in, mm", "US Army TM 9-2320-289-34, p. 6-22", "0.20", in("0.008 in", quantity.MM), checktest.All),
		compare("backlash of 0.15 mm, in", "US Army TM 10-3930-653-14&P, p. 4-181", "0.00591", in("0.15 mm", quantity.Inch), checktest.All),
		compare("backlash of 0.25 mm, in", "US Army TM 10-3930-653-14&P, p. 4-181", "0.00984", in("0.25 mm", quantity.Inch), checktest.All),
	}
}
