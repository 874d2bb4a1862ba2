//go:build unix

package bench

import (
	"fmt"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"shimwright/ingest/fact"
)

// Thousands of presses at a step where none can count yet are each kept, change
// no figure, and take no longer as they grow many.
func TestThousandsHeld(t *testing.T) {
	const many = 400
	r := newRig(t, func(c *Config) { c.Windows.Double = 0 })
	r.at(face)
	before := results(r.Snapshot())
	began := time.Now()
	for i := range many {
		if err := r.gauges["D07"].Press(figure(fmt.Sprintf("33.%02d mm", 50+i%50))); err != nil {
			t.Fatal(err)
		}
	}
	for range many {
		for {
			f := r.next()
			if p, ok := f.Fact.(fact.Pressed); ok {
				if p.Outcome != fact.Held || !strings.HasPrefix(p.Do, "Say which tall post stands") {
					t.Fatalf("%s %q %q", p.Outcome, p.Sentence, p.Do)
				}
				break
			}
		}
	}
	s := r.await("the last one", func(s *Snapshot) bool { return len(s.Job.Presses) == many })
	t.Logf("%s a press", time.Since(began)/many)
	if len(s.Held) != many || results(s) != before {
		t.Errorf("%d are held", len(s.Held))
	}
	r.do(Retake{face, "they were a mistake"})
	if s := r.Snapshot(); len(s.Held) != 0 {
		t.Errorf("%d are held", len(s.Held))
	}
}

// The clock was set back by a year: facts keep their order, it is told, and what
// was said of bearings before no longer holds.
func TestClockSetBack(t *testing.T) {
	r := newRig(t, needing(t, "needs: [bearings rolled]", face))
	r.postAndEdge()
	r.do(SayNeed{})
	p, _ := r.press("D07", "33.38 mm")
	r.wants(p, fact.Taken)
	r.stop()
	last := r.stored()[len(r.stored())-1]
	r.clock.moveOn(-365 * 24 * time.Hour)
	r.start(config(filepath.Dir(r.path), r.clock.Now), changed(t))
	p, s := r.press("D07", "33.38 mm")
	r.wants(p, fact.Aside, "ROLL FIRST: nobody has said")
	if !strings.Contains(s.Clock, "The computer's clock was set back by 87") || !strings.Contains(s.Clock, fmt.Sprintf("after fact %d", last.Seq)) {
		t.Errorf("%q", s.Clock)
	}
	set := 0
	for i, f := range r.stored() {
		if f.Seq != int64(i+1) {
			t.Fatalf("fact %d in place %d", f.Seq, i+1)
		}
		if f.Kind == "clock set" {
			set++
		}
	}
	if set != 1 {
		t.Errorf("the clock was set %d times", set)
	}
	r.do(SayNeed{})
	p, _ = r.press("D07", "33.38 mm")
	r.wants(p, fact.Taken)
}

// A bench file changed while a job is open: the register counts, the job goes on
// with what it froze, and a gauge that is gone from the file is no gauge any more.
func TestBenchFileChanged(t *testing.T) {
	r := newRig(t)
	r.postAndEdge()
	r.press("D07", "33.38 mm")
	r.stop()
	cfg := config(filepath.Dir(r.path), r.clock.Now)
	cfg.Pieces = []Piece{{ID: "S-31", Size: figure("75.400 mm")}, {ID: "S-99", Size: figure("75.001 mm")}}
	cfg.Gauges = cfg.Gauges[1:]
	cfg.Gauges[0].Kind = "height gauge"
	cfg.Trays = nil
	r.start(cfg)
	s := r.Snapshot()
	all := strings.Join(s.Differs, "\n")
	for _, w := range []string{"Piece S-31 is 75.400 mm in the bench file and 75.004 mm in the register", "Gauge D09 is a height gauge", "the register counts"} {
		if !strings.Contains(all, w) {
			t.Errorf("%q lacks %q", all, w)
		}
	}
	if got, _ := s.Job.Piece("S-31"); got.Size.String() != "75.004 mm" || len(s.Results.Of(face).Presses) != 1 {
		t.Errorf("%+v, %d presses", got, len(s.Results.Of(face).Presses))
	}
	p, _ := r.press("D09", "33.38 mm")
	r.wants(p, fact.Aside, "That was D09, a height gauge")
	r.do(DrawPiece{"tall post", "S-99"})
}

