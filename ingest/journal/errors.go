package journal

import (
	"context"
	"errors"
	"fmt"

	"modernc.org/sqlite"
	sqlite3 "modernc.org/sqlite/lib"
)

// Why the journal could not be opened. Told apart with errors.Is; the message
// around each names the path and what to do.
var (
	// ErrHeld: another program, or this one, has the journal open for writing.
	ErrHeld = errors.New("another program has it open for writing")
	// ErrNewer: a newer program made the file, and this one does not know its form.
	ErrNewer = errors.New("a newer program made it")
	// ErrOlder: an older program made the file, and a Reader must not bring it up to date.
	ErrOlder = errors.New("an older program made it")
	// ErrNotJournal: the file is something else, or nothing yet.
	ErrNotJournal = errors.New("it is not a bench's journal")
	// ErrOtherBench: the journal belongs to a bench of another name.
	ErrOtherBench = errors.New("it belongs to another bench")
)

// Why facts were not stored or could not be read.
var (
	// ErrRefused: a record or an option breaks a limit. The caller is wrong.
	ErrRefused = errors.New("refused")
	// ErrFull: no room on the disk. Append may be repeated once there is.
	ErrFull = errors.New("the disk is full")
	// ErrReadOnly: the file, its folder or its disk cannot be written by this user.
	ErrReadOnly = errors.New("it cannot be written")
	// ErrBusy: a foreign program held SQLite's own lock for longer than the wait.
	ErrBusy = errors.New("another program keeps it locked")
	// ErrDisk: the operating system could not read or write the disk.
	ErrDisk = errors.New("the disk failed to read or write")
	// ErrDamaged: the file's content is not what was written. See also Break.
	ErrDamaged = errors.New("it is damaged")
	// ErrUnsure: the disk failed during a commit; whether the records of that
	// Append are stored shows only at the next Open.
	ErrUnsure = errors.New("it is unsure whether the last facts were stored")
	// ErrClosed: Close was called before.
	ErrClosed = errors.New("it is closed")
)

// Break is what Verify returns for a journal that is not whole: errors.As finds
// it, and errors.Is(err, ErrDamaged) holds for it.
type Break struct {
	Path string
	Seq  int64  // first sequence number at fault; 0 when it is not one fact
	How  string // what was found there
}

// Error names the file, the place and what was found.
func (b *Break) Error() string {
	where := ""
	if b.Seq != 0 {
		where = fmt.Sprintf(" at fact %d", b.Seq)
	}
	return fmt.Sprintf("journal %s: %v%s: %s: keep this file as it is and go on from a backup", b.Path, ErrDamaged, where, b.How)
}

// Unwrap makes a Break an ErrDamaged.
func (b *Break) Unwrap() error { return ErrDamaged }

// trouble is a kind of failure that SQLite reports, with what to do about it.
type trouble struct {
	kind error
	todo string
}

func troubleOf(code int) trouble {
	const intact = "all facts acknowledged before are intact; "
	switch code & 0xff { // the low byte is the kind, the rest its detail
	case sqlite3.SQLITE_FULL:
		return trouble{ErrFull, "nothing of this was stored, " + intact + "free some space there and repeat it"}
	case sqlite3.SQLITE_READONLY, sqlite3.SQLITE_PERM, sqlite3.SQLITE_AUTH:
		return trouble{ErrReadOnly, "nothing of this was stored, " + intact +
			"let this user write the file and its folder, or choose another place"}
	case sqlite3.SQLITE_CANTOPEN:
		return trouble{ErrReadOnly, "it or a file beside it cannot be opened or made: " +
			"look whether its folder is there and this user may write in it"}
	case sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED:
		return trouble{ErrBusy, "nothing of this was stored, " + intact + "close the other program and repeat it"}
	case sqlite3.SQLITE_IOERR:
		return trouble{ErrDisk, "look at the disk and its cable, then open the journal again and verify it"}
	case sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_ERROR, sqlite3.SQLITE_CONSTRAINT, sqlite3.SQLITE_MISMATCH:
		// Our few statements never fail so on a file that is as we made it.
		return trouble{ErrDamaged, "keep this file as it is, verify it, and go on from a backup"}
	case sqlite3.SQLITE_NOTADB:
		return trouble{ErrNotJournal, "the file was left as it is: give the path of a journal or of a new file"}
	}
	return trouble{}
}

// explain puts a failure of SQLite in words: the path, what was being done, what
// is wrong and what to do. It keeps the cause for errors.Is and errors.As.
func explain(path, doing string, err error) error {
	if err == nil {
		return nil
	}
	if errors.Is(err, context.Canceled) || errors.Is(err, context.DeadlineExceeded) {
		return &stoppedError{path, doing, err}
	}
	var failure *sqlite.Error
	if errors.As(err, &failure) {
		if t := troubleOf(failure.Code()); t.kind != nil {
			return fmt.Errorf("journal %s: %s: %w: %s (%w)", path, doing, t.kind, t.todo, err)
		}
	}
	return fmt.Errorf("journal %s: %s: %w", path, doing, err)
}
