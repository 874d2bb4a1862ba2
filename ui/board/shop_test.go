package board

import (
	"bytes"
	"context"
	"errors"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"shimwright/ingest/fact"
	"shimwright/ingest/job"
	"shimwright/ingest/store"
)

// twice is a shop in which every bay of the one source has a twin whose jobs and
// facts have the same numbers.
type twice struct{ *memory }

func (t twice) twin(bench string) string { return bench + " north" }

func (t twice) Jobs(ctx context.Context, q store.JobQuery) ([]store.Job, error) {
	all, err := t.memory.Jobs(ctx, q)
	var out []store.Job
	for _, j := range all {
		other := j
		other.Bench, other.Serial = t.twin(j.Bench), "N-"+j.Serial
		out = append(out, j, other)
	}
	return out[:min(len(out), store.Bounded(q.Limit))], err
}

func (t twice) Judgements(ctx context.Context, q store.JudgementQuery) ([]store.Judgement, error) {
	all, err := t.memory.Judgements(ctx, q)
	var out []store.Judgement
	for _, j := range all {
		other := j
		other.Bench = t.twin(j.Bench)
		for _, x := range []store.Judgement{j, other} {
			if q.Bench == "" || q.Bench == x.Bench {
				out = append(out, x)
			}
		}
	}
	return out[:min(len(out), store.Bounded(q.Limit))], err
}

func (t twice) Decisions(ctx context.Context, after int64) ([]Decision, error) {
	all, err := t.memory.Decisions(ctx, after)
	var out []Decision
	for _, d := range all {
		other := d
		other.Bench = t.twin(d.Bench)
		out = append(out, d)
		if _, lifted := d.Fact.(fact.Lifted); !lifted {
			out = append(out, other)
		}
	}
	return out, err
}

func (t twice) Job(ctx context.Context, of store.Job) (*job.Job, error) {
	if of.Bench == "" {
		return nil, errors.New("a job without its bay is asked for")
	}
	return t.memory.Job(ctx, of)
}

// theShop is the shop of the goldens with twins, and a bay that may not ship.
func theShop(t testing.TB) twice {
	m := shop(t)
	m.shop = true
	m.notes = []Note{
		{Bench: "bay 7", Says: "a copy of this bench's journal ships too: from fact 121 on the shop has others under this bench's name.", At: now().Add(-time.Hour), Last: now(), Still: true},
		{Bench: "bay 8", Says: "The shop's database was restored from an older backup.", At: now().Add(-5 * time.Hour), Last: now().Add(-5 * time.Hour)},
	}
	return twice{m}
}

// Jobs of one number on two bays are two: their rows, their rings, what is held
// of each.
func TestTwins(t *testing.T) {
	src := theShop(t)
	l := NewLoader(src, now)
	m, err := l.Load(t.Context(), Query{}, nil)
	if err != nil {
		t.Fatal(err)
	}
	if len(m.Rows) != 68 || len(m.Holds) != 2 || len(m.Series[0].Points) != 66 {
		t.Errorf("%d jobs, %d held, %d on the chart", len(m.Rows), len(m.Holds), len(m.Series[0].Points))
	}
	hold := m.Holds[0].Seq
	src.mu.Lock()
	src.put("0042", fact.Lifted{Hold: hold, Reason: "seen"}, now())
	src.mu.Unlock()
	if m, err = l.Load(t.Context(), Query{}, nil); err != nil || len(m.Holds) != 1 || m.Holds[0].Bench != "bay 2 north" {
		t.Errorf("%v, held: %+v", err, m.Holds)
	}
	v := &view{width: 132, height: 43, now: now()}
	v.take(m)
	for _, bench := range []string{"bay 3", "bay 3 north"} {
		of := store.Job{Bench: bench, ID: "0041"}
		if !v.choose(of) || v.row().Job.Bench != bench || v.rowOf(of).Job.Bench != bench {
			t.Errorf("job 0041 of %s is not chosen", bench)
		}
		s := m.Series[0]
		if p := s.Points[v.chosenPoint(s)]; p.Bench != bench {
			t.Errorf("the chart marks %s for %s", p.Bench, bench)
		}
	}
}

