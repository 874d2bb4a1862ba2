package budget_test

import (
	"fmt"

	"shimwright/calc/budget"
	"shimwright/calc/quantity"
)

// A height over a post and a straightedge, one reading.
func ExampleWork() {
	b, err := budget.Work([]budget.Source{
		{Name: "D07", Kind: budget.LimitOfError, Size: ex("0.02"), Coef: whole(-1), Gauge: "D07"},
		{Name: "press 12", Kind: budget.Resolution, Size: ex("0.01"), Coef: whole(-1), Gauge: "D07"},
		{Name: "press 12", Kind: budget.Repeats, Size: ex("0.005"), N: 3, Coef: whole(-1), Gauge: "D07"},
		{Name: "S-31", Kind: budget.CertifiedPiece, Size: ex("0.002"), K: ex("2"), Coef: whole(1)},
		{Name: "E-02", Kind: budget.CertifiedPiece, Size: ex("0.002"), K: ex("2"), Coef: whole(1), Through: true},
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, l := range b.Lines {
		fmt.Printf("%-9s %-15s %2s × %s, %s %%\n", l.Name, l.Kind, l.Coef.Signed(),
			l.Standard.Show(quantity.MM, 4), l.Share.Times(quantity.Whole(100)).Round(1).StringFixed(1))
	}
	fmt.Println("U", b.Expanded.ShowUnit(quantity.MM, 3), "with k = 2;", b.Student.ShowUnit(quantity.MM, 3), "with t", b.T.Show(quantity.Bare, 3))
	// Output:
	// D07       limit of error  -1 × 0.0115, 87.7 %
	// press 12  resolution      -1 × 0.0029, 5.5 %
	// press 12  repeats         -1 × 0.0029, 5.5 %
	// E-02      certified piece +1 × 0.0010, 0.7 %
	// S-31      certified piece +1 × 0.0010, 0.7 %
	// U 0.025 mm with k = 2; 0.025 mm with t 2.004
}
