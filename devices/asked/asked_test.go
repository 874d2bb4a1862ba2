package asked

import (
	"errors"
	"fmt"
	"strings"
	"testing"
	"time"

	"shimwright/devices"
	"shimwright/devices/decodertest"
)

func at(ms int) time.Time {
	return decodertest.Start().Add(time.Duration(ms) * time.Millisecond)
}

func maker(t testing.TB) *Asker {
	t.Helper()
	a, err := New(decodertest.Named("asked with a letter").Profile)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

func say(s Step) string {
	out := s.Outcome.String()
	if s.Send != nil {
		out += fmt.Sprintf(" send %q", s.Send)
	}
	if s.Err != nil {
		out += ": " + s.Err.Error()
	}
	return out
}

// play does what a script says: ask, tick, a push of bytes, a frame, each at a
// time in milliseconds.
func play(a *Asker, ms int, what string) Step {
	noise := &devices.FrameError{Reason: devices.Noise}
	switch what {
	case "ask":
		return a.Ask(at(ms))
	case "tick":
		return a.Tick(at(ms))
	case "bytes":
		return a.Push(at(ms), 3)
	case "no bytes":
		return a.Push(at(ms), 0)
	case "good":
		return a.Frame(nil)
	case "noise":
		return a.Frame(noise)
	case "no number":
		return a.Frame(&devices.FrameError{Reason: devices.NoNumber})
	case "absent":
		return a.Frame(fmt.Errorf("wrapped: %w", &devices.FrameError{Reason: devices.Absent}))
	case "reset":
		a.Reset()
	}
	return Step{}
}

func TestAsking(t *testing.T) {
	const silence = `no reply: no reply: off, asleep or busy (asked 3 times, 500ms each): wake the gauge and ask again`
	const garbled = `no reply: no reply that could be read, asked 3 times: see to the line settings and the cable, then ask again`
	type line struct {
		ms         int
		what, want string
	}
	for name, script := range map[string][]line{
		"a reply": {{0, "ask", `nothing send "R"`}, {20, "tick", "nothing"}, {40, "bytes", "nothing"}, {40, "good", "reply"}, {900, "tick", "nothing"}},
		"silence": {{0, "ask", `nothing send "R"`}, {499, "tick", "nothing"}, {500, "tick", `nothing send "R"`}, {999, "tick", "nothing"},
			{1000, "tick", `nothing send "R"`}, {1499, "tick", "nothing"}, {1500, "tick", silence}, {2000, "tick", "nothing"}},
		"second time": {{0, "ask", `nothing send "R"`}, {500, "tick", `nothing send "R"`}, {520, "bytes", "nothing"}, {520, "good", "reply"}},
		// The reply to the first crossed with the second question: both are
		// told, the second as unasked.
		"crossed":           {{0, "ask", `nothing send "R"`}, {500, "tick", `nothing send "R"`}, {501, "bytes", "nothing"}, {501, "good", "reply"}, {530, "good", "unasked"}},
		"unasked":           {{0, "good", "unasked"}, {0, "noise", "nothing"}, {0, "no number", "nothing"}, {5, "tick", "nothing"}, {5, "bytes", "nothing"}},
		"no number answers": {{0, "ask", `nothing send "R"`}, {20, "no number", "reply"}, {20, "good", "unasked"}},
		"absent answers":    {{0, "ask", `nothing send "R"`}, {20, "absent", "reply"}},
		"asked twice":       {{0, "ask", `nothing send "R"`}, {20, "ask", "nothing"}, {40, "good", "reply"}, {60, "ask", `nothing send "R"`}},
		"noise": {{0, "ask", `nothing send "R"`}, {20, "bytes", "nothing"}, {20, "noise", "nothing"}, {519, "tick", "nothing"}, {520, "tick", `nothing send "R"`},
			{1020, "tick", `nothing send "R"`}, {1520, "tick", garbled}},
		// A reply that has begun is waited for.
		"half a reply": {{0, "ask", `nothing send "R"`}, {499, "bytes", "nothing"}, {510, "tick", "nothing"}, {998, "tick", "nothing"}, {998, "good", "reply"}},
		// A program that was held up reads the reply late: it counts.
		"held up": {{0, "ask", `nothing send "R"`}, {9000, "bytes", "nothing"}, {9000, "good", "reply"}},
		"never quiet": {{0, "ask", `nothing send "R"`}, {1000, "bytes", "nothing"}, {1999, "bytes", "nothing"}, {2000, "bytes", "nothing"}, {2001, "bytes", `nothing send "R"`},
			{4001, "bytes", "nothing"}, {4002, "bytes", `nothing send "R"`}, {6002, "bytes", "nothing"}, {6003, "bytes", garbled}, {6004, "bytes", "nothing"}},
		"reset": {{0, "ask", `nothing send "R"`}, {1, "reset", "nothing"}, {600, "tick", "nothing"}, {601, "no bytes", "nothing"}, {602, "ask", `nothing send "R"`}},
	} {
		t.Run(name, func(t *testing.T) {
			a := maker(t)
			for _, l := range script {
				if got := say(play(a, l.ms, l.what)); got != l.want {
					t.Fatalf("%s at %d ms: want %s, got %s", l.what, l.ms, l.want, got)
				}
			}
		})
	}
}

func TestAskedOnce(t *testing.T) {
	p := decodertest.Named("asked with a letter").Profile
	p.Ask.Retries = 0
	a, err := New(p)
	if err != nil {
		t.Fatal(err)
	}
	a.Ask(at(0))
	s := a.Tick(at(500))
	var none *NoReplyError
	if s.Outcome != NoReply || !errors.As(s.Err, &none) || none.Times != 1 || !strings.Contains(s.Err.Error(), "asked once, 500ms each") || a.Asking() {
		t.Errorf("got %s", say(s))
	}
}

func TestNewRefuses(t *testing.T) {
	var fe *devices.FieldError
	if _, err := New(devices.Profile{}); !errors.As(err, &fe) {
		t.Errorf("want a field error, got %v", err)
	}
	if _, err := New(decodertest.Named("bare figure").Profile); err == nil || !strings.Contains(err.Error(), "text line when asked") {
		t.Errorf("a gauge that is not asked: %v", err)
	}
	if got := Outcome(99).String(); got != "unknown" {
		t.Errorf("got %q", got)
	}
}

// FuzzAsker: whatever happens, an asking ends once, and after at most as many
// prompts as the profile says.
func FuzzAsker(f *testing.F) {
	f.Add([]byte{0, 1, 1, 2, 3})
	f.Add([]byte{0, 255, 1, 255, 1, 255, 1})
	f.Fuzz(func(t *testing.T, script []byte) {
		a, now, prompts := maker(t), 0, 0
		for _, b := range script {
			now += int(b) * 4
			asking := a.Asking()
			s := play(a, now, []string{"ask", "tick", "bytes", "good", "noise", "no number", "reset"}[int(b)%7])
			if !asking && s.Send != nil {
				prompts = 0
			}
			if s.Send != nil {
				prompts++
			}
			switch over := s.Outcome == Reply || s.Outcome == NoReply; {
			case over && (!asking || a.Asking()), !over && asking && !a.Asking() && int(b)%7 != 6:
				t.Fatalf("%s, asking before %t, now %t", say(s), asking, a.Asking())
			case (s.Outcome == NoReply) != (s.Err != nil), prompts > 3, s.Outcome == Unasked && asking:
				t.Fatalf("%s after %d prompts", say(s), prompts)
			}
		}
		for range 20 { // quiet always ends it
			now += 600
			a.Tick(at(now))
		}
		if a.Asking() {
			t.Fatal("still asking")
		}
	})
}
