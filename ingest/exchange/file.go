package exchange

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
)

// WriteFile writes a file whole or not at all: beside its place under another
// name, flushed to the disk, then renamed, and the folder flushed. What is there
// already is written over only where replace says so. The path is the caller's
// alone: nothing of a job gets into it. An error that wraps a *fs.PathError is
// the machine's.
func WriteFile(path string, replace bool, write func(io.Writer) error) (err error) {
	if err := free(path, replace); err != nil {
		return err
	}
	folder := filepath.Dir(path)
	part, err := os.CreateTemp(folder, ".shimwright-*.part")
	if err != nil {
		return refused(folder, err)
	}
	defer func() {
		if err != nil {
			err = errors.Join(err, gone(part.Name()))
		}
	}()
	if err := fill(part, write); err != nil {
		return err
	}
	if err := free(path, replace); err != nil {
		return err
	}
	if err := os.Rename(part.Name(), path); err != nil {
		return refused(folder, err)
	}
	return refused(folder, flushFolder(folder))
}

// fill writes, flushes and closes.
func fill(part *os.File, write func(io.Writer) error) error {
	b := bufio.NewWriterSize(part, 1<<16)
	if err := errors.Join(write(b), b.Flush()); err != nil {
		return errors.Join(err, part.Close())
	}
	const readable = 0o644
	return refused(filepath.Dir(part.Name()), errors.Join(part.Chmod(readable), part.Sync(), part.Close()))
}

// free says in words why a path cannot be written to.
func free(path string, replace bool) error {
	info, err := os.Lstat(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil
	case err != nil:
		return refused(filepath.Dir(path), err)
	case info.IsDir():
		return fmt.Errorf("%s is a folder: write the name of a file in it", path)
	case !info.Mode().IsRegular():
		return fmt.Errorf("%s is no plain file: write the name of one, or - for standard output", path)
	case !replace:
		return fmt.Errorf("%s is there already: write --replace to write over it, or another name", path)
	}
	return nil
}

// refused says which folder cannot be written in, and why.
func refused(folder string, err error) error {
	if err == nil {
		return nil
	}
	why := err
	var at *fs.PathError
	var link *os.LinkError
	switch {
	case errors.As(err, &at):
		why = at.Err
	case errors.As(err, &link):
		why = link.Err
	}
	return fmt.Errorf("%w: choose a folder that is there, that you may write in and that has room", &fs.PathError{Op: "writing in folder", Path: folder, Err: why})
}

// gone removes what was begun; where it is no longer there nothing is wrong.
func gone(name string) error {
	if err := os.Remove(name); !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	return nil
}
