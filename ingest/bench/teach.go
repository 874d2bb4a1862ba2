package bench

import (
	"context"
	"fmt"
	"maps"
	"reflect"
	"slices"
	"strings"
	"sync"
	"time"

	"shimwright/calc/quantity"
	"shimwright/devices"
	"shimwright/devices/kinds"
	"shimwright/devices/port"
	"shimwright/ingest/fact"
	"shimwright/ingest/guard"
	"shimwright/ingest/journal"
)

// A Candidate is a port that a gauge may be on.
type Candidate struct {
	Find port.Find
	Name string // what to call it: where it is now
	// Taken is the channels of the port that other gauges hold.
	Taken map[string]string
	// Holder is the gauge that has the port so far, where the two are to change
	// places; else empty.
	Holder string
}

// Candidates are the ports that a gauge may be taught on: those listed, and the
// one it is on now, without those that other gauges hold. Each is named so that
// it is found again: by the USB serial number of its cable where that is its
// own, else by its socket. Passed over is what can be named by neither.
//
// Swap, which may be empty, names a gauge whose port is offered too: the two may
// have changed cables.
//
// A gauge with a channel may share a port with others of its profile that have
// theirs.
func Candidates(gauge Gauge, others []Gauge, swap string, listed []port.Listed, resolve func(string) (string, error)) (out []Candidate, passedOver []string) {
	serials := map[string]int{}
	for _, l := range listed {
		serials[l.USBSerial]++
	}
	listedNow := map[string]bool{}
	for _, l := range listed {
		listedNow[l.Name] = true
		find := port.Find{Path: l.Socket}
		if l.USBSerial != "" && serials[l.USBSerial] == 1 {
			find = port.Find{USBSerial: l.USBSerial}
		}
		if find == (port.Find{}) {
			passedOver = append(passedOver, l.Name+" has neither a serial number of its own nor a socket's name")
			continue
		}
		c := Candidate{Find: find, Name: l.Name, Taken: map[string]string{}}
		switch holder := c.heldBy(gauge, others, func(f port.Find) bool { return onListed(f, l, resolve) }); {
		case holder != "" && holder == swap:
			c.Holder = swap
		case holder != "":
			passedOver = append(passedOver, l.Name+" is "+holder+"'s")
			continue
		}
		out = append(out, c)
	}
	return append(out, unlisted(gauge, others, swap, out, listedNow, resolve)...), passedOver
}

// unlisted are the gauge's own port, and that of the one it may have changed
// with, where they are not among those listed: virtual ones, and cables not
// plugged in yet.
func unlisted(gauge Gauge, others []Gauge, swap string, have []Candidate, listedNow map[string]bool, resolve func(string) (string, error)) []Candidate {
	var out []Candidate
	for _, g := range append([]Gauge{gauge}, others...) {
		if g.ID != gauge.ID && g.ID != swap || g.Find == (port.Find{}) {
			continue
		}
		now, err := resolve(g.Find.Path)
		known := slices.ContainsFunc(slices.Concat(have, out), func(c Candidate) bool { return c.Find == g.Find })
		if known || err == nil && listedNow[now] {
			continue
		}
		c := Candidate{Find: g.Find, Name: Where(Gauge{Find: g.Find}), Taken: map[string]string{}}
		switch holder := c.heldBy(gauge, others, func(f port.Find) bool { return f == g.Find }); {
		case holder != "" && holder == swap:
			c.Holder = swap
		case holder != "":
			continue
		}
		out = append(out, c)
	}
	return out
}

// onListed tells whether a gauge's port is one that is listed.
func onListed(f port.Find, l port.Listed, resolve func(string) (string, error)) bool {
	if f.USBSerial != "" {
		return f.USBSerial == l.USBSerial
	}
	now, err := resolve(f.Path)
	return f.Path == l.Socket || err == nil && now == l.Name
}

