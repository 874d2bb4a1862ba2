package journal

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"time"

	"shimwright/ingest/store"
)

// Options say who opens a journal. All but Rows are required.
type Options struct {
	// Bench is the bench's name. A new journal takes it for good; an existing
	// one must have the same.
	Bench string
	// Run is this run of the program, told apart from every other by the caller.
	Run string
	// Now is the clock. With time.Now, SinceRun is monotonic.
	Now func() time.Time
	// Rows says which rows follow from a fact; they are written in its
	// transaction. A journal opened with the zero rule keeps facts alone, and
	// its rows are made anew by the next one that has a rule.
	Rows store.Rule[Stored]
	// Anew makes the rows anew from the facts whichever rule made them, and lets go
	// of what is kept of folds: for a journal of which VerifyAll says that they do
	// not follow from the facts.
	Anew bool
	// Progress is told what takes long in opening: a file of an older form that is
	// brought to the newest, and rows that are made anew.
	Progress Progress

	pragmas []string // of the writing connection, for tests only
}

func (o Options) check() error {
	if err := checkName("bench's name", o.Bench, maxName); err != nil {
		return fmt.Errorf("%w: %w", ErrRefused, err)
	}
	if err := checkName("run", o.Run, maxName); err != nil {
		return fmt.Errorf("%w: %w", ErrRefused, err)
	}
	if o.Now == nil {
		return fmt.Errorf("%w: no clock was given: set Options.Now", ErrRefused)
	}
	return nil
}

// Journal is a journal open for writing, and for reading through its Reader.
// All methods may be called from several goroutines.
//
// There is one writing connection, because SQLite has one writer at a time and
// because its settings belong to a connection; reading has connections of its
// own, opened read-only, so that a long list never delays a press.
type Journal struct {
	*Reader

	// set at Open
	run   string
	now   func() time.Time
	began time.Time
	lock  *lock
	db    *sql.DB
	last  *sql.Stmt
	add   *sql.Stmt
	// changes are the changes of rows, by their text
	changes map[string]*sql.Stmt
	rows    store.Rule[Stored]
	stale   bool // facts were stored without their rows, and the file says so

	gate chan struct{} // a token in it: someone uses what follows
	end  *Stored       // where the chain ended when this program last looked: number and hash alone; nil where it did not
	done error         // why nothing more is taken; nil while it is
}

// Open opens the journal at path for writing, and makes it if there is none.
// Errors: ErrRefused, ErrHeld, ErrNewer, ErrNotJournal, ErrOtherBench, ErrFull,
// ErrReadOnly, ErrDisk, ErrDamaged. It does not verify the chain: see Verify.
func Open(path string, opts Options) (*Journal, error) {
	return OpenContext(context.Background(), path, opts)
}

// OpenContext is Open until ctx is done, which leaves the journal as it was: of
// the form it had, with the rows it had.
func OpenContext(ctx context.Context, path string, opts Options) (*Journal, error) {
	if err := opts.check(); err != nil {
		return nil, fmt.Errorf("journal %s: %w", path, err)
	}
	path, err := realPath(path)
	if err != nil {
		return nil, err
	}
	began := opts.Now()
	holder := fmt.Sprintf("process %d, bench %s, run %s, since %s",
		os.Getpid(), opts.Bench, opts.Run, began.UTC().Format(time.RFC3339))
	lock, err := takeLock(path, path+".lock", holder)
	if err != nil {
		return nil, err
	}
	j := &Journal{rows: opts.Rows, run: opts.Run, now: opts.Now, began: began, lock: lock, gate: make(chan struct{}, 1)}
	if err := j.open(ctx, path, opts); err != nil {
		return nil, errors.Join(err, j.release())
	}
	return j, nil
}

func (j *Journal) open(ctx context.Context, path string, opts Options) (err error) {
	if j.db, err = openWriter(path, opts.pragmas); err != nil {
		return explain(path, "opening it", err)
	}
	form, err := formOf(ctx, path, j.db)
	if err != nil {
		return err
	}
	if form == 0 {
		if err := reallyEmpty(path); err != nil {
			return err
		}
	}
	if err := useLog(ctx, j.db); err != nil {
		return explain(path, "turning its write-ahead log on", err)
	}
	if err := migrate(ctx, j.db, form, opts.Bench, j.began, opts.Progress); err != nil {
		return explain(path, "bringing it to the newest form", err)
	}
	if err := tryWriting(ctx, j.db); err != nil {
		return explain(path, "trying to write in it", err)
	}
	if j.Reader, err = openReader(ctx, path, nil); err != nil {
		return err
	}
	if j.Bench() != opts.Bench {
		return fmt.Errorf("journal %s: %w: it is bench %q's, and this is bench %q: give each bench a journal of its own, or give this bench its old name",
			path, ErrOtherBench, j.Bench(), opts.Bench)
	}
	if err := j.readChanges(ctx); err != nil {
		return explain(path, "opening it", err)
	}
	if err := j.keepRows(ctx, opts.Anew, opts.Progress); err != nil {
		return err
	}
	if j.last, err = j.db.PrepareContext(ctx, lastLink); err != nil {
		return explain(path, "opening it", err)
	}
	if j.add, err = j.db.PrepareContext(ctx, addFact); err != nil {
		return explain(path, "opening it", err)
	}
	return nil
}

