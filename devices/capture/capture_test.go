package capture

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"github.com/google/go-cmp/cmp"

	"shimwright/devices"
	"shimwright/devices/kinds"
	"shimwright/devices/port"
)

const head = `{"capture":1,"began":"2026-03-04T05:06:07Z","gauge":"D07","port":"/dev/serial/by-path/x","profile":"bare figure","line":"9600 8N1"}` + "\n"

const opened = `{"us":1000,"what":"open","path":"/dev/ttyUSB0","source":"gauge"}` + "\n"

func parse(t *testing.T, s string) Capture {
	t.Helper()
	c, err := Parse(strings.NewReader(s))
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// What is written is what is read, in both ways of writing bytes.
func TestRoundTrip(t *testing.T) {
	const text = head +
		`{"us":0,"what":"none","words":"/dev/x is not there: plug the gauge in"}` + "\n" + opened +
		`{"us":1000,"what":"quiet","until":250000}` + "\n" +
		`{"us":250000,"what":"sent","text":"?\r"}` + "\n" +
		`{"us":250001,"what":"read","text":"33.38\r\n<&>\u001b"}` + "\n" +
		`{"us":250002,"what":"read","base64":"/wB/"}` + "\n" +
		`{"us":250002,"what":"lost","words":"hung up"}` + "\n" +
		`{"us":250003,"what":"open","path":"/dev/pts/3","source":"virtual"}` + "\n" +
		`{"us":250004,"what":"closed"}` + "\n" +
		`{"us":250005,"what":"full"}` + "\n"
	c := parse(t, text)
	out, err := c.Bytes()
	if err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(text, string(out)); d != "" {
		t.Error(d)
	}
	if got := string(c.Items[4].Bytes) + string(c.Items[5].Bytes); got != "33.38\r\n<&>\x1b\xff\x00\x7f" {
		t.Errorf("bytes %q", got)
	}
}

// Damage is told by its line, and what stands before it can be used.
func TestDamage(t *testing.T) {
	read := `{"us":2000,"what":"read","text":"1"}` + "\n"
	for _, c := range []struct {
		name, text string
		items      int
		want       string
	}{
		{"empty", "", 0, "line 1 of the capture: the file is empty: a capture begins with its head"},
		{"no head", opened, 0, `line 1 of the capture: it is no head of a capture: "{\"us\":1000,`},
		{"later version", `{"capture":2,"new":1}` + "\n", 0, "line 1 of the capture: the capture is of version 2, this program reads version 1: read it with a program"},
		{"unknown key in head", strings.Replace(head, `"port"`, `"prot"`, 1), 0, `line 1 of the capture: it is no line of a capture: json: unknown field \"prot\"`},
		{"line settings", strings.Replace(head, "8N1", "8X1", 1), 0, "line 1 of the capture: its line settings: parity"},
		{"no gauge", strings.Replace(head, `"gauge":"D07",`, "", 1), 0, "line 1 of the capture: it must name either a gauge"},
		{"cut off", head + opened + read + `{"us":3000,"what":"re`, 2, `line 4 of the capture: it is cut off: "{\"us\":3000,\"what\":\"re": leave it out; what stands before it is whole`},
		{"unknown key", head + opened + `{"us":2000,"what":"read","txt":"1"}` + "\n", 1, "line 3 of the capture: it is no line of a capture: json: unknown field"},
		{"unknown item", head + opened + `{"us":2000,"what":"moved"}` + "\n", 1, `line 3 of the capture: "moved" is nothing that happens to a port`},
		{"two objects", head + opened + `{"us":2000,"what":"closed"}{}` + "\n", 1, "line 3 of the capture: something stands behind its object"},
		{"two kinds of bytes", head + opened + `{"us":2000,"what":"read","text":"1","base64":"MQ=="}` + "\n", 1, "line 3 of the capture: it needs one of text and base64"},
		{"no bytes", head + opened + `{"us":2000,"what":"read","text":""}` + "\n", 1, "line 3 of the capture: it has no bytes"},
		{"text beyond ASCII", head + opened + `{"us":2000,"what":"read","text":"µ"}` + "\n", 1, "line 3 of the capture: its text has bytes that only base64 can hold"},
		{"bad base64", head + opened + `{"us":2000,"what":"read","base64":"?"}` + "\n", 1, "line 3 of the capture: it is no line of a capture: illegal base64"},
		{"no time", head + `{"what":"full"}` + "\n", 0, "line 2 of the capture: it has no time us"},
		{"no such time", head + `{"us":-1,"what":"full"}` + "\n", 0, "line 2 of the capture: it has no time us"},
		{"time went back", head + opened + read + `{"us":1999,"what":"closed"}` + "\n", 2, "line 4 of the capture: its time, 1999 microseconds, is before 2000: time went back"},
		{"back into a silence", head + opened + `{"us":2000,"what":"quiet","until":9000}` + "\n" + `{"us":8000,"what":"closed"}` + "\n", 2, "line 4 of the capture: its time, 8000 microseconds, is before 9000"},
		{"silence ends before it begins", head + opened + `{"us":2000,"what":"quiet","until":1000}` + "\n", 1, "line 3 of the capture: it has no time until"},
		{"read while closed", head + read, 0, "line 2 of the capture: read on a port that is not open"},
		{"opened twice", head + opened + opened, 1, "line 3 of the capture: the port is opened and was open"},
		{"none while open", head + opened + `{"us":2000,"what":"none","words":"x"}` + "\n", 1, "line 3 of the capture: there is no port to open, and one was open"},
		{"keyed", head + strings.Replace(opened, `"gauge"`, `"keyed"`, 1), 0, "line 2 of the capture: its source is neither gauge nor virtual"},
		{"keys of another", head + opened + `{"us":2000,"what":"closed","words":"x"}` + "\n", 1, "line 3 of the capture: it has keys that do not belong to closed"},
		{"behind the end", head + `{"us":1,"what":"full"}` + "\n" + opened, 1, "line 3 of the capture: the file was full before it"},
		{"too long a line", head + opened + `{"us":2000,"what":"read","text":"` + strings.Repeat("1", 70000) + `"}` + "\n", 1, "line 3 of the capture: it is longer than 64 KiB"},
		{"control bytes", head + "\x1b[2J\n", 0, `line 2 of the capture: it is no line of a capture: invalid character '\\x1b' looking`},
	} {
		got, err := Parse(strings.NewReader(c.text))
		var damage *DamageError
		if !errors.As(err, &damage) || !strings.HasPrefix(err.Error(), c.want) {
			t.Errorf("%s:\nwant %s\n got %v", c.name, c.want, err)
			continue
		}
		if len(got.Items) != c.items {
			t.Errorf("%s: %d items before the damage, want %d", c.name, len(got.Items), c.items)
		}
		if strings.ContainsFunc(err.Error(), func(r rune) bool { return r < ' ' || r > '~' }) {
			t.Errorf("%s: control bytes in %q", c.name, err)
		}
	}
}

func TestLoad(t *testing.T) {
	if _, err := Load(filepath.Join(t.TempDir(), "none")); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("got %v", err)
	}
	path := filepath.Join(t.TempDir(), "x.capture")
	if err := os.WriteFile(path, []byte(head+"x\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := Load(path); err == nil || !strings.HasPrefix(err.Error(), path+": line 2 of the capture:") {
		t.Errorf("got %v", err)
	}
}

// scripted is a port that gives what a test says, on fake time.
type scripted struct {
	in     chan string // closing it unplugs
	raised bool
}

func (p *scripted) Read(b []byte) (int, error) {
	t := time.NewTimer(port.Tick)
	defer t.Stop()
	select {
	case s, ok := <-p.in:
		if !ok {
			return 0, errors.New("hung up")
		}
		return copy(b, s), nil
	case <-t.C:
		return 0, nil
	}
}

func (p *scripted) Write(b []byte) (int, error) { return len(b), nil }
func (p *scripted) Close() error                { return nil }
func (p *scripted) Raise(dtr, rts bool) error   { p.raised = dtr && rts; return nil }

func config(t *testing.T, p devices.Profile, now func() time.Time) port.Config {
	t.Helper()
	d, err := kinds.Decoder(p)
	if err != nil {
		t.Fatal(err)
	}
	return port.Config{Gauge: "D07", Find: port.Find{Path: "/dev/serial/by-path/x"}, Profile: p, Decoder: d, Now: now}
}

// A run on fake time is recorded to the microsecond.
func TestRecord(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		cfg := config(t, profiles()["bare figure"], time.Now)
		cfg.Profile.Settle = 0
		var file bytes.Buffer
		r, err := Record(&file, HeadOf(cfg, "bare figure"), DefaultLimit, time.Now)
		if err != nil {
			t.Fatal(err)
		}
		p, tries := &scripted{in: make(chan string)}, 0
		open := r.Opener(func(port.Find, devices.Line) (port.Opened, error) {
			if tries++; tries < 4 {
				return port.Opened{}, &port.AbsentError{Port: "/dev/x"}
			}
			return port.Opened{Port: p, Path: "/dev/ttyUSB0", Source: devices.SourceGauge}, nil
		})
		ctx, cancel := context.WithCancel(t.Context())
		done := make(chan error)
		go func() { done <- port.Run(ctx, cfg, open, func(port.Event) {}) }()
		time.Sleep(100 * time.Millisecond)
		p.in <- "33.38\r"
		time.Sleep(50 * time.Millisecond)
		p.in <- "\xff"
		close(p.in)
		time.Sleep(5 * time.Millisecond)
		cancel()
		if err := <-done; err != nil {
			t.Fatal(err)
		}
		if err := r.Close(); err != nil {
			t.Fatal(err)
		}
		if !p.raised {
			t.Error("the lines of the port below were not raised")
		}
		const want = `{"capture":1,"began":"2000-01-01T00:00:00Z","gauge":"D07","port":"/dev/serial/by-path/x","profile":"bare figure","line":"9600 8N1"}
{"us":0,"what":"none","words":"/dev/x is not there: plug the gauge in"}
{"us":70000,"what":"open","path":"/dev/ttyUSB0","source":"gauge"}
{"us":90000,"what":"quiet","until":90000}
{"us":100000,"what":"read","text":"33.38\r"}
{"us":120000,"what":"quiet","until":140000}
{"us":150000,"what":"read","base64":"/w=="}
{"us":150000,"what":"lost","words":"hung up"}
`
		if d := cmp.Diff(want, file.String()); d != "" {
			t.Error(d)
		}
	})
}

