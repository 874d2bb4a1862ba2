//go:build unix

package virtual

import (
	"bytes"
	"context"
	"fmt"
	"maps"
	"slices"
	"time"

	"shimwright/calc/quantity"
	"shimwright/devices"
)

// Show sets what the gauge shows now: what it answers when asked, and what a
// pedal sends. Channel is empty for a gauge that is no multiplexer.
func (g *Gauge) Show(channel string, v quantity.Value) error {
	g.mu.Lock()
	defer g.mu.Unlock()
	if _, err := g.encodeOn(channel, v); err != nil {
		return err
	}
	g.shows[channel] = &v
	return nil
}

// Absent says that a channel of a multiplexer has no gauge: it answers with a
// plausible figure behind another code.
func (g *Gauge) Absent(channel string) error {
	g.mu.Lock()
	defer g.mu.Unlock()
	if _, err := g.absent(channel); err != nil {
		return err
	}
	g.shows[channel] = nil
	return nil
}

// PressOn presses the button of a gauge on a channel of a multiplexer.
func (g *Gauge) PressOn(channel string, v quantity.Value) error {
	g.mu.Lock()
	defer g.mu.Unlock()
	line, err := g.encodeOn(channel, v)
	if err != nil {
		return err
	}
	return g.send(line)
}

// Pedal sends every channel that was shown or said to be absent, in the order of
// their names: what one step on a scan-all pedal does.
func (g *Gauge) Pedal() error {
	g.mu.Lock()
	defer g.mu.Unlock()
	lines, err := g.all()
	if err != nil {
		return err
	}
	return g.send(lines)
}

// all is a line of every channel.
func (g *Gauge) all() ([]byte, error) {
	if len(g.shows) == 0 {
		return nil, fmt.Errorf("virtual gauge %s shows nothing: say what it shows first", g.link)
	}
	var out []byte
	for _, channel := range slices.Sorted(maps.Keys(g.shows)) {
		line, err := g.absent(channel)
		if v := g.shows[channel]; v != nil {
			line, err = g.encodeOn(channel, *v)
		}
		if err != nil {
			return nil, err
		}
		out = append(out, line...)
	}
	return out, nil
}

func (g *Gauge) encodeOn(channel string, v quantity.Value) ([]byte, error) {
	if channel == "" {
		return g.encode(v)
	}
	enc, err := g.channels()
	if err != nil {
		return nil, err
	}
	return enc.EncodeChannel(channel, v, g.battery)
}

func (g *Gauge) absent(channel string) ([]byte, error) {
	enc, err := g.channels()
	if err != nil {
		return nil, err
	}
	return enc.EncodeAbsent(channel)
}

func (g *Gauge) channels() (devices.ChannelEncoder, error) {
	enc, ok := g.enc.(devices.ChannelEncoder)
	if _, has := g.profile.Channel(); !ok || !has {
		return nil, fmt.Errorf("virtual gauge %s has no channels: its profile is of one gauge", g.link)
	}
	return enc, nil
}

// Answer answers each prompt with what the gauge shows, through unplugging and
// plugging in, until ctx is done or the gauge is closed. While the gauge is
// silent, or shows nothing, a prompt has no answer.
func (g *Gauge) Answer(ctx context.Context) error {
	prompt := []byte(g.profile.Ask.Prompt)
	if len(prompt) == 0 {
		return fmt.Errorf("virtual gauge %s answers no prompt: its profile has none", g.link)
	}
	for ctx.Err() == nil {
		g.mu.Lock()
		line, closed, changed := g.line, g.closed, g.changed
		g.mu.Unlock()
		if closed {
			return nil
		}
		if line != nil {
			if err := g.converse(ctx, line, prompt); err != nil {
				return err
			}
			if ctx.Err() != nil {
				break
			}
		}
		select { // unplugged: until it is plugged in again
		case <-changed:
		case <-ctx.Done():
		}
	}
	return nil
}

// converse answers on one pseudo-terminal until it is unplugged.
func (g *Gauge) converse(ctx context.Context, line *pair, prompt []byte) error {
	// A deadline may be left from hearing before; only ctx ends a read here.
	if err := line.gauge.SetReadDeadline(time.Time{}); err != nil {
		return nil // unplugged meanwhile
	}
	stop := context.AfterFunc(ctx, func() { _ = line.gauge.SetReadDeadline(time.Unix(1, 0)) })
	defer stop()
	var heard []byte
	buf := make([]byte, 256)
	for {
		n, err := line.gauge.Read(buf)
		heard = append(heard, buf[:n]...)
		for {
			_, rest, found := bytes.Cut(heard, prompt)
			if !found {
				break
			}
			heard = rest
			if err := g.reply(); err != nil {
				return err
			}
		}
		heard = heard[max(0, len(heard)-len(prompt)):] // no more can begin a prompt
		if err != nil {
			return nil // unplugged, or ctx is done
		}
	}
}

func (g *Gauge) reply() error {
	g.mu.Lock()
	defer g.mu.Unlock()
	if g.line == nil || len(g.shows) == 0 {
		return nil
	}
	lines, err := g.all()
	if err != nil {
		return err
	}
	return g.send(lines)
}
