package benchfile

import (
	"fmt"

	"shimwright/calc/document"
	"shimwright/calc/quantity"
	"shimwright/devices"
)

// parts reads the parts of a line; false where one has a fault.
func (r *reader) parts(f *document.Fields, p *devices.Profile, m marks) bool {
	var n document.Node
	if p.Kind == devices.PackedDecimal {
		n = f.Get("parts")
	} else {
		n = f.Need("parts", "the parts of its line in order, as in [sign, figure]")
	}
	m.put(n, "parts")
	if !n.Given() {
		return p.Kind == devices.PackedDecimal
	}
	if !n.IsList() {
		n.Fail("a list is wanted here, as in [sign, figure]")
		return false
	}
	good := true
	for i, item := range n.List(40) {
		m.put(item, "parts", fmt.Sprint(i))
		part := r.part(item)
		if part == nil {
			good = false
			continue
		}
		p.Parts = append(p.Parts, part)
	}
	return good
}

// part reads one part: a word, or a map that begins with its word. It is nil
// where it has a fault.
func (r *reader) part(n document.Node) devices.Part {
	if n.IsText() {
		switch n.OneOf("sign", "figure") {
		case "sign":
			return devices.Sign{}
		case "figure":
			return devices.Figure{}
		}
		return nil
	}
	f := n.Fields()
	first, ok := f.First()
	if !ok {
		n.Fail("this is no part: write sign, figure, or a map that begins with sign, figure, unit, flags, channel, code, literal or skip")
		return nil
	}
	v := f.Get(first.Key)
	defer f.Done()
	switch first.Key {
	case "sign":
		s := v.OneOf("optional", "always", "blank for plus")
		return devices.Sign{Required: s == "always", Blank: s == "blank for plus"}
	case "figure":
		return readFigure(v)
	case "unit":
		return readUnits(v, f)
	case "flags":
		return readFlags(v)
	case "channel":
		return readChannel(v, f)
	case "code":
		return r.code(v)
	case "literal":
		return r.literal(v)
	case "skip":
		return devices.Skip{Count: v.Whole(1, 64)}
	}
	n.Fail("%q is no part: write sign, figure, unit, flags, channel, code, literal or skip", first.Key)
	return nil
}

func (r *reader) literal(n document.Node) devices.Part {
	text := r.bytes(n)
	if text == "" {
		return nil
	}
	return devices.Literal{Text: text}
}

func readChannel(n document.Node, f *document.Fields) devices.Part {
	out := devices.Channel{Width: n.Whole(1, 8)}
	if of := f.Get("of"); of.Given() {
		out.Letters = of.OneOf("digits", "letters") == "letters"
	}
	return out
}

func (r *reader) code(n document.Node) devices.Part {
	out := devices.Code{Words: map[string]devices.CodeMeaning{}}
	for _, w := range n.Fields().All() {
		meaning := devices.CodeReading
		if w.Value.OneOf("reading", "absent") == "absent" {
			meaning = devices.CodeAbsent
		}
		if r.unquoted(w.Value, w.At) {
			out.Words[unescaped(w.Value, w.At, w.Key)] = meaning
		}
	}
	return out
}

func readFlags(n document.Node) devices.Part {
	letters := map[string]devices.Flag{}
	for _, l := range n.Fields().All() {
		letters[l.Key] = map[string]devices.Flag{"battery low": devices.FlagBattery}[l.Value.OneOf("battery low", "nothing")]
	}
	return devices.Flags{Letters: letters}
}

func readFigure(n document.Node) devices.Part {
	f := n.Fields()
	var out devices.Figure
	if m := f.Get("mark"); m.Given() {
		out.Comma = m.OneOf("point", "comma") == "comma"
	}
	if d := f.Get("digits"); d.Given() {
		out.Digits = d.Whole(1, 18)
	}
	if p := f.Get("places"); p.Given() {
		places := p.Whole(0, 9)
		out.Places = &places
	}
	if p := f.Get("padded"); p.Given() {
		out.Padded = p.YesNo()
	}
	f.Done()
	return out
}

func readUnits(n document.Node, f *document.Fields) devices.Part {
	out := devices.UnitWord{Words: map[string]quantity.Unit{}}
	good := true
	for _, w := range n.Fields().All() {
		u, err := quantity.ParseUnit(w.Value.Text())
		if err != nil {
			w.Value.Fail("%s", err)
			good = false
		}
		out.Words[w.Key] = u
	}
	if o := f.Get("optional"); o.Given() {
		out.Optional = o.YesNo()
	}
	if !good {
		return nil
	}
	return out
}