// A shop's board says whose job each is, and which bays may not ship.
func TestShopFrames(t *testing.T) {
	for _, size := range []struct {
		name          string
		width, height int
	}{{"shop 80x24", 80, 24}, {"shop 132x43", 132, 43}} {
		r := show(t, theShop(t), size.width, size.height, Options{})
		r.up(t)
		r.see(t, "! BAY", "bay 7: a copy of", "68 jobs")
		r.golden(t, size.name)
		r.keys("3")
		r.see(t, "Bays that do not ship as they should: 2", "bay 2 job 0042", "bay 2 north job 0042")
		r.keys("1w<enter>")
		r.see(t, "job 0041, drive")
	}
	m, err := NewLoader(theShop(t), now).Load(t.Context(), Query{}, nil)
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	if err := Plain(&b, m, nil, false); err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"BAY: bay 7: a copy", "Since 2026-03-04 13:02.", "BAY: bay 8: ", "Not said again since 2026-03-04 09:02.", "bay 3 north job 0041"} {
		if !strings.Contains(b.String(), want) {
			t.Errorf("the lines lack %s", want)
		}
	}
}

// A job's pages follow what happens to it while they are looked at.
func TestPagesFollow(t *testing.T) {
	src := shop(t)
	r := show(t, src, 132, 43, Options{})
	r.up(t)
	r.keys("/0044<enter>")
	r.see(t, "1 job, 1 open")
	r.keys("<enter>")
	r.see(t, "job 0044, drive T-0422", "pinion face height")
	r.gone(t, "3 presses")
	src.press("0044", "pinion face height", "D07", "depth gauge", "33.39 mm", "+33.39mm\r")
	src.press("0044", "pinion face height", "D07", "depth gauge", "33.38 mm", "+33.38mm\r")
	r.tick <- now()
	r.see(t, "3 presses")
	r.keys("<home>")
	r.keys("<down><enter>")
	r.see(t, "Presses")
}

// gated holds the reading of a job once, after it was read, and then gives it or an
// error in its place.
type gated struct {
	*memory
	shut   atomic.Bool
	inside chan struct{}
	open   chan error
}

func (g *gated) Job(ctx context.Context, of store.Job) (*job.Job, error) {
	j, err := g.memory.Job(ctx, of)
	if of.ID == "0044" && g.shut.CompareAndSwap(true, false) {
		close(g.inside)
		if bad := <-g.open; bad != nil {
			return nil, bad
		}
	}
	return j, err
}

// What happens to a job while its pages are being read anew, or where that fails,
// is on them all the same in the end.
func TestPagesLoseNothing(t *testing.T) {
	for name, bad := range map[string]error{"in the meantime": nil, "after a failure": errors.New("the server is gone")} {
		t.Run(name, func(t *testing.T) {
			src := &gated{memory: shop(t), inside: make(chan struct{}), open: make(chan error)}
			r := show(t, src, 132, 43, Options{})
			r.up(t)
			r.keys("/0044<enter>")
			r.see(t, "1 job, 1 open")
			r.keys("<enter>")
			r.see(t, "job 0044, drive T-0422", "pinion face height")
			src.shut.Store(true)
			src.press("0044", "pinion face height", "D07", "depth gauge", "33.39 mm", "+33.39mm\r")
			r.tick <- now()
			<-src.inside
			if bad == nil {
				src.press("0044", "pinion face height", "D07", "depth gauge", "33.38 mm", "+33.38mm\r")
			}
			src.memory.open("0045", "bay 1", "0044 too", 0)
			r.tick <- now()
			r.see(t, "2 jobs, 2 open") // so that it is no news any more
			src.open <- bad
			want := "3 presses"
			if bad != nil {
				want = "2 presses"
			}
			r.see(t, want)
		})
	}
}

// Whatever is wrong, a frame keeps to its window.
func TestTroubleInEveryWindow(t *testing.T) {
	m, err := NewLoader(theShop(t), now).Load(t.Context(), Query{}, nil)
	if err != nil {
		t.Fatal(err)
	}
	v := &view{now: now(), trouble: strings.Repeat("The shop cannot be read. ", 30)}
	v.take(m)
	v.trouble = strings.Repeat("The shop cannot be read. ", 30)
	for w := 79; w < 150; w++ {
		for _, h := range []int{24, 25, 30, 31, 43, 60} {
			for v.tab = range tabs {
				v.width, v.height = w, h
				held(t, v)
			}
		}
	}
}
