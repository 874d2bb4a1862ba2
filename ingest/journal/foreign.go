package journal

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"unicode/utf8"

	"modernc.org/sqlite"
	sqlite3 "modernc.org/sqlite/lib"
)

// isJournal says what was wanted where a file is something else.
const isJournal = "give the path of a journal, which is the file that a bench keeps its facts in; the line journal of the bench file names it"

// An otherError is a failure in words of our own: errors.Is and errors.As find its
// causes, and nobody reads theirs.
type otherError struct {
	words  string
	causes []error
}

func (e *otherError) Error() string   { return e.words }
func (e *otherError) Unwrap() []error { return e.causes }

// notOurs says of a file that SQLite refuses what it is; nil where the failure is
// another. The file is looked at only now: while it were open as a database,
// closing it again would drop its locks.
func notOurs(path string, err error) error {
	var failure *sqlite.Error
	if !errors.As(err, &failure) {
		return nil
	}
	switch failure.Code() & 0xff {
	case sqlite3.SQLITE_NOTADB:
		return &otherError{fmt.Sprintf("journal %s: %v but %s, left as it is: %s", path, ErrNotJournal, kindOf(path), isJournal), []error{ErrNotJournal, err}}
	case sqlite3.SQLITE_CANTOPEN, sqlite3.SQLITE_PERM:
		f, opening := os.Open(path)
		if !errors.Is(opening, fs.ErrPermission) {
			if opening == nil {
				_ = f.Close()
			}
			return nil
		}
		return &otherError{fmt.Sprintf("journal %s: this user may not read it: let them read and write the file and its folder, or run as who owns it", path), []error{ErrReadOnly, opening, err}}
	}
	return nil
}

// absent is a journal that is not there.
func absent(path string, err error) error {
	return &otherError{fmt.Sprintf("journal %s: there is no such file: give the path that the line journal of the bench file names", path), []error{err}}
}

// kindOf says what a file is, as far as its beginning tells.
func kindOf(path string) string {
	f, err := os.Open(path)
	if err != nil {
		return "a file that cannot be read"
	}
	defer f.Close()
	b := make([]byte, 512)
	n, err := io.ReadFull(f, b)
	if err != nil && !errors.Is(err, io.EOF) && !errors.Is(err, io.ErrUnexpectedEOF) {
		return "a file that cannot be read"
	}
	b = b[:n]
	for _, k := range []struct{ begins, is string }{
		{"%PDF-", "a PDF"}, {"PK\x03\x04", "a spreadsheet or another zip file"}, {"\x1f\x8b", "a compressed file"}, {"{", "a text in JSON"}, {"<", "a text in XML or HTML"},
	} {
		if bytes.HasPrefix(b, []byte(k.begins)) {
			return k.is
		}
	}
	for len(b) > 0 && len(b) > n-utf8.UTFMax && !utf8.Valid(b) { // a character that the end cut
		b = b[:len(b)-1]
	}
	if utf8.Valid(b) && !bytes.ContainsRune(b, 0) {
		line, _, _ := bytes.Cut(b, []byte("\n"))
		const most = 40
		if r := []rune(string(line)); len(r) > most {
			return fmt.Sprintf("a text, which begins %q", string(r[:most])+"…")
		}
		return fmt.Sprintf("a text, which begins %q", line)
	}
	return "a file of some other form"
}
