//go:build unix

package port_test

import (
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	"shimwright/devices"
	"shimwright/devices/decodertest"
	"shimwright/devices/kinds"
	"shimwright/devices/port"
)

// Pseudo-terminals that another program made read the same as the virtual
// gauges' own: every form, the bytes asked for, and the hanging up.
func TestSocat(t *testing.T) {
	program, err := exec.LookPath("socat")
	if err != nil {
		t.Skip("NOT TRIED: socat is not installed (Debian package socat), so no pseudo-terminal but our own was read")
	}
	folder := t.TempDir() // its name has no comma, which would end an option
	for i, f := range decodertest.All() {
		t.Run(f.Name, func(t *testing.T) {
			checkLeaks(t)
			ours, theirs := filepath.Join(folder, fmt.Sprint("reader", i)), filepath.Join(folder, fmt.Sprint("gauge", i))
			cmd := exec.Command(program, "pty,raw,echo=0,link="+ours, "pty,raw,echo=0,link="+theirs)
			ok(t, cmd.Start())
			kill := func() { cmd.Process.Kill(); cmd.Wait() }
			defer kill()
			gauge := openWhenThere(t, theirs)
			defer gauge.Close()
			p := f.Profile
			p.Settle = 0
			d, err := kinds.Decoder(p)
			ok(t, err)
			r := &rig{t: t, asks: make(chan port.Ask), events: make(chan port.Event, 100)}
			ctx, cancel := context.WithCancel(t.Context())
			done := make(chan error, 1)
			cfg := port.Config{Gauge: "D07", Find: port.Find{Path: ours}, Profile: p, Decoder: d, Now: time.Now, Asks: r.asks}
			go func() { done <- port.Run(ctx, cfg, port.System(noPorts), func(e port.Event) { r.events <- e }) }()
			defer func() { cancel(); ok(t, <-done) }()
			r.connected()
			for _, g := range f.Good {
				_, err := gauge.WriteString(g.Bytes)
				ok(t, err)
				r.good(g)
			}
			_, err = gauge.WriteString(f.Half)
			ok(t, err)
			r.want(port.BadFrame, "half a line")
			if p.Kind == devices.AskedLine {
				r.asks <- port.Ask{Gauge: "D07"}
				heard := make([]byte, 16)
				n, err := gauge.Read(heard)
				if err != nil || string(heard[:n]) != p.Ask.Prompt {
					t.Errorf("the gauge heard %q, %v", heard[:n], err)
				}
				_, err = gauge.WriteString(f.Good[0].Bytes)
				ok(t, err)
				r.good(f.Good[0])
			}
			kill()
			r.want(port.Gone, "is gone, plug the gauge in again")
		})
	}
}

// connected waits for the port; before it is there it may have been missed.
func (r *rig) connected() {
	r.t.Helper()
	for e := range r.events {
		if e.What == port.Connected {
			return
		}
		if e.What != port.Gone {
			r.t.Fatalf("got %s: %v", e.What, e.Err)
		}
	}
}

// openWhenThere opens the gauge's end of a pair that is being made.
func openWhenThere(t *testing.T, path string) *os.File {
	t.Helper()
	var last error
	for until := time.Now().Add(10 * time.Second); time.Now().Before(until); time.Sleep(time.Millisecond) {
		f, err := os.OpenFile(path, os.O_RDWR, 0)
		if err == nil {
			return f
		}
		last = err
	}
	t.Fatal(last)
	return nil
}