// heldBy names another gauge that has the port for itself; "" where none has.
// Channels that others have are noted.
func (c Candidate) heldBy(gauge Gauge, others []Gauge, on func(port.Find) bool) string {
	_, several := gauge.Profile.Channel()
	for _, o := range others {
		switch {
		case o.ID == gauge.ID || !on(o.Find):
		case !several || o.Channel == "" || !reflect.DeepEqual(o.Profile, gauge.Profile):
			return o.ID
		default:
			c.Taken[o.Channel] = o.ID
		}
	}
	return ""
}

// A Lesson teaches which port carries a gauge: by presses on it.
type Lesson struct {
	Gauge Gauge
	On    []Candidate
	Open  port.Opener
	Now   func() time.Time
	// Presses is how many to wait for. One tells the port and the look; more,
	// made at both ends of the gauge's travel, tell its range too.
	Presses int
	// Told, which may be nil, hears what happens meanwhile.
	Told func(string)
}

// heard is an event of one candidate.
type heard struct {
	on    int
	event port.Event
}

// Learnt is what the presses taught.
type Learnt struct {
	On    Candidate
	Facts []fact.Fact // about the gauge
}

// Learn waits for the presses, until ctx is done.
func (l Lesson) Learn(ctx context.Context) (Learnt, error) {
	if len(l.On) == 0 {
		return Learnt{}, fmt.Errorf("there is no port that %s could be on: plug its cable in; ports that other gauges hold are left alone", l.Gauge.ID)
	}
	ctx, stop := context.WithCancel(ctx)
	events, failed := make(chan heard), make(chan error, len(l.On))
	var running sync.WaitGroup
	defer running.Wait()
	defer stop()
	for i, c := range l.On {
		dec, err := kinds.Decoder(l.Gauge.Profile)
		if err != nil {
			return Learnt{}, fmt.Errorf("gauge %s: %w", l.Gauge.ID, err)
		}
		cfg := port.Config{Gauge: l.Gauge.ID, Find: c.Find, Profile: l.Gauge.Profile, Decoder: dec, Now: l.Now}
		running.Go(func() {
			failed <- port.Run(ctx, cfg, l.Open, func(e port.Event) {
				select {
				case events <- heard{i, e}:
				case <-ctx.Done():
				}
			})
		})
	}
	return l.listen(ctx, events, failed)
}

func (l Lesson) listen(ctx context.Context, events <-chan heard, failed <-chan error) (Learnt, error) {
	var got []devices.Sample
	from := -1
	for {
		select {
		case <-ctx.Done():
			return Learnt{}, fmt.Errorf("%d of %d presses came from %s: %w", len(got), l.Presses, l.Gauge.ID, context.Cause(ctx))
		case err := <-failed:
			if err != nil {
				return Learnt{}, err
			}
		case h := <-events:
			if !l.counts(h, from, got) {
				continue
			}
			from = h.on
			got = append(got, h.event.Sample)
			l.tell("%s: %s (%d of %d).", l.On[from].Name, h.event.Sample.Value, len(got), l.Presses)
			if len(got) >= l.Presses {
				return Learnt{l.On[from], l.facts(l.On[from], got)}, nil
			}
		}
	}
}

// counts tells whether an event is one of the presses waited for, and says what
// it is where that helps.
func (l Lesson) counts(h heard, from int, got []devices.Sample) bool {
	c, e := l.On[h.on], h.event
	switch {
	case e.What == port.Refused || e.What == port.BadFrame:
		l.tell("%s: %s.", c.Name, strings.TrimSuffix(e.Err.Error(), "."))
	case e.What != port.Sample:
	case c.Taken[e.Sample.Channel] != "":
		l.tell("That was %s, on channel %s: press %s.", c.Taken[e.Sample.Channel], e.Sample.Channel, l.Gauge.ID)
	case from >= 0 && (h.on != from || e.Sample.Channel != got[0].Channel):
		l.tell("That press came from elsewhere, %s: press the same gauge again.", c.Name)
	default:
		return true
	}
	return false
}

