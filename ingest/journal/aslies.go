package journal

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"time"

	"modernc.org/sqlite"
	sqlite3 "modernc.org/sqlite/lib"
)

// A lying is a journal that is read as it lies, in a folder that this user may not
// write, so that SQLite cannot make the file by which it is told of others' writing.
// The file must not change meanwhile; that is looked at after each reading.
type lying struct {
	path string
	size int64
	at   time.Time
}

// AsItLies tells whether the file is read as it lies, in a folder that this user
// may not write: then what a bench writes meanwhile ends the reading.
func (r *Reader) AsItLies() bool { return r.lies != nil }

// openAsItLies is for a journal that SQLite would not read for want of files that
// it may not make beside it. Nothing newer may lie there.
func openAsItLies(ctx context.Context, path string, failed error) (*Reader, error) {
	if !wantsFolder(failed) || errors.Is(failed, fs.ErrPermission) || mayWriteIn(filepath.Dir(path)) {
		return nil, failed
	}
	l, err := lies(path, failed)
	if err != nil {
		return nil, err
	}
	r, err := openReader(ctx, path, l)
	if err != nil {
		return nil, err
	}
	if err := l.still(); err != nil {
		return nil, errors.Join(err, r.Close())
	}
	return r, nil
}

// wantsFolder tells SQLite's failure to make a file beside a journal.
func wantsFolder(err error) bool {
	var failure *sqlite.Error
	return errors.As(err, &failure) && (failure.Code()&0xff == sqlite3.SQLITE_CANTOPEN || failure.Code()&0xff == sqlite3.SQLITE_READONLY)
}

// lies looks how a journal lies, and refuses one with newer facts beside it.
func lies(path string, failed error) (*lying, error) {
	const copied = "as somebody who may write there, copy it by shimwright backup and read the copy"
	info, err := os.Stat(path)
	if err != nil {
		return nil, failed
	}
	switch log, err := os.Stat(path + "-wal"); {
	case err == nil && log.Size() > 0:
		return nil, &otherError{fmt.Sprintf("journal %s: its newest facts lie in %s-wal beside it, and reading them wants a folder that this user may write: %s, or copy both files together to a folder of your own",
			path, filepath.Base(path), copied), []error{ErrReadOnly, failed}}
	case err != nil && !errors.Is(err, fs.ErrNotExist):
		return nil, failed
	}
	if _, err := os.Lstat(path + "-shm"); !errors.Is(err, fs.ErrNotExist) {
		return nil, &otherError{fmt.Sprintf("journal %s: some program has it open, as %s-shm beside it says, and this user may not read along: %s",
			path, filepath.Base(path), copied), []error{ErrReadOnly, failed}}
	}
	return &lying{path, info.Size(), info.ModTime()}, nil
}

// still refuses what was read of a file that changed meanwhile. On nil it is
// content: SQLite itself looks.
func (l *lying) still() error {
	if l == nil {
		return nil
	}
	info, err := os.Stat(l.path)
	if err == nil && info.Size() == l.size && info.ModTime().Equal(l.at) {
		if log, err := os.Stat(l.path + "-wal"); err != nil || log.Size() == 0 {
			return nil
		}
	}
	return &otherError{fmt.Sprintf("journal %s: a bench began to write in it while it was read as it lay, in a folder that this user may not write: do this again", l.path),
		[]error{ErrBusy}}
}
