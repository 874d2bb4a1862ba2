package main

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"maps"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"time"

	"shimwright/calc/document"
	"shimwright/calc/overhaul"
	"shimwright/ingest/bench"
)

// maxLine is the longest command line read, in bytes.
const maxLine = 64 << 10

// lines writes JSON lines from several goroutines, each line whole.
type lines struct {
	mu  sync.Mutex
	out *bufio.Writer
	err error
}

func (l *lines) put(v any) {
	l.mu.Lock()
	defer l.mu.Unlock()
	b, err := json.Marshal(v)
	if err == nil {
		_, err = l.out.Write(append(b, '\n'))
	}
	if err == nil {
		err = l.out.Flush()
	}
	l.err = errors.Join(l.err, err)
}

// factLine is a fact as printed once it is durable.
type factLine struct {
	Seq     int64           `json:"seq"`
	Subject string          `json:"subject"`
	Kind    string          `json:"kind"`
	Version int             `json:"version"`
	UTC     string          `json:"utc"`
	Hash    string          `json:"hash"`
	Fact    json.RawMessage `json:"fact"`
}

type replyLine struct {
	Reply string `json:"reply"`
	Seq   int64  `json:"seq,omitempty"`
	Next  string `json:"next,omitempty"`
	Wants string `json:"wants,omitempty"`
}

type errorLine struct {
	Error string `json:"error"`
}

// gaugeLine is printed whenever one of its fields changes.
type gaugeLine struct {
	Gauge   string `json:"gauge"`
	State   string `json:"state"`
	Words   string `json:"words,omitempty"`
	NoReply int    `json:"no_reply,omitempty"`
	Next    string `json:"next_press,omitempty"`
}

// gaugesLine answers the command "gauges".
type gaugesLine struct {
	Gauges []gaugeCounts `json:"gauges"`
}

type gaugeCounts struct {
	gaugeLine
	Kind       string         `json:"kind"`
	Channel    string         `json:"channel,omitempty"`
	Battery    bool           `json:"battery_low,omitempty"`
	LastPress  string         `json:"last_press,omitempty"`
	Age        *int64         `json:"last_press_age_s,omitempty"`
	Good       int            `json:"good"`
	Bad        map[string]int `json:"bad,omitempty"`
	Strays     int            `json:"strays,omitempty"`
	Reconnects int            `json:"reconnects"`
	Dropped    int            `json:"dropped_bytes,omitempty"`
}

func countsOf(g bench.GaugeState, now time.Time) gaugeCounts {
	out := gaugeCounts{gaugeLine: lineOf(g), Kind: g.Kind, Channel: g.Channel, Battery: g.Battery,
		Good: g.Counts.Good, Strays: g.Counts.Strays, Reconnects: g.Counts.Reconnects(), Dropped: g.Counts.Dropped}
	if age, ok := g.Counts.Age(now); ok {
		out.LastPress = g.Counts.LastGood.UTC().Format(time.RFC3339)
		s := int64(age / time.Second)
		out.Age = &s
	}
	for reason, n := range g.Counts.Bad {
		if out.Bad == nil {
			out.Bad = map[string]int{}
		}
		out.Bad[string(reason)] = n
	}
	return out
}

func lineOf(g bench.GaugeState) gaugeLine {
	return gaugeLine{g.ID, g.State, g.Words, g.Counts.NoReplies, g.Next}
}