// A file has its limit, says that it reached it, and stays whole.
func TestLimit(t *testing.T) {
	if _, err := Record(io.Discard, Head{}, 100, time.Now); err == nil {
		t.Error("a capture of 100 bytes was begun")
	}
	var file bytes.Buffer
	const limit = 4 << 10
	r, err := Record(&file, parse(t, head).Head, limit, time.Now)
	if err != nil {
		t.Fatal(err)
	}
	r.put(Item{What: Open, Source: devices.SourceVirtual})
	for range 1000 {
		r.put(Item{What: Read, Bytes: []byte("33.38\r")})
	}
	if err := r.Close(); err != nil {
		t.Fatal(err)
	}
	if file.Len() > limit || file.Len() < limit-200 {
		t.Errorf("%d bytes, the limit is %d", file.Len(), limit)
	}
	c := parse(t, file.String())
	if last := c.Items[len(c.Items)-1]; last.What != Full {
		t.Errorf("the last line is %+v", last)
	}
}

// brokenDisk takes a head and no more.
type brokenDisk struct{ writes int }

func (d *brokenDisk) Write(b []byte) (int, error) {
	if d.writes++; d.writes > 1 {
		return 0, errors.New("disk full")
	}
	return len(b), nil
}

// A disk that fails does not stop the reading, and is told at the end.
func TestBrokenDisk(t *testing.T) {
	r, err := Record(&brokenDisk{}, parse(t, head).Head, DefaultLimit, time.Now)
	if err != nil {
		t.Fatal(err)
	}
	p := &scripted{in: make(chan string, 2)}
	o, err := r.Opener(func(port.Find, devices.Line) (port.Opened, error) { return port.Opened{Port: p}, nil })(port.Find{}, devices.Line{})
	if err != nil {
		t.Fatal(err)
	}
	p.in <- "1"
	if n, err := o.Port.Read(make([]byte, 8)); n != 1 || err != nil {
		t.Errorf("read %d, %v", n, err)
	}
	if err := r.Close(); err == nil || !strings.Contains(err.Error(), "disk full") {
		t.Errorf("got %v", err)
	}
}

