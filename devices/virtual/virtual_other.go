//go:build !unix

package virtual

import (
	"context"
	"errors"
	"time"

	"shimwright/calc/quantity"
	"shimwright/devices"
)

func needsUnix() error { return errors.New("the virtual bench needs a Unix") }

// Gauge cannot be made on this system.
type Gauge struct{}

// New always fails on this system.
func New(devices.Profile, string) (*Gauge, error) { return nil, needsUnix() }

// Path is empty.
func (g *Gauge) Path() string { return "" }

// Press fails.
func (g *Gauge) Press(quantity.Value) error { return needsUnix() }

// SetBattery does nothing.
func (g *Gauge) SetBattery(bool) {}

// UnitKey fails.
func (g *Gauge) UnitKey() error { return needsUnix() }

// PressBadly fails.
func (g *Gauge) PressBadly(quantity.Value, Mishap) error { return needsUnix() }

// Flood fails.
func (g *Gauge) Flood(quantity.Value, int) error { return needsUnix() }

// SetSilent does nothing.
func (g *Gauge) SetSilent(bool) {}

// Show fails.
func (g *Gauge) Show(string, quantity.Value) error { return needsUnix() }

// Absent fails.
func (g *Gauge) Absent(string) error { return needsUnix() }

// PressOn fails.
func (g *Gauge) PressOn(string, quantity.Value) error { return needsUnix() }

// Pedal fails.
func (g *Gauge) Pedal() error { return needsUnix() }

// Answer fails.
func (g *Gauge) Answer(context.Context) error { return needsUnix() }

// SendRaw fails.
func (g *Gauge) SendRaw([]byte) error { return needsUnix() }

// Heard fails.
func (g *Gauge) Heard(time.Duration) ([]byte, error) { return nil, needsUnix() }

// Drained fails.
func (g *Gauge) Drained(context.Context) error { return needsUnix() }

// Unplug fails.
func (g *Gauge) Unplug() error { return needsUnix() }

// Replug fails.
func (g *Gauge) Replug() error { return needsUnix() }

// Close does nothing.
func (g *Gauge) Close() error { return nil }