func (l Lesson) tell(format string, args ...any) {
	if l.Told != nil {
		l.Told(fmt.Sprintf(format, args...))
	}
}

// facts are what the presses teach: the port, and each look with its range.
func (l Lesson) facts(on Candidate, got []devices.Sample) []fact.Fact {
	first := got[0]
	out := []fact.Fact{fact.Bound{USBSerial: on.Find.USBSerial, Path: on.Find.Path, Channel: first.Channel,
		Raw: first.Raw, Arrived: first.At.UTC(), Source: first.Source}}
	looks := map[string]fact.Looked{}
	for _, s := range got {
		f := guard.LookOf(s.Value, s.UnitStated)
		key := fmt.Sprint(f.Unit, f.Stated, f.Places)
		if was, ok := looks[key]; ok {
			f = was
		}
		f.Low, f.High = lesser(f.Low, s.Value), greater(f.High, s.Value)
		looks[key] = f
	}
	for _, key := range slices.Sorted(maps.Keys(looks)) {
		f := looks[key]
		if f.Low.Exact().Equal(f.High.Exact()) {
			f.Low, f.High = nil, nil // one figure is no range
		}
		out = append(out, f)
	}
	return out
}

func lesser(was *quantity.Value, v quantity.Value) *quantity.Value {
	if was != nil && !v.Exact().Less(was.Exact()) {
		return was
	}
	return &v
}

func greater(was *quantity.Value, v quantity.Value) *quantity.Value {
	if was != nil && !was.Exact().Less(v.Exact()) {
		return was
	}
	return &v
}

// Teach records what was learnt of a gauge, in one transaction. A gauge that had
// the port so far gets the one that the other was on, and keeps its looks.
func Teach(ctx context.Context, j *journal.Journal, gauge Gauge, l Learnt) error {
	facts := of(gaugeSubject(gauge.ID), l.Facts...)
	if l.On.Holder != "" {
		known, err := LoadGauges(ctx, j.Reader)
		if err != nil {
			return err
		}
		more, err := swapped(gauge, l)
		if err != nil {
			return err
		}
		for _, look := range known[l.On.Holder].Looks {
			more = append(more, look)
		}
		facts = append(facts, of(gaugeSubject(l.On.Holder), more...)...)
	}
	var records []journal.Record
	for _, f := range facts {
		r, err := fact.Encode(f.subject, f.fact)
		if err != nil {
			return err
		}
		records = append(records, r)
	}
	if _, err := j.Append(ctx, records...); err != nil {
		return fmt.Errorf("not recorded: %w", err)
	}
	return nil
}

// swapped is that the holder is where the gauge was.
func swapped(gauge Gauge, l Learnt) ([]fact.Fact, error) {
	taught, ok := l.Facts[0].(fact.Bound)
	if !ok || gauge.Find == (port.Find{}) {
		return nil, fmt.Errorf("%s has no port that %s could get: teach %s alone", gauge.ID, l.On.Holder, gauge.ID)
	}
	return []fact.Fact{fact.Bound{USBSerial: gauge.Find.USBSerial, Path: gauge.Find.Path, Channel: gauge.Channel,
		Arrived: taught.Arrived, Source: taught.Source}}, nil
}

// LastPresses is the last press of each gauge that a journal has, those that
// were set aside included.
func LastPresses(ctx context.Context, r *journal.Reader) (map[string]fact.Pressed, error) {
	out := map[string]fact.Pressed{}
	err := r.Read(ctx, "", 0, func(s journal.Stored) error {
		if s.Kind != (fact.Pressed{}).Kind() {
			return nil
		}
		f, err := fact.Decode(s)
		if p, ok := f.(fact.Pressed); ok {
			out[p.Gauge] = p
		}
		return err
	})
	return out, err
}
