//go:build unix

package bench

import (
	"fmt"
	"strings"
	"sync"
	"testing"

	"github.com/google/go-cmp/cmp"

	"shimwright/calc/overhaul"
	"shimwright/devices"
	"shimwright/ingest/fact"
)

const recess = "cover recess" // three presses of a depth gauge, and no piece

// A press through the pseudo-terminal and the real driver is a durable fact,
// takes its place at the open step, and the last one moves the step on.
func TestPressMovesTheStepOn(t *testing.T) {
	r := newRig(t)
	r.at(recess)
	for i := range 3 {
		p, s := r.press("D07", "18.74 mm")
		if p.Outcome != fact.Taken || p.Step != recess || p.Gauge != "D07" || p.GaugeKind != "depth gauge" || !p.UnitStated ||
			p.Source != devices.SourceVirtual || string(p.Raw) != "+18.74mm\r" || p.Value.String() != "18.74 mm" {
			t.Fatalf("press %d: %+v", i, p)
		}
		if got := s.Results.Of(recess); got.Left != 2-i {
			t.Errorf("press %d: %d left", i, got.Left)
		}
	}
	s := r.Snapshot()
	if f := s.Results.Of(recess).Figure; f == nil || f.Value.String() != "18.74" {
		t.Errorf("the figure is %v", f)
	}
	if s.Step == nil || s.Step.Step.Name != "overall height" {
		t.Errorf("the open step is %v", s.Step)
	}
	stored := r.stored()
	last := stored[len(stored)-1]
	if last.Kind != "pressed" || last.Seq != s.Seq {
		t.Errorf("the journal ends with %s %d, the snapshot with %d", last.Kind, last.Seq, s.Seq)
	}
}

// What is no good reading is kept in words and changes no figure.
func TestOddInputChangesNoFigure(t *testing.T) {
	r := newRig(t)
	r.at(recess)
	r.press("D07", "18.74 mm")
	r.press("D09", "18.74 mm")
	before := r.Snapshot()
	for _, c := range []struct {
		name, gauge, line string
		want              fact.Outcome
		words             string
	}{
		{"dashes", "D07", "-----\r", fact.Aside, `From D07: no number`},
		{"an error sign", "D09", "Err 3\r", fact.Aside, `From D09: no number`},
		{"letters", "D07", "abc\r", fact.Aside, "From D07: "},
		{"NaN", "D09", "NaN\r", fact.Aside, "From D09: "},
		{"infinite", "D09", "-Inf\r", fact.Aside, "From D09: "},
		{"a power of ten", "D09", "1.874E1\r", fact.Aside, "From D09: "},
		{"12 digits", "D09", "123456789012\r", fact.Aside, "From D09: "},
		{"blank", "D07", "      \r", fact.Aside, "From D07: no number"},
		{"all nines", "D09", "9999.99\r", fact.Aside, "From D09: no number"},
		{"noise", "D07", "18\xff.74mm\r", fact.Aside, "From D07: noise on the line"},
		{"a terminal's control bytes", "D07", "\x1b[2J18.74mm\r", fact.Aside, "From D07: noise on the line"},
		{"a line for ever", "D07", strings.Repeat("7", 300) + "\r", fact.Aside, "From D07: "},
		{"a unit the gauge does not have", "D07", "18.74cm\r", fact.Aside, "From D07: "},
		{"no unit where one is due", "D07", "18.74\r", fact.Aside, "From D07: "},
		{"bare inches", "D09", "0.738\r", fact.Held, "Read in inches it would be 18.7452 mm, which fits."},
		{"bare hundredths", "D09", "1874\r", fact.Held, "Read in hundredths of a mm it would be 18.74 mm, which fits."},
		{"the foot not on the face", "D07", "+3.38mm\r", fact.Held, "misses 18.00 mm .. 19.50 mm"},
		{"nought", "D07", "-0.00mm\r", fact.Held, "0.00 mm from D07 misses"},
		{"nine digits", "D07", "1234567.89mm\r", fact.Held, "misses"},
		{"the wrong gauge", "I03", "+18.74mm\r", fact.Aside, `That was I03, a dial indicator; the step "cover recess" wants a depth gauge.`},
		{"a pull", "F05", "18.74N\r", fact.Aside, "a force gauge"},
	} {
		p, s := r.raw(c.gauge, c.line)
		if p.Outcome != c.want || !strings.Contains(p.Sentence, c.words) {
			t.Errorf("%s: %s %q, want %s %q", c.name, p.Outcome, p.Sentence, c.want, c.words)
		}
		if diff := cmp.Diff(results(before), results(s)); diff != "" {
			t.Errorf("%s changed a figure:\n%s", c.name, diff)
		}
		if len(p.Raw) == 0 {
			t.Errorf("%s: its bytes were not kept", c.name)
		}
		if p.Step != recess {
			t.Errorf("%s: it is kept at step %q", c.name, p.Step)
		}
	}
	for _, line := range []string{"\r", "\r\n", "\r\r\r"} { // an empty line is no press
		if err := r.gauges["D07"].SendRaw([]byte(line)); err != nil {
			t.Fatal(err)
		}
	}
	if p, s := r.press("D07", "18.74 mm"); p.Outcome != fact.Taken || s.Results.Of(recess).Status != overhaul.Done {
		t.Errorf("after all that a good press is %s: %s", p.Outcome, p.Sentence)
	}
}

