package main

import (
	"bytes"
	"context"
	"fmt"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/gdamore/tcell/v2"

	"shimwright/calc/quantity"
	"shimwright/calc/sheet"
	"shimwright/devices"
	"shimwright/ingest/fact"
	"shimwright/ingest/journal"
	"shimwright/ui/board"
)

// boardJournal is a journal of jobs with a judged ring each, filled in bulk.
func boardJournal(t testing.TB, jobs int, text string) *journal.Journal {
	t.Helper()
	at := time.Date(2026, 1, 5, 8, 0, 0, 0, time.UTC)
	clock := func() time.Time { at = at.Add(time.Second); return at }
	j, err := journal.Open(filepath.Join(t.TempDir(), "bay.journal"), journal.Options{Bench: "bay 2", Run: "r1", Now: clock, Rows: fact.Rows()})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := j.Close(); err != nil {
			t.Error(err)
		}
	})
	var records []journal.Record
	flush := func() {
		if _, err := j.Append(t.Context(), records...); err != nil {
			t.Fatal(err)
		}
		records = records[:0]
	}
	for i := range jobs {
		id := fmt.Sprintf("%04d", i+1)
		records = append(records,
			encoded(t, "job/"+id, fact.Opened{Drive: "Harrow FW3", Serial: fmt.Sprint("S-", i), Sheet: "fw3", Issue: 1, Digest: "d1", Text: text, Rule: "guarded"}),
			encoded(t, "job/"+id, judgedRing(1, i)), encoded(t, "job/"+id, judgedRing(2, i+1)))
		if len(records)+3 > journal.MaxRecords {
			flush()
		}
	}
	if len(records) > 0 {
		flush()
	}
	return j
}

func encoded(t testing.TB, subject string, f fact.Fact) journal.Record {
	t.Helper()
	r, err := fact.Encode(subject, f)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// judgedRing is a ring as the bench judges it; its figures wander with n.
func judgedRing(build, n int) fact.Judged {
	f := fact.Judged{Step: "backlash", What: sheet.Backlash, Verdict: "good", Words: "normal backlash: GOOD", Low: "0.15", High: "0.25", Uncertainty: "0.01", Build: build}
	low := 195 + n*7%11
	f.Mean, f.Spread = fmt.Sprintf("0.%d", low+5), fmt.Sprintf("0.01%d", n%5)
	for i := range 4 {
		f.Points = append(f.Points, fmt.Sprintf("%d deg 0.%d", i*90, low+i*3))
	}
	return f
}

func runCommand(t *testing.T, args ...string) (string, error) {
	t.Helper()
	root := newRoot("test", subCommands()...)
	var out bytes.Buffer
	root.SetOut(&out)
	root.SetErr(&out)
	root.SetArgs(args)
	err := root.Execute()
	return out.String(), err
}

func TestBoardPlain(t *testing.T) {
	text, ok := embeddedSheet("fw3")
	if !ok {
		t.Fatal("no sheet fw3")
	}
	j := boardJournal(t, 30, string(text))
	v, err := quantity.ParseWithUnit("33.38 mm")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := j.Append(t.Context(), encoded(t, "job/0030", fact.Pressed{Step: "pinion face height", Gauge: "D07", GaugeKind: "depth gauge", Value: &v, UnitStated: true,
		Raw: []byte("+33.38mm\r"), Arrived: time.Now(), Source: devices.SourceGauge, Outcome: fact.Taken, Sentence: "33.38 mm from D07."}),
		encoded(t, "job/0029", fact.OnHold{Reason: "wait for the lead", By: fact.Signature{Initials: "AB", By: fact.ByPIN}})); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		args, want, without string
	}{
		{"", "30 jobs, 30 open", "AB by PIN"},
		{"", "capability   Cpk", ""},
		{"", "Holds not lifted: 1\n■ job 0029: wait for the lead", ""},
		{"--names", "AB by PIN", ""},
		{"--find S-7", "with \"S-7\"", "job 0001"},
		{"--sheet other", "No job matches", "job 0001"},
		{"--job 0030", `Bytes as they came: "+33.38mm\r"`, ""},
	} {
		out, err := runCommand(t, append([]string{"board", "--plain", "--journal", j.Path()}, strings.Fields(c.args)...)...)
		if err != nil || !strings.Contains(out, c.want) || c.without != "" && strings.Contains(out, c.without) {
			t.Errorf("%s: %v, want %q and not %q in:\n%s", c.args, err, c.want, c.without, out)
		}
	}
}

