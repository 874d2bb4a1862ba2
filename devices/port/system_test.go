//go:build unix

package port

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"

	"shimwright/calc/quantity"
	"shimwright/devices"
	"shimwright/devices/decodertest"
	"shimwright/devices/kinds"
	"shimwright/devices/virtual"
)

// A port whose descriptor turned out too high after all fails in words at its
// first read, and can be closed.
func TestReadTooHigh(t *testing.T) {
	g, err := virtual.New(decodertest.Forms()[0].Profile, filepath.Join(t.TempDir(), "gauge"))
	if err != nil {
		t.Fatal(err)
	}
	defer g.Close()
	for {
		f, err := os.Open(os.DevNull)
		if err != nil {
			t.Skipf("fewer than 1024 files may be open here: %v", err)
		}
		defer f.Close()
		if f.Fd() >= 1024 {
			break
		}
	}
	p, err := open(g.Path(), devices.Defaults().Line)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := p.Read(make([]byte, 8)); err == nil || !strings.Contains(err.Error(), "too many files are open") {
		t.Errorf("got %v", err)
	}
	if err := p.Close(); err != nil {
		t.Error(err)
	}
}

// A pseudo-terminal is told by its device, under whatever name it stands.
func TestDeviceTold(t *testing.T) {
	g, err := virtual.New(decodertest.Forms()[0].Profile, filepath.Join(t.TempDir(), "gauge"))
	if err != nil {
		t.Fatal(err)
	}
	defer g.Close()
	got, err := Find{Path: g.Path()}.resolve(thisMachine(nil))
	if err != nil || got.source != devices.SourceVirtual {
		t.Fatalf("got %+v, %v", got, err)
	}
	if _, err := os.Stat("/proc/self"); err == nil && (!ptyDevice(got.path) || ptyDevice("/dev/null")) {
		t.Errorf("the device number of %s does not tell", got.path)
	}
	// Found as a USB cable, it is a pseudo-terminal all the same.
	list := func() ([]Listed, error) { return []Listed{{Name: g.Path(), USB: true, USBSerial: "A1"}}, nil }
	if got, err := (Find{USBSerial: "A1"}).resolve(thisMachine(list)); err != nil || got.source != devices.SourceVirtual {
		t.Errorf("got %+v, %v", got, err)
	}
}

// The system tells which program has a file open; here it is this one. A real
// port's group is told, and the superuser's own files too.
func TestHoldersAndAccess(t *testing.T) {
	path := filepath.Join(t.TempDir(), "port")
	f, err := os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if got := holders(f.Name()); runtime.GOOS == "linux" && (len(got) != 1 || got[0] != "this program itself") {
		t.Errorf("held by %q", got)
	}
	if got := holders(path + "x"); len(got) != 0 {
		t.Errorf("held by %q", got)
	}
	if group, mode := access(path); group == "" || mode.Perm()&0o400 == 0 {
		t.Errorf("group %q, mode %v", group, mode)
	}
	if group, _ := access(path + "x"); group != "" {
		t.Errorf("a file that is not there has group %q", group)
	}
}

// Another program is named as the system names it.
func TestHeldByAnother(t *testing.T) {
	if runtime.GOOS != "linux" {
		t.Skip("this system does not tell")
	}
	path := filepath.Join(t.TempDir(), "port")
	f, err := os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command("sleep", "60")
	cmd.Stdin = f
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	defer cmd.Wait()
	defer cmd.Process.Kill()
	f.Close()
	want := fmt.Sprintf(`program "sleep" (process %d)`, cmd.Process.Pid)
	if got := holders(path); len(got) != 1 || got[0] != want {
		t.Errorf("held by %q, want %q", got, want)
	}
}

// BenchmarkPress is one press through a pseudo-terminal and the real driver,
// from the button to the event.
func BenchmarkPress(b *testing.B) {
	p := decodertest.Forms()[0].Profile
	p.Settle = 0
	g, err := virtual.New(p, filepath.Join(b.TempDir(), "gauge"))
	if err != nil {
		b.Fatal(err)
	}
	defer g.Close()
	d, err := kinds.Decoder(p)
	if err != nil {
		b.Fatal(err)
	}
	v, err := quantity.ParseWithUnit("33.38 mm")
	if err != nil {
		b.Fatal(err)
	}
	samples, up := make(chan Event, 1), make(chan Event, 1)
	go Run(b.Context(), Config{Gauge: "D07", Find: Find{Path: g.Path()}, Profile: p, Decoder: d, Now: time.Now}, System(nil), func(e Event) {
		switch e.What {
		case Connected:
			up <- e
		case Sample:
			samples <- e
		}
	})
	<-up
	for b.Loop() {
		if err := g.Press(v); err != nil {
			b.Fatal(err)
		}
		<-samples
	}
}
