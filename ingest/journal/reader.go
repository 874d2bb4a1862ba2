package journal

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"strings"
	"time"
)

// Reader reads a journal, beside a running writer or without one. It never
// writes facts. All methods may be called from several goroutines.
//
// SQLite needs to make or find PATH-shm beside the file. In a folder that this user
// may not write, a journal that nobody has open is read as it lies (AsItLies), on a
// Unix; one with newer facts in PATH-wal is refused in words.
type Reader struct {
	path  string
	bench string
	first Hash // hash(0) of the chain
	db    *sql.DB
	// of is the question for one subject's facts. Boards and exports ask it for one
	// job after another, and to read the question took as long as ten facts.
	of *sql.Stmt
	// judged is the question for one job's judgements, which boards ask as often.
	judged *sql.Stmt
	lies   *lying // nil where SQLite itself looks what others write
}

const (
	readers   = 4       // connections at most
	pageFacts = 256     // facts fetched at a time
	pageBytes = 1 << 20 // payload bytes after which a page ends
)

// OpenReader opens the journal at path to look only. Errors: fs.ErrNotExist,
// ErrNotJournal, ErrNewer, ErrOlder, ErrReadOnly, ErrDisk, ErrDamaged.
func OpenReader(path string) (*Reader, error) {
	path, err := realPath(path)
	if err != nil {
		return nil, err
	}
	info, err := os.Stat(path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, absent(path, err)
	}
	if err != nil {
		return nil, fmt.Errorf("journal %s: looking for it: %w", path, err)
	}
	if info.IsDir() {
		return nil, fmt.Errorf("journal %s: %w but a folder: give the path of the file in it; %s", path, ErrNotJournal, isJournal)
	}
	r, err := openReader(context.Background(), path, nil)
	if err != nil {
		return openAsItLies(context.Background(), path, err)
	}
	return r, nil
}

func openReader(ctx context.Context, path string, lies *lying) (*Reader, error) {
	at := address(path, "ro", nil)
	if lies != nil {
		at += "&immutable=1"
	}
	db, err := sql.Open("sqlite", at)
	if err != nil {
		return nil, explain(path, "opening it for reading", err)
	}
	db.SetMaxOpenConns(readers)
	db.SetMaxIdleConns(readers) // else some are closed and opened anew all the time
	r := &Reader{path: path, db: db, lies: lies}
	if err := r.identify(ctx); err != nil {
		return nil, errors.Join(err, db.Close())
	}
	for query, read := range map[string]**sql.Stmt{factsOf: &r.of, judgementsOf: &r.judged} {
		if *read, err = db.PrepareContext(ctx, query); err != nil {
			return nil, errors.Join(explain(path, "opening it for reading", err), db.Close())
		}
	}
	return r, nil
}

func (r *Reader) identify(ctx context.Context) error {
	form, err := formOf(ctx, r.path, r.db)
	if err != nil {
		return err
	}
	switch newest := len(migrations()); {
	case form == 0:
		return fmt.Errorf("journal %s: %w: it is empty, and the bench writes in it when it runs: %s", r.path, ErrNotJournal, isJournal)
	case form < newest:
		return fmt.Errorf("journal %s: %w: the file has form %d and this program reads form %d: run the bench on it once to bring it up",
			r.path, ErrOlder, form, newest)
	}
	var made int64
	err = r.db.QueryRowContext(ctx, `SELECT bench, made_us FROM journal`).Scan(&r.bench, &made)
	if errors.Is(err, sql.ErrNoRows) {
		return &Break{Path: r.path, How: "the row that says whose journal it is has gone"}
	}
	r.first = origin(r.bench, time.UnixMicro(made))
	return explain(r.path, "reading whose journal it is", err)
}

// Close closes the reading connections.
func (r *Reader) Close() error { return explain(r.path, "closing", r.db.Close()) }

// Path is the journal's file, links resolved.
func (r *Reader) Path() string { return r.path }

// Bench is the name of the bench whose journal it is.
func (r *Reader) Bench() string { return r.bench }

