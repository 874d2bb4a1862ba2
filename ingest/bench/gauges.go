package bench

import (
	"context"
	"fmt"
	"reflect"
	"slices"
	"strings"

	"shimwright/devices"
	"shimwright/devices/kinds"
	"shimwright/devices/port"
	"shimwright/ingest/fact"
	"shimwright/ingest/guard"
)

// gaugeSubject is whom the facts of a gauge are about.
func gaugeSubject(id string) string { return "gauge/" + id }

// maxLooks is how many looks of one gauge are kept: the oldest goes.
const maxLooks = 8

// Taught is what a journal says of a gauge: the port that a press on it taught,
// and how its output looks.
type Taught struct {
	Bound *fact.Bound // nil where it was never taught
	Looks []fact.Looked
}

// then is what is known after one more fact. Teaching begins anew.
func (t Taught) then(f fact.Fact) Taught {
	switch f := f.(type) {
	case fact.Bound:
		return Taught{Bound: &f}
	case fact.Looked:
		same := func(l fact.Looked) bool {
			return l.Unit == f.Unit && l.Stated == f.Stated && l.Places == f.Places
		}
		t.Looks = append(slices.DeleteFunc(slices.Clone(t.Looks), same), f)
		t.Looks = t.Looks[max(0, len(t.Looks)-maxLooks):]
	}
	return t
}

// On is the gauge on the port that was taught, or as it was.
func (t Taught) On(g Gauge) Gauge {
	if t.Bound != nil {
		g.Find = port.Find{Path: t.Bound.Path, USBSerial: t.Bound.USBSerial}
		g.Channel = t.Bound.Channel
	}
	return g
}

// taughtGauges reads what the journal says of the gauges and puts them on their
// ports.
func (b *Bench) taughtGauges(ctx context.Context) error {
	var err error
	if b.taught, err = loadAndKeepGauges(ctx, b.journal); err != nil {
		return err
	}
	b.cfg.Gauges = slices.Clone(b.cfg.Gauges)
	for i, g := range b.cfg.Gauges {
		b.cfg.Gauges[i] = b.taught[g.ID].On(g)
	}
	_, err = b.ports()
	return err
}

// ports groups the gauges by port: one reader serves all that share one.
func (b *Bench) ports() ([]port.Config, error) {
	var order []port.Find
	on := map[port.Find][]Gauge{}
	for _, g := range b.cfg.Gauges {
		if len(on[g.Find]) == 0 {
			order = append(order, g.Find)
		}
		on[g.Find] = append(on[g.Find], g)
	}
	var out []port.Config
	for _, find := range order {
		cfg, err := b.onePort(on[find])
		if err != nil {
			return nil, err
		}
		out = append(out, cfg)
	}
	return out, nil
}

// portRun is a port as it is run.
type portRun struct {
	cfg  port.Config
	open port.Opener
}

// runs readies every port before the first one runs.
func (b *Bench) runs() ([]portRun, error) {
	configs, err := b.ports()
	if err != nil {
		return nil, err
	}
	b.questions = map[string]chan<- port.Ask{}
	var out []portRun
	for _, cfg := range configs {
		cfg.Asks = b.questionsTo(cfg)
		r := portRun{cfg, b.cfg.Ports}
		if b.cfg.Through != nil {
			if r.cfg, r.open, err = b.cfg.Through(r.cfg, r.open); err != nil {
				return nil, err
			}
		}
		out = append(out, r)
	}
	return out, nil
}

// onePort is the port of one gauge, or of those of a multiplexer.
func (b *Bench) onePort(gauges []Gauge) (port.Config, error) {
	first := gauges[0]
	dec, err := kinds.Decoder(first.Profile)
	if err != nil {
		return port.Config{}, fmt.Errorf("gauge %s: %w", first.ID, err)
	}
	cfg := port.Config{Find: first.Find, Profile: first.Profile, Decoder: dec, Now: b.cfg.Now, Quiet: b.cfg.Quiet}
	if len(gauges) == 1 && first.Channel == "" {
		cfg.Gauge = first.ID
		return cfg, nil
	}
	cfg.Channels = map[string]string{}
	for i, g := range gauges {
		other, twice := cfg.Channels[g.Channel]
		if g.Channel == "" {
			// There is another gauge, or a channel would not be missed.
			other, twice = gauges[(i+1)%len(gauges)].ID, true
		}
		if twice {
			return port.Config{}, fmt.Errorf("%s and %s are on one port, %s: teach one of them anew (shimwright ports teach), or correct the bench file",
				g.ID, other, Where(g))
		}
		if !reflect.DeepEqual(g.Profile, first.Profile) {
			return port.Config{}, fmt.Errorf("%s and %s are on one port, %s, and have different profiles: one port has one, correct the bench file",
				first.ID, g.ID, Where(Gauge{Find: g.Find}))
		}
		cfg.Channels[g.Channel] = g.ID
	}
	return cfg, nil
}

