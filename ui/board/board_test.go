package board

import (
	"errors"
	"fmt"
	"strings"
	"testing"
	"time"

	"shimwright/ingest/store"
)

// What is stored meanwhile comes at the next tick, and the choice stays.
func TestLive(t *testing.T) {
	src := shop(t)
	r := show(t, src, 80, 24, Options{})
	r.up(t)
	r.see(t, "34 jobs", "── job 0041")
	src.open("0050", "bay 9", "N-1", 0)
	src.ring("0050", 1, "0.05", "0.22", "0.35", "0.24")
	r.tick <- now()
	r.see(t, "35 jobs", "SPREAD  job 0050", "── job 0041")
	src.end("0050", store.Abandoned)
	r.tick <- now()
	r.see(t, "SPREAD  job 0041", "35 jobs")
}

// What cannot be read is said, what was read stays, and the next tick tries again.
func TestTrouble(t *testing.T) {
	src := shop(t)
	r := show(t, src, 80, 24, Options{})
	r.up(t)
	src.mu.Lock()
	src.fails = errors.New("the disk failed to read")
	src.mu.Unlock()
	r.tick <- now()
	r.see(t, "the disk failed to read", "── job 0041")
	src.mu.Lock()
	src.fails = nil
	src.mu.Unlock()
	r.tick <- now()
	r.see(t, "read 14:02:11")
}

func TestTroubleFromTheBeginning(t *testing.T) {
	src := shop(t)
	src.fails = errors.New("the disk failed to read")
	r := show(t, src, 80, 24, Options{})
	r.see(t, "the disk failed to read")
	r.keys("q")
	r.wait(t)
}

// A window too small says so, and one made larger shows the board again.
func TestWindow(t *testing.T) {
	r := show(t, shop(t), 40, 10, Options{})
	s := r.see(t, "40 columns and 10 lines", "q leaves")
	if strings.Contains(s, "0041") {
		t.Error("a board is drawn in too small a window")
	}
	r.golden(t, "small")
	for _, size := range [][2]int{{132, 43}, {80, 24}, {40, 10}, {1, 1}, {200, 60}, {80, 24}} {
		r.resize(size[0], size[1])
	}
	r.up(t)
	r.see(t, "── job 0041")
}

// Names that would garble a screen are printed as they were written.
func TestOddNames(t *testing.T) {
	src := newMemory(t).many(3)
	for i, name := range []string{"[red]drive[-]", "\x1b[2J\x1b[31m", "日本語ドライブ", "e\u0301\u0301\u0301\u0301\u0301\u0301\u0301x", strings.Repeat("W", 300), "\u202eright to left", "a\nb\tc", "👩\u200d🔧", "\xff\xfe"} {
		id := fmt.Sprint("01", i)
		src.open(id, name, name, 0)
		src.ring(id, 1, "0.34", "0.33", "0.35", "0.34")
	}
	for _, width := range []int{80, 81, 132, 133} {
		v := &view{width: width, height: 43, now: now()}
		m, err := NewLoader(src, now).Load(t.Context(), Query{}, nil)
		if err != nil {
			t.Fatal(err)
		}
		v.take(m)
		for range v.rows {
			v.move(1)
			for range tabs {
				v.tab = (v.tab + 1) % tabs
				held(t, v)
			}
		}
	}
	r := show(t, src, 132, 43, Options{})
	r.up(t)
	r.keys("<home>")
	r.see(t, "[red]dri", `\x1b[2J`, "日本")
	r.golden(t, "odd names")
}

// held holds a frame to its window and to what prints.
func held(t *testing.T, v *view) {
	t.Helper()
	rows := frame(v)
	if len(rows) != v.height {
		t.Errorf("the frame has %d rows in a window of %d", len(rows), v.height)
	}
	for i, r := range rows {
		if n := r.Cells(); n > v.width {
			t.Errorf("row %d takes %d cells of %d: %q", i, n, v.width, r.Text())
		}
		if strings.ContainsFunc(r.Text(), func(c rune) bool { return c < ' ' || c == 0x7F || c == '\u202e' || c == '\u200d' }) {
			t.Errorf("row %d holds what a terminal acts on: %q", i, r.Text())
		}
	}
}

// Every page keeps to every window.
func TestEveryWindow(t *testing.T) {
	m, err := NewLoader(shop(t), now).Load(t.Context(), Query{}, nil)
	if err != nil {
		t.Fatal(err)
	}
	v := &view{now: now()}
	v.take(m)
	for w := range 150 {
		for _, h := range []int{1, 10, 24, 25, 30, 31, 43, 60} {
			for v.tab = range tabs {
				v.width, v.height = w+1, h
				held(t, v)
			}
		}
	}
}

// A long reading is stopped by Esc, and another may follow.
func TestLongReadingStops(t *testing.T) {
	src := shop(t)
	src.block = make(chan struct{})
	r := show(t, src, 80, 24, Options{})
	r.up(t)
	r.keys("4<enter>")
	r.see(t, "reading all facts for D07 …", "Esc stop")
	r.keys("<esc>")
	r.gone(t, "reading all facts")
	close(src.block)
	r.keys("<enter>")
	r.see(t, "used in 1 job")
}

// Leaving in the middle of a long reading waits for it to end.
func TestLeavingStopsAll(t *testing.T) {
	src := shop(t)
	src.block = make(chan struct{})
	r := show(t, src, 80, 24, Options{})
	r.up(t)
	r.keys("4<enter>")
	r.see(t, "reading all facts")
	r.keys("q")
	r.wait(t)
}

