package document

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/goccy/go-yaml/ast"

	"shimwright/calc/quantity"
)

// maxText is the longest text one scalar may hold, in bytes.
const maxText = 4000

// A Node is one value of a document. The zero Node is a value that is not
// there; reading it gives zero values and no second fault.
type Node struct {
	doc *Document
	n   ast.Node
}

// Given tells whether the node is there.
func (n Node) Given() bool { return n.n != nil }

// Pos is where the node stands.
func (n Node) Pos() Pos { return position(n.n) }

// Fail lays a fault at the node.
func (n Node) Fail(format string, args ...any) {
	if n.doc != nil {
		n.doc.Fail(n.Pos(), format, args...)
	}
}

// scalar is the text of a scalar as written.
func (n Node) scalar(want string) (string, bool) {
	if !n.Given() {
		return "", false
	}
	var s string
	switch v := n.n.(type) {
	case *ast.StringNode:
		s = v.Value
	case *ast.LiteralNode:
		s = v.Value.Value
	case *ast.NullNode:
		n.Fail("nothing is written here: want %s", want)
		return "", false
	case *ast.IntegerNode, *ast.FloatNode, *ast.BoolNode, *ast.InfinityNode, *ast.NanNode:
		s = n.n.GetToken().Value
	default:
		n.Fail("a list or a map stands here: want %s", want)
		return "", false
	}
	return strings.TrimSpace(s), true
}

// Text is a text of at least one character without control characters.
func (n Node) Text() string {
	s, ok := n.scalar("a text")
	if !ok {
		return ""
	}
	switch {
	case s == "":
		n.Fail("an empty text stands here: write it out or take the key away")
	case len(s) > maxText:
		n.Fail("this text has %d bytes: at most %d are read", len(s), maxText)
		return ""
	case strings.ContainsFunc(s, unseen):
		n.Fail("this text holds control characters: take them out")
		return ""
	}
	return s
}

// unseen tells of a character that shows nothing, or turns the line round on a
// screen: two names that differ in one of these look alike.
func unseen(r rune) bool {
	return r != '\n' && (unicode.IsControl(r) || unicode.In(r, unicode.Cf, unicode.Zl, unicode.Zp))
}

// Name is a text of one line and at most 60 characters, for what is referred
// to by name.
func (n Node) Name() string {
	s := n.Text()
	if strings.Contains(s, "\n") || utf8.RuneCountInString(s) > 60 {
		n.Fail("a name is one line of at most 60 characters")
		return ""
	}
	return s
}

// YesNo is yes or no.
func (n Node) YesNo() bool {
	s, ok := n.scalar("yes or no")
	if ok && s != "yes" && s != "no" {
		n.Fail("%q stands here: write yes or no", s)
	}
	return s == "yes"
}

// Whole is a whole number from low to high.
func (n Node) Whole(low, high int) int {
	s, ok := n.scalar("a whole number")
	if !ok {
		return low
	}
	i, err := strconv.Atoi(s)
	if err != nil || i < low || i > high {
		n.Fail("%q stands here: write a whole number from %d to %d", s, low, high)
		return low
	}
	return i
}

// Ratio is a ratio of whole numbers, 1/2, or a decimal of at most 3 places.
func (n Node) Ratio() quantity.Ratio {
	s, ok := n.scalar("a ratio, as in 1/2")
	if !ok {
		return quantity.Ratio{}
	}
	a, b, slashed := strings.Cut(s, "/")
	num, err1 := strconv.ParseInt(strings.TrimSpace(a), 10, 32)
	den, err2 := strconv.ParseInt(strings.TrimSpace(b), 10, 32)
	if slashed && err1 == nil && err2 == nil && den > 0 && den <= 1000 && num <= 1000 && num >= -1000 {
		r, err := quantity.RatioOf(num, den)
		if err == nil {
			return r
		}
	}
	if whole, frac, _ := strings.Cut(s, "."); !slashed && len(whole) <= 3 && len(frac) <= 3 {
		scale := int64(1)
		for range len(frac) {
			scale *= 10
		}
		if num, err := strconv.ParseInt(whole+frac, 10, 32); err == nil {
			r, _ := quantity.RatioOf(num, scale)
			return r
		}
	}
	n.Fail("%q stands here: write a ratio of whole numbers up to 1000, as in 1/2, or a number with at most 3 decimals", s)
	return quantity.Ratio{}
}

// Figure is a figure with its unit, of the dimension wanted.
func (n Node) Figure(dim quantity.Dimension) quantity.Value {
	s, ok := n.scalar("a figure with its unit, as in " + example(dim))
	if !ok {
		return quantity.Value{}
	}
	v, err := n.figure(s, dim)
	if err != nil {
		n.Fail("%s", err)
	}
	return v
}

