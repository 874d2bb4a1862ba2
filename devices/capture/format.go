package capture

import (
	"bytes"
	"encoding/json"
	"fmt"
	"time"

	"shimwright/devices"
	"shimwright/devices/port"
)

// Version is the version of the format.
const Version = 1

// A Head says what was recorded.
type Head struct {
	// Began is when the recording began.
	Began time.Time
	// Gauge is the gauge's name, or Channels those of a multiplexer by channel.
	Gauge    string
	Channels map[string]string
	// Port is how the bench finds the port: a path or a USB serial number.
	Port string
	// Profile is the name of the profile that reads the gauge.
	Profile string
	Line    devices.Line
}

// HeadOf is the head of a recording of a configured port. Its profile's name
// is known to the bench alone.
func HeadOf(c port.Config, profile string) Head {
	where := c.Find.Path
	if where == "" {
		where = c.Find.USBSerial
	}
	return Head{Gauge: c.Gauge, Channels: c.Channels, Port: where, Profile: profile, Line: c.Profile.Line}
}

// What is the sort of an item, as the file writes it.
type What string

// The items; the package's comment tells what each means.
const (
	Open   What = "open"
	Read   What = "read"
	Quiet  What = "quiet"
	Sent   What = "sent"
	Lost   What = "lost"
	Closed What = "closed"
	None   What = "none"
	Full   What = "full"
)

// An Item is one thing that happened.
type Item struct {
	// At is when, since the head's Began, in whole microseconds.
	At   time.Duration
	What What
	// Bytes is set for Read and Sent.
	Bytes []byte
	// Until is when the line was last found quiet; set for Quiet.
	Until time.Duration
	// Path and Source are set for Open.
	Path   string
	Source devices.Source
	// Words is set for Lost and None.
	Words string
}

// A Capture is a whole recording.
type Capture struct {
	Head
	Items []Item
}

// headLine and itemLine are the lines of the file.
type headLine struct {
	Capture  int               `json:"capture"`
	Began    time.Time         `json:"began"`
	Gauge    string            `json:"gauge,omitempty"`
	Channels map[string]string `json:"channels,omitempty"`
	Port     string            `json:"port"`
	Profile  string            `json:"profile"`
	Line     string            `json:"line"`
}

type itemLine struct {
	US     *int64  `json:"us"`
	What   What    `json:"what"`
	Until  *int64  `json:"until,omitempty"`
	Text   *string `json:"text,omitempty"`
	Base64 *[]byte `json:"base64,omitempty"`
	Path   string  `json:"path,omitempty"`
	Source string  `json:"source,omitempty"`
	Words  string  `json:"words,omitempty"`
}

func (h Head) line() ([]byte, error) {
	return line(headLine{Version, h.Began.Round(0).UTC(), h.Gauge, h.Channels, h.Port, h.Profile, h.Line.String()})
}

func (i Item) line() ([]byte, error) {
	us := i.At.Microseconds()
	l := itemLine{US: &us, What: i.What, Path: i.Path, Words: i.Words}
	switch i.What {
	case Quiet:
		until := i.Until.Microseconds()
		l.Until = &until
	case Open:
		l.Source = i.Source.String()
	case Read, Sent:
		if text := string(i.Bytes); legible(i.Bytes) {
			l.Text = &text
		} else {
			l.Base64 = &i.Bytes
		}
	}
	return line(l)
}

// legible tells bytes that JSON writes so that a person can read them and none
// of them reaches a terminal as a control byte.
func legible(b []byte) bool {
	for _, c := range b {
		if c > '~' {
			return false
		}
	}
	return true
}

func line(v any) ([]byte, error) {
	var b bytes.Buffer
	e := json.NewEncoder(&b) // ends with a line feed
	e.SetEscapeHTML(false)
	if err := e.Encode(v); err != nil {
		return nil, fmt.Errorf("write a line of a capture: %w", err)
	}
	return b.Bytes(), nil
}

// Bytes is the capture as a file has it.
func (c Capture) Bytes() ([]byte, error) {
	out, err := c.Head.line()
	if err != nil {
		return nil, err
	}
	for _, i := range c.Items {
		l, err := i.line()
		if err != nil {
			return nil, err
		}
		out = append(out, l...)
	}
	return out, nil
}
