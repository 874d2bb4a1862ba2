package main

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"strings"
	"time"

	"github.com/gdamore/tcell/v2"
	"github.com/spf13/cobra"

	"shimwright/ingest/fact"
	"shimwright/ingest/job"
	"shimwright/ingest/journal"
	"shimwright/ingest/register"
	"shimwright/ingest/relay/shop"
	"shimwright/ingest/store"
	"shimwright/ui/board"
)

// boardChoice is what was asked of the board.
type boardChoice struct {
	bench, journal string
	plain, names   bool
	open, training bool
	sheet, find    string
	days           string
	job, bay       string

	shop    bool
	address shop.Address
}

// newBoard is the command that shows the quality lead's board.
func newBoard() *cobra.Command {
	var b boardChoice
	c := &cobra.Command{
		Use:   "board",
		Short: "Show the quality lead's board: jobs, what goes wrong and why, charts, what waits",
		Long: `Show how the jobs of a bench came out: what goes wrong and why, every job with its
ring, control charts over the last jobs of a sheet, first-pass share, re-shims,
closure errors by gauge, capability, and what waits for a decision. Enter goes down
from a job to the bytes that a gauge sent; a gauge leads to the jobs that used it.

It only looks, and may run beside a working bench: once a second it asks whether the
journal grew. Names of persons are left out unless --names, or key n, asks for them.

With --plain the same is printed once, as lines; with --job that job alone, down to
each press.

With --shop it shows all benches of a shop, from the PostgreSQL that their relays
ship to (ingest/relay/RELAY.md): what a bench ships is there a moment later. What no
flag says of the server comes from PGHOST, PGPORT, PGDATABASE, PGUSER and the like;
a password from PGPASSFILE, PGPASSWORD or --password-file.`,
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error { return runBoard(c, b) },
	}
	f := c.Flags()
	f.StringVar(&b.bench, "bench", "bench.yaml", "the bench file, whose journal is read")
	f.StringVar(&b.journal, "journal", "", "a journal, in place of the bench file's")
	f.BoolVar(&b.plain, "plain", false, "print it once, as lines")
	f.BoolVar(&b.names, "names", false, "names of persons too")
	f.BoolVar(&b.open, "open", false, "open jobs alone")
	f.BoolVar(&b.training, "training", false, "count training jobs in charts and shares")
	f.StringVar(&b.sheet, "sheet", "", "jobs of one sheet alone")
	f.StringVar(&b.find, "find", "", "jobs with this in their number, drive, bay or sheet")
	f.StringVar(&b.days, "days", "", "jobs of the last 14, 90 or 365 days alone")
	f.StringVar(&b.job, "job", "", "with --plain: one job, down to its presses")
	f.StringVar(&b.bay, "bay", "", "with --shop: jobs of one bay alone")
	f.BoolVar(&b.shop, "shop", false, "look at a shop's PostgreSQL, all bays at once")
	addressFlags(f, &b.address, "the role that may read")
	c.MarkFlagsMutuallyExclusive("bench", "journal", "shop")
	return c
}

func (b boardChoice) query() (board.Query, error) {
	q := board.Query{Sheet: b.sheet, Text: b.find, Training: b.training}
	if b.open {
		q.State = store.Open
	}
	periods := map[string]board.Period{"": board.Ever, "14": board.Fortnight, "90": board.Quarter, "365": board.Year}
	p, ok := periods[b.days]
	if !ok {
		return q, fmt.Errorf("--days %s: write 14, 90 or 365", b.days)
	}
	q.Period = p
	if b.job != "" && !b.plain {
		return q, errors.New("--job prints one job and wants --plain beside it: on the screen Enter opens a job")
	}
	if !b.shop {
		switch {
		case b.bay != "":
			return q, fmt.Errorf("--bay %s chooses among a shop's bays: write --shop too, or leave it out", b.bay)
		case b.address != (shop.Address{}):
			return q, errors.New("a server is given, and not that its shop is to be looked at: write --shop too")
		}
		return q, nil
	}
	if b.job != "" && b.bay == "" {
		return q, fmt.Errorf("--job %s: each bay of a shop numbers its own jobs: say whose by --bay", b.job)
	}
	q.Bench = b.bay
	return q, nil
}

func runBoard(c *cobra.Command, b boardChoice) error {
	q, err := b.query()
	if err != nil {
		return err
	}
	ctx := c.Context()
	o := board.Options{NoColor: noColor(), Query: q, Names: b.names}
	if b.shop {
		return runShopBoard(ctx, c, b, o)
	}
	path := b.journal
	if path == "" {
		f, err := readBenchFile(b.bench)
		if err != nil {
			return err
		}
		path = f.Journal
	}
	src, err := openSource(ctx, path)
	if err != nil {
		return err
	}
	defer func() { _ = src.Close() }() // what closing after a read could say is not worth hearing
	noteLies(c, src.Reader)
	if b.plain {
		return plainBoard(ctx, c, src, b, q)
	}
	return screenBoard(ctx, src, o)
}

// runShopBoard shows a shop, or prints it.
func runShopBoard(ctx context.Context, c *cobra.Command, b boardChoice, o board.Options) error {
	src, err := openShop(ctx, b.address, !b.plain)
	if err != nil {
		return err
	}
	defer src.Close()
	if b.plain {
		return plainBoard(ctx, c, src, b, o.Query)
	}
	ctx, stop := context.WithCancel(ctx)
	ticks, ended := src.watch(ctx)
	defer func() { stop(); <-ended }()
	o.Tick = ticks
	return screenBoard(ctx, src, o)
}

