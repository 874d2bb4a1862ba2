package draw

import (
	"fmt"
	"math/big"
	"math/rand/v2"
	"regexp"
	"strings"
	"testing"

	"github.com/shopspring/decimal"

	"shimwright/calc/overhaul"
	"shimwright/calc/quantity"
)

// A pencil reads printed text only: it knows no figure but those on the page.
type pencil struct {
	lines []pencilLine
	sums  int // blocks added up
	bad   []string
}

type pencilLine struct {
	indent int
	sign   string
	value  decimal.Decimal
	own    decimal.Decimal // the figure itself, where it counts other than once
	text   string
}

var (
	sumLine  = regexp.MustCompile(`^( *)([-+/×=]) +(-?\d[\d.]*)(  .*|)$`)
	coefWord = regexp.MustCompile(`^ *[-+]\d+(?:/\d+)? × (-?\d[\d.]*) `)
)

// readSums reads the lines of sums off a page; a nil line parts two sums.
func readSums(page string) (out [][]pencilLine) {
	var at []pencilLine
	for _, line := range strings.Split(page, "\n") {
		m := sumLine.FindStringSubmatch(line)
		if m == nil {
			continue
		}
		l := pencilLine{indent: len(m[1]), sign: m[2], value: decimal.RequireFromString(m[3]), text: m[4]}
		l.own = l.value
		if c := coefWord.FindStringSubmatch(m[4]); c != nil {
			l.own = decimal.RequireFromString(c[1])
		}
		at = append(at, l)
		if l.sign == "=" {
			out = append(out, at)
			at = nil
		}
	}
	return out
}

// add adds up the lines at one indent and everything set in below them.
func (p *pencil) add(i int) (next int, total decimal.Decimal) {
	indent := p.lines[i].indent
	exact := true
	for i < len(p.lines) && p.lines[i].indent >= indent {
		l := p.lines[i]
		i++
		switch l.sign {
		case "+":
			total = total.Add(l.value)
		case "-":
			total = total.Sub(l.value)
		case "/":
			total, exact = total.DivRound(l.value, 30), false
			total = total.RoundBank(quantity.WorkPlaces)
		case "×":
			total, exact = total.Mul(l.value), false
		case "=":
			if !exact && !total.Equal(l.value) {
				total = total.RoundBank(quantity.WorkPlaces)
			}
			p.hold(total, l.value, l.text)
			return i, total
		}
		if i < len(p.lines) && p.lines[i].indent > indent {
			var below decimal.Decimal
			i, below = p.add(i)
			p.hold(below, l.own, l.text)
		}
	}
	return i, total
}

func (p *pencil) hold(got, want decimal.Decimal, text string) {
	p.sums++
	if !got.Equal(want) {
		p.bad = append(p.bad, fmt.Sprintf("the lines add up to %s, and %s is printed:%s", got, want, text))
	}
}

func pencilOver(t *testing.T, page string) int {
	t.Helper()
	n := 0
	for _, lines := range readSums(page) {
		p := pencil{lines: lines}
		if end, _ := p.add(0); end != len(lines) {
			t.Errorf("the sum ends at line %d of %d", end, len(lines))
		}
		n += p.sums
		for _, b := range p.bad {
			t.Error(b)
		}
	}
	return n
}

// Every sum printed of every job adds up, from the text alone.
func TestPencil(t *testing.T) {
	for _, job := range jobs() {
		t.Run(job.name, func(t *testing.T) {
			s := readSheet(t, job.sheet)
			var b strings.Builder
			if err := Results(&b, PageFor(s), worked(t, s, job.readings), Full); err != nil {
				t.Fatal(err)
			}
			if n := pencilOver(t, b.String()); n == 0 {
				t.Error("the pencil found no sum")
			} else {
				t.Logf("%d sums added up", n)
			}
		})
	}
}

// The pencil itself: it must find a slip of one in the last place.
func TestPencilSeesASlip(t *testing.T) {
	lines := readSums("  + 1.00  a\n      + 0.60  b\n      + 0.41  c\n  -------\n  = 1.00  mm\n")
	p := pencil{lines: lines[0]}
	p.add(0)
	if len(p.bad) != 1 {
		t.Errorf("found %q, want one slip", p.bad)
	}
}

// grow makes a random figure: sums, means, nested, with leaves of either sign.
func grow(r *rand.Rand, depth int, name string) *overhaul.Figure {
	if depth == 0 || r.IntN(4) == 0 {
		return growLeaf(r, name)
	}
	f := &overhaul.Figure{Name: name}
	n := 1 + r.IntN(4)
	mean := r.IntN(3) == 0 && n > 1
	if mean {
		f.Rule = fmt.Sprintf("mean of %d", n)
	}
	for i := range n {
		coef := quantity.Whole([]int64{1, -1, 2, -2}[r.IntN(4)])
		if r.IntN(5) == 0 {
			coef = coef.Mul(share(3))
		}
		if mean {
			coef = share(n)
		}
		term := overhaul.Term{Coef: coef, Figure: grow(r, depth-1, fmt.Sprintf("%s.%d", name, i))}
		f.Terms = append(f.Terms, term)
		f.Value = f.Value.Add(term.Figure.Value.Times(coef))
	}
	return f
}