// Where is a gauge's port in words.
func Where(g Gauge) string {
	on := "the port " + g.Find.Path
	if g.Find.USBSerial != "" {
		on = "the cable with USB serial number " + devices.Quote([]byte(g.Find.USBSerial))
	}
	if g.Channel != "" {
		on += ", channel " + g.Channel
	}
	return on
}

// gauge finds a gauge of the bench.
func (b *Bench) gauge(id string) (Gauge, bool) {
	i := slices.IndexFunc(b.cfg.Gauges, func(g Gauge) bool { return g.ID == id })
	if i < 0 {
		return Gauge{}, false
	}
	return b.cfg.Gauges[i], true
}

// AskGauge asks a gauge for what it shows; without a name the one that the open
// step wants. Its answer comes as a press does.
type AskGauge struct{ Gauge string }

func (c AskGauge) carryOut(_ context.Context, b *Bench) (Reply, error) {
	id := c.Gauge
	if id == "" {
		var err error
		if id, err = b.wanted(); err != nil {
			return Reply{}, err
		}
	}
	g, ok := b.gauge(id)
	state := b.gauges[id]
	switch {
	case !ok:
		return Reply{}, fmt.Errorf("%s is no gauge of this bench", devices.Quote([]byte(id)))
	case g.Profile.Kind != devices.AskedLine:
		return Reply{}, fmt.Errorf("%s cannot be asked: press its button", id)
	case state.State != string(port.StateConnected):
		return Reply{}, fmt.Errorf("%s is %s: %s", id, state.State, state.Words)
	}
	select {
	case b.questions[id] <- port.Ask{Gauge: id}:
	default:
		return Reply{}, fmt.Errorf("%s has not answered yet: wait a moment", id)
	}
	state.Words = "asked"
	return Reply{Words: id + " is asked."}, nil
}

// wanted is the one gauge that the open step wants and that can be asked.
func (b *Bench) wanted() (string, error) {
	if b.job == nil {
		return "", fmt.Errorf("no job is open: say which gauge is asked")
	}
	r, _ := b.openStep()
	if r == nil || r.Step.Gauge == "" {
		return "", fmt.Errorf("no step waits for a gauge: say which gauge is asked")
	}
	var can []string
	for _, g := range b.cfg.Gauges {
		if g.Kind == r.Step.Gauge && g.Profile.Kind == devices.AskedLine {
			can = append(can, g.ID)
		}
	}
	switch len(can) {
	case 0:
		return "", fmt.Errorf("no %s of this bench can be asked: press the gauge's button", r.Step.Gauge)
	case 1:
		return can[0], nil
	}
	return "", fmt.Errorf("%s can be asked: say which one", strings.Join(can, " and "))
}

// knownAnew is the fact that a gauge looks like a press that a person lets
// count; false where it does already.
func (b *Bench) knownAnew(p fact.Pressed, seq int64, reason string) (fact.Looked, bool) {
	looks := b.taught[p.Gauge].Looks
	if p.Value == nil || p.Keyed() || guard.Fits(looks, *p.Value, p.UnitStated) {
		return fact.Looked{}, false
	}
	f := guard.LookOf(*p.Value, p.UnitStated)
	f.Press, f.Reason = seq, reason
	for _, l := range looks {
		if l.Unit != f.Unit || l.Stated != f.Stated || l.Places != f.Places || l.Low == nil || l.High == nil {
			continue
		}
		f.Low, f.High = l.Low, l.High
		if p.Value.Exact().Less(l.Low.Exact()) {
			f.Low = p.Value
		} else {
			f.High = p.Value
		}
	}
	return f, true
}

// questionsTo makes the way to a port for questions to its gauges; nil where
// they cannot be asked. One question a gauge may wait in it.
func (b *Bench) questionsTo(cfg port.Config) <-chan port.Ask {
	if cfg.Profile.Kind != devices.AskedLine {
		return nil
	}
	c := make(chan port.Ask, max(1, len(cfg.Channels)))
	if cfg.Gauge != "" {
		b.questions[cfg.Gauge] = c
	}
	for _, id := range cfg.Channels {
		b.questions[id] = c
	}
	return c
}