func screenBoard(ctx context.Context, src board.Source, o board.Options) error {
	if !onTerminal() {
		return errors.New("the board wants a terminal, and there is none here: --plain prints lines instead")
	}
	err := board.Run(ctx, src, o)
	if gone := (*tcell.EventError)(nil); errors.As(err, &gone) {
		err = nil // the terminal was closed
	}
	return machine("screen", err)
}

// lookError tells what a look at the source came to.
func lookError(b boardChoice, err error) error {
	if b.shop {
		return shopError(err)
	}
	return journalError(err)
}

// plainBoard prints the board, or one job, as lines.
func plainBoard(ctx context.Context, c *cobra.Command, src board.Source, b boardChoice, q board.Query) error {
	out := c.OutOrStdout()
	if b.job != "" {
		of := store.Job{Bench: b.bay, ID: b.job}
		head, err := src.Opened(ctx, of)
		if err != nil {
			return lookError(b, err)
		}
		if err := isJob(b.job, head); err != nil {
			return err
		}
		j, err := src.Job(ctx, of)
		if err != nil {
			return lookError(b, err)
		}
		return machine("standard output", board.PlainJob(out, b.bay, j, time.Local, b.names))
	}
	told, end := progressOn(c.ErrOrStderr())
	defer end()
	m, err := board.NewLoader(src, time.Now).Load(ctx, q, func(what string, done, total int) { told(what, int64(done), int64(total)) })
	if err != nil {
		return lookError(b, err)
	}
	closures := map[string]*board.Closures{}
	folder := board.NewFolder(src)
	for _, s := range m.Series {
		if closures[s.Sheet] != nil {
			continue
		}
		closures[s.Sheet], err = folder.Closures(ctx, m, s, func(what string, done, total int) { told(what, int64(done), int64(total)) })
		if err != nil {
			return lookError(b, err)
		}
	}
	end()
	return machine("standard output", board.Plain(out, m, closures, b.names))
}

// A journalSource is one bench's journal as the board looks at it.
type journalSource struct{ *journal.Reader }

var _ board.Source = (*journalSource)(nil)

// openSource opens a journal to look at. One whose rows do not follow its facts
// would show a board without its jobs, so it is refused.
func openSource(ctx context.Context, path string) (*journalSource, error) {
	r, err := journal.OpenReader(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil, fmt.Errorf("journal %s: there is no such file: run the bench once, or name its journal by --journal", path)
	case err != nil:
		return nil, journalError(err)
	}
	made, err := r.RowsMade(ctx)
	if err == nil && made != fact.Rows().Version {
		err = fmt.Errorf("journal %s: its list of jobs was made by another program (%d, this one makes %d): run the bench on it once, which makes it anew", path, made, fact.Rows().Version)
		return nil, errors.Join(err, r.Close())
	}
	if err != nil {
		return nil, errors.Join(journalError(err), r.Close())
	}
	return &journalSource{r}, nil
}

// Name is the bench's.
func (s *journalSource) Name() string { return s.Bench() }

// mostSince is how many facts are gone through one by one for what changed.
const mostSince = 5000

// errEnough ends a reading at what is wanted.
var errEnough = errors.New("enough")

// Since tells what changed above a fact's number.
func (s *journalSource) Since(ctx context.Context, after int64) (board.Since, error) {
	last, _, err := s.Last(ctx)
	if err != nil {
		return board.Since{}, err
	}
	out := board.Since{Newest: last.Seq}
	if last.Seq-after > mostSince || last.Seq < after {
		out.Many = true
		return out, nil
	}
	if last.Seq == after {
		return out, nil
	}
	seen := map[string]bool{}
	err = s.Read(ctx, "", after, func(f journal.Stored) error {
		if f.Seq > last.Seq {
			return errEnough // it comes with the next question
		}
		id, ok := strings.CutPrefix(f.Subject, "job/")
		if !ok {
			out.Register = true
		} else if !seen[id] {
			seen[id] = true
			out.Jobs = append(out.Jobs, store.Job{Bench: s.Bench(), ID: id})
		}
		return nil
	})
	if errors.Is(err, errEnough) {
		err = nil
	}
	return out, err
}

// Decisions are the newest holds, liftings, concessions and keyed figures.
func (s *journalSource) Decisions(ctx context.Context, after int64) ([]board.Decision, error) {
	found, err := s.Decided(ctx, after, board.MostDecisions)
	if err != nil {
		return nil, err
	}
	var out []board.Decision
	for _, x := range found {
		if out, err = decision(out, s.Bench(), x); err != nil {
			return nil, err
		}
	}
	return out, nil
}

// Shop tells that it is one bench's.
func (s *journalSource) Shop() bool { return false }

// Registers are what the bench has.
func (s *journalSource) Registers(ctx context.Context) ([]board.Registered, bool, error) {
	r, err := register.Load(ctx, s.Reader)
	return []board.Registered{{Bench: s.Bench(), Register: r}}, false, err
}

// Notes are of benches that ship; a journal is looked at where it is.
func (s *journalSource) Notes(context.Context) ([]board.Note, error) { return nil, nil }

// Opened is how a job was opened.
func (s *journalSource) Opened(ctx context.Context, of store.Job) (fact.Opened, error) {
	return openedIn(ctx, s.Reader, of.ID)
}

// Over tells whether a job has ended.
func (s *journalSource) Over(ctx context.Context, of store.Job) (bool, error) {
	j, err := s.Job(ctx, of)
	return err == nil && j.Ended() != "", err
}

// Job folds one job.
func (s *journalSource) Job(ctx context.Context, of store.Job) (*job.Job, error) {
	return foldJob(ctx, s.Reader, of.ID)
}

// Used gives the jobs that used a gauge or a piece.
func (s *journalSource) Used(ctx context.Context, name string, from, until time.Time) (register.Trace, error) {
	return register.UsedBetween(ctx, s.Reader, name, from, until)
}
