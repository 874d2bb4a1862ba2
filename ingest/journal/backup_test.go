package journal

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"sync"
	"testing"
	"time"
)

func TestBackupWhileWriting(t *testing.T) {
	j := create(t)
	put(t, j, presses(MaxRecords)...)
	var wait sync.WaitGroup
	stop := make(chan struct{})
	wait.Go(func() {
		for n := 0; ; n++ {
			select {
			case <-stop:
				return
			default:
				put(t, j, press(2, fmt.Sprint(n)))
			}
		}
	})
	path := filepath.Join(t.TempDir(), "copy.journal")
	last, err := j.Backup(context.Background(), path, nil)
	close(stop)
	wait.Wait()
	if err != nil {
		t.Fatal(err)
	}
	if last.Seq < MaxRecords {
		t.Errorf("the copy ends at fact %d", last.Seq)
	}
	t.Run("restored", func(t *testing.T) {
		b := open(t, path, options())
		for i, s := range all(t, j.Reader, "", 0)[:last.Seq] {
			if got := all(t, b.Reader, "", int64(i))[0]; got.Hash != s.Hash {
				t.Fatalf("fact %d differs", s.Seq)
			}
			if i > 20 { // the chain covers the rest
				break
			}
		}
		put(t, b, press(3, "goes on"))
	})
}

func TestBackupRefusals(t *testing.T) {
	j := create(t)
	put(t, j, presses(10)...)
	there := write(t, []byte("someone's"))
	_, err := j.Backup(context.Background(), there, nil)
	wantError(t, err, ErrRefused, there, "give the path of a new file")
	if b, _ := os.ReadFile(there); string(b) != "someone's" {
		t.Error("the file that was there was changed")
	}
	if _, err := j.Backup(context.Background(), filepath.Join(t.TempDir(), "none", "x"), nil); err == nil {
		t.Error("a folder that is not there was taken")
	}
}

func TestClockStep(t *testing.T) {
	at := time.Date(2026, 2, 2, 8, 0, 0, 0, time.UTC)
	a := Stored{Run: "r1", UTC: at, SinceRun: time.Minute}
	for _, c := range []struct {
		name  string
		after Stored
		want  time.Duration
	}{
		{"no step", Stored{Run: "r1", UTC: at.Add(time.Second), SinceRun: time.Minute + time.Second}, 0},
		{"set back a year", Stored{Run: "r1", UTC: at.AddDate(-1, 0, 0), SinceRun: time.Minute}, -365 * 24 * time.Hour},
		{"set forward", Stored{Run: "r1", UTC: at.Add(time.Hour), SinceRun: time.Minute + time.Second}, time.Hour - time.Second},
		{"another run, later", Stored{Run: "r2", UTC: at.Add(time.Hour)}, 0},
		{"another run, set back", Stored{Run: "r2", UTC: at.Add(-time.Hour)}, -time.Hour},
	} {
		if got := ClockStep(a, c.after); got != c.want {
			t.Errorf("%s: %s, want %s", c.name, got, c.want)
		}
	}
}