// runHeadless runs the bench without a screen. The end of standard input, or a
// signal, stops it.
func runHeadless(ctx context.Context, path string, cable wires, in io.Reader, out io.Writer) error {
	f, err := readBenchFile(path)
	if err != nil {
		return err
	}
	w := &lines{out: bufio.NewWriter(out)}
	b, err := openBench(ctx, f, filepath.Dir(path), cable, func(r bench.Recorded) {
		s := r.Stored
		w.put(factLine{s.Seq, s.Subject, s.Kind, s.Version, s.UTC.UTC().Format(time.RFC3339Nano), s.Hash.String(), s.Payload})
	})
	if err != nil {
		return err
	}
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	ran := make(chan error, 1)
	go func() {
		ran <- b.Run(ctx)
		stop()
	}()
	for _, words := range slices.Concat(b.Snapshot().Differs, b.faults) {
		w.put(errorLine{words})
	}
	tellNext(w, b.Snapshot())
	var tell sync.WaitGroup
	tell.Go(func() { tellGauges(ctx, b, w) })
	tell.Go(func() { tellShop(ctx, b, w) })
	readErr := readCommands(ctx, in, func(line []byte) { w.put(obey(ctx, b, line)) })
	stop()
	err = <-ran
	tell.Wait()
	return errors.Join(readErr, err, w.err, b.close())
}

// tellNext says where the job goes on.
func tellNext(w *lines, s *bench.Snapshot) {
	if s.Job != nil {
		w.put(withNext(replyLine{Reply: fmt.Sprintf("Job %s goes on: %s, serial %s.", s.Job.ID, s.Job.Head.Drive, s.Job.Head.Serial)}, s))
	}
}

func withNext(r replyLine, s *bench.Snapshot) replyLine {
	if s.Step != nil {
		r.Next, r.Wants = s.Step.Step.Name, s.Step.Wants
		if s.Step.Status == overhaul.Stopped || s.Step.Status == overhaul.Held || s.Step.Status == overhaul.Stale {
			r.Wants = strings.TrimSpace(s.Step.Problem + " " + s.Step.Wants)
		}
	}
	return r
}

// tellGauges prints each change of a gauge's state, and why a press was not
// recorded.
func tellGauges(ctx context.Context, b *running, w *lines) {
	woken, stop := b.Watch()
	defer stop()
	told := map[string]gaugeLine{}
	trouble, clock := "", ""
	for {
		s := b.Snapshot()
		if s.Clock != clock {
			clock = s.Clock
			w.put(errorLine{clock})
		}
		for _, g := range s.Gauges {
			line := lineOf(g)
			if told[g.ID] != line {
				told[g.ID] = line
				w.put(line)
			}
		}
		if s.Trouble != trouble {
			if trouble = s.Trouble; trouble != "" {
				w.put(errorLine{trouble})
			}
		}
		select {
		case <-woken:
		case <-ctx.Done():
			return
		}
	}
}

// readCommands gives each line to obey until the input ends or ctx is done. A
// line over maxLine ends it with an error.
func readCommands(ctx context.Context, in io.Reader, obey func([]byte)) error {
	got := make(chan []byte)
	failed := make(chan error, 1)
	go func() {
		sc := bufio.NewScanner(in)
		sc.Buffer(make([]byte, 0, 4096), maxLine)
		for sc.Scan() {
			if line := bytes.TrimSpace(sc.Bytes()); len(line) > 0 {
				select {
				case got <- bytes.Clone(line):
				case <-ctx.Done():
					return
				}
			}
		}
		failed <- sc.Err()
	}()
	for {
		select {
		case line := <-got:
			obey(line)
		case err := <-failed:
			if errors.Is(err, bufio.ErrTooLong) {
				return fmt.Errorf("standard input: a line has more than %d KiB, and the bench is stopped: write one command a line", maxLine>>10)
			}
			if err != nil {
				return fmt.Errorf("standard input: %w", err)
			}
			return nil
		case <-ctx.Done():
			return nil
		}
	}
}

// obey carries out one command line.
func obey(ctx context.Context, b *running, line []byte) any {
	c, asked, err := parseCommand(line)
	if err != nil {
		return errorLine{err.Error()}
	}
	if asked != nil {
		return asked(b)
	}
	r, err := b.Do(ctx, c)
	if err != nil {
		return errorLine{err.Error()}
	}
	return withNext(replyLine{Reply: r.Words, Seq: r.Seq}, b.Snapshot())
}