// A stated inch is converted exactly.
func TestStatedInch(t *testing.T) {
	r := newRig(t)
	r.at(recess)
	for range 3 {
		p, _ := r.raw("D07", "0.7378in\r")
		if p.Outcome != fact.Taken || p.Value.String() != "0.7378 in" || !strings.Contains(p.Sentence, "the gauge is on in, that is 18.74012 mm.") {
			t.Fatalf("%+v", p)
		}
	}
	if f := r.Snapshot().Results.Of(recess).Figure; f.Value.String() != "18.74012" {
		t.Errorf("the figure is %s", f.Value)
	}
}

func TestLowBattery(t *testing.T) {
	r := newRig(t)
	r.at(recess)
	r.gauges["D07"].SetBattery(true)
	p, s := r.press("D07", "18.74 mm")
	if p.Outcome != fact.Taken || !p.Battery || !strings.HasPrefix(p.Do, "Battery low on D07") || !s.Gauges[0].Battery {
		t.Errorf("%+v, %+v", p, s.Gauges[0])
	}
	r.gauges["D07"].SetBattery(false)
	if p, s := r.press("D07", "18.74 mm"); p.Battery || s.Gauges[0].Battery {
		t.Error("a new battery does not show")
	}
}

func TestDoubled(t *testing.T) {
	r := newRig(t)
	r.at(recess)
	first, _ := r.press("D07", "18.74 mm")
	again, s := r.pressAtOnce("D07", "18.74 mm")
	if first.Outcome != fact.Taken || again.Outcome != fact.Aside || s.Results.Of(recess).Left != 2 {
		t.Errorf("the same twice: %s, %s, %d left", first.Outcome, again.Outcome, s.Results.Of(recess).Left)
	}
	differs, s := r.pressAtOnce("D07", "18.75 mm")
	if differs.Outcome != fact.Held || len(s.Held) != 2 || s.Results.Of(recess).Left != 3 {
		t.Errorf("another figure too soon: %s, %d held, %d left", differs.Outcome, len(s.Held), s.Results.Of(recess).Left)
	}
	third, s := r.pressAtOnce("D07", "18.76 mm")
	if third.Outcome != fact.Held || len(s.Held) != 3 {
		t.Errorf("a third one of the same burst: %s, %d held", third.Outcome, len(s.Held))
	}
	// The other gauge's presses are its own.
	if p, _ := r.pressAtOnce("D09", "18.74 mm"); p.Outcome != fact.Taken {
		t.Errorf("another gauge's press was %s: %s", p.Outcome, p.Sentence)
	}
	if p, _ := r.press("D07", "18.74 mm"); p.Outcome != fact.Taken {
		t.Errorf("a press of its own was %s: %s", p.Outcome, p.Sentence)
	}
	held := r.Snapshot().Held
	r.do(Take{Press: held[0].Seq, Reason: "the dial stood there"})
	r.do(Strike{Press: held[1].Seq, Reason: "the foot slipped"})
	r.do(Strike{Press: held[2].Seq, Reason: "the foot slipped"})
	if s := r.Snapshot(); len(s.Held) != 0 || s.Results.Of(recess).Status != overhaul.Done || s.Results.Of(recess).Figure.Value.String() != "18.74" {
		t.Errorf("%d held, %s", len(s.Held), results(s))
	}
}