// Training jobs are left out of what is counted until they are asked for.
func TestTraining(t *testing.T) {
	src := newMemory(t).many(4)
	src.training("0004")
	r := show(t, src, 80, 24, Options{})
	r.up(t)
	r.keys("2")
	r.see(t, "of 3 jobs", "1 training job; t counts them", "T 1 training")
	r.keys("t")
	r.see(t, "of 4 jobs", "with TRAINING")
}

// Keys choose: sheet, state, days, older pages.
func TestChoosing(t *testing.T) {
	r := show(t, newMemory(t).many(1005), 80, 24, Options{})
	r.up(t)
	r.see(t, "newest 1000 jobs")
	r.keys(">")
	r.see(t, "5 jobs, 0 open", "< newer")
	r.keys("<")
	r.see(t, "newest 1000 jobs")
	r.keys("o")
	r.see(t, "open jobs, all time", "3 jobs, 3 open")
	r.keys("m")
	r.see(t, "open jobs of sheet fw3")
	r.keys("p")
	r.see(t, "last 14 days")
	r.keys("a")
	r.see(t, "all jobs, worst first")
	r.keys("s<end>")
	r.see(t, "newest first", "── job 0006")
	r.keys("<home>")
	r.see(t, "── job 1005")
}

// The loader gives the model of before where nothing happened, reads no more
// than what changed, and forgets nothing.
func TestLoaderKeeps(t *testing.T) {
	src := shop(t)
	l := NewLoader(src, now)
	load := func(q Query) *Model {
		t.Helper()
		m, err := l.Load(t.Context(), q, nil)
		if err != nil {
			t.Fatal(err)
		}
		return m
	}
	first := load(Query{})
	if load(Query{}) != first {
		t.Error("nothing happened, and another model came")
	}
	src.ring("0042", 3, "0.21", "0.20", "0.22", "0.21")
	second := load(Query{})
	fresh, err := NewLoader(src, now).Load(t.Context(), Query{}, nil)
	if err != nil {
		t.Fatal(err)
	}
	if a, b := fmt.Sprintf("%+v", points(second)), fmt.Sprintf("%+v", points(fresh)); a != b {
		t.Errorf("kept %s, fresh %s", a, b)
	}
	if r := rowNamed(second, "0042"); r.Ring.Verdict != "good" || r.Loops != 1 || r.First != "out high" {
		t.Errorf("verdict %s, %d loops, first %s", r.Ring.Verdict, r.Loops, r.First)
	}
	if s := second.Series[0]; s.Loops != 2 || s.FirstPass != 30 {
		t.Errorf("%d loops, %d good at first", s.Loops, s.FirstPass)
	}
}

func points(m *Model) []Point {
	var out []Point
	for _, s := range m.Series {
		out = append(out, s.Points...)
	}
	return out
}

func rowNamed(m *Model, id string) *Row {
	for i := range m.Rows {
		if m.Rows[i].Job.ID == id {
			return &m.Rows[i]
		}
	}
	return nil
}

// A hold ends by being lifted, or with its job.
func TestHolds(t *testing.T) {
	src := shop(t)
	l := NewLoader(src, now)
	holds := func(q Query) int {
		t.Helper()
		m, err := l.Load(t.Context(), q, nil)
		if err != nil {
			t.Fatal(err)
		}
		return len(m.Holds)
	}
	if n := holds(Query{}); n != 1 {
		t.Errorf("%d holds", n)
	}
	if n := holds(Query{Text: "0044"}); n != 1 {
		t.Errorf("%d holds where its job is not on the list", n)
	}
	src.end("0042", store.Abandoned)
	if n := holds(Query{}); n != 0 {
		t.Errorf("%d holds of a job that is over", n)
	}
}

func TestTrends(t *testing.T) {
	src := newMemory(t).many(24)
	for i := range 7 {
		id := fmt.Sprint("2", i)
		src.open(id, "bay 2", "R", 0)
		src.ring(id, 1, "0.190", fmt.Sprintf("0.%d", 205+i*3), "0.200", "0.200")
	}
	m, err := NewLoader(src, now).Load(t.Context(), Query{}, nil)
	if err != nil {
		t.Fatal(err)
	}
	var said []string
	for _, f := range m.Findings {
		said = append(said, f.Word+" "+f.Says)
	}
	if got := strings.Join(said, "\n"); !strings.Contains(got, "RISING fw3, backlash: the spread rose over 9 jobs in a row, from 0.011 mm to 0.033 mm") {
		t.Errorf("it says:\n%s", got)
	}
}

func TestFigures(t *testing.T) {
	for in, want := range map[string]string{"0.21": "0.21", "-0.003": "-0.003", "0.1/3": "0.1/3", "1/0": "", "": "", "1e9": "", "abc": "", "1/x": "", strings.Repeat("9", 60): ""} {
		x, ok := exact(in)
		if ok != (want != "") || ok && x.String() != want {
			t.Errorf("%q: %s, %v", in, x, ok)
		}
	}
}

func TestAges(t *testing.T) {
	for d, want := range map[time.Duration]string{0: "now", 59 * time.Minute: "59min", 47 * time.Hour: "47 h", 48 * time.Hour: "2 d", 2000 * time.Hour: "83 d", 5000 * time.Hour: "29 wk"} {
		if got := ageWords(d); got != want {
			t.Errorf("%s: %s, want %s", d, got, want)
		}
	}
}
