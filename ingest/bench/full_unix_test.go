//go:build unix

package bench

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"os/exec"
	"os/signal"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"shimwright/devices"
	"shimwright/devices/port"
	"shimwright/ingest/fact"
	"shimwright/ingest/journal"
)

// limitEnv is set where the victim is a bench whose files may not grow.
const limitEnv = "SHIMWRIGHT_TEST_LIMIT"

// fullDisk is a bench that takes presses until its journal may grow no more, and
// says what it shows then.
func fullDisk(dir string) error {
	signal.Ignore(syscall.SIGXFSZ) // so that writing fails instead
	cfg := config(dir, time.Now)
	cfg.Windows.Double = 0
	j, err := journal.Open(filepath.Join(dir, "t.journal"), journal.Options{Bench: "bay 2", Run: "full", Now: time.Now, Rows: fact.Rows()})
	if err != nil {
		return err
	}
	b, err := Open(context.Background(), j, cfg)
	if err != nil {
		return err
	}
	if _, err := b.apply(context.Background(), OpenJob{Sheet: "fw3", Serial: "17"}); err != nil {
		return err
	}
	if err := syscall.Setrlimit(syscall.RLIMIT_FSIZE, &syscall.Rlimit{Cur: 400 << 10, Max: 400 << 10}); err != nil {
		return err
	}
	for b.trouble == "" {
		before := b.seq
		s := devices.Sample{Gauge: "D07", Source: devices.SourceGauge}
		s.Value, s.UnitStated, s.At = figure("18.74 mm"), true, time.Now()
		b.event(context.Background(), port.Event{Gauge: "D07", What: port.Sample, At: s.At, Sample: s})
		b.publish()
		if b.trouble == "" && b.seq > before {
			fmt.Println("kept", b.seq)
		}
	}
	fmt.Println("trouble", b.Snapshot().Trouble, len(b.Snapshot().Job.Presses))
	if _, err := b.apply(context.Background(), Retake{recess, "x"}); err != nil {
		fmt.Println("refused", err)
	}
	b.publish()
	fmt.Println("failing", b.Snapshot().Failing)
	return nil
}

// A bench whose disk is full says of a press that it was not recorded, and keeps
// what it acknowledged.
func TestDiskFull(t *testing.T) {
	dir := t.TempDir()
	cmd := exec.Command(os.Args[0], "-test.run=^$")
	cmd.Env = append(os.Environ(), victimEnv+"="+dir, limitEnv+"=1")
	var complaint bytes.Buffer
	cmd.Stderr = &complaint
	out, _ := cmd.Output() // a victim ends with status 1
	if complaint.Len() > 0 {
		t.Fatal(complaint.String())
	}
	kept, presses, words := int64(0), 0, ""
	for _, l := range strings.Split(strings.TrimSpace(string(out)), "\n") {
		if _, err := fmt.Sscanf(l, "kept %d", &kept); err == nil {
			continue
		}
		words += l + "\n"
		if rest, ok := strings.CutPrefix(l, "trouble "); ok {
			if _, err := fmt.Sscan(rest[strings.LastIndex(rest, " "):], &presses); err != nil {
				t.Error(err)
			}
		}
	}
	if !strings.Contains(words, "NOT RECORDED: 18.74 mm from D07. not recorded: journal") || !strings.Contains(words, "refused not recorded: journal") || !strings.Contains(words, "failing true") || presses == 0 {
		t.Errorf("%s", words)
	}
	j := openJournal(t, filepath.Join(dir, "t.journal"), time.Now)
	defer j.Close()
	if err := j.Verify(t.Context(), nil); err != nil {
		t.Error(err)
	}
	b, err := Open(t.Context(), j, config(dir, time.Now))
	if err != nil {
		t.Fatal(err)
	}
	if s := b.Snapshot(); s.Seq < kept || len(s.Job.Presses) < presses || len(s.Job.Presses) > presses+1 {
		t.Errorf("fact %d of %d acknowledged, %d presses of %d", s.Seq, kept, len(s.Job.Presses), presses)
	}
}