// A step's last press that comes doubled is not the first one of the next
// step, though that waits for the same kind of gauge.
func TestDoubledAtTheEndOfAStep(t *testing.T) {
	r := newRig(t, func(c *Config) {
		c.Sheets = func(name string) ([]byte, error) {
			text, err := sheets(name)
			wide := strings.ReplaceAll(string(text), "window: 24.50 mm .. 28.50 mm", "window: 10.00 mm .. 28.50 mm")
			return []byte(wide), err
		}
	})
	r.at(recess, DrawPiece{"overall post", "S-51"}, DrawPiece{"straightedge", "E-02"})
	r.do(SayIn{Step: "overall height", Pack: "wheel pack", In: false})
	r.do(ChooseStep{Step: recess})
	for range 3 {
		r.press("D07", "18.74 mm")
	}
	if s := r.Snapshot(); s.Step.Step.Name != "overall height" || s.Missing != "" {
		t.Fatalf("the open step is %s, missing %q", s.Step.Step.Name, s.Missing)
	}
	p, s := r.pressAtOnce("D07", "18.74 mm")
	if p.Outcome != fact.Aside || p.Step != recess || s.Results.Of("overall height").Left != 3 {
		t.Errorf("the same again: %s at %s: %s", p.Outcome, p.Step, p.Sentence)
	}
	p, s = r.pressAtOnce("D07", "18.75 mm")
	if p.Outcome != fact.Held || p.Step != recess || len(s.Held) != 2 || s.Step.Step.Name != recess {
		t.Errorf("another figure: %s at %s, %d held, at %s: %s", p.Outcome, p.Step, len(s.Held), s.Step.Step.Name, p.Sentence)
	}
	r.do(Strike{Press: s.Held[1].Seq, Reason: "sent twice"})
	r.do(Take{Press: s.Held[0].Seq, Reason: "the first one is right"})
	if p, _ := r.press("D07", "26.99 mm"); p.Outcome != fact.Taken || p.Step != "overall height" {
		t.Errorf("%s at %s: %s", p.Outcome, p.Step, p.Sentence)
	}
}

// A press with no job is kept, and counts for no job opened later.
func TestNoJob(t *testing.T) {
	r := newRigOver(t, []about{approved(t, "fw3")})
	p, s := r.press("D07", "18.74 mm")
	if p.Outcome != fact.Aside || !strings.Contains(p.Sentence, "no job is open") || s.Job != nil || s.Last == nil {
		t.Errorf("%+v", p)
	}
	if p, _ := r.raw("D07", "-----\r"); p.Outcome != fact.Aside || !strings.HasPrefix(p.Sentence, "From D07: no number") {
		t.Errorf("%+v", p)
	}
	for _, f := range r.stored()[1:] {
		if f.Kind == "pressed" && f.Subject != "bench" {
			t.Errorf("fact %d is of %s", f.Seq, f.Subject)
		}
	}
	r.at(recess)
	if s := r.Snapshot(); len(s.Job.Presses) != 0 || s.Results.Training {
		t.Error("a job begins with a press made before it")
	}
}

// At a step that no gauge feeds a press is kept with the step's instruction.
func TestNotWaitedFor(t *testing.T) {
	r := newRig(t)
	r.at("pinion distance")
	if p, _ := r.press("D07", "33.38 mm"); p.Outcome != fact.Aside || p.Do != "Read the mark etched on the pinion head." {
		t.Errorf("%+v", p)
	}
}

// A press before the pieces of its setup are said is held.
func TestPieceNotSaid(t *testing.T) {
	r := newRig(t)
	r.at("pinion face height")
	p, s := r.press("D07", "33.38 mm")
	if p.Outcome != fact.Held || !strings.HasPrefix(p.Do, "Say which tall post stands") || s.Missing == "" {
		t.Errorf("%+v", p)
	}
	r.do(DrawPiece{"tall post", "S-31"})
	r.do(DrawPiece{"straightedge", "E-02"})
	p, s = r.press("D07", "33.38 mm")
	if p.Outcome != fact.Taken || strings.Join(p.Pieces, " ") != "S-31 E-02" || s.Missing != "" {
		t.Errorf("%+v, missing %q", p, s.Missing)
	}
	r.do(ChooseStep{Step: "overall height"})
	r.do(DrawPiece{"overall post", "S-51"})
	if p, _ := r.press("D07", "26.99 mm"); p.Outcome != fact.Held || p.Do != "Say whether it is measured with the wheel pack in or not." {
		t.Errorf("%+v", p)
	}
}

