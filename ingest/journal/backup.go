package journal

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
)

// Backup writes a copy of the journal to path, which must not be there yet,
// while the bench may go on writing. The copy holds every fact that was stored
// when Backup began, is verified as a whole, and is durable when Backup returns
// its last fact's number and hash; it opens like any journal. On an error, or a
// stop by ctx, nothing is left at path. The rows that follow from the facts are
// copied as they are: VerifyAll holds them to the facts.
//
// The copy is made in one reading transaction (SQLite's VACUUM INTO); the
// write-ahead log grows by what is stored meanwhile.
func (r *Reader) Backup(ctx context.Context, path string, progress Progress) (last Stored, err error) {
	fault := func(doing string, err error) error {
		return fmt.Errorf("backup of journal %s to %s: %s: %w", r.path, path, doing, err)
	}
	if _, err := os.Lstat(path); !errors.Is(err, fs.ErrNotExist) {
		return last, fmt.Errorf("backup of journal %s: %w: %s is there already, left as it is: give the path of a new file", r.path, ErrRefused, path)
	}
	folder, err := os.MkdirTemp(filepath.Dir(path), ".backup-*") // on the same disk, so that it can be renamed
	if err != nil {
		return last, fault("making room for it", err)
	}
	defer func() { _ = os.RemoveAll(folder) }() // the copy has left it, or is not wanted
	part := filepath.Join(folder, "copy")
	if err := r.copyTo(ctx, part, progress); err != nil {
		return last, explain(r.path, "copying it to "+path, err)
	}
	if err := flush(part); err != nil {
		return last, fault("writing it down", err)
	}
	if last, err = verifyCopy(ctx, part, progress); err != nil {
		return last, fault("verifying the copy", err)
	}
	if err := os.Link(part, path); err != nil { // unlike a rename, a link takes no other file's place
		if err := os.Rename(part, path); err != nil {
			return last, fault("putting it in its place", err)
		}
	}
	return last, flushFolder(filepath.Dir(path))
}

// copyTo writes the copy; how far it is, its size tells.
func (r *Reader) copyTo(ctx context.Context, part string, progress Progress) error {
	var size int64
	err := r.db.QueryRowContext(ctx, `SELECT (page_count - freelist_count) * page_size
		FROM pragma_page_count, pragma_freelist_count, pragma_page_size`).Scan(&size)
	if err != nil {
		return err
	}
	defer progress.watch("copying", part, size)()
	_, err = r.db.ExecContext(ctx, `VACUUM INTO ?`, part)
	return err
}

func verifyCopy(ctx context.Context, path string, progress Progress) (last Stored, err error) {
	c, err := OpenReader(path)
	if err != nil {
		return last, err
	}
	defer func() { err = errors.Join(err, c.Close()) }()
	if err := c.Verify(ctx, progress); err != nil {
		return last, err
	}
	last, _, err = c.Last(ctx)
	return last, err
}

// flush has the operating system write a file's bytes to its disk.
func flush(path string) error {
	f, err := os.OpenFile(path, os.O_RDWR, 0)
	if err != nil {
		return err
	}
	return errors.Join(f.Sync(), f.Close())
}
