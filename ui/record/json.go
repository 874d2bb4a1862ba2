package record

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strings"
	"unicode/utf8"

	"shimwright/calc/document"
	"shimwright/ingest/carried"
)

// Form is the version of the JSON record's form. Later programs read earlier
// forms. 2 added certificates, the form of each gauge's bytes among the facts, and
// the digest of the file.
const Form = 2

// MaxJSON is how long a JSON record may be, in bytes. A whole job takes some
// hundred thousand.
const MaxJSON = 64 << 20

// A File is the JSON record: what the record says, and all that it was made
// from.
type File struct {
	Form    int         `json:"shimwright_record"`
	Program string      `json:"program,omitempty"` // version that wrote it
	Record  *Record     `json:"record"`
	Sheet   string      `json:"sheet_text"`
	Facts   carried.Job `json:"carried"`
	Digest  string      `json:"sha256,omitempty"` // of the file, with noughts in its place

	bytes []byte // as read
}

// JSON writes the record with the sheet and the facts it was made from, and the
// version of the program that writes it.
func (r *Record) JSON(w io.Writer, c carried.Job, program string) error {
	sheet, err := sheetText(c)
	if err != nil {
		return err
	}
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	e.SetIndent("", " ")
	if err := e.Encode(File{Form: Form, Program: program, Record: r, Sheet: sheet, Facts: c, Digest: noSeal()}); err != nil {
		return fmt.Errorf("the record cannot be written: %w", err)
	}
	_, err = io.WriteString(w, sealed(escaped(b.String())))
	return err
}

// escaped writes what does not print as JSON's own escapes, which say the same:
// so nothing in the file turns the direction of writing.
func escaped(s string) string {
	var b strings.Builder
	b.Grow(len(s))
	for _, r := range s {
		switch {
		case r == '\n' || shows(r):
			b.WriteRune(r)
		case r > 0xFFFF:
			r -= 0x10000
			fmt.Fprintf(&b, `\u%04x\u%04x`, 0xD800+(r>>10), 0xDC00+(r&0x3FF))
		default:
			fmt.Fprintf(&b, `\u%04x`, r)
		}
	}
	return b.String()
}

func sheetText(c carried.Job) (string, error) {
	w, err := walk(c)
	if err != nil {
		return "", err
	}
	return w.job.Head.Text, nil
}

// IsJSON tells whether bytes begin as a JSON record does. It may be given the
// beginning of a file.
func IsJSON(begin []byte) bool {
	begin = bytes.TrimLeft(begin, " \t\r\n\ufeff")
	return bytes.HasPrefix(begin, []byte("{"))
}

// ReadJSON reads a JSON record. It checks its form and nothing that it says: see
// Verify.
func ReadJSON(b []byte) (*File, error) {
	switch {
	case len(b) > MaxJSON:
		return nil, fmt.Errorf("the record has more than %d bytes: no record of a job is so long", MaxJSON)
	case !utf8.Valid(b):
		return nil, errors.New("the file is not UTF-8, so it is no JSON record as this program writes it")
	}
	var form struct {
		Form *int `json:"shimwright_record"`
	}
	if err := json.Unmarshal(b, &form); err != nil {
		return nil, fmt.Errorf("it is no JSON record: %w", document.JSONError(err))
	}
	switch {
	case form.Form == nil:
		return nil, errors.New(`it is JSON and no build record: "shimwright_record" is missing`)
	case *form.Form > Form:
		return nil, fmt.Errorf("it is of form %d, and this program reads forms up to %d: use a newer program", *form.Form, Form)
	}
	f := &File{bytes: b}
	d := json.NewDecoder(bytes.NewReader(b))
	d.DisallowUnknownFields()
	if err := d.Decode(f); err != nil {
		return nil, fmt.Errorf("it cannot be read as a record: %w", document.JSONError(err))
	}
	if _, err := d.Token(); !errors.Is(err, io.EOF) {
		return nil, errors.New("something stands behind the record")
	}
	if f.Record == nil {
		return nil, errors.New("the record itself is missing from the file")
	}
	if f.Form >= 2 && len(f.Digest) != sealDigits {
		return nil, errors.New("its own digest is missing from the file or is none: \"sha256\", 64 digits, stands at its end")
	}
	return f, nil
}
