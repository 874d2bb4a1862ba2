package stat_test

import (
	"testing"

	"github.com/shopspring/decimal"
	gonum "gonum.org/v1/gonum/stat"

	"shimwright/calc/stat"
)

// The exact way against float64 on the same 1001 readings.
func BenchmarkMeanAndSD(b *testing.B) {
	x := readUnivariate(b, "NumAcc4.dat")
	b.Run("exact", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			s, err := stat.Summarise(x)
			if err != nil {
				b.Fatal(err)
			}
			if _, err := s.SD(); err != nil {
				b.Fatal(err)
			}
		}
	})
	b.Run("gonum", func(b *testing.B) {
		y := floats(x)
		b.ReportAllocs()
		for b.Loop() {
			gonum.MeanStdDev(y, nil)
		}
	})
	b.Run("gonum with conversion", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			gonum.MeanStdDev(floats(x), nil)
		}
	})
}

func BenchmarkOneWay(b *testing.B) {
	groups := readGroups(b, "SmLs07.dat")
	b.Run("exact", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			if _, err := stat.OneWay(groups); err != nil {
				b.Fatal(err)
			}
		}
	})
	b.Run("float64 with conversion", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			floatOneWay(groups)
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
