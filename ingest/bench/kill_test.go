//go:build unix

package bench

import (
	"bufio"
	"bytes"
	"context"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"syscall"
	"testing"
	"time"

	"shimwright/calc/overhaul"
	"shimwright/devices/virtual"
	"shimwright/ingest/fact"
	"shimwright/ingest/journal"
)

const (
	victimEnv = "SHIMWRIGHT_TEST_BENCH"  // folder: be the bench that is killed
	judgedEnv = "SHIMWRIGHT_TEST_JUDGED" // set: be killed between a press and its judgement
	ahead     = 4                        // presses that may be on their way
)

func TestMain(m *testing.M) {
	if dir := os.Getenv(victimEnv); dir != "" {
		run := victim
		switch {
		case os.Getenv(judgedEnv) != "":
			run = between
		case os.Getenv(limitEnv) != "":
			run = fullDisk
		}
		if err := run(dir); err != nil {
			fmt.Fprintln(os.Stderr, err)
		}
		os.Exit(1) // it is killed, and never ends by itself
	}
	os.Exit(m.Run())
}

// victim runs a bench whose virtual depth gauge presses without end, and prints
// "number hash kind" of each fact once it is acknowledged. Steps that are full
// are taken again.
func victim(dir string) error {
	cfg := config(dir, time.Now)
	cfg.Gauges, cfg.Windows.Double = cfg.Gauges[:1], 0
	j, err := journal.Open(filepath.Join(dir, "t.journal"), journal.Options{Bench: "bay 2", Run: fmt.Sprint(os.Getpid()), Now: time.Now, Rows: fact.Rows()})
	if err != nil {
		return err
	}
	gauge, err := virtual.New(cfg.Gauges[0].Profile, cfg.Gauges[0].Find.Path)
	if err != nil {
		return err
	}
	room := make(chan struct{}, ahead)
	cfg.OnFact = func(f Recorded) {
		fmt.Fprintln(os.Stdout, f.Stored.Seq, f.Stored.Hash, f.Stored.Kind)
		if f.Stored.Kind == "pressed" {
			<-room
		}
	}
	b, err := Open(context.Background(), j, cfg)
	if err != nil {
		return err
	}
	failed := make(chan error, 2)
	go func() { failed <- b.Run(context.Background()) }()
	go func() { failed <- work(b) }()
	go func() {
		for n := 0; ; n++ {
			room <- struct{}{}
			if err := gauge.Press(figure(fmt.Sprintf("18.%02d mm", 50+n%50))); err != nil {
				failed <- err
			}
		}
	}()
	return <-failed
}

// mostPresses is after how many presses the victim's job is abandoned for another.
const mostPresses = 1000

// work opens a job, unless one is open, and keeps a step waiting for presses.
func work(b *Bench) error {
	do := func(c Command) error { _, err := b.Do(context.Background(), c); return err }
	woken, stop := b.Watch()
	defer stop()
	for {
		var err error
		switch s := b.Snapshot(); {
		case s.Job == nil:
			err = do(OpenJob{Sheet: "fw3", Serial: "17"})
		case len(s.Job.Presses) > mostPresses:
			err = do(Abandon{"long enough"})
		case s.Step == nil || s.Step.Step.Name != recess || s.Step.Left == 0:
			err = do(Retake{Step: recess, Reason: "full"})
		default:
			<-woken
		}
		if err != nil {
			return err
		}
	}
}

// Killed at any moment: each acknowledged fact is there, the chain is whole, and
// the job goes on where it was.
func TestKilled(t *testing.T) {
	rounds := rounds(10)
	if testing.Short() {
		rounds = 3
	}
	seed := uint64(time.Now().UnixNano())
	t.Logf("seed %d", seed)
	chance := rand.New(rand.NewPCG(seed, 0))
	dir := t.TempDir()
	acknowledged := map[int64]string{}
	presses, jobs := 0, 0
	for round := range rounds {
		killOne(t, dir, chance, acknowledged)
		if t.Failed() {
			return
		}
		now, opened := survived(t, dir, acknowledged)
		if opened == jobs && now < presses && now != noJob {
			t.Errorf("round %d: the job has %d presses and had %d", round, now, presses)
		}
		presses, jobs = now, opened
	}
	if presses == 0 || jobs == 0 {
		t.Error("no press came through")
	}
	t.Logf("%d facts acknowledged, %d presses in the job, %d jobs, %d rounds", len(acknowledged), presses, jobs, rounds)
}

// between runs a bench that kills itself as soon as the press is acknowledged
// that a judgement follows from: the last pull of a turning torque.
func between(dir string) error {
	cfg := config(dir, time.Now)
	cfg.Gauges, cfg.Windows.Double = cfg.Gauges[4:5], 0
	j, err := journal.Open(filepath.Join(dir, "t.journal"), journal.Options{Bench: "bay 2", Run: fmt.Sprint(os.Getpid()), Now: time.Now, Rows: fact.Rows()})
	if err != nil {
		return err
	}
	gauge, err := virtual.New(cfg.Gauges[0].Profile, cfg.Gauges[0].Find.Path)
	if err != nil {
		return err
	}
	pulls := 0
	cfg.OnFact = func(f Recorded) {
		if f.Stored.Kind != "pressed" {
			return
		}
		if pulls++; pulls == 4 {
			fmt.Fprintln(os.Stdout, f.Stored.Seq)
			_ = syscall.Kill(os.Getpid(), syscall.SIGKILL)
		}
	}
	b, err := Open(context.Background(), j, cfg)
	if err != nil {
		return err
	}
	failed := make(chan error, 1)
	go func() { failed <- b.Run(context.Background()) }()
	for _, c := range []Command{OpenJob{Sheet: "fw3", Serial: "17"}, Record{"pinion bearings", "new"}, ChooseStep{"pinion turning torque"}} {
		if _, err := b.Do(context.Background(), c); err != nil {
			return err
		}
	}
	for range 4 {
		if err := gauge.Press(figure("38.0 N")); err != nil {
			return err
		}
	}
	return <-failed
}