func growLeaf(r *rand.Rand, name string) *overhaul.Figure {
	units := []struct {
		unit   quantity.Unit
		places int32
	}{{quantity.MM, 3}, {quantity.MM, 2}, {quantity.Inch, 4}, {quantity.Hundredth, 0}, {quantity.Thou, 1}}
	u := units[r.IntN(len(units))]
	v, err := quantity.Parse(decimal.New(r.Int64N(200000)-20000, -u.places).StringFixed(u.places), u.unit)
	if err != nil {
		panic(err)
	}
	return &overhaul.Figure{Name: name, Value: v.Exact(), Leaf: &overhaul.Leaf{Key: "leaf:" + name, Written: v, Source: "drawn at random"}}
}

// Any figure at all, on a page in mm or in inches, prints sums that add up and
// lines that keep to the page.
func TestPencilAnyFigure(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 14))
	sums := 0
	for range 1000 {
		f := grow(r, 1+r.IntN(4), "x")
		for _, p := range []Page{{Unit: quantity.MM, Places: 3}, {Unit: quantity.Inch, Places: 4}} {
			var b strings.Builder
			if err := Sum(&b, p, f); err != nil {
				t.Fatal(err)
			}
			sums += pencilOver(t, b.String())
			if t.Failed() {
				t.Fatalf("the page was:\n%s", b.String())
			}
		}
		holdTogether(t, f)
	}
	t.Logf("%d sums added up", sums)
}

var part = regexp.MustCompile(`([-+]) (?:(\d+(?:/\d+)?) × )?(\((?:-?\d[\d.]*(?: \+ )?)+\)|\d[\d.]*) `)

// holdTogether reads the paragraph of leaves with their coefficients, on a page
// in mm where each leaf is a finite decimal, and holds it to the figure exactly.
func holdTogether(t *testing.T, f *overhaul.Figure) {
	t.Helper()
	var b strings.Builder
	if err := Sum(&b, Page{Unit: quantity.MM, Places: 3}, f); err != nil {
		t.Fatal(err)
	}
	_, say, ok := strings.Cut(b.String(), "All together: ")
	if !ok {
		return
	}
	total := new(big.Rat)
	for _, m := range part.FindAllStringSubmatch(strings.Join(strings.Fields(say), " ")+" ", -1) {
		add := new(big.Rat)
		for _, one := range strings.Split(strings.Trim(m[3], "()"), " + ") {
			x, ok := new(big.Rat).SetString(one)
			if !ok {
				t.Fatalf("%q is no figure", one)
			}
			add.Add(add, x)
		}
		if m[2] != "" {
			k, _ := new(big.Rat).SetString(m[2])
			add.Mul(add, k)
		}
		if m[1] == "-" {
			add.Neg(add)
		}
		total.Add(total, add)
	}
	num, den, over := strings.Cut(f.Value.String(), "/")
	want, _ := new(big.Rat).SetString(num)
	if over {
		d, _ := new(big.Rat).SetString(den)
		want.Quo(want, d)
	}
	if total.Cmp(want) != 0 {
		t.Fatalf("all together comes to %s, want %s:\n%s", total.RatString(), want.RatString(), b.String())
	}
}

// A torque from pulls whose mean has no end adds up too.
func TestPencilTorque(t *testing.T) {
	pull := &overhaul.Figure{Name: "reading", Rule: "mean of 3 presses"}
	for i, digits := range []string{"38.0", "38.1", "38.0"} {
		v, err := quantity.Parse(digits, quantity.Newton)
		if err != nil {
			t.Fatal(err)
		}
		leaf := &overhaul.Figure{Name: "reading", Value: v.Exact(), Leaf: &overhaul.Leaf{Key: fmt.Sprint("press:", i), Written: v, Source: "pressed"}}
		pull.Terms = append(pull.Terms, overhaul.Term{Coef: share(3), Figure: leaf})
		pull.Value = pull.Value.Add(v.Exact().Times(share(3)))
	}
	arm := quantity.MustExact("0.0772")
	f := &overhaul.Figure{Name: "turning torque", Value: pull.Value.Mul(arm), By: &arm, Rule: "pull × arm",
		Terms: []overhaul.Term{{Coef: quantity.Whole(1), Figure: pull}}}
	var b strings.Builder
	if err := Sum(&b, Page{Unit: quantity.MM, Places: 3}, f); err != nil {
		t.Fatal(err)
	}
	if n := pencilOver(t, b.String()); n != 1 || !strings.Contains(b.String(), "N.m") {
		t.Errorf("%d sums in:\n%s", n, b.String())
	}
}

// What a build record prints of a job adds up from its text alone, too: each
// figure once, with those it rests on above it or below.
func TestPencilOverARecord(t *testing.T) {
	for _, job := range jobs() {
		t.Run(job.name, func(t *testing.T) {
			s := readSheet(t, job.sheet)
			res := worked(t, s, job.readings)
			var b strings.Builder
			if err := Pencil(&b, PageFor(s), res); err != nil {
				t.Fatal(err)
			}
			pencilOver(t, b.String())
			for _, x := range res.Steps {
				if x.Figure != nil && x.Step.Measure != nil && strings.Count(b.String(), x.Step.Name) == 0 {
					t.Errorf("%s is not worked", x.Step.Name)
				}
			}
		})
	}
}
