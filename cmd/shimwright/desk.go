package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"time"
	"unicode/utf8"

	"github.com/rivo/uniseg"
	"github.com/spf13/cobra"
	"golang.org/x/term"

	"shimwright/cmd/shimwright/benchfile"
	"shimwright/ingest/fact"
	"shimwright/ingest/journal"
	"shimwright/ingest/people"
	"shimwright/ingest/register"
)

// A desk is a bench's people and register, with its journal open for writing
// where something is to change.
type desk struct {
	file     *benchfile.File
	folder   string
	journal  *journal.Journal // nil where it is only looked at
	people   people.People
	register *register.Register
	pending  []register.About // of the bench file, seen for the first time, and not yet kept
	now      time.Time
	secrets  *secrets
}

// group is a command that lists something, with sub-commands that change it; all
// take the bench file.
func group(use, short, long string, list func(*cobra.Command, string) error, subs ...func(bench *string) *cobra.Command) *cobra.Command {
	var bench string
	c := &cobra.Command{Use: use, Short: short, Long: long, Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error { return list(c, bench) }}
	c.PersistentFlags().StringVar(&bench, "bench", "bench.yaml", "the bench file")
	for _, sub := range subs {
		c.AddCommand(sub(&bench))
	}
	return c
}

// look reads people and register beside whatever has the journal open. A journal
// that is not there yet says nothing.
func look(c *cobra.Command, bench string, do func(*desk, *journal.Reader) error) error {
	d, err := newDesk(c, bench)
	if err != nil {
		return err
	}
	r, err := reading(c, d.file.Journal)
	if errors.Is(err, fs.ErrNotExist) {
		d.register = register.New()
		return do(d, nil)
	}
	if err != nil {
		return journalError(err)
	}
	defer func() { _ = r.Close() }() // what closing after a read could say is not worth hearing
	told, end := progressOn(c.ErrOrStderr())
	defer end()
	told("reading what the bench did so far", 0, 0)
	if err := d.load(c.Context(), r); err != nil {
		return err
	}
	end()
	return do(d, r)
}

// reading opens a journal to look only.
func reading(c *cobra.Command, path string) (*journal.Reader, error) {
	r, err := journal.OpenReader(path)
	if err == nil {
		noteLies(c, r)
	}
	return r, err
}

// noteLies says beside the output that a journal is read as it lies.
func noteLies(c *cobra.Command, r *journal.Reader) {
	if r.AsItLies() {
		warn(c, []string{fmt.Sprintf("note: %s is read as it lies, in a folder that this user may not write; no newer facts lie beside it", shown(r.Path()))})
	}
}

// change opens the journal for writing, which a working bench refuses. What the
// bench file says for the first time is kept before what do keeps.
func change(c *cobra.Command, bench string, do func(context.Context, *desk) error) (err error) {
	d, err := newDesk(c, bench)
	if err != nil {
		return err
	}
	run, err := runID()
	if err != nil {
		return err
	}
	told, end := progressOn(c.ErrOrStderr())
	defer end()
	d.journal, err = journal.OpenContext(c.Context(), d.file.Journal, journal.Options{Bench: d.file.Name, Run: run, Now: time.Now, Rows: fact.Rows(), Progress: told})
	if err != nil {
		return journalError(err)
	}
	defer func() { err = errors.Join(err, machine("journal", d.journal.Close())) }()
	told("reading what the bench did so far", 0, 0)
	if err := d.load(c.Context(), d.journal.Reader); err != nil {
		return err
	}
	end()
	if err := d.takeIn(); err != nil {
		return err
	}
	return do(c.Context(), d)
}

func newDesk(c *cobra.Command, bench string) (*desk, error) {
	f, err := readBenchFile(bench)
	if err != nil {
		return nil, err
	}
	return &desk{file: f, folder: filepath.Dir(bench), now: time.Now(),
		secrets: &secrets{in: c.InOrStdin(), prompt: c.ErrOrStderr()}}, nil
}

