package record

import (
	"fmt"
	"strings"

	"shimwright/ingest/carried"
	"shimwright/ingest/fact"
)

// raw holds each press to the bytes that the gauge sent: they are read again by
// the form that the job was told of its gauge. Where it was told none, as in jobs
// before forms were kept, the figure's digits must be in the bytes, in order,
// where these are text.
func (v *Verification) raw(c carried.Job, facts []fact.Fact) {
	known := map[string]fact.Form{}
	again, shown, unread := 0, 0, 0
	for i, f := range facts {
		if k, ok := f.(fact.GaugeKnown); ok && k.Form != nil {
			known[k.Gauge] = *k.Form
		}
		p, ok := f.(fact.Pressed)
		if !ok || len(p.Raw) == 0 {
			continue
		}
		seq := c.Facts[i].Seq
		form, told := known[p.Gauge]
		faults := v.found
		text := false
		switch {
		case told:
			v.reread(seq, p, form)
		case p.Value != nil:
			text = v.digits(seq, p)
		default:
			continue
		}
		switch {
		case v.found > faults:
		case told:
			again++
		case text:
			shown++
		default:
			unread++
		}
	}
	if again > 0 {
		v.Proved = append(v.Proved, fmt.Sprintf("the raw bytes of %s, read again by the form of its gauge that the job carries, give what is recorded", count(again, "press", "presses")))
	}
	if shown > 0 {
		v.Proved = append(v.Proved, fmt.Sprintf("of %s whose gauge's form the job does not carry the raw bytes show the digits recorded", count(shown, "press", "presses")))
	}
	if unread > 0 {
		v.Proved = append(v.Proved, fmt.Sprintf("the raw bytes of %s are no text that shows it and the job carries no form to read them by: they were held to nothing", count(unread, "press", "presses")))
	}
}

// unsettled is the cause of a press that came while its port settled: its bytes may
// well be a reading, of which the beginning was lost.
const unsettled fact.Cause = "began before the port had settled"

func (v *Verification) reread(seq int64, p fact.Pressed, form fact.Form) {
	got, err := carried.Reread(form, p.Raw)
	if err != nil {
		v.differs("fact %d: the form of gauge %s that the job carries cannot be read by: %s", seq, p.Gauge, err)
		return
	}
	switch {
	case p.Value == nil && got.Bad == "" && p.Why() != unsettled:
		v.differs("fact %d: the press is recorded as no number, and the bytes %s say %s", seq, p.Bytes(), got.Value)
		return
	case p.Value == nil:
		return
	case got.Bad != "":
		v.differs("fact %d: the press is recorded as %s, and the bytes %s say no number: %s", seq, p.Value, p.Bytes(), got.Bad)
		return
	}
	if was := p.Value.String(); was != got.Value {
		v.differs("fact %d: the press is recorded as %s, and the bytes %s say %s", seq, was, p.Bytes(), got.Value)
	}
	if p.UnitStated != got.Stated {
		v.differs("fact %d: that the gauge stated the unit is recorded as %t, and the bytes %s say %t", seq, p.UnitStated, p.Bytes(), got.Stated)
	}
	if p.Battery != got.Battery {
		v.differs("fact %d: a low battery is recorded as %t, and the bytes %s say %t", seq, p.Battery, p.Bytes(), got.Battery)
	}
	if form.Channel != "" && form.Channel != got.Channel {
		v.differs("fact %d: gauge %s is on channel %s, and the bytes %s are of channel %s", seq, p.Gauge, form.Channel, p.Bytes(), got.Channel)
	}
}

// digits tells whether bytes that are text show a press's digits; bytes that are
// text and do not are told as a difference.
func (v *Verification) digits(seq int64, p fact.Pressed) bool {
	digits, isText := digitsOf(string(p.Raw))
	want, _ := digitsOf(p.Value.Digits())
	want = strings.TrimLeft(want, "0")
	switch {
	case !isText || digits == "":
		return false
	case !strings.Contains(digits, want):
		v.differs("fact %d: the press is recorded as %s, and the gauge sent %s", seq, p.Value, p.Bytes())
	}
	return true
}

// digitsOf are the decimal digits of a text; false where it is none.
func digitsOf(s string) (string, bool) {
	var b strings.Builder
	for i := range len(s) {
		switch c := s[i]; {
		case c >= '0' && c <= '9':
			b.WriteByte(c)
		case c >= 0x80:
			return "", false
		}
	}
	return b.String(), true
}
