//go:build unix

package virtual

import (
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"shimwright/calc/quantity"
	"shimwright/devices/decodertest"
)

func mm(t *testing.T, s string) quantity.Value {
	t.Helper()
	v, err := quantity.ParseWithUnit(s + " mm")
	if err != nil {
		t.Fatal(err)
	}
	return v
}

func make1(t *testing.T) *Gauge {
	t.Helper()
	g, err := New(decodertest.Forms()[0].Profile, filepath.Join(t.TempDir(), "gauge"))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := g.Close(); err != nil {
			t.Error(err)
		}
	})
	return g
}

// What is sent before anybody reads is there when somebody does.
func TestPressAndDrain(t *testing.T) {
	g := make1(t)
	if err := g.Press(mm(t, "33.38")); err != nil {
		t.Fatal(err)
	}
	short, cancel := context.WithTimeout(t.Context(), 5*time.Millisecond)
	defer cancel()
	if err := g.Drained(short); err == nil || !strings.Contains(err.Error(), "not all was read") {
		t.Fatalf("nobody has read, and Drained says %v", err)
	}
	f, err := os.OpenFile(g.Path(), os.O_RDWR, 0)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	buf := make([]byte, 64)
	n, err := f.Read(buf)
	if got := string(buf[:n]); err != nil || got != "+33.38\r" {
		t.Fatalf("read %q, %v", got, err)
	}
	if err := g.Drained(t.Context()); err != nil {
		t.Error(err)
	}
	if _, err := f.Write([]byte("?")); err != nil {
		t.Fatal(err)
	}
	if got, err := g.Heard(time.Second); err != nil || string(got) != "?" {
		t.Errorf("heard %q, %v", got, err)
	}
	if got, err := g.Heard(time.Millisecond); err != nil || len(got) != 0 {
		t.Errorf("heard %q, %v", got, err)
	}
}

func TestUnplugReplug(t *testing.T) {
	g := make1(t)
	if err := g.Replug(); err == nil {
		t.Error("plugged in twice")
	}
	if err := g.Unplug(); err != nil {
		t.Fatal(err)
	}
	if _, err := os.Lstat(g.Path()); !os.IsNotExist(err) {
		t.Errorf("the link is still there: %v", err)
	}
	for what, err := range map[string]error{"press": g.Press(mm(t, "1")), "raw": g.SendRaw(nil),
		"drained": g.Drained(t.Context()), "unplug": g.Unplug()} {
		if err == nil || !strings.Contains(err.Error(), "unplugged") {
			t.Errorf("%s while unplugged: %v", what, err)
		}
	}
	if err := g.Replug(); err != nil {
		t.Fatal(err)
	}
	if err := g.Press(mm(t, "1")); err != nil {
		t.Error(err)
	}
	if err := g.Close(); err != nil {
		t.Error(err)
	}
	if err := g.Replug(); err == nil || !strings.Contains(err.Error(), "closed") {
		t.Errorf("plugged in when closed: %v", err)
	}
}

func TestLink(t *testing.T) {
	dir := t.TempDir()
	file, stray, left := filepath.Join(dir, "file"), filepath.Join(dir, "stray"), filepath.Join(dir, "left")
	if err := os.WriteFile(file, []byte("x"), 0o600); err != nil {
		t.Fatal(err)
	}
	for link, to := range map[string]string{stray: file, left: "/dev/pts/987654"} {
		if err := os.Symlink(to, link); err != nil {
			t.Fatal(err)
		}
	}
	p := decodertest.Forms()[0].Profile
	for _, link := range []string{file, stray} {
		if _, err := New(p, link); err == nil || !strings.Contains(err.Error(), "choose another name") {
			t.Errorf("%s was taken: %v", link, err)
		}
	}
	g, err := New(p, left)
	if err != nil {
		t.Fatal(err)
	}
	// A link that another gauge took meanwhile is not this gauge's to remove.
	if err := os.Remove(left); err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink("/dev/pts/987655", left); err != nil {
		t.Fatal(err)
	}
	if err := g.Close(); err != nil {
		t.Error(err)
	}
	if _, err := os.Lstat(left); err != nil {
		t.Error(err)
	}
}

// A gauge that nobody reads does not hold its presser up for ever.
func TestNobodyReads(t *testing.T) {
	if testing.Short() {
		t.Skip("waits a second")
	}
	g := make1(t)
	chunk := make([]byte, 4096)
	for range 1000 {
		if err := g.SendRaw(chunk); err != nil {
			if !strings.Contains(err.Error(), "nobody reads it") {
				t.Error(err)
			}
			return
		}
	}
	t.Error("4 MB were taken though nobody reads")
}

func TestRefuses(t *testing.T) {
	g := make1(t)
	if err := g.Press(mm(t, "99.99")); err == nil {
		t.Error("an over-range sign was pressed as a value")
	}
	g.SetBattery(true)
	if err := g.Press(mm(t, "1")); err == nil {
		t.Error("a flag was sent that the form does not have")
	}
	p := decodertest.Forms()[0].Profile
	p.Parts = nil
	if _, err := New(p, filepath.Join(t.TempDir(), "x")); err == nil {
		t.Error("made a gauge of no parts")
	}
	if _, err := New(decodertest.Forms()[0].Profile, "/nonexistent/x"); err == nil {
		t.Error("made a link nowhere")
	}
}