// Killed after a press was acknowledged and before what follows from it was
// stored: taking the job up stores the judgement, once.
func TestKilledBeforeTheJudgement(t *testing.T) {
	dir := t.TempDir()
	cmd := exec.Command(os.Args[0], "-test.run=^$")
	cmd.Env = append(os.Environ(), victimEnv+"="+dir, judgedEnv+"=1")
	stuck := time.AfterFunc(patience, func() { cmd.Process.Kill() })
	out, _ := cmd.Output() // killed, which is no error here
	stuck.Stop()
	acknowledged := int64(0)
	if _, err := fmt.Sscan(string(out), &acknowledged); err != nil {
		t.Fatalf("the victim printed %q", out)
	}
	for start := range 2 {
		j := openJournal(t, filepath.Join(dir, "t.journal"), time.Now)
		if last, _, err := j.Last(t.Context()); err != nil || start == 0 && last.Seq != acknowledged {
			t.Errorf("the journal ends with fact %d, the press was %d: %v", last.Seq, acknowledged, err)
		}
		cfg := config(dir, time.Now)
		cfg.Gauges = cfg.Gauges[4:5] // as the killed one had
		b, err := Open(t.Context(), j, cfg)
		if err != nil {
			t.Fatal(err)
		}
		if s := b.Snapshot(); s.Seq != acknowledged+1 || s.Results.Of("pinion turning torque").Status != overhaul.Done {
			t.Errorf("start %d: fact %d, %s", start, s.Seq, s.Results.Of("pinion turning torque").Status)
		}
		last, _, err := j.Last(t.Context())
		if f, bad := fact.Decode(last); err != nil || bad != nil || last.Seq != acknowledged+1 || f.(fact.Judged).Step != "pinion turning torque" {
			t.Errorf("start %d: the journal ends with %s %d", start, last.Kind, last.Seq)
		}
		if err := j.Close(); err != nil {
			t.Error(err)
		}
	}
}

// killOne runs a victim and kills it a moment after some acknowledgements.
func killOne(t *testing.T, dir string, chance *rand.Rand, acknowledged map[int64]string) {
	t.Helper()
	cmd := exec.Command(os.Args[0], "-test.run=^$")
	cmd.Env = append(os.Environ(), victimEnv+"="+dir)
	var complaint bytes.Buffer
	cmd.Stderr = &complaint
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	stuck := time.AfterFunc(patience, func() { cmd.Process.Kill() })
	left, moment := 1+chance.IntN(50), time.Duration(chance.IntN(2000))*time.Microsecond
	var killer *time.Timer
	lines := bufio.NewScanner(out)
	for lines.Scan() { // to the end of the pipe: all that it said before it died
		var seq int64
		var hash, kind string
		if n, err := fmt.Sscan(lines.Text(), &seq, &hash, &kind); n != 3 {
			t.Errorf("the victim printed %q: %v", lines.Text(), err)
		}
		if _, twice := acknowledged[seq]; twice {
			t.Errorf("fact %d was acknowledged twice", seq)
		}
		acknowledged[seq] = hash
		if left--; left == 0 {
			killer = time.AfterFunc(moment, func() { cmd.Process.Kill() })
		}
	}
	_ = cmd.Wait() // killed, which is no error here
	if !stuck.Stop() {
		t.Errorf("the victim got stuck: %s", complaint.String())
	}
	if killer == nil || complaint.Len() > 0 {
		t.Errorf("the victim ended by itself: %s", complaint.String())
		return
	}
	killer.Stop()
}

// noJob stands for the presses of a job where none is open: it was killed between
// two, or before the first.
const noJob = -1

// survived looks at what the killed bench left, opens it again, and gives the
// number of presses of its job, and of its jobs.
func survived(t *testing.T, dir string, acknowledged map[int64]string) (presses, jobs int) {
	t.Helper()
	j := openJournal(t, filepath.Join(dir, "t.journal"), time.Now)
	defer j.Close()
	if err := j.Verify(t.Context(), nil); err != nil {
		t.Error(err)
	}
	missing := len(acknowledged)
	newest := int64(0)
	err := j.Read(t.Context(), "", 0, func(s journal.Stored) error {
		newest = s.Seq
		switch hash, ok := acknowledged[s.Seq]; {
		case ok && hash != s.Hash.String():
			t.Errorf("fact %d is not the one acknowledged", s.Seq)
		case ok:
			missing--
		}
		return nil
	})
	if err != nil || missing > 0 {
		t.Errorf("%d acknowledged facts are missing: %v", missing, err)
	}
	cfg := config(dir, time.Now)
	cfg.Gauges = cfg.Gauges[:1] // as the killed one had
	b, err := Open(t.Context(), j, cfg)
	if err != nil {
		t.Fatal(err)
	}
	s := b.Snapshot()
	if s.Seq != newest {
		t.Errorf("the bench goes on from fact %d, the journal ends with %d", s.Seq, newest)
	}
	if s.Job == nil {
		return noJob, b.jobs
	}
	if s.Job.ID != fmt.Sprintf("%04d", b.jobs) || s.Job.Last > s.Seq {
		t.Errorf("job %s, fact %d of %d", s.Job.ID, s.Job.Last, s.Seq)
	}
	return len(s.Job.Presses), b.jobs
}
