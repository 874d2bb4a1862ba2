package carried

import (
	"fmt"
	"time"

	"shimwright/devices"
	"shimwright/devices/kinds"
	"shimwright/ingest/fact"
)

// A Reading is what the raw bytes of one press say when they are read again.
type Reading struct {
	Value   string // as sent, with its unit; "" where there is no number
	Stated  bool   // the gauge said the unit
	Battery bool   // it said that its battery is low
	Channel string // as sent, where its line has one
	Bad     string // why it is no reading; "" where it is one
}

// Reread reads the raw bytes of one press by the form of its gauge, with the same
// decoder that read them first, and no port. An error is of a form that cannot be
// read by.
func Reread(form fact.Form, raw []byte) (Reading, error) {
	p, err := form.Profile()
	if err != nil {
		return Reading{}, err
	}
	d, err := kinds.Decoder(p)
	if err != nil {
		return Reading{}, err
	}
	var out Reading
	frames := 0
	emit := func(f devices.Frame, bad error) {
		if frames++; frames > 1 {
			return
		}
		out.Channel = f.Channel
		if bad != nil {
			out.Bad = bad.Error()
			return
		}
		out.Value, out.Stated, out.Battery = f.Value.String(), f.UnitStated, f.Battery
	}
	at := time.Unix(0, 0)
	d.Push(at, raw, emit)
	d.Tick(at.Add(max(p.HalfLine, p.Gap)+time.Second), emit)
	switch {
	case frames == 0:
		return Reading{Bad: "they are no frame of this gauge"}, nil
	case frames > 1:
		return Reading{Bad: fmt.Sprintf("they are %d frames of this gauge, and a press is one", frames)}, nil
	}
	return out, nil
}