func TestCreate(t *testing.T) {
	path := filepath.Join(t.TempDir(), "x.capture")
	r, err := Create(path, parse(t, head).Head, DefaultLimit, time.Now)
	if err != nil {
		t.Fatal(err)
	}
	if err := r.Close(); err != nil {
		t.Fatal(err)
	}
	if c, err := Load(path); err != nil || c.Gauge != "D07" {
		t.Errorf("got %+v, %v", c, err)
	}
	if _, err := Create(path, Head{}, DefaultLimit, time.Now); err == nil || !errors.Is(err, os.ErrExist) {
		t.Errorf("a capture was written over: %v", err)
	}
}

func TestHeadOf(t *testing.T) {
	cfg := port.Config{Find: port.Find{USBSerial: "A1"}, Channels: map[string]string{"1": "D07"}}
	if h := HeadOf(cfg, "x"); h.Port != "A1" || h.Channels["1"] != "D07" || h.Profile != "x" {
		t.Errorf("got %+v", h)
	}
}

func describe(f devices.Frame, err error) string {
	if err != nil {
		return "bad: " + err.Error()
	}
	channel := ""
	if f.Channel != "" {
		channel = " channel " + f.Channel
	}
	return fmt.Sprintf("good: %s%s %q", f.Value, channel, f.Raw)
}

