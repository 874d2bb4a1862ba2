package benchfile

import (
	"shimwright/calc/document"
	"shimwright/calc/sheet"
	"shimwright/devices/port"
	"shimwright/ingest/bench"
)

// onPort is a gauge on a port.
type onPort struct{ gauge, channel, profile string }

func (r *reader) gauge(g document.Field) {
	f := g.Value.Fields()
	out := bench.Gauge{ID: g.Key, Kind: f.Need("kind", "its kind, as in depth gauge").Name()}
	if c := f.Get("counts"); c.Given() {
		out.CountsIn = c.OneOf("out", "in") == "in"
	}
	out.Limit = sheet.ReadLimit(f)
	out.Corrections = sheet.ReadCorrections(f.Get("corrections"))
	p := f.Need("profile", "the name of one of the profiles")
	name := p.Name()
	found, ok := r.profiles[name]
	if !ok && p.Given() {
		p.Fail("%q is none of the profiles of this file", name)
	}
	out.Profile = found.Profile
	at := f.Need("port", "{usb serial: …} or {path: …}")
	out.Find = r.find(at)
	if c := f.Get("channel"); r.sound(name) {
		out.Channel = found.channel(g, c)
	}
	f.Done()
	r.share(at, out, name)
	r.out.Gauges = append(r.out.Gauges, out)
}

func (r *reader) find(n document.Node) port.Find {
	if !n.Given() {
		return port.Find{}
	}
	f := n.Fields()
	var find port.Find
	if p := f.Get("path"); p.Given() {
		find.Path = r.path(p)
	}
	if u := f.Get("usb serial"); u.Given() {
		find.USBSerial = u.Text()
	}
	f.Done()
	if err := find.Check(); err != nil {
		n.Fail("%s", err)
		return port.Find{}
	}
	return find
}

// channel reads a gauge's channel: given where its profile has a channel part,
// and only there.
func (p profile) channel(g document.Field, n document.Node) string {
	part, has := p.Channel()
	switch {
	case has && !n.Given():
		g.Value.FailAt(g.At, "the profile of %s has a channel part: write its channel, as in channel: %s", g.Key, part.Example())
		return ""
	case !n.Given():
		return ""
	case !has:
		n.Fail("the profile of %s has no channel part: take the channel away, or give the profile one", g.Key)
		return ""
	}
	channel := n.Text()
	if err := part.Check(channel); err != nil && channel != "" {
		n.Fail("%s", err)
	}
	return channel
}

// share tells whether a gauge may be on its port beside those there already.
func (r *reader) share(n document.Node, g bench.Gauge, profile string) {
	if g.Find == (port.Find{}) {
		return
	}
	key := g.Find.Path + "\n" + g.Find.USBSerial
	for _, other := range r.ports[key] {
		switch {
		case !r.sound(profile) || !r.sound(other.profile):
		case profile != other.profile:
			n.Fail("this port carries %s already, whose profile is %q: gauges on one port have one profile", other.gauge, other.profile)
		case !r.profiles[profile].channels():
			n.Fail("this port carries %s already: one gauge a port, unless the profile has a channel part", other.gauge)
		case g.Channel != "" && g.Channel == other.channel:
			n.Fail("channel %s of this port is %s's already: write the channel that %s is plugged into", g.Channel, other.gauge, g.ID)
		default:
			continue
		}
		break
	}
	r.ports[key] = append(r.ports[key], onPort{g.ID, g.Channel, profile})
}

// sound tells whether there is such a profile, without a fault.
func (r *reader) sound(profile string) bool {
	p, ok := r.profiles[profile]
	return ok && !p.broken
}
