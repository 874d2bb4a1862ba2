//go:build unix

package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"shimwright/cmd/shimwright/demo"
	"shimwright/devices/port"
	"shimwright/ingest/bench"
	"shimwright/ingest/journal"
)

// factsWithoutTimes writes every fact, but for when it was and what follows from
// that.
func factsWithoutTimes(w io.Writer) func(bench.Recorded) {
	times := regexp.MustCompile(`"(arrived|at|since|day)":"[^"]*",?`)
	return func(r bench.Recorded) {
		var out bytes.Buffer
		if err := json.Compact(&out, r.Stored.Payload); err != nil {
			panic(err)
		}
		fmt.Fprintf(w, "%d %s %s %s\n", r.Stored.Seq, r.Stored.Subject, r.Stored.Kind, times.ReplaceAllString(out.String(), ""))
	}
}

// workedDay has the demonstration's fitter work two jobs over a bench, one after
// the other, and stops it.
func workedDay(t *testing.T, st *stage, b *running, hand demo.Hand) {
	t.Helper()
	ctx, stop := context.WithCancel(t.Context())
	ran := make(chan error, 1)
	go func() { ran <- b.Run(ctx) }()
	var err error
	for _, serial := range []string{"T-0417", "T-0418"} {
		f := st.fitter(b, demoChoice{fast: true})
		f.Gauges, f.Serial = hand, serial
		if err = f.Work(ctx); err != nil {
			break
		}
		if _, err = b.Do(ctx, bench.By{Initials: "AB", Command: bench.Finish{}}); err != nil {
			break
		}
	}
	stop()
	if err := errors.Join(err, <-ran, b.close()); err != nil {
		t.Fatal(err)
	}
}

// A whole day of two jobs captured and played back gives the same facts, and
// each judgement of either is worked out again as it was stored.
func TestCapturedDayPlayed(t *testing.T) {
	folder := filepath.Join(t.TempDir(), "tape")
	st, err := setStage(demoChoice{sheet: "fw3", fast: true, capture: folder})
	if err != nil {
		t.Fatal(err)
	}
	defer func() {
		if err := st.strike(); err != nil {
			t.Error(err)
		}
	}()
	st.file.Windows.Double = 4 * time.Millisecond
	var first, second bytes.Buffer
	b, err := openBench(t.Context(), st.file, st.folder, st.wires, factsWithoutTimes(&first))
	if err != nil {
		t.Fatal(err)
	}
	workedDay(t, st, b, st.gauges)
	if err := st.gauges.Close(); err != nil { // what is played needs no gauge
		t.Fatal(err)
	}
	hand, done := released{}, make(chan struct{})
	defer close(done)
	for _, g := range st.file.Gauges {
		hand[g.ID] = make(chan struct{}, 1)
	}
	b = playedBench(t, st, wires{play: folder, speed: 1}, factsWithoutTimes(&second), func(gauge string, p port.Port) port.Port {
		return held{p, hand[gauge], done, new(bool)}
	})
	workedDay(t, st, b, hand)
	if diff := cmp.Diff(strings.Split(first.String(), "\n"), strings.Split(second.String(), "\n")); diff != "" {
		t.Errorf("the facts differ:\n%s", diff)
	}
	for _, path := range []string{st.file.Journal, filepath.Join(folder, "played.journal")} {
		r, err := journal.OpenReader(path)
		if err != nil {
			t.Fatal(err)
		}
		for _, id := range []string{"0001", "0002"} {
			n, differ, err := bench.Rejudge(t.Context(), r, id)
			if err != nil || n == 0 || len(differ) > 0 {
				t.Errorf("%s, job %s: %d judgements, %v, %v", path, id, n, differ, err)
			}
		}
		if err := r.Close(); err != nil {
			t.Error(err)
		}
	}
}
