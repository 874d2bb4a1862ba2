//go:build unix

package bench

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"shimwright/calc/quantity"
	"shimwright/devices"
	"shimwright/devices/decodertest"
	"shimwright/devices/port"
	"shimwright/devices/virtual"
	"shimwright/ingest/fact"
	"shimwright/ingest/guard"
	"shimwright/ingest/journal"
	"shimwright/ingest/register"
)

// patience is how long a test waits for what must come.
const patience = 20 * time.Second

// clock is the real one, moved on by hand, so that presses lie apart without
// anybody waiting.
type clock struct{ on atomic.Int64 }

func (c *clock) Now() time.Time { return time.Now().Add(time.Duration(c.on.Load())) }

func (c *clock) moveOn(d time.Duration) { c.on.Add(int64(d)) }

// double is the window of the tests' bench: so long that two presses within it
// are doubled however slow the machine, and left by moving the clock on.
const double = time.Hour

// A rig is a bench over a real journal, with virtual gauges behind
// pseudo-terminals that the real driver reads.
type rig struct {
	*Bench
	t        testing.TB
	path     string // of the journal
	journal  *journal.Journal
	gauges   map[string]*virtual.Gauge
	clock    *clock
	recorded chan Recorded // every fact, in the order of OnFact
	acked    []Recorded    // those read from it
	stop     func()
}

func figure(s string) quantity.Value {
	v, err := quantity.ParseWithUnit(s)
	if err != nil {
		panic(err)
	}
	return v
}

func noPorts() ([]port.Listed, error) { return nil, nil }

// sheets reads the program's sheets and those of the tests.
func sheets(name string) ([]byte, error) {
	text, err := os.ReadFile(filepath.Join("..", "..", "cmd", "shimwright", "sheets", name+".yaml"))
	if err != nil {
		return os.ReadFile(filepath.Join("..", "..", "testdata", "sheets", name+".yaml"))
	}
	return text, err
}

// lettered is a gauge that states its unit and has a letter for a low battery.
func lettered(word string, u quantity.Unit) devices.Profile {
	p := devices.Defaults()
	p.Settle = 0
	p.Parts = []devices.Part{devices.Sign{}, devices.Figure{},
		devices.UnitWord{Words: map[string]quantity.Unit{word: u, "in": quantity.Inch}},
		devices.Flags{Letters: map[string]devices.Flag{"B": devices.FlagBattery}}}
	return p
}

// config is a bench of six gauges: D09 states no unit, the others do.
func config(dir string, now func() time.Time) Config {
	bare := decodertest.Forms()[0].Profile
	bare.Settle = 0
	gauge := func(id, kind string, p devices.Profile) Gauge {
		return Gauge{ID: id, Kind: kind, CountsIn: kind == "dial indicator", Profile: p, Find: port.Find{Path: filepath.Join(dir, id)}}
	}
	leaf := func(size string) fact.Leaf { return fact.Leaf{Size: figure(size), Count: 10} }
	return Config{
		Name: "bay 2",
		Gauges: []Gauge{
			gauge("D07", "depth gauge", lettered("mm", quantity.MM)), gauge("D09", "depth gauge", bare),
			gauge("M02", "micrometer", lettered("mm", quantity.MM)), gauge("I03", "dial indicator", lettered("mm", quantity.MM)),
			gauge("F05", "force gauge", lettered("N", quantity.Newton)), gauge("T01", "torque wrench", lettered("Nm", quantity.NewtonMetre)),
		},
		Pieces: []Piece{{ID: "S-31", Size: figure("75.004 mm")}, {ID: "S-32", Size: figure("75.021 mm")}, {ID: "S-41", Size: figure("150.006 mm")},
			{ID: "S-51", Size: figure("200.011 mm")}, {ID: "E-02", Size: figure("12.006 mm")}},
		Trays: map[string][]fact.Leaf{"shims": {leaf("0.05 mm"), leaf("0.10 mm"), leaf("0.15 mm"), leaf("0.20 mm"), leaf("0.25 mm"),
			leaf("0.30 mm"), leaf("0.50 mm"), leaf("1.00 mm")}},
		Sheets: sheets, Ports: port.System(noPorts), Now: now, Windows: guard.Windows{Double: double}, Program: "test",
	}
}

// plug makes the virtual gauges of a bench.
func plug(t testing.TB, cfg Config) map[string]*virtual.Gauge {
	t.Helper()
	gauges := map[string]*virtual.Gauge{}
	for _, g := range cfg.Gauges {
		v, err := virtual.New(g.Profile, g.Find.Path)
		if err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() {
			if err := v.Close(); err != nil {
				t.Error(err)
			}
		})
		gauges[g.ID] = v
	}
	return gauges
}

