package fitter

import (
	"strings"
	"unicode"

	"shimwright/calc/overhaul"
	"shimwright/calc/quantity"
	"shimwright/calc/sheet"
	"shimwright/ingest/bench"
)

// lengthUnit is the unit that lengths are shown in and how many decimals they
// have: the sheet's, or the one that was chosen on key u.
func (v *view) lengthUnit() (quantity.Unit, int32) {
	s := v.snap.Job.Sheet
	switch v.unit {
	case s.Unit, quantity.Bare:
		return s.Unit, s.Places
	case quantity.Inch:
		return quantity.Inch, 4
	case quantity.Thou:
		return quantity.Thou, 1
	}
	return quantity.MM, 3
}

// take makes a bench's snapshot the one that is shown, its results said in the
// unit of the screen. Results that were said in it already are not worked again.
func (v *view) take(s *bench.Snapshot) {
	was, same := v.snap, s != nil && s.Results != nil && s.Results == v.recorded && v.saidIn == v.unit
	v.snap, v.recorded, v.saidIn = s, nil, v.unit
	if s == nil || s.Job == nil || s.Results == nil || v.unit == quantity.Bare || v.unit == s.Job.Sheet.Unit {
		return
	}
	shown := *s
	if same {
		shown.Results = was.Results
	} else {
		res, err := s.Job.WorkShownIn(v.lengthUnit())
		if err != nil {
			return // each figure stands with its unit
		}
		shown.Results = res
	}
	if s.Step != nil {
		shown.Step = shown.Results.Of(s.Step.Step.Name)
	}
	v.snap, v.recorded = &shown, s.Results
}

// sheetShown is the job's sheet, to say marks in the unit of the screen.
func (v *view) sheetShown() *sheet.Sheet { return v.snap.Results.Sheet }

// nextUnit is the unit after the one shown, in the order mm, in, thou.
func (v *view) nextUnit() quantity.Unit {
	switch u, _ := v.lengthUnit(); u {
	case quantity.MM:
		return quantity.Inch
	case quantity.Inch:
		return quantity.Thou
	}
	return quantity.MM
}

func unitWords(u quantity.Unit) string {
	if u == quantity.Inch {
		return "inches"
	}
	return u.String()
}

// figure shows a figure in the unit of the screen, or in newtons or newton
// metres.
func (v *view) figure(f *overhaul.Figure) string {
	u, places := v.unitOf(f)
	return f.Value.ShowUnit(u, places)
}

func (v *view) length(x quantity.Exact) string { return x.ShowUnit(v.lengthUnit()) }

// asSent is a figure as its gauge sent it, or where another unit was chosen
// what that is in it.
func (v *view) asSent(x quantity.Value) string {
	if x.Unit().Dimension() != quantity.Length || v.unit == quantity.Bare || v.unit == x.Unit() {
		return x.Digits()
	}
	return x.Exact().Show(v.lengthUnit())
}

// inUnit is a figure with its unit, converted as asSent does.
func (v *view) inUnit(x quantity.Value) string {
	digits := v.asSent(x)
	if digits == x.Digits() {
		return x.String()
	}
	u, _ := v.lengthUnit()
	return digits + " " + u.String()
}

// unitOf is told by the first leaf that was written with a unit; a pull times
// an arm is a torque.
func (v *view) unitOf(f *overhaul.Figure) (quantity.Unit, int32) {
	s := v.snap.Job.Sheet
	if f.By != nil {
		return s.ShownIn(quantity.Torque)
	}
	for _, l := range f.Leaves() {
		if u := l.Figure.Leaf.Written.Unit(); u != quantity.Bare {
			return v.unitFor(u.Dimension())
		}
	}
	return v.lengthUnit()
}

func (v *view) unitFor(d quantity.Dimension) (quantity.Unit, int32) {
	if d == quantity.Length {
		return v.lengthUnit()
	}
	return v.snap.Job.Sheet.ShownIn(d)
}

func (v *view) bandUnit(r *overhaul.Result) (quantity.Unit, int32) {
	u, places := v.snap.Job.Sheet.CheckShownIn(r.Step.Check)
	if u.Dimension() == quantity.Length && v.unit != quantity.Bare {
		return v.lengthUnit()
	}
	return u, places
}

// withCommas writes decimal commas in a text, word by word, in what is a figure
// and not in a name or in quoted bytes.
func withCommas(s string) string {
	if !strings.Contains(s, ".") {
		return s
	}
	var b strings.Builder
	quoted, start := false, true // start: a figure may begin here
	for i := 0; i < len(s); {
		c := s[i]
		if c == '"' {
			quoted = !quoted
		}
		if n := figureAt(s[i:]); start && !quoted && n > 0 {
			b.WriteString(strings.Replace(s[i:i+n], ".", ",", 1))
			i += n
			start = false
			continue
		}
		b.WriteByte(c)
		if c != '+' && c != '-' { // a sign belongs to what comes before it or behind
			start = strings.IndexByte(" (<>=[", c) >= 0 || c >= 0x80
		}
		i++
	}
	return b.String()
}

// figureAt is how long the decimal figure is that a text begins with; nought
// where there is none, or where it goes on like a name or a version.
func figureAt(s string) int {
	n := digitsAt(s)
	if n == 0 || n+1 >= len(s) || s[n] != '.' {
		return 0
	}
	more := digitsAt(s[n+1:])
	end := n + 1 + more
	if more == 0 || end < len(s) && (unicode.IsLetter(rune(s[end])) || s[end] == '.' && end+1 < len(s) && s[end+1] >= '0' && s[end+1] <= '9') {
		return 0
	}
	return end
}

func digitsAt(s string) int {
	n := 0
	for n < len(s) && s[n] >= '0' && s[n] <= '9' {
		n++
	}
	return n
}

// withPoints reads figures that were typed with a decimal comma.
func withPoints(s string) string {
	b := []byte(s)
	for i := 1; i+1 < len(b); i++ {
		if b[i] == ',' && digitsAt(s[i-1:i]) == 1 && digitsAt(s[i+1:i+2]) == 1 {
			b[i] = '.'
		}
	}
	return string(b)
}
