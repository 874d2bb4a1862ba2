package stat_test

import (
	"testing"

	"github.com/shopspring/decimal"
	gonum "gonum.org/v1/gonum/stat"

	"shimwright/calc/stat"
)

// BenchmarkMeanAndSD works the mean and the standard deviation of 1,001 readings
// of eight digits. The floor is gonum's float64 on readings that are floats
// already; the peer makes them floats first, as it must where readings are
// decimals.
func BenchmarkMeanAndSD(b *testing.B) {
	x := readUnivariate(b, "NumAcc4.dat")
	timed(b, "ours", func() {
		s, err := stat.Summarise(x)
		if err != nil {
			b.Fatal(err)
		}
		if _, err := s.SD(); err != nil {
			b.Fatal(err)
		}
	})
	y := floats(x)
	timed(b, "floor=gonum", func() { gonum.MeanStdDev(y, nil) })
	timed(b, "peer=gonum-from-decimals", func() { gonum.MeanStdDev(floats(x), nil) })
}

// BenchmarkOneWay works an analysis of variance of 9 treatments of 21 readings;
// the peer is the textbook's two passes with gonum's means, from decimals too.
func BenchmarkOneWay(b *testing.B) {
	groups := readGroups(b, "SmLs07.dat")
	timed(b, "ours", func() {
		if _, err := stat.OneWay(groups); err != nil {
			b.Fatal(err)
		}
	})
	timed(b, "peer=gonum-from-decimals", func() { floatOneWay(groups) })
}

func timed(b *testing.B, name string, do func()) {
	b.Run(name, func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			do()
		}
	})
}

func BenchmarkStudy(b *testing.B) {
	rows, settings := readTrials(b, "aiag.csv"), stat.DefaultStudySettings()
	b.ReportAllocs()
	for b.Loop() {
		if _, err := stat.CrossedStudy(rows, settings); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkConstants(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		if _, err := stat.ConstantsFor(5); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkMeanAndRange(b *testing.B) {
	groups := readSubgroups(b, "piston_rings_25x5.csv")
	b.ReportAllocs()
	for b.Loop() {
		if _, err := stat.MeanAndRange(groups); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkCapability(b *testing.B) {
	x := flatten(readSubgroups(b, "piston_rings_25x5.csv"))
	band := stat.Within(decimal.RequireFromString("73.95"), decimal.RequireFromString("74.05"))
	b.ReportAllocs()
	for b.Loop() {
		if _, err := stat.CapabilityOf(x, band, 0.95); err != nil {
			b.Fatal(err)
		}
	}
}