// FuzzParse: any bytes are a capture or damage on a line; a capture is written
// as it was read, and can be decoded and played.
func FuzzParse(f *testing.F) {
	f.Add([]byte(head + opened + `{"us":2000,"what":"read","text":"33.38\r"}` + "\n" + `{"us":9000,"what":"quiet","until":900000}` + "\n" + `{"us":900000,"what":"lost","words":"x"}` + "\n"))
	f.Add([]byte(head + `{"us":1,"what":"none","words":"x"}` + "\n" + opened + `{"us":2000,"what":"read","base64":"/w=="}` + "\n"))
	f.Add([]byte(head[:60]))
	for _, path := range files(f) {
		b, err := os.ReadFile(path)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(b)
	}
	p := profiles()["bare figure"]
	f.Fuzz(func(t *testing.T, b []byte) {
		c, err := Parse(bytes.NewReader(b))
		if err != nil {
			var damage *DamageError
			if !errors.As(err, &damage) || damage.Line < 1 || damage.Line > bytes.Count(b, []byte("\n"))+1 {
				t.Fatalf("no line of %q: %v", b, err)
			}
			if strings.ContainsFunc(err.Error(), func(r rune) bool { return r < ' ' || r > '~' }) {
				t.Fatalf("control bytes in %q", err)
			}
			return
		}
		out, err := c.Bytes()
		if err != nil {
			t.Fatal(err)
		}
		again, err := Parse(bytes.NewReader(out))
		if err != nil {
			t.Fatalf("%v in %q", err, out)
		}
		if d := cmp.Diff(c, again); d != "" {
			t.Fatal(d)
		}
		d, err := kinds.Decoder(p)
		if err != nil {
			t.Fatal(err)
		}
		n := 0
		c.Decode(d, func(devices.Frame, error) { n++ })
		played := 0
		player, err := NewPlayer(c, AtOnce, time.Now)
		if err != nil {
			t.Fatal(err)
		}
		playAll(player, d, func(devices.Frame, error) { played++ })
		if played != n {
			t.Fatalf("%d frames played, %d decoded", played, n)
		}
	})
}

// playAll reads a player to its end as a port without settling would.
func playAll(p *Player, d devices.Decoder, emit func(devices.Frame, error)) {
	buf := make([]byte, 512)
	for {
		o, err := p.Opener()(port.Find{}, devices.Line{})
		if err != nil {
			select {
			case <-p.Done():
				return
			default:
				continue
			}
		}
		d.Reset()
		for {
			n, err := o.Port.Read(buf)
			switch {
			case n > 0:
				d.Push(p.Now(), buf[:n], emit)
			case err == nil:
				d.Tick(p.Now(), emit)
			}
			if err != nil {
				break
			}
		}
	}
}