func openJournal(t testing.TB, path string, now func() time.Time) *journal.Journal {
	t.Helper()
	j, err := journal.Open(path, journal.Options{Bench: "bay 2", Run: fmt.Sprintf("run-%d", time.Now().UnixNano()), Now: now, Rows: fact.Rows()})
	if err != nil {
		t.Fatal(err)
	}
	return j
}

// newRig runs a bench until the test ends, and verifies its journal then.
func newRig(t testing.TB, change ...func(*Config)) *rig {
	t.Helper()
	return newRigOver(t, nil, change...)
}

// newRigOver is newRig over a journal that holds facts already.
func newRigOver(t testing.TB, facts []about, change ...func(*Config)) *rig {
	t.Helper()
	checkLeaks(t)
	dir := t.TempDir()
	r := &rig{t: t, path: filepath.Join(dir, "bay 2.journal"), clock: &clock{}}
	cfg := config(dir, r.clock.Now)
	r.gauges = plug(t, cfg)
	if len(facts) > 0 {
		j := openJournal(t, r.path, r.clock.Now)
		put(t, j, facts...)
		if err := j.Close(); err != nil {
			t.Fatal(err)
		}
	}
	r.start(cfg, change...)
	return r
}

// put stores facts.
func put(t testing.TB, j *journal.Journal, facts ...about) {
	t.Helper()
	var records []journal.Record
	for _, f := range facts {
		rec, err := fact.Encode(f.subject, f.fact)
		if err != nil {
			t.Fatal(err)
		}
		records = append(records, rec)
	}
	if _, err := j.Append(t.Context(), records...); err != nil {
		t.Fatal(err)
	}
}

// approved is a lead's yes to a sheet of the tests, so that jobs by it are real.
func approved(t testing.TB, name string) about {
	t.Helper()
	text, err := sheets(name)
	if err != nil {
		t.Fatal(err)
	}
	return about{register.SheetSubject(name), fact.Approved{Issue: 1, Digest: Digest(text), Day: fact.DayOf(time.Now()), By: fact.Signature{Initials: "RK", By: fact.ByInitials}}}
}

// start opens and runs a bench over the rig's journal.
func (r *rig) start(cfg Config, change ...func(*Config)) {
	r.t.Helper()
	r.recorded, r.acked = make(chan Recorded, 10_000), nil
	cfg.OnFact = func(f Recorded) { r.recorded <- f }
	for _, c := range change {
		c(&cfg)
	}
	r.journal = openJournal(r.t, r.path, cfg.Now)
	var err error
	if r.Bench, err = Open(r.t.Context(), r.journal, cfg); err != nil {
		r.t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan error, 1)
	go func() { done <- r.Run(ctx) }()
	stopped := false
	r.stop = func() {
		if stopped {
			return
		}
		stopped = true
		cancel()
		select {
		case err := <-done:
			if err != nil {
				r.t.Error(err)
			}
		case <-time.After(patience):
			r.t.Error("the bench does not stop")
		}
		if err := r.journal.Verify(context.Background(), nil); err != nil {
			r.t.Error(err)
		}
		if err := r.journal.Close(); err != nil {
			r.t.Error(err)
		}
	}
	r.t.Cleanup(r.stop)
	r.await("the gauges to connect", func(s *Snapshot) bool {
		for _, g := range s.Gauges {
			if g.State != "connected" {
				return false
			}
		}
		return true
	})
}

// checkLeaks sees that the test leaves no goroutine behind.
func checkLeaks(t testing.TB) {
	before := runtime.NumGoroutine()
	t.Cleanup(func() {
		deadline := time.Now().Add(5 * time.Second)
		for runtime.NumGoroutine() > before {
			if time.Now().After(deadline) {
				buf := make([]byte, 1<<16)
				t.Errorf("%d goroutines before, %d after:\n%s", before, runtime.NumGoroutine(), buf[:runtime.Stack(buf, true)])
				return
			}
			runtime.Gosched() // nothing tells of a goroutine's end
		}
	})
}

// await waits for a snapshot that will do, and gives it.
func (r *rig) await(what string, will func(*Snapshot) bool) *Snapshot {
	r.t.Helper()
	woken, done := r.Watch()
	defer done()
	deadline := time.NewTimer(patience)
	defer deadline.Stop()
	for {
		if s := r.Snapshot(); will(s) {
			return s
		}
		select {
		case <-woken:
		case <-deadline.C:
			r.t.Fatalf("waited %s for %s; the last press: %+v; trouble %q", patience, what, r.Snapshot().Last, r.Snapshot().Trouble)
		}
	}
}

// next gives the next fact that OnFact tells of.
func (r *rig) next() Recorded {
	r.t.Helper()
	select {
	case f := <-r.recorded:
		r.acked = append(r.acked, f)
		return f
	case <-time.After(patience):
		r.t.Fatalf("waited %s for a fact; trouble %q", patience, r.Snapshot().Trouble)
		return Recorded{}
	}
}

