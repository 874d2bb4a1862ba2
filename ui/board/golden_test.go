package board

import (
	"bytes"
	"fmt"
	"testing"
)

// settled waits until all that is read for a frame is there.
func (r *running) settled(t *testing.T) {
	t.Helper()
	r.gone(t, "Reading the facts")
	r.gone(t, "being worked")
	r.gone(t, "reading ")
	r.gone(t, "looking through")
}

// up waits until the board is there.
func (r *running) up(t *testing.T) {
	t.Helper()
	r.see(t, "[1 Jobs]", "q leave")
	r.settled(t)
}

func TestFrames(t *testing.T) {
	for _, size := range []struct{ width, height int }{{80, 24}, {132, 43}} {
		for _, c := range []struct {
			name, keys string
			see        []string
		}{
			{"jobs", "", []string{"SPREAD", "0041"}},
			{"charts", "2", []string{"[2 Charts]", "first pass"}},
			{"waiting", "3", []string{"Holds not lifted"}},
			{"waiting with names", "3n", []string{"AB by PIN"}},
			{"gauges", "4", []string{"[4 Gauges]"}},
			{"newest first", "s", []string{"newest first"}},
			{"next wrong", "w", []string{"build state 2"}},
			{"find", "/T-04", []string{"find: T-04_"}},
			{"found", "/T-04<enter>", []string{`with "T-04"`}},
			{"none found", "/nothing<enter>", []string{"No job matches"}},
		} {
			t.Run(fmt.Sprintf("%s %d by %d", c.name, size.width, size.height), func(t *testing.T) {
				r := show(t, shop(t), size.width, size.height, Options{})
				r.up(t)
				r.keys(c.keys)
				r.see(t, c.see...)
				r.settled(t)
				r.golden(t, fmt.Sprintf("%s %dx%d", c.name, size.width, size.height))
			})
		}
	}
}

func TestMonochrome(t *testing.T) {
	r := show(t, shop(t), 80, 24, Options{NoColor: true})
	r.up(t)
	r.golden(t, "jobs 80x24 monochrome")
}

// Charts of few and of many jobs; a capability is refused below 25.
func TestCharts(t *testing.T) {
	for _, n := range []int{0, 1, 2, 24, 25, 1000} {
		t.Run(fmt.Sprint(n), func(t *testing.T) {
			r := show(t, newMemory(t).many(n), 80, 24, Options{})
			r.up(t)
			r.keys("2")
			r.see(t, "[2 Charts]")
			r.settled(t)
			r.golden(t, fmt.Sprintf("charts of %d", n))
		})
	}
}

func TestWayDown(t *testing.T) {
	r := show(t, shop(t), 80, 24, Options{})
	r.up(t)
	r.keys("/0044<enter>")
	r.see(t, `with "0044"`, "job 0044")
	r.settled(t)
	r.keys("<enter>")
	r.see(t, "job 0044, drive T-0422", "pinion position")
	r.golden(t, "job")
	for range 9 {
		r.keys("<down>")
	}
	r.see(t, "> ○ pinion face height")
	r.keys("<enter>")
	r.see(t, "Presses", "33.38 mm")
	r.golden(t, "step")
	r.keys("<enter>")
	r.see(t, "Bytes as they came", `+33.38mm\r`)
	r.golden(t, "press")
	r.keys("<esc><esc><esc>")
	r.see(t, "[1 Jobs]", "spread verdict")
}

func TestTrace(t *testing.T) {
	r := show(t, shop(t), 80, 24, Options{})
	r.up(t)
	r.keys("4<enter>")
	r.see(t, "D07, last 90 days: used in 1 job", "0044")
	r.golden(t, "trace")
	r.keys("d")
	r.see(t, "last 365 days")
	r.keys("<enter>")
	r.see(t, "job 0044, drive T-0422")
}

func TestPlain(t *testing.T) {
	src := shop(t)
	m, err := NewLoader(src, now).Load(t.Context(), Query{}, nil)
	if err != nil {
		t.Fatal(err)
	}
	closures := map[string]*Closures{}
	f := NewFolder(src)
	for _, s := range m.Series {
		if closures[s.Sheet], err = f.Closures(t.Context(), m, s, nil); err != nil {
			t.Fatal(err)
		}
	}
	var b bytes.Buffer
	if err := Plain(&b, m, closures, false); err != nil {
		t.Fatal(err)
	}
	compare(t, "plain", b.String())
	j, err := src.Job(t.Context(), m.Rows[0].Job)
	if err != nil {
		t.Fatal(err)
	}
	b.Reset()
	if err := PlainJob(&b, "", j, now().Location(), true); err != nil {
		t.Fatal(err)
	}
	compare(t, "plain job", b.String())
}
