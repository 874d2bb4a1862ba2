package port

import (
	"slices"
	"sync/atomic"
	"testing"
	"testing/synctest"
	"time"

	"shimwright/devices"
)

// askable is a port whose gauge answers when asked, on fake time.
func askable(t *testing.T, asks chan Ask) Config {
	t.Helper()
	cfg := config(t, 0)
	cfg.Profile.Kind, cfg.Profile.Ask = devices.AskedLine, devices.Asking{Prompt: "R\r", Timeout: 500 * time.Millisecond, Retries: 2}
	cfg.Asks = asks
	return cfg
}

func TestAsking(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		asks := make(chan Ask)
		p := newFake()
		b := start(t, askable(t, asks), one(p))
		b.want("connected")
		asks <- Ask{"D07"}
		time.Sleep(2 * Tick)
		p.in <- "33.38\r"
		if e := b.want("sample: D07 33.38 mm"); !e.Asked {
			t.Error("the reply does not answer")
		}
		p.in <- "33.39\r"
		if e := b.want("sample: D07 33.39 mm"); e.Asked {
			t.Error("a press that nobody asked for answers")
		}
		asks <- Ask{"D07"}
		time.Sleep(2 * Tick)
		p.in <- "-----\r"
		if e := b.want("bad frame: no number"); !e.Asked {
			t.Error("a gauge that says it has no number answers")
		}
		asks <- Ask{"D08"}
		b.want(`not sent: gauge "D08" is not on this port, which has ["D07"]`)
		if !slices.Equal(p.sent(), []string{"R\r", "R\r"}) {
			t.Errorf("sent %q", p.sent())
		}
		close(asks)
		time.Sleep(time.Second)
		synctest.Wait()
		b.quiet()
		b.stop()
	})
}

// Without a reply the gauge is asked three times, then that is said once.
func TestNoReply(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		asks := make(chan Ask)
		p := newFake()
		b := start(t, askable(t, asks), one(p))
		b.want("connected")
		began := time.Now()
		asks <- Ask{"D07"}
		e := b.want("no reply: no reply: off, asleep or busy (asked 3 times, 500ms each)")
		if took := e.At.Sub(began); took < 1500*time.Millisecond || took > 1500*time.Millisecond+4*Tick {
			t.Errorf("it was given up after %s", took)
		}
		if e.Gauge != "D07" || !slices.Equal(p.sent(), []string{"R\r", "R\r", "R\r"}) {
			t.Errorf("%s: sent %q", e.Gauge, p.sent())
		}
		// A reply that comes too late is a press.
		p.in <- "33.38\r"
		if e := b.want("sample"); e.Asked {
			t.Error("a late reply answers")
		}
		asks <- Ask{"D07"}
		asks <- Ask{"D07"} // the same question
		time.Sleep(2 * Tick)
		close(p.in)
		b.want("no reply: no reply: the gauge was unplugged")
		b.want("gone")
		b.stop()
	})
}

func TestNotSent(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		asks := make(chan Ask)
		cfg := askable(t, asks)
		cfg.Profile.Settle = 300 * time.Millisecond
		var there atomic.Bool
		p := newFake()
		b := start(t, cfg, func(f Find, l devices.Line) (Opened, error) {
			if !there.Load() {
				return Opened{}, &AbsentError{Port: "/dev/x"}
			}
			return one(p)(f, l)
		})
		b.want("gone")
		asks <- Ask{"D07"}
		b.want("not sent: the gauge is not connected")
		asks <- Ask{"D08"}
		b.want(`not sent: gauge "D08" is not on this port`)
		there.Store(true)
		b.want("connected")
		asks <- Ask{"D07"}
		b.want("not sent: the port is settling: ask again in a moment")
		b.want("settled")
		p.full.Store(true)
		asks <- Ask{"D07"}
		b.want(`not sent: send "R\r": full`)
		b.want("gone")
		b.stop()

		// A gauge with nothing but a button.
		cfg = config(t, 0)
		cfg.Asks = asks
		b = start(t, cfg, one(newFake()))
		b.want("connected")
		asks <- Ask{"D07"}
		b.want("not sent: this gauge cannot be asked: press its button")
		b.stop()
	})
}