func (d *desk) load(ctx context.Context, r *journal.Reader) (err error) {
	if d.people, err = people.Load(ctx, r); err != nil {
		return journalError(err)
	}
	if d.register, err = register.Load(ctx, r); err != nil {
		return journalError(err)
	}
	return nil
}

// journalError tells a journal that was named wrongly from one that the machine
// does not give.
func journalError(err error) error {
	for _, named := range []error{journal.ErrNotJournal, journal.ErrOtherBench, journal.ErrRefused, journal.ErrNewer, fact.ErrNewer, fs.ErrNotExist} {
		if errors.Is(err, named) {
			return err
		}
	}
	return &machineError{err}
}

// takeIn folds what the bench file's lists say for the first time into the
// register.
func (d *desk) takeIn() error {
	d.pending, _ = register.FromFile(listsOf(d.file), d.register, d.now)
	return d.fold(d.pending...)
}

// differences are sentences on where the bench file and the register disagree.
func (d *desk) differences() []string {
	_, words := register.FromFile(listsOf(d.file), d.register, d.now)
	return words
}

// listsOf are the bench file's lists of pieces, gauges and stock.
func listsOf(f *benchfile.File) register.Lists {
	l := register.Lists{Trays: f.Trays}
	for _, p := range f.Pieces {
		l.Pieces = append(l.Pieces, register.FilePiece{ID: p.ID, Size: p.Size, Uncertainty: p.Uncertainty, K: p.K})
	}
	for _, g := range f.Gauges {
		l.Gauges = append(l.Gauges, register.FileGauge{ID: g.ID, Kind: g.Kind, Limit: g.Limit})
	}
	return l
}

func (d *desk) fold(facts ...register.About) (err error) {
	for _, f := range facts {
		if d.people, err = d.people.Then(f.Subject, f.Fact); err != nil {
			return err
		}
		if d.register, err = d.register.Then(f.Subject, d.now, f.Fact); err != nil {
			return plainCause(err)
		}
	}
	return nil
}

// plainCause takes off which fact was refused: on the command line there is one.
func plainCause(err error) error {
	if inner := errors.Unwrap(err); inner != nil {
		return inner
	}
	return err
}

// keep holds facts to the rules, then makes them durable, what the bench file
// said for the first time before them.
func (d *desk) keep(ctx context.Context, facts ...register.About) error {
	if err := d.fold(facts...); err != nil {
		return err
	}
	var records []journal.Record
	for _, f := range append(d.pending, facts...) {
		r, err := fact.Encode(f.Subject, f.Fact)
		if err != nil {
			return err
		}
		records = append(records, r)
	}
	for len(records) > 0 {
		n := min(len(records), journal.MaxRecords)
		if _, err := d.journal.Append(ctx, records[:n]...); err != nil {
			return journalError(err)
		}
		records = records[n:]
	}
	d.pending = nil
	return nil
}

// signed is the signature of who does a task: by the initials given, and by the
// PIN where the person has one. Where nobody on the list may do it, none is asked
// for.
func (d *desk) signed(ctx context.Context, task people.Task, by string) (fact.Signature, error) {
	if by == "" {
		if len(d.people.With(task.Roles()...)) == 0 && task != people.ApproveSheet {
			return fact.Signature{}, nil
		}
		return fact.Signature{}, fmt.Errorf("say who does this: write --by and the initials of a %s", orList(task.Roles()))
	}
	pin, err := d.pinOf(ctx, by)
	if err != nil {
		return fact.Signature{}, err
	}
	s, _, err := d.people.Sign(oneTry(), people.Asked{Task: task, Initials: by, PIN: pin, At: time.Now()})
	return s, err
}

// known is the signature of somebody on the list, whatever his roles; none where
// no initials are given.
func (d *desk) known(ctx context.Context, by string) (fact.Signature, error) {
	if by == "" {
		return fact.Signature{}, nil
	}
	pin, err := d.pinOf(ctx, by)
	if err != nil {
		return fact.Signature{}, err
	}
	s, _, err := d.people.Check(oneTry(), by, pin, time.Now())
	return s, err
}

