package capture

import (
	"slices"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"github.com/google/go-cmp/cmp"

	"shimwright/devices"
	"shimwright/devices/port"
)

// At any speed the same is said, in that part of the time.
func TestSpeeds(t *testing.T) {
	for _, name := range files(t) {
		c, err := Load(name)
		if err != nil {
			t.Fatal(err)
		}
		strip := func(said []string) (out []string) {
			for _, s := range said {
				if _, words, ok := strings.Cut(strings.TrimLeft(s, " "), "  "); ok {
					s = words
				}
				// What was found while nothing was plugged in hangs on the
				// moment of looking.
				if !strings.Contains(s, "is not there") {
					out = append(out, s)
				}
			}
			return out
		}
		said, _ := events(t, c, AtOnce)
		want := strip(said)
		for _, speed := range []int{1, 7, 100} {
			synctest.Test(t, func(t *testing.T) {
				began := time.Now()
				said, _ := events(t, c, speed)
				if d := cmp.Diff(want, strip(said)); d != "" {
					t.Errorf("%s, %d times as fast:\n%s", name, speed, d)
				}
				whole := c.Items[len(c.Items)-1].At
				if took := time.Since(began) * time.Duration(speed); took < whole*9/10 || took > whole*11/10+300*time.Millisecond {
					t.Errorf("%s, %d times as fast: it took %s of its time, recorded were %s", name, speed, took, whole)
				}
			})
		}
	}
}

// A program that was held up found no quiet: the second half of a line belongs
// to the first, at any speed, however long it took to be read.
func TestHeldUp(t *testing.T) {
	late := head + opened +
		`{"us":400000,"what":"read","text":"33."}` + "\n" +
		`{"us":3600400000,"what":"read","text":"38\r"}` + "\n" +
		`{"us":3600400000,"what":"closed"}` + "\n"
	quiet := strings.Replace(late, `38\r`, `39\r`, 1)
	quiet = strings.Replace(quiet, `{"us":36004`, `{"us":420000,"what":"quiet","until":3600380000}`+"\n"+`{"us":36004`, 1)
	for _, speed := range []int{AtOnce, 1, 50} {
		synctest.Test(t, func(t *testing.T) {
			said, total := events(t, parse(t, late), speed)
			if total["D07"].Good != 1 || !slices.ContainsFunc(said, func(s string) bool { return strings.Contains(s, "33.38 mm") }) {
				t.Errorf("speed %d: %q", speed, said)
			}
			_, total = events(t, parse(t, quiet), speed)
			if total["D07"].Bad[devices.HalfLine] != 1 {
				t.Errorf("speed %d: %+v", speed, total["D07"])
			}
		})
	}
}

// A silence of a year is played at once in no time.
func TestLongSilence(t *testing.T) {
	c := parse(t, head+opened+`{"us":2000,"what":"quiet","until":31536000000000}`+"\n"+`{"us":31536000000000,"what":"closed"}`+"\n")
	s, n := steps{items: c.Items, thin: true}, 0
	for ; ; n++ {
		if _, ok := s.peek(); !ok {
			break
		}
		s.advance()
	}
	if n > 1000 {
		t.Errorf("%d steps", n)
	}
}

// What is read late waits in the port; what is opened late delays all.
func TestOpenedLate(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		c := parse(t, head+opened+`{"us":21000,"what":"quiet","until":100000}`+"\n"+`{"us":101000,"what":"read","text":"33.38\r"}`+"\n"+`{"us":101000,"what":"closed"}`+"\n")
		p, err := NewPlayer(c, 1, time.Now)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := p.Opener()(port.Find{}, devices.Line{}); err == nil || !strings.Contains(err.Error(), "capture of /dev/serial/by-path/x is not there") {
			t.Errorf("opened before its time: %v", err)
		}
		time.Sleep(time.Minute)
		o, err := p.Opener()(port.Find{}, devices.Line{})
		if err != nil || o.Source != devices.SourceVirtual {
			t.Fatalf("%+v, %v", o, err)
		}
		began, buf := time.Now(), make([]byte, 4)
		var got string
		for err == nil {
			var n int
			n, err = o.Port.Read(buf)
			got += string(buf[:n])
		}
		if took := time.Since(began); took < 95*time.Millisecond || took > 105*time.Millisecond {
			t.Errorf("it was read after %s", took)
		}
		if got != "33.38\r" || err.Error() != "the recording was stopped here" {
			t.Errorf("read %q, then %v", got, err)
		}
		if _, err := p.Opener()(port.Find{}, devices.Line{}); err == nil || !strings.Contains(err.Error(), "all of it was played") {
			t.Errorf("opened after its end: %v", err)
		}
		<-p.Done()
		if n, err := o.Port.Write([]byte("?")); n != 1 || err != nil {
			t.Errorf("wrote %d, %v", n, err)
		}
	})
}

func TestPlayerRefuses(t *testing.T) {
	for _, speed := range []int{-1, 101} {
		if _, err := NewPlayer(Capture{}, speed, time.Now); err == nil {
			t.Errorf("played %d times as fast", speed)
		}
	}
	if _, err := Ports(nil)(port.Find{Path: "/dev/x"}, devices.Line{}); err == nil || !strings.Contains(err.Error(), "no capture is played there") {
		t.Errorf("got %v", err)
	}
}