// parseCommand reads {"do": "mark", "step": "pinion distance", "digits": "+8"}. What
// asks nothing of the bench but how it stands gives no command and a question.
func parseCommand(line []byte) (bench.Command, question, error) {
	var fields map[string]json.RawMessage
	if err := json.Unmarshal(line, &fields); err != nil {
		return nil, nil, fmt.Errorf("not a command: %w: write one JSON object a line, as in {\"do\": \"confirm\", \"step\": \"…\"}", document.JSONError(err))
	}
	do, err := textOf(fields, "do")
	if err != nil {
		return nil, nil, err
	}
	if do == "" {
		return nil, nil, errors.New("the command has no \"do\": write which command it is")
	}
	if asked, ok := questions()[do]; ok {
		if len(fields) > 0 {
			return nil, nil, fmt.Errorf("the command cannot be read: %s asks how the bench stands, and it takes no fields", do)
		}
		return nil, asked, nil
	}
	read, ok := commands()[do]
	if !ok {
		all := slices.Sorted(maps.Keys(commands()))
		all = append(all, slices.Sorted(maps.Keys(questions()))...)
		return nil, nil, fmt.Errorf("%q is no command: the commands are %s", do, strings.Join(all, ", "))
	}
	var by bench.By
	if by.Initials, err = textOf(fields, "initials"); err != nil {
		return nil, nil, err
	}
	if by.PIN, err = textOf(fields, "pin"); err != nil {
		return nil, nil, err
	}
	if by.PIN != "" && by.Initials == "" {
		return nil, nil, errors.New("a pin stands without initials: write whose it is")
	}
	rest, err := json.Marshal(fields)
	if err != nil {
		return nil, nil, err
	}
	c, err := read(rest)
	if err == nil && by.Initials != "" {
		by.Command = c
		return by, nil, nil
	}
	return c, nil, err
}

// textOf takes one text out of a command's fields; "" where it is not there.
func textOf(fields map[string]json.RawMessage, name string) (string, error) {
	raw, ok := fields[name]
	if !ok {
		return "", nil
	}
	delete(fields, name)
	var s string
	if err := json.Unmarshal(raw, &s); err != nil {
		return "", fmt.Errorf("%s: %w", name, document.JSONError(err))
	}
	return s, nil
}

func commands() map[string]func([]byte) (bench.Command, error) {
	return map[string]func([]byte) (bench.Command, error){
		"open":          command[bench.OpenJob],
		"ask":           command[bench.AskGauge],
		"choose":        command[bench.ChooseStep],
		"draw":          command[bench.DrawPiece],
		"in":            command[bench.SayIn],
		"mark":          command[bench.Mark],
		"record":        command[bench.Record],
		"confirm":       command[bench.Confirm],
		"keyed":         command[bench.Keyed],
		"fit":           command[bench.Fit],
		"metal":         command[bench.Metal],
		"see":           command[bench.See],
		"move":          command[bench.Move],
		"take":          command[bench.Take],
		"zero":          command[bench.CheckZero],
		"knocked":       command[bench.Knocked],
		"say":           command[bench.SayNeed],
		"check piece":   command[bench.CheckPiece],
		"temperatures":  command[bench.Temperatures],
		"seal":          command[bench.Seal],
		"keep backlash": command[bench.KeepBacklash],
		"strike":        command[bench.Strike],
		"retake":        command[bench.Retake],
		"job":           command[bench.ChooseJob],
		"at work":       command[bench.StartWork],
		"hold":          command[bench.Hold],
		"lift":          command[bench.Lift],
		"concede":       command[bench.Concede],
		"look":          command[bench.Look],
		"sign":          command[bench.SignOff],
		"finish":        command[bench.Finish],
		"abandon":       command[bench.Abandon],
	}
}

func command[C bench.Command](b []byte) (bench.Command, error) {
	var c C
	d := json.NewDecoder(bytes.NewReader(b))
	d.DisallowUnknownFields()
	if err := d.Decode(&c); err != nil {
		return nil, fmt.Errorf("the command cannot be read: %w", document.JSONError(err))
	}
	return c, nil
}
