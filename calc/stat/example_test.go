package stat_test

import (
	"fmt"

	"shimwright/calc/stat"
)

func ExampleSummarise() {
	s, err := stat.Summarise(decs("33.38 33.38 33.39"))
	if err != nil {
		fmt.Println(err)
		return
	}
	sd, err := s.SD()
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(s.N, s.Sum, s.Mean, s.Mean.Round(4), sd)
	// Output: 3 100.15 100.15/3 33.3833 0.00577350269189625764509148780502
}

func ExampleCapabilityOf() {
	_, err := stat.CapabilityOf(decs("0.15 0.16 0.14"), stat.Within(dec("0.10"), dec("0.20")), 0.95)
	fmt.Println(err)
	// Output: readings: found 3; wanted at least 25 before a capability is given
}