// A virtual press makes a training job; a keyed one does not.
func TestTraining(t *testing.T) {
	r := newRigOver(t, []about{approved(t, "fw3")})
	r.at(recess)
	r.do(Keyed{Step: recess, Value: "18.74 mm", Reason: "no cable"})
	r.nextPress()
	if s := r.Snapshot(); s.Results.Training || len(s.Job.Presses) != 1 || s.Job.Presses[0].Fact.Source != devices.SourceKeyed {
		t.Errorf("a keyed press alone: training %v, %+v", s.Results.Training, s.Job.Presses)
	}
	if p, s := r.press("D07", "18.74 mm"); p.Source != devices.SourceVirtual || !s.Results.Training {
		t.Errorf("source %s, training %v", p.Source, s.Results.Training)
	}
}

// Pulled out and plugged in again: the step stays, nothing is lost, and the
// half line that was under way is no reading.
func TestUnplugged(t *testing.T) {
	r := newRig(t)
	r.at(recess)
	r.press("D07", "18.74 mm")
	r.clock.moveOn(double)
	if err := r.gauges["D07"].SendRaw([]byte("+18.7")); err != nil {
		t.Fatal(err)
	}
	if err := r.gauges["D07"].Drained(t.Context()); err != nil {
		t.Fatal(err)
	}
	before := r.Snapshot()
	if err := r.gauges["D07"].Unplug(); err != nil {
		t.Fatal(err)
	}
	s := r.await("the gauge to be gone", func(s *Snapshot) bool { return s.Gauges[0].State == "gone" })
	if s.Gauges[0].Words == "" || s.Step.Step.Name != recess || results(s) != results(before) {
		t.Errorf("gone: %q, at %s", s.Gauges[0].Words, s.Step.Step.Name)
	}
	if p, _ := r.press("D09", "18.74 mm"); p.Outcome != fact.Taken {
		t.Errorf("the other gauge meanwhile: %s", p.Sentence)
	}
	if err := r.gauges["D07"].Replug(); err != nil {
		t.Fatal(err)
	}
	p, s := r.press("D07", "18.74 mm") // sent before the driver has found it again
	if p.Outcome != fact.Taken || s.Results.Of(recess).Status != overhaul.Done || s.Gauges[0].State != "connected" {
		t.Errorf("plugged in again: %s %s, %s", p.Outcome, p.Sentence, s.Gauges[0].State)
	}
	if n := len(s.Job.Presses); n != 3 {
		t.Errorf("%d presses", n)
	}
}

// Two gauges pressing at once: every press is a fact, each gauge's in its
// order, while views watch.
func TestTwoAtOnce(t *testing.T) {
	r := newRig(t, func(c *Config) { c.Windows.Double = 0 })
	r.at(recess)
	const each = 40
	done := make(chan struct{})
	var pressing, watching sync.WaitGroup
	for range 3 {
		watching.Go(func() {
			woken, stop := r.Watch()
			defer stop()
			last := int64(0)
			for {
				select {
				case <-woken:
				case <-done:
					return
				}
				s := r.Snapshot()
				if picture(s); s.Seq < last {
					t.Errorf("a snapshot of fact %d after one of %d", s.Seq, last)
				}
				last = s.Seq
			}
		})
	}
	for _, g := range []string{"D07", "D09"} {
		pressing.Go(func() {
			for i := range each {
				if err := r.gauges[g].Press(figure(fmt.Sprintf("18.%02d mm", 50+i))); err != nil {
					t.Error(err)
				}
			}
		})
	}
	for i := range 10 {
		if _, err := r.Do(t.Context(), Retake{Step: recess, Reason: fmt.Sprint(i)}); err != nil {
			t.Error(err)
		}
	}
	pressing.Wait()
	got := map[string][]string{}
	for len(got["D07"])+len(got["D09"]) < 2*each {
		p, _, _ := r.nextPress()
		got[p.Gauge] = append(got[p.Gauge], p.Value.Digits())
	}
	close(done)
	watching.Wait()
	for _, g := range []string{"D07", "D09"} {
		for i, v := range got[g] {
			if v != fmt.Sprintf("18.%02d", 50+i) {
				t.Fatalf("%s: press %d is %s", g, i, v)
			}
		}
	}
	r.stop()
	for i, f := range r.acked {
		if f.Stored.Seq != int64(i+1) {
			t.Fatalf("OnFact told of fact %d in place %d", f.Stored.Seq, i+1)
		}
	}
}
