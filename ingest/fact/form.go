package fact

import (
	"fmt"
	"time"

	"shimwright/calc/quantity"
	"shimwright/devices"
)

// A Form is how a gauge's bytes are read, as a job keeps it: enough to read the
// raw bytes of its presses again by themselves, years later. How the port was set
// and when the gauge was asked is not in it.
type Form struct {
	Kind      string        `json:"kind"` // devices.Kind
	Packing   string        `json:"packing,omitempty"`
	Parts     []FormPart    `json:"parts,omitempty"`
	End       string        `json:"end"`
	Length    int           `json:"length,omitempty"` // bytes
	Gap       time.Duration `json:"gap,omitempty"`    // ns
	Assume    string        `json:"assume,omitempty"` // the unit where the gauge states none
	NoNumber  []string      `json:"no number,omitempty"`
	Overrange int           `json:"overrange,omitempty"`
	Longest   int           `json:"longest"`   // bytes
	HalfLine  time.Duration `json:"half line"` // ns
	// Channel is the one the gauge is on, where its port carries several.
	Channel string `json:"channel,omitempty"`
}

// A FormPart is one part of a text line. Part says which, and so which of the
// others mean something.
type FormPart struct {
	Part string `json:"part"` // literal, skip, channel, code, sign, figure, unit or flags
	// Text is a literal's bytes.
	Text []byte `json:"text,omitempty"`
	// Width is how many bytes a skip passes over, how many digits or letters a
	// channel has, how many digits a figure.
	Width   int  `json:"width,omitempty"`
	Letters bool `json:"letters,omitempty"` // of a channel
	// Words are codes, units or flag letters, each with its meaning.
	Words    map[string]string `json:"words,omitempty"`
	Required bool              `json:"required,omitempty"` // of a sign
	Blank    bool              `json:"blank,omitempty"`    // of a sign
	Comma    bool              `json:"comma,omitempty"`    // of a figure
	Places   *int              `json:"places,omitempty"`   // of a figure
	Padded   bool              `json:"padded,omitempty"`   // of a figure
	Optional bool              `json:"optional,omitempty"` // of a unit
}

// The words in which meanings are kept.
const (
	readingCode = "reading"
	absentCode  = "absent"
	batteryFlag = "battery low"
	noFlag      = "nothing"
)

// FormOf is what a job keeps of a profile.
func FormOf(p devices.Profile, channel string) Form {
	f := Form{Kind: string(p.Kind), Packing: string(p.Packing), End: string(p.End), Length: p.Length, Gap: p.Gap,
		NoNumber: append([]string(nil), p.NoNumber...), Overrange: p.Overrange, Longest: p.Longest, HalfLine: p.HalfLine, Channel: channel}
	if p.Assume != quantity.Bare {
		f.Assume = p.Assume.String()
	}
	for _, part := range p.Parts {
		f.Parts = append(f.Parts, formPart(part))
	}
	return f
}

func formPart(part devices.Part) FormPart {
	switch part := part.(type) {
	case devices.Literal:
		return FormPart{Part: "literal", Text: []byte(part.Text)}
	case devices.Skip:
		return FormPart{Part: "skip", Width: part.Count}
	case devices.Channel:
		return FormPart{Part: "channel", Width: part.Width, Letters: part.Letters}
	case devices.Code:
		f := FormPart{Part: "code", Words: map[string]string{}}
		for w, m := range part.Words {
			f.Words[w] = readingCode
			if m == devices.CodeAbsent {
				f.Words[w] = absentCode
			}
		}
		return f
	case devices.Sign:
		return FormPart{Part: "sign", Required: part.Required, Blank: part.Blank}
	case devices.Figure:
		return FormPart{Part: "figure", Comma: part.Comma, Width: part.Digits, Places: part.Places, Padded: part.Padded}
	case devices.UnitWord:
		f := FormPart{Part: "unit", Words: map[string]string{}, Optional: part.Optional}
		for w, u := range part.Words {
			f.Words[w] = u.String()
		}
		return f
	case devices.Flags:
		f := FormPart{Part: "flags", Words: map[string]string{}}
		for w, m := range part.Letters {
			f.Words[w] = noFlag
			if m == devices.FlagBattery {
				f.Words[w] = batteryFlag
			}
		}
		return f
	}
	return FormPart{Part: fmt.Sprintf("%T", part)} // that nobody reads
}

// Profile is a profile that reads the gauge's bytes as they were read. Its line
// settings are none of the gauge's, and it asks nothing: an answer is a line like
// any other. An error is of a form that this program cannot read.
func (f Form) Profile() (devices.Profile, error) {
	p := devices.Defaults()
	p.Kind = devices.Kind(f.Kind)
	if p.Kind == devices.AskedLine {
		p.Kind = devices.TextLine
	}
	p.Packing, p.End, p.Length, p.Gap = devices.Packing(f.Packing), devices.End(f.End), f.Length, f.Gap
	p.NoNumber, p.Overrange, p.Longest, p.HalfLine = f.NoNumber, f.Overrange, f.Longest, f.HalfLine
	var err error
	if f.Assume != "" {
		if p.Assume, err = quantity.ParseUnit(f.Assume); err != nil {
			return p, err
		}
	}
	for i, part := range f.Parts {
		got, err := part.part()
		if err != nil {
			return p, fmt.Errorf("part %d of the gauge's form: %w", i+1, err)
		}
		p.Parts = append(p.Parts, got)
	}
	return p, p.Validate()
}

func (f FormPart) part() (devices.Part, error) {
	switch f.Part {
	case "literal":
		return devices.Literal{Text: string(f.Text)}, nil
	case "skip":
		return devices.Skip{Count: f.Width}, nil
	case "channel":
		return devices.Channel{Width: f.Width, Letters: f.Letters}, nil
	case "code":
		words, err := meanings(f.Words, map[string]devices.CodeMeaning{readingCode: devices.CodeReading, absentCode: devices.CodeAbsent})
		return devices.Code{Words: words}, err
	case "sign":
		return devices.Sign{Required: f.Required, Blank: f.Blank}, nil
	case "figure":
		return devices.Figure{Comma: f.Comma, Digits: f.Width, Places: f.Places, Padded: f.Padded}, nil
	case "unit":
		words := map[string]quantity.Unit{}
		for w, u := range f.Words {
			unit, err := quantity.ParseUnit(u)
			if err != nil {
				return nil, err
			}
			words[w] = unit
		}
		return devices.UnitWord{Words: words, Optional: f.Optional}, nil
	case "flags":
		letters, err := meanings(f.Words, map[string]devices.Flag{noFlag: devices.FlagNothing, batteryFlag: devices.FlagBattery})
		return devices.Flags{Letters: letters}, err
	}
	return nil, fmt.Errorf("%s is no part of a line that is known here", devices.Quote([]byte(f.Part)))
}

func meanings[M any](words map[string]string, known map[string]M) (map[string]M, error) {
	out := map[string]M{}
	for w, m := range words {
		got, ok := known[m]
		if !ok {
			return nil, fmt.Errorf("%s has a meaning that is not known here, %s", devices.Quote([]byte(w)), devices.Quote([]byte(m)))
		}
		out[w] = got
	}
	return out, nil
}
