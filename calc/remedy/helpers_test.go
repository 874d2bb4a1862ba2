package remedy

import (
	"strings"
	"testing"

	"github.com/shopspring/decimal"

	"shimwright/calc/network"
	"shimwright/calc/quantity"
	"shimwright/calc/ring"
	"shimwright/calc/stock"
)

func ex(s string) quantity.Exact { return quantity.MustExact(s) }

func exp(s string) *quantity.Exact { x := ex(s); return &x }

func ratio(a, b int64) quantity.Ratio {
	r, err := quantity.RatioOf(a, b)
	if err != nil {
		panic(err)
	}
	return r
}

func row(float, gear int64) network.Row {
	return network.Row{Float: quantity.Whole(float), Gear: quantity.Whole(gear)}
}

// mm is so many leaves of one size, labelled as written.
func mm(size string, count int) stock.Leaf {
	return stock.Leaf{Size: ex(size), Label: size, Count: count}
}

func tray(t testing.TB, leaves ...stock.Leaf) stock.Tray {
	t.Helper()
	out, err := stock.NewTray(leaves...)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// ringOf is points equally spaced, in order, one reading each.
func ringOf(t testing.TB, band ring.Band, u, spread string, values ...string) ring.Result {
	t.Helper()
	in := ring.Input{Band: band, U: ex(u)}
	if spread != "" {
		in.SpreadLimit = exp(spread)
	}
	for i, v := range values {
		angle := quantity.FromDecimal(decimal.New(int64(360*i/len(values)), 0))
		in.Points = append(in.Points, ring.Point{Angle: angle, Repeats: []quantity.Exact{ex(v)}})
	}
	r, err := ring.Judge(in)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func band(low, high string) ring.Band { return ring.Band{Low: ex(low), High: ex(high)} }

// steps05 is a stock in steps of 0.05.
func steps05(t testing.TB) stock.Tray {
	return tray(t, mm("0.05", 10), mm("0.10", 10), mm("0.15", 10), mm("0.25", 10), mm("0.50", 10), mm("1.00", 10))
}

const (
	backTrack  = "under the track at the wheel-back side"
	toothTrack = "under the track at the tooth side"
)

// storyFive is the ring that has two answers, with like places (story 5 of the
// job, all figures invented).
func storyFive(t testing.TB) Reshim {
	b := band("0.15", "0.25")
	wheelBack := Pack{Name: "wheel-back pack", Place: backTrack, Row: row(-1, -1), Figure: ex("1.43"), Tray: steps05(t), TrayName: "wheel-back shims",
		Leaves: []stock.Leaf{mm("1.00", 1), mm("0.25", 1), mm("0.18", 1)}}
	tooth := Pack{Name: "closing pack", Place: toothTrack, Row: row(-1, 0), Figure: ex("1.85"), Tray: steps05(t), TrayName: "tooth-side shims",
		Leaves: []stock.Leaf{mm("1.00", 1), mm("0.50", 1), mm("0.25", 1), mm("0.10", 1)}}
	return Reshim{
		Ring: ringOf(t, b, "0.01", "0.08", "0.34", "0.33", "0.35", "0.34"), Band: b, U: ex("0.01"), Gear: "wheel",
		Factor: Factor{ex("0.80"), "from the sheet"}, Packs: []Pack{wheelBack, tooth}, Show: Display{Places: 2},
	}
}

func advise(t testing.TB, in Reshim) Advice {
	t.Helper()
	a, err := Advise(in)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

func is(t testing.TB, name string, got quantity.Exact, want string) {
	t.Helper()
	if !got.Equal(ex(want)) {
		t.Errorf("%s: %s, want %s", name, got, want)
	}
}

func says(t testing.TB, text string, parts ...string) {
	t.Helper()
	for _, p := range parts {
		if !strings.Contains(text, p) {
			t.Errorf("%q does not say %q", text, p)
		}
	}
}
