package port

import (
	"errors"
	"fmt"
	"maps"
	"slices"
	"time"

	"shimwright/devices"
)

// Config is one port: of one gauge, or of the several of a multiplexer.
type Config struct {
	// Gauge is the name that samples carry; empty where Channels is given.
	Gauge string
	// Channels gives the gauges of a multiplexer: channel, as the gauge writes
	// it, to the gauge's name. The profile must have a channel part.
	Channels map[string]string
	Find     Find
	// Profile gives the line settings, the lines to raise, the settling time
	// and how to ask.
	Profile devices.Profile
	// Decoder was made from the profile. Run alone uses it.
	Decoder devices.Decoder
	// Now is the clock, with its monotonic part: time.Now.
	Now func() time.Time
	// Asks, which may be nil, is when to ask and whom; the profile says how.
	// What cannot be asked is dropped with an event, never kept.
	Asks <-chan Ask
	// Waits is how long to wait before trying to open again; the zero Waits
	// stands for DefaultWaits.
	Waits Waits
	// Quiet is how long an open port may say nothing before that is said; 0 is
	// for ever. A gauge that only speaks when pressed is quiet for hours.
	Quiet time.Duration
}

// Waits bounds the wait before trying to open a port again: it begins at First,
// doubles with each try up to Last, and begins anew once a port has been read.
type Waits struct{ First, Last time.Duration }

// DefaultWaits is 10 ms, doubling up to 5 s. Common practice, no source.
func DefaultWaits() Waits { return Waits{First: 10 * time.Millisecond, Last: 5 * time.Second} }

func (w Waits) check() error {
	const least, most = time.Millisecond, 10 * time.Minute
	if w.First < least || w.Last < w.First || w.Last > most {
		return fmt.Errorf("the waits before opening again, %s to %s, cannot be kept: give 1 ms or more, the last not shorter than the first and at most 10 minutes", w.First, w.Last)
	}
	return nil
}

func (c Config) check() error {
	switch {
	case c.Gauge == "" && len(c.Channels) == 0:
		return errors.New("the gauge has no name: give it one")
	case c.Decoder == nil || c.Now == nil:
		return fmt.Errorf("gauge %s has no decoder or no clock: the program must give both", c.names()[0])
	}
	if err := c.checkChannels(); err != nil {
		return err
	}
	name := c.names()[0]
	if err := c.Find.Check(); err != nil {
		return fmt.Errorf("gauge %s: %w", name, err)
	}
	if err := c.Waits.check(); err != nil {
		return fmt.Errorf("gauge %s: %w", name, err)
	}
	if c.Quiet < 0 {
		return fmt.Errorf("gauge %s: a port cannot be quiet for %s: give how long it may say nothing, or 0 for ever", name, c.Quiet)
	}
	if err := c.Profile.Validate(); err != nil {
		return fmt.Errorf("gauge %s: %w", name, err)
	}
	return nil
}

func (c Config) checkChannels() error {
	if len(c.Channels) == 0 {
		return nil
	}
	if c.Gauge != "" {
		return fmt.Errorf("gauge %s has a port of its own and channels too: name the gauges of a multiplexer by their channels alone", c.Gauge)
	}
	part, ok := c.Profile.Channel()
	if !ok {
		return fmt.Errorf("gauges %q share a port and their profile has no channel: add the channel part, or give each its own port", c.names())
	}
	seen := map[string]bool{}
	for _, channel := range slices.Sorted(maps.Keys(c.Channels)) {
		name := c.Channels[channel]
		if name == "" {
			return fmt.Errorf("channel %s has a gauge without a name: give it one", devices.Quote([]byte(channel)))
		}
		if err := part.Check(channel); err != nil {
			return fmt.Errorf("gauge %s: %w", name, err)
		}
		if seen[name] {
			return fmt.Errorf("gauge %s is on two channels of one port: give each its own name", name)
		}
		seen[name] = true
	}
	return nil
}

// names is the gauges of the port in the order of their channels.
func (c Config) names() []string {
	if len(c.Channels) == 0 {
		return []string{c.Gauge}
	}
	var out []string
	for _, channel := range slices.Sorted(maps.Keys(c.Channels)) {
		out = append(out, c.Channels[channel])
	}
	return out
}

// gaugeOf is the gauge that a frame is of; false for none.
func (c Config) gaugeOf(f devices.Frame) (string, bool) {
	if len(c.Channels) == 0 {
		return c.Gauge, true
	}
	name, ok := c.Channels[f.Channel]
	return name, ok
}