// oneTry counts no tries: a command takes one PIN and ends.
func oneTry() people.Tries { return people.NewTries(people.Limits{}) }

// pinOf asks for a person's PIN where there is one.
func (d *desk) pinOf(ctx context.Context, initials string) (string, error) {
	who, err := d.people.Who(initials)
	if err != nil || !who.HasPIN() {
		return "", err
	}
	return d.secrets.ask(ctx, "PIN of "+who.Initials+": ")
}

func orList(roles []fact.Role) string {
	var out []string
	for _, r := range roles {
		out = append(out, string(r))
	}
	return strings.Join(out, " or ")
}

// secrets reads PINs: from a terminal without showing them, else a line each
// from standard input.
type secrets struct {
	in       io.Reader
	prompt   io.Writer
	lines    *bufio.Reader
	terminal *term.Terminal
}

// mostSecret is the longest line read for a PIN, in bytes.
const mostSecret = 200

func (s *secrets) ask(ctx context.Context, prompt string) (string, error) {
	if f, ok := s.in.(*os.File); ok && term.IsTerminal(int(f.Fd())) {
		return s.askTerminal(ctx, f, prompt)
	}
	if s.lines == nil {
		s.lines = bufio.NewReader(io.LimitReader(s.in, 10*mostSecret))
	}
	line, err := s.lines.ReadString('\n')
	line = strings.TrimRight(line, "\r\n")
	switch {
	case err != nil && !errors.Is(err, io.EOF):
		return "", machine("standard input", err)
	case line == "":
		return "", fmt.Errorf("%snone came on standard input: write it there, one line", prompt)
	case len(line) > mostSecret || !utf8.ValidString(line):
		return "", fmt.Errorf("%swhat came on standard input is none", prompt)
	}
	return line, nil
}

// askTerminal asks on a terminal that is told not to show what is typed before
// it shows the prompt, and is left as it was.
func (s *secrets) askTerminal(ctx context.Context, f *os.File, prompt string) (string, error) {
	before, err := term.MakeRaw(int(f.Fd()))
	if err != nil {
		return "", machine("terminal", err)
	}
	defer func() { _ = term.Restore(int(f.Fd()), before) }() // nothing better is left to do
	if s.terminal == nil {
		s.terminal = term.NewTerminal(struct {
			io.Reader
			io.Writer
		}{f, s.prompt}, "")
	}
	type read struct {
		pin string
		err error
	}
	done := make(chan read, 1)
	go func() {
		pin, err := s.terminal.ReadPassword(prompt)
		done <- read{pin, err}
	}()
	select {
	case r := <-done:
		if errors.Is(r.err, io.EOF) { // the keys that end or stop a program
			return "", errors.New("stopped: nothing was changed")
		}
		return r.pin, machine("terminal", r.err)
	case <-ctx.Done():
		return "", ctx.Err()
	}
}

// table prints rows in columns by the room that their characters take, which a
// tab writer does not know.
func table(w io.Writer, rows [][]string) error {
	var widths []int
	for _, row := range rows {
		for i, cell := range row {
			if i == len(widths) {
				widths = append(widths, 0)
			}
			widths[i] = max(widths[i], uniseg.StringWidth(cell))
		}
	}
	var b strings.Builder
	for _, row := range rows {
		var line strings.Builder
		for i, cell := range row {
			line.WriteString(cell)
			line.WriteString(strings.Repeat(" ", widths[i]-uniseg.StringWidth(cell)+2))
		}
		b.WriteString(strings.TrimRight(line.String(), " ") + "\n")
	}
	_, err := io.WriteString(w, b.String())
	return machine("standard output", err)
}

// say prints a sentence.
func say(c *cobra.Command, format string, args ...any) error {
	_, err := fmt.Fprintf(c.OutOrStdout(), format+"\n", args...)
	return machine("standard output", err)
}

// counted is a count with its word, which is another for one.
func counted(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

// warn prints sentences beside the output.
func warn(c *cobra.Command, lines []string) {
	for _, l := range lines {
		_, _ = fmt.Fprintln(c.ErrOrStderr(), l) // the output itself stands
	}
}