// nextPress gives the next press that is recorded, with the snapshot after it.
func (r *rig) nextPress() (fact.Pressed, int64, *Snapshot) {
	r.t.Helper()
	for {
		f := r.next()
		if p, ok := f.Fact.(fact.Pressed); ok {
			return p, f.Stored.Seq, r.await("the press to show", func(s *Snapshot) bool { return s.Last != nil && s.Last.Seq >= f.Stored.Seq })
		}
	}
}

// press presses a virtual gauge's button, long after the press before.
func (r *rig) press(gauge, value string) (fact.Pressed, *Snapshot) {
	r.t.Helper()
	r.clock.moveOn(double)
	return r.pressAtOnce(gauge, value)
}

func (r *rig) pressAtOnce(gauge, value string) (fact.Pressed, *Snapshot) {
	r.t.Helper()
	if err := r.gauges[gauge].Press(figure(value)); err != nil {
		r.t.Fatal(err)
	}
	p, _, s := r.nextPress()
	return p, s
}

// raw sends bytes as they are, long after the press before.
func (r *rig) raw(gauge, line string) (fact.Pressed, *Snapshot) {
	r.t.Helper()
	r.clock.moveOn(double)
	if err := r.gauges[gauge].SendRaw([]byte(line)); err != nil {
		r.t.Fatal(err)
	}
	p, _, s := r.nextPress()
	return p, s
}

// do carries out a command that must succeed.
func (r *rig) do(c Command) Reply {
	r.t.Helper()
	reply, err := r.Do(r.t.Context(), c)
	if err != nil {
		r.t.Fatalf("%+v: %v", c, err)
	}
	if !strings.HasSuffix(reply.Words, ".") || strings.HasSuffix(reply.Words, "..") || len(reply.Words) < 2 {
		r.t.Errorf("%+v is answered %q", c, reply.Words)
	}
	return reply
}

// at opens a job and goes to a step, with the pieces of its setup drawn.
func (r *rig) at(step string, pieces ...DrawPiece) {
	r.t.Helper()
	r.do(OpenJob{Sheet: "fw3", Serial: "17"})
	for _, p := range pieces {
		r.do(p)
	}
	r.do(ChooseStep{Step: step})
}

// picture is all that a snapshot says of its job, as text to compare.
func picture(s *Snapshot) string {
	var b strings.Builder
	if s.Job == nil {
		return "no job"
	}
	fmt.Fprintf(&b, "job %s serial %s, fact %d, build %d, training %v\n", s.Job.ID, s.Job.Head.Serial, s.Seq, s.Results.Build, s.Results.Training)
	if s.Step != nil {
		fmt.Fprintf(&b, "at %d %s %q pieces %v missing %q\n", s.Number, s.Step.Step.Name, s.Step.Spot, s.Pieces, s.Missing)
	}
	for _, p := range s.Held {
		fmt.Fprintf(&b, "held %d\n", p.Seq)
	}
	for _, p := range s.Job.Presses {
		fmt.Fprintf(&b, "press %d %s %s %v now %s struck %v %q\n", p.Seq, p.Fact.Step, p.Fact.Spot, p.Fact.Value, p.Now, p.Struck, p.Reason)
	}
	return b.String() + results(s)
}

// results is every figure and verdict of a job.
func results(s *Snapshot) string {
	var b strings.Builder
	for _, x := range s.Results.Steps {
		fmt.Fprintf(&b, "%s: %s wants %q at %q left %d problem %q text %q presses %d", x.Step.Name, x.Status, x.Wants, x.Spot, x.Left, x.Problem, x.Text, len(x.Presses))
		if x.Figure != nil {
			fmt.Fprintf(&b, " figure %s", x.Figure.Value)
		}
		if p := x.Pack; p != nil {
			if p.Worked != nil {
				fmt.Fprintf(&b, " worked %s", p.Worked.Value)
			}
			if p.Fitted != nil {
				fmt.Fprintf(&b, " fitted %s error %s %s", p.Fitted.Value, p.Error, p.ErrorDoes)
			}
		}
		if c := x.Check; c != nil {
			fmt.Fprintf(&b, " verdict %s %q %q", c.Verdict, c.Words, c.Advice)
		}
		b.WriteByte('\n')
	}
	return b.String()
}

// stored reads every fact of the rig's journal.
func (r *rig) stored() []journal.Stored {
	r.t.Helper()
	reader, err := journal.OpenReader(r.path)
	if err != nil {
		r.t.Fatal(err)
	}
	defer reader.Close()
	var out []journal.Stored
	if err := reader.Read(context.Background(), "", 0, func(s journal.Stored) error { out = append(out, s); return nil }); err != nil {
		r.t.Fatal(err)
	}
	return out
}