const (
	columns  = `SELECT seq, utc_us, since_ns, run, subject, kind, version, payload, hash FROM fact `
	factsAll = columns + `WHERE seq > ?2 ORDER BY seq LIMIT ?3`
	factsOf  = columns + `WHERE subject = ?1 AND seq > ?2 ORDER BY seq LIMIT ?3`
	factLast = columns + `ORDER BY seq DESC LIMIT 1`
	// hops from one subject to the next in the index, rather than walk all facts;
	// with two lower bounds it would walk from the lower one at every page
	subjectsFrom   = `WITH RECURSIVE hop (s) AS (SELECT min(subject) FROM fact WHERE subject >= ?1` + subjectsHop
	subjectsBehind = `WITH RECURSIVE hop (s) AS (SELECT min(subject) FROM fact WHERE subject > ?1` + subjectsHop
	subjectsHop    = ` UNION ALL
			SELECT (SELECT min(subject) FROM fact WHERE subject > hop.s) FROM hop WHERE hop.s IS NOT NULL)
		SELECT s FROM hop WHERE s IS NOT NULL LIMIT ?2`
)

// Read calls f for each fact of subject with a sequence number above after, in
// order, up to the newest; an empty subject means all. f may take its time and
// may use the journal. An error of f ends the reading and is returned as it is.
func (r *Reader) Read(ctx context.Context, subject string, after int64, f func(Stored) error) error {
	for {
		page, more, err := r.page(ctx, subject, after)
		if err != nil {
			return explain(r.path, "reading", err)
		}
		if err := r.lies.still(); err != nil {
			return err
		}
		for _, s := range page {
			if err := f(s); err != nil {
				return err
			}
			after = s.Seq
		}
		if !more {
			return nil
		}
	}
}

// page fetches the next facts and says whether there may be more.
func (r *Reader) page(ctx context.Context, subject string, after int64) (page []Stored, more bool, err error) {
	var rows *sql.Rows
	if subject == "" {
		rows, err = r.db.QueryContext(ctx, factsAll, subject, after, pageFacts)
	} else {
		rows, err = r.of.QueryContext(ctx, subject, after, pageFacts)
	}
	if err != nil {
		return nil, false, err
	}
	defer rows.Close()
	for size := 0; rows.Next(); {
		s, err := scan(rows.Scan)
		if err != nil {
			return nil, false, err
		}
		page = append(page, s)
		if size += len(s.Payload); size >= pageBytes {
			return page, true, nil
		}
	}
	return page, len(page) == pageFacts, rows.Err()
}

func scan(into func(...any) error) (Stored, error) {
	var (
		s              Stored
		micros, passed int64
		hash           []byte
	)
	err := into(&s.Seq, &micros, &passed, &s.Run, &s.Subject, &s.Kind, &s.Version, &s.Payload, &hash)
	if err != nil {
		return s, err
	}
	if len(hash) != len(s.Hash) {
		return s, fmt.Errorf("fact %d: %w: its hash has %d bytes", s.Seq, ErrDamaged, len(hash))
	}
	s.UTC, s.SinceRun = time.UnixMicro(micros).UTC(), time.Duration(passed)
	copy(s.Hash[:], hash)
	return s, nil
}

// Last gives the newest fact, and false when there is none yet.
func (r *Reader) Last(ctx context.Context) (Stored, bool, error) {
	s, err := scan(r.db.QueryRowContext(ctx, factLast).Scan)
	if errors.Is(err, sql.ErrNoRows) {
		return Stored{}, false, nil
	}
	if err != nil {
		return Stored{}, false, explain(r.path, "reading the last fact", err)
	}
	return s, true, r.lies.still()
}

// Subjects lists the subjects that have facts and begin with prefix, in the
// order of their bytes.
func (r *Reader) Subjects(ctx context.Context, prefix string) ([]string, error) {
	var all []string
	for query, from := subjectsFrom, prefix; ; {
		page, err := r.subjects(ctx, query, from)
		if err != nil {
			return nil, explain(r.path, "listing subjects", err)
		}
		if err := r.lies.still(); err != nil {
			return nil, err
		}
		for _, s := range page {
			if !strings.HasPrefix(s, prefix) {
				return all, nil
			}
			all = append(all, s)
		}
		if len(page) < pageFacts {
			return all, nil
		}
		query, from = subjectsBehind, page[len(page)-1]
	}
}

func (r *Reader) subjects(ctx context.Context, query, from string) ([]string, error) {
	rows, err := r.db.QueryContext(ctx, query, from, pageFacts)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	var page []string
	for rows.Next() {
		var s string
		if err := rows.Scan(&s); err != nil {
			return nil, err
		}
		page = append(page, s)
	}
	return page, rows.Err()
}
