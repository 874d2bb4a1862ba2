package capture

import (
	"context"
	"flag"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"shimwright/calc/quantity"
	"shimwright/devices"
	"shimwright/devices/kinds"
	"shimwright/devices/port"
)

var update = flag.Bool("update", false, "write the golden files of the captures anew")

const folder = "../../testdata/captures"

// files lists the captures kept for tests.
func files(t testing.TB) []string {
	t.Helper()
	names, err := filepath.Glob(filepath.Join(folder, "*.capture"))
	if err != nil {
		t.Fatal(err)
	}
	return names
}

// asked is the profile name of the bare figure behind a prompt.
const asked = "bare figure, asked"

// profiles are those that the captures kept here name. They are the tests' own,
// so that a capture stays what it was recorded with.
func profiles() map[string]devices.Profile {
	places := 2
	profile := func(end devices.End, parts ...devices.Part) devices.Profile {
		p := devices.Defaults()
		p.End, p.Assume, p.Parts = end, quantity.MM, parts
		return p
	}
	bare := profile(devices.CR, devices.Sign{}, devices.Figure{})
	prompted := bare
	prompted.Kind, prompted.Ask = devices.AskedLine, devices.DefaultAsking()
	prompted.Ask.Prompt = "?\r"
	return map[string]devices.Profile{
		"bare figure": bare,
		asked:         prompted,
		"noughts":     profile(devices.CRLF, devices.Sign{Required: true}, devices.Figure{Digits: 6, Places: &places}),
		"multiplexer": profile(devices.CRLF, devices.Channel{Width: 1},
			devices.Code{Words: map[string]devices.CodeMeaning{"QR": devices.CodeReading, "QX": devices.CodeAbsent}},
			devices.Skip{Count: 1}, devices.Sign{Required: true}, devices.Figure{Digits: 8, Places: &places}),
	}
}

// replay is the port of a capture's head, read by its profile.
func replay(t testing.TB, c Capture, now func() time.Time) port.Config {
	t.Helper()
	p, ok := profiles()[c.Profile]
	if !ok {
		t.Fatalf("no profile %q", c.Profile)
	}
	d, err := kinds.Decoder(p)
	if err != nil {
		t.Fatal(err)
	}
	return port.Config{Gauge: c.Gauge, Channels: c.Channels, Find: port.Find{Path: "/dev/serial/by-path/x"},
		Profile: p, Decoder: d, Now: now, Waits: port.Waits{First: time.Millisecond, Last: time.Millisecond}}
}

// play runs a capture through port.Run until all of it was played.
func play(t testing.TB, p *Player, cfg port.Config, sink func(port.Event)) {
	t.Helper()
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	done := make(chan error, 1)
	go func() { done <- port.Run(ctx, cfg, p.Opener(), sink) }()
	<-p.Done()
	cancel()
	if err := <-done; err != nil {
		t.Fatal(err)
	}
}

// TestCaptures holds the frames of each capture, and the events of a port that
// plays it, against its golden file.
func TestCaptures(t *testing.T) {
	names := files(t)
	if len(names) == 0 {
		t.Fatal("no captures in " + folder)
	}
	for _, name := range names {
		t.Run(strings.TrimSuffix(filepath.Base(name), ".capture"), func(t *testing.T) {
			c, err := Load(name)
			if err != nil {
				t.Fatal(err)
			}
			var got strings.Builder
			got.WriteString("decoded, all of it\n")
			c.Decode(replay(t, c, time.Now).Decoder, func(f devices.Frame, err error) {
				fmt.Fprintf(&got, "%9.3f  %s\n", f.At.Sub(c.Began).Seconds(), describe(f, err))
			})
			said, total := events(t, c, AtOnce)
			got.WriteString("\nthrough a port\n" + strings.Join(said, "\n") + "\n\ncounted\n")
			for _, gauge := range slices.Sorted(maps.Keys(total)) {
				k := total[gauge]
				fmt.Fprintf(&got, "%q: %d good, bad %v, %d strays, %d reconnects, %d bytes dropped\n", gauge, k.Good, k.Bad, k.Strays, k.Reconnects(), k.Dropped)
			}
			golden := strings.TrimSuffix(name, ".capture") + ".frames"
			if *update {
				if err := os.WriteFile(golden, []byte(got.String()), 0o644); err != nil {
					t.Fatal(err)
				}
			}
			want, err := os.ReadFile(golden)
			if err != nil {
				t.Fatal(err)
			}
			if d := cmp.Diff(string(want), got.String()); d != "" {
				t.Error(d)
			}
		})
	}
}

// events are those of a port that plays a capture, with its clock's times where
// it is played at once, and their counts.
func events(t testing.TB, c Capture, speed int) ([]string, port.Tally) {
	t.Helper()
	start := time.Now()
	p, err := NewPlayer(c, speed, time.Now)
	if err != nil {
		t.Fatal(err)
	}
	if speed == AtOnce {
		start = p.Now()
	}
	var out []string
	total := port.Tally{}
	play(t, p, replay(t, c, p.Now), func(e port.Event) {
		if e.Err != nil && strings.Contains(e.Err.Error(), "all of it was played") {
			return
		}
		total.Add(e)
		if e.What == port.Sample && e.Sample.Source != devices.SourceVirtual {
			t.Errorf("a capture passed for a %s", e.Sample.Source)
		}
		at := ""
		if speed == AtOnce {
			at = fmt.Sprintf("%9.3f  ", e.At.Sub(start).Seconds())
		}
		out = append(out, at+words(e))
	})
	return out, total
}

func words(e port.Event) string {
	s := fmt.Sprintf("%s %s", e.What, e.Gauge)
	switch {
	case e.What == port.Sample:
		s += " " + strings.TrimPrefix(describe(e.Sample.Frame, nil), "good: ")
	case e.Err != nil:
		s += ": " + e.Err.Error()
	}
	if e.Dropped > 0 {
		s += fmt.Sprintf(", %d bytes dropped", e.Dropped)
	}
	return s
}