// What people type into the commands of this part is held to a line, and what is
// refused is told without it doing anything to a terminal.
func TestOddWords(t *testing.T) {
	r := newRig(t, needing(t, "needs: [zero, bearings rolled]", face))
	r.postAndEdge()
	before := r.Snapshot().Seq
	for _, odd := range []string{"\x1b[2J", strings.Repeat("x", 10_000), "a\x00b", "\u202edeb", "\xff\xfe", "D07\n"} {
		for _, c := range []Command{
			CheckZero{Gauge: odd}, Knocked{Gauge: odd}, SayNeed{Step: odd}, SayNeed{Need: odd}, CheckPiece{Gauge: "D07", Piece: odd}, CheckPiece{Gauge: odd, Piece: "S-31"},
			Temperatures{Part: odd, Standards: "20 °C"}, Temperatures{Part: "20 °C", Standards: "20 °C", Gauge: odd}, Seal{odd, "1 N", "1 N"},
			KeepBacklash{Step: "closing pack", Float: odd}, KeepBacklash{Step: "closing pack", Float: "1 mm", Against: odd}, DrawPiece{"tall post", odd}, DrawPiece{odd, "S-31"},
		} {
			_, err := r.Do(t.Context(), c)
			if err == nil {
				t.Errorf("%T took %.20q", c, odd)
				continue
			}
			if msg := err.Error(); len(msg) > 700 || strings.ContainsFunc(msg, func(x rune) bool { return x < ' ' || x == 0x202e || x == 0xfffd }) {
				t.Errorf("%T: %d bytes: %.80q", c, len(msg), msg)
			}
		}
	}
	if now := r.Snapshot().Seq; now != before {
		t.Errorf("%d facts were recorded", now-before)
	}
}

// A job that cannot be worked loses no press: it is kept, and the trouble is told
// in words, also at the next start, where the job is left aside.
func TestJobThatCannotBeWorked(t *testing.T) {
	b := still(t)
	if _, err := b.apply(t.Context(), OpenJob{Sheet: "fw3", Serial: "17"}); err != nil {
		t.Fatal(err)
	}
	if _, err := b.apply(t.Context(), ChooseStep{recess}); err != nil {
		t.Fatal(err)
	}
	leaf := fact.Leaf{Size: figure("0.10 mm"), Count: 1 << 40} // more than any tray has
	if err := b.store(t.Context(), of("job/0001", fact.Offered{Trays: map[string][]fact.Leaf{"shims": {leaf}}})); err != nil {
		t.Fatal(err)
	}
	var err error
	if b.job, err = b.job.Then(b.seq, fact.Offered{Trays: map[string][]fact.Leaf{"shims": {leaf}}}); err != nil {
		t.Fatal(err)
	}
	b.event(t.Context(), sample("D07", "18.74 mm"))
	b.publish()
	s := b.Snapshot()
	if len(s.Job.Presses) != 1 || s.Last == nil || s.Last.Press.Outcome != fact.Taken || !strings.HasPrefix(s.Trouble, "The press is kept. job 0001 cannot be worked: ") {
		t.Errorf("%d presses, %+v, trouble %q", len(s.Job.Presses), s.Last, s.Trouble)
	}
	again, err := Open(t.Context(), b.journal, b.cfg)
	if err != nil {
		t.Fatal(err)
	}
	if s := again.Snapshot(); s.Job != nil || !strings.HasPrefix(s.Trouble, "Job 0001 is left aside. job 0001 cannot be worked: ") {
		t.Errorf("trouble %q", s.Trouble)
	}
	again.event(t.Context(), sample("D07", "18.75 mm")) // with no job in front it is kept all the same
	if s := again.last; s == nil || s.Press.Outcome != fact.Aside || !strings.Contains(s.Press.Sentence, "no job is open") {
		t.Errorf("%+v", s)
	}
}