// Close waits for a running Append, then closes. Later calls do nothing.
func (j *Journal) Close() error {
	j.gate <- struct{}{}
	defer func() { <-j.gate }()
	if errors.Is(j.done, ErrClosed) {
		return nil
	}
	j.done = fmt.Errorf("journal %s: %w: open it again to write", j.path, ErrClosed)
	return j.release()
}

// release lets go of whatever was opened. The writing connection goes last but
// for the lock, so that it can move the write-ahead log into the file.
func (j *Journal) release() error {
	var errs []error
	if j.Reader != nil {
		errs = append(errs, j.Reader.Close())
	}
	if j.db != nil {
		errs = append(errs, j.db.Close())
	}
	return errors.Join(append(errs, j.lock.release())...)
}

// realPath is the one name of a journal, so that a link to it leads to the same
// lock file.
func realPath(path string) (string, error) {
	if path == "" {
		return "", fmt.Errorf("journal: %w: the path is empty: give one", ErrRefused)
	}
	abs, err := filepath.Abs(path)
	if err != nil {
		return "", fmt.Errorf("journal %s: %w", path, err)
	}
	real, err := filepath.EvalSymlinks(abs)
	if errors.Is(err, fs.ErrNotExist) {
		return abs, nil
	}
	if err != nil {
		return "", fmt.Errorf("journal %s: looking for it: %w", path, err)
	}
	return real, nil
}

// reallyEmpty refuses a short foreign file, which SQLite takes for an empty
// database and would write over.
func reallyEmpty(path string) error {
	const smallest = 512 // bytes, SQLite's smallest page
	info, err := os.Stat(path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil // SQLite makes it at the first write
	}
	if err != nil {
		return fmt.Errorf("journal %s: looking for it: %w", path, err)
	}
	if n := info.Size(); n > 0 && n < smallest {
		return fmt.Errorf("journal %s: %w but %s, left as it is: %s", path, ErrNotJournal, kindOf(path), isJournal)
	}
	return nil
}

// tryWriting finds a file that this user may only read, which SQLite opens all
// the same, before the first press does. It takes back what it did.
func tryWriting(ctx context.Context, db *sql.DB) error {
	tx, err := db.BeginTx(ctx, nil)
	if err != nil {
		return err
	}
	_, err = tx.ExecContext(ctx, fmt.Sprintf(`PRAGMA user_version = %d`, len(migrations())))
	return errors.Join(err, tx.Rollback())
}

// logLimit is what the write-ahead log is cut back to after it was moved into
// the file, in bytes.
const logLimit = 16 << 20

func openWriter(path string, more []string) (*sql.DB, error) {
	pragmas := append([]string{
		"synchronous(FULL)",
		"fullfsync(1)", // macOS: flush the disk's own cache too; nothing elsewhere
		"checkpoint_fullfsync(1)",
		fmt.Sprintf("journal_size_limit(%d)", logLimit),
	}, more...)
	db, err := sql.Open("sqlite", address(path, "rwc", pragmas))
	if err != nil {
		return nil, err
	}
	db.SetMaxOpenConns(1)
	return db, nil
}

// address spells path so that SQLite takes every character of it as meant.
func address(path, mode string, pragmas []string) string {
	path = filepath.ToSlash(path)
	if !strings.HasPrefix(path, "/") {
		path = "/" + path // C:/... on Windows
	}
	q := url.Values{"mode": {mode}, "_txlock": {"immediate"}, "_defensive": {"1"}, "_dqs": {"0"}}
	q["_pragma"] = append([]string{"busy_timeout(5000)", "trusted_schema(0)"}, pragmas...)
	return "file:" + (&url.URL{Path: path}).EscapedPath() + "?" + q.Encode()
}

// useLog is not a setting of the connection but of the file, so it waits until
// the file is known to be ours.
func useLog(ctx context.Context, db *sql.DB) error {
	var mode string
	if err := db.QueryRowContext(ctx, `PRAGMA journal_mode = WAL`).Scan(&mode); err != nil {
		return err
	}
	if mode != "wal" {
		return fmt.Errorf("SQLite answers %q: keep the journal on a local disk", mode)
	}
	return nil
}