func (n Node) figure(s string, dim quantity.Dimension) (quantity.Value, error) {
	v, err := quantity.ParseWithUnit(s)
	if err != nil {
		return quantity.Value{}, err
	}
	if v.Unit().Dimension() != dim {
		return quantity.Value{}, fmt.Errorf("%q is a %s: want a %s, as in %s", s, v.Unit().Dimension(), dim, example(dim))
	}
	return v, nil
}

func example(dim quantity.Dimension) string {
	switch dim {
	case quantity.Force:
		return "38.0 N"
	case quantity.Torque:
		return "2.00 N.m"
	case quantity.Angle:
		return "90 deg"
	default:
		return "0.02 mm"
	}
}

// Quantity is a figure with its unit, of any dimension.
func (n Node) Quantity() quantity.Value {
	s, ok := n.scalar("a figure with its unit, as in 0.02 mm or 0.2 N")
	if !ok {
		return quantity.Value{}
	}
	v, err := quantity.ParseWithUnit(s)
	if err != nil {
		n.Fail("%s", err)
	}
	return v
}

// Number is a figure without a unit.
func (n Node) Number() quantity.Value {
	s, ok := n.scalar("a number, as in 0.25")
	if !ok {
		return quantity.Value{}
	}
	v, err := quantity.Parse(s, quantity.Bare)
	if err != nil {
		n.Fail("%s", err)
	}
	return v
}

// Unit is the name of a unit of the dimension wanted.
func (n Node) Unit(dim quantity.Dimension) quantity.Unit {
	s, ok := n.scalar("a unit")
	if !ok {
		return quantity.Bare
	}
	u, err := quantity.ParseUnit(s)
	if err != nil {
		n.Fail("%s", err)
	} else if u.Dimension() != dim {
		n.Fail("%q is a unit of %s: want one of %s", s, u.Dimension(), dim)
	}
	return u
}

// A Band is two limits, the lower first.
type Band struct{ Low, High quantity.Value }

// Band is two figures with two dots between, the lower first.
func (n Node) Band(dim quantity.Dimension) Band {
	want := fmt.Sprintf("two limits, as in %s .. %s", example(dim), example(dim))
	s, ok := n.scalar(want)
	if !ok {
		return Band{}
	}
	a, b, ok := strings.Cut(s, " .. ")
	if !ok {
		n.Fail("%q is no band: write %s", s, want)
		return Band{}
	}
	low, err := n.figure(strings.TrimSpace(a), dim)
	if err != nil {
		n.Fail("lower limit: %s", err)
		return Band{}
	}
	high, err := n.figure(strings.TrimSpace(b), dim)
	if err != nil {
		n.Fail("upper limit: %s", err)
		return Band{}
	}
	if high.Exact().Less(low.Exact()) {
		n.Fail("the band %q is upside down: write the lower limit first", s)
	}
	return Band{low, high}
}

// OneOf is one of the words given.
func (n Node) OneOf(words ...string) string {
	s, ok := n.scalar("one of " + strings.Join(words, ", "))
	if ok && !slices.Contains(words, s) {
		n.Fail("%q stands here: write one of %s", s, strings.Join(words, ", "))
		return ""
	}
	return s
}

// IsText tells whether a scalar stands here rather than a list or map.
func (n Node) IsText() bool {
	switch n.n.(type) {
	case *ast.StringNode, *ast.LiteralNode, *ast.IntegerNode, *ast.FloatNode, *ast.BoolNode:
		return true
	}
	return false
}

// IsList tells whether a list stands here.
func (n Node) IsList() bool { _, ok := n.n.(*ast.SequenceNode); return ok }

// List is the items of a list of at most limit items.
func (n Node) List(limit int) []Node {
	if !n.Given() {
		return nil
	}
	seq, ok := n.n.(*ast.SequenceNode)
	if !ok {
		n.Fail("a list is wanted here, as in [one, two]")
		return nil
	}
	if len(seq.Values) > limit {
		n.Fail("this list has %d items: at most %d are read", len(seq.Values), limit)
		return nil
	}
	out := make([]Node, len(seq.Values))
	for i, v := range seq.Values {
		out[i] = Node{n.doc, v}
	}
	return out
}

// Names is a list of names.
func (n Node) Names(limit int) []string {
	var out []string
	for _, item := range n.List(limit) {
		out = append(out, item.Name())
	}
	return out
}

// FailAt lays a fault at another place of the node's document.
func (n Node) FailAt(at Pos, format string, args ...any) {
	if n.doc != nil {
		n.doc.Fail(at, format, args...)
	}
}