func TestBoardRefuses(t *testing.T) {
	facts := aJournal(t) // kept without rows
	for _, c := range []struct {
		args []string
		want string
	}{
		{[]string{"--journal", "none.journal"}, "there is no such file"},
		{[]string{"--journal", "board_test.go"}, "not a bench's journal"},
		{[]string{"--journal", facts}, "run the bench on it once"},
		{[]string{"--days", "3"}, "write 14, 90 or 365"},
		{[]string{"--job", "1"}, "wants --plain"},
		{[]string{"--bay", "bay 2"}, "write --shop too"},
		{[]string{"--server", "db.shop.example"}, "write --shop too"},
		{[]string{"--shop", "--plain", "--job", "1"}, "say whose by --bay"},
		{[]string{"--shop", "--plain", "--server", "127.0.0.1", "--port", "1", "--database", "d", "--user", "u"}, "the server does not answer"},
		{[]string{"--bench", "none.yaml"}, "there is no such file"},
		{[]string{"--plain", "--job", "0099", "--journal", boardJournal(t, 1, "").Path()}, `--job "0099": there is no such job: write its number in full`},
	} {
		out, err := runCommand(t, append([]string{"board"}, c.args...)...)
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%v: %v, want %q; %s", c.args, err, c.want, out)
		}
		if wrong := strings.Contains(c.want, "--job"); wrong && statusOf(err) != exitInput {
			t.Errorf("%v: exit status %d, want %d", c.args, statusOf(err), exitInput)
		}
	}
}

// The source tells what changed, and that too much did.
func TestBoardSince(t *testing.T) {
	j := boardJournal(t, 3, "")
	src, err := openSource(t.Context(), j.Path())
	if err != nil {
		t.Fatal(err)
	}
	defer src.Close()
	s, err := src.Since(t.Context(), 6)
	if err != nil || s.Newest != 9 || len(s.Jobs) != 1 || s.Jobs[0].Bench != "bay 2" || s.Jobs[0].ID != "0003" || s.Register || s.Many {
		t.Errorf("%+v, %v", s, err)
	}
	if s, err := src.Since(t.Context(), 9); err != nil || len(s.Jobs) > 0 || s.Newest != 9 {
		t.Errorf("%+v, %v", s, err)
	}
	if s, err := src.Since(t.Context(), 99); err != nil || !s.Many {
		t.Errorf("a journal put back: %+v, %v", s, err)
	}
}

// eyes is a simulated screen that waits for words.
type eyes struct {
	tcell.SimulationScreen
	shown chan string
}

func (e *eyes) Init() error {
	err := e.SimulationScreen.Init()
	e.SetSize(132, 43)
	return err
}

func (e *eyes) Show() {
	e.SimulationScreen.Show()
	cells, _, _ := e.GetContents()
	var b strings.Builder
	for _, c := range cells {
		b.WriteString(string(c.Runes))
	}
	e.shown <- b.String()
}

func (e *eyes) see(words string) {
	for !strings.Contains(<-e.shown, words) {
	}
}

// BenchmarkBoard measures the board over 100,000 jobs: from a judgement stored
// to its being drawn, its reading and all, and the first drawing of a full list.
func BenchmarkBoard(b *testing.B) {
	j := boardJournal(b, 100_000, "")
	src, err := openSource(b.Context(), j.Path())
	if err != nil {
		b.Fatal(err)
	}
	defer src.Close()
	e := &eyes{tcell.NewSimulationScreen("UTF-8"), make(chan string, 1000)}
	tick := make(chan time.Time)
	ctx, stop := context.WithCancel(b.Context())
	ended := make(chan error, 1)
	began := time.Now()
	go func() { ended <- board.Run(ctx, src, board.Options{Screen: e, Tick: tick}) }()
	e.see("newest 1000 jobs")
	first := time.Since(began)
	n := 0
	for b.Loop() {
		n++
		f := judgedRing(3, n)
		f.Verdict = "out high"
		f.Points[0] = fmt.Sprintf("0 deg 0.%03d", 900+n%100)
		if _, err := j.Append(b.Context(), encoded(b, "job/100000", f)); err != nil {
			b.Fatal(err)
		}
		tick <- time.Time{}
		e.see(fmt.Sprintf("0: 0.%03d", 900+n%100))
	}
	b.ReportMetric(float64(first.Microseconds())/1000, "first-ms")
	stop()
	for {
		select {
		case <-e.shown:
			continue
		case err := <-ended:
			if err != nil {
				b.Error(err)
			}
		}
		return
	}
}

// Of many benches whose rows are not to be trusted, none is left out in silence.
func TestBehindNotes(t *testing.T) {
	for n, want := range map[int]string{0: "", 1: "bay 1", mostBehind: "bay 1, bay 2, bay 3, bay 4, bay 5", mostBehind + 1: "bay 1, bay 2, bay 3, bay 4, bay 5, 1 bay more", 30: "bay 1, bay 2, bay 3, bay 4, bay 5, 25 bays more"} {
		var benches, got []string
		for i := range n {
			benches = append(benches, fmt.Sprintf("bay %d", i+1))
		}
		for _, x := range behindNotes(benches) {
			got = append(got, x.Bench)
		}
		if all := strings.Join(got, ", "); all != want {
			t.Errorf("%d behind: %s, want %s", n, all, want)
		}
	}
}
