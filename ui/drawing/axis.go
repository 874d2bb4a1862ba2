package drawing

import (
	"cmp"
	"fmt"
	"slices"

	"shimwright/calc/network"
	"shimwright/calc/sheet"
	"shimwright/ui/draw"
)

// A piece of an axis: a length or a touch between two of its faces, by index.
type between struct {
	name     string
	kind     kind
	from, to int
}

// A kind is what a length is, and so how it is drawn.
type kind uint8

const (
	found kind = iota
	pack
	wanted
	check
	unmeasured
	touch
)

// kinds are what the key under an axis says, in its order.
func kinds() []struct {
	kind
	say string
} {
	return []struct {
		kind
		say string
	}{
		{found, "measured or marked"}, {pack, "pack: shims or a spacer"}, {wanted, "wanted: what a pack must make true"},
		{check, "check: measured, and known another way"}, {unmeasured, "not measured"}, {touch, "touch: two faces that meet"},
	}
}

// betweens are the lengths and touches of an axis, from its beginning.
func betweens(s *sheet.Sheet, faces []string) []between {
	var out []between
	add := func(name string, k kind, from, to string) {
		i, j := slices.Index(faces, from), slices.Index(faces, to)
		if i >= 0 && j >= 0 {
			out = append(out, between{name, k, min(i, j), max(i, j)})
		}
	}
	for _, l := range s.Net.Lengths() {
		add(l.Name, kindOf(s, l), l.From, l.To)
	}
	for _, sh := range s.Shafts {
		for _, b := range sh.Bearings {
			add(b.Name+" bearing", touch, b.From, b.To)
		}
	}
	slices.SortStableFunc(out, func(a, b between) int { return cmp.Or(cmp.Compare(a.from, b.from), cmp.Compare(b.to, a.to)) })
	return out
}

func kindOf(s *sheet.Sheet, l network.Length) kind {
	switch {
	case l.Kind == network.Pack:
		return pack
	case l.Kind == network.Wanted:
		return wanted
	case l.Kind == network.Check:
		return check
	case s.Giver(l.Name, false) == nil:
		return unmeasured
	}
	return found
}

// Layout of an axis.
const (
	leanDegrees = 50.0
	leanX       = 0.643 // cosine and sine of it
	leanY       = 0.766
	rowHigh     = 8.6
	keyHigh     = 12.0
	farApart    = 42.0 // of two faces, at most
)

// axis draws an axis, on as many pages as its lengths take.
func (b *builder) axis(a network.Axis) {
	longest := 0.0
	for _, f := range a.Faces {
		longest = max(longest, b.r.wide(draw.Visible(f), sizeText, false))
	}
	rest := betweens(b.s, a.Faces)
	for first := true; first || len(rest) > 0; first = false {
		top := b.begin(a.Name+" axis", "Faces stand in the order of the drawing, outward, and not to scale.") + longest*leanY + 3
		fit := max(1, int((pageHigh-margin-keyHigh-top)/rowHigh))
		n := min(fit, len(rest))
		b.rows(a, rest[:n], top, longest)
		rest = rest[n:]
	}
}

// rows draws the faces and some of the lengths under them.
func (b *builder) rows(a network.Axis, some []between, top, longest float64) {
	left, right := margin+4, pageWide-margin-longest*leanX-2
	step := min((right-left)/float64(max(1, len(a.Faces)-1)), farApart)
	x := func(i int) float64 { return left + float64(i)*step }
	bottom := top + float64(len(some))*rowHigh + 2
	for i, f := range a.Faces {
		b.p.line(x(i), top, x(i), bottom, 0.18, whole, 0.55)
		b.p.turned(x(i)+1, top-1.2, draw.Visible(f), sizeText, leanDegrees)
	}
	used := map[kind]bool{}
	for i, l := range some {
		used[l.kind] = true
		b.length(l, x(l.from), x(l.to), top+float64(i)*rowHigh+6.4)
	}
	b.key(used)
}

// length draws one length with its name over it, on white so that no face runs
// through the name.
func (b *builder) length(l between, x1, x2, y float64) {
	b.sample(l.kind, x1, x2, y)
	name := draw.Visible(l.name)
	bold := l.kind == pack
	wide := b.r.wide(name, sizeText, bold)
	x := (x1 + x2 - wide) / 2
	if wide > x2-x1-2 {
		x = x1 + 1
	}
	x = max(margin, min(x, pageWide-margin-wide))
	b.p.bar(x-0.8, y-4.6, x+wide+0.8, y-1.4, 1)
	b.p.words(x, y-1.9, name, sizeText, bold, start)
}

// sample draws what a kind of length looks like.
func (b *builder) sample(k kind, x1, x2, y float64) {
	switch k {
	case pack:
		b.p.bar(x1, y-0.9, x2, y+0.9, 0)
	case touch:
		b.p.line(x1, y, x2, y, 0.3, dotted, 0)
		m, r := (x1+x2)/2, 1.1
		b.p.shape(0, [2]float64{m - r, y}, [2]float64{m, y - r}, [2]float64{m + r, y}, [2]float64{m, y + r})
	case unmeasured:
		b.p.line(x1, y, x2, y, 0.3, whole, 0.5)
		b.p.line(x1, y-1, x1, y+1, 0.3, whole, 0.5)
		b.p.line(x2, y-1, x2, y+1, 0.3, whole, 0.5)
	default:
		b.p.line(x1, y, x2, y, 0.35, map[kind]dash{wanted: dashed, check: dotted}[k], 0)
		b.p.head(x1, y, -1, 0, 2.2)
		b.p.head(x2, y, 1, 0, 2.2)
	}
}

// key says what the kinds of length on the page are.
func (b *builder) key(used map[kind]bool) {
	x, y := margin, pageHigh-margin
	for _, k := range kinds() {
		if !used[k.kind] {
			continue
		}
		b.sample(k.kind, x, x+9, y-1.1)
		b.p.words(x+10.5, y, k.say, sizeSmall, false, start)
		x += 10.5 + b.r.wide(k.say, sizeSmall, false) + 5
	}
}

// A builder lays a sheet out on pages.
type builder struct {
	s     *sheet.Sheet
	r     ruler
	p     *page
	pages []*page
}

// pagesOf are all pages of a sheet's drawing.
func pagesOf(s *sheet.Sheet) []*page {
	b := &builder{s: s, r: newRuler()}
	for _, a := range s.Net.Axes() {
		b.axis(a)
	}
	b.setups()
	b.packs()
	b.rest()
	for i, p := range b.pages {
		p.words(pageWide-margin, margin+4, fmt.Sprintf("%d of %d", i+1, len(b.pages)), sizeSmall, false, end)
	}
	return b.pages
}

// begin begins a page and gives where what comes under its head may stand.
func (b *builder) begin(title, note string) float64 {
	b.p = &page{}
	b.pages = append(b.pages, b.p)
	b.p.words(margin, margin+4, draw.Visible(title), sizeTitle, true, start)
	s := b.s
	about := b.r.wrap(fmt.Sprintf("%s. Sheet %s, issue %d; limits from %s. %s", draw.Visible(s.Title), draw.Visible(s.ID), s.Issue, draw.Visible(s.Manual), note), sizeSmall, pageWide-2*margin)
	y := margin + 9.5
	for _, l := range about {
		b.p.words(margin, y, l, sizeSmall, false, start)
		y += 3.6
	}
	b.p.line(margin, y-1.4, pageWide-margin, y-1.4, 0.2, whole, 0)
	return y + 2
}
