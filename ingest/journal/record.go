package journal

import (
	"encoding/hex"
	"fmt"
	"math"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"
)

// Limits of one Append. They bound what a faulty caller can do to the file;
// a fact of the bench is a few hundred bytes.
const (
	MaxRecords = 64      // records in one transaction
	MaxPayload = 1 << 20 // bytes in one payload
	MaxSubject = 200     // bytes in a subject
	MaxKind    = 64      // bytes in a kind
	maxName    = 100     // bytes in a bench's name or a run id
)

// Record is one fact to store. Subject says what it happened to, Kind what
// happened, Version (1 or more) which form of that kind the payload has.
// The payload may be empty.
type Record struct {
	Subject string
	Kind    string
	Version int
	Payload []byte
}

// Stored is a fact in the journal. The records of one Append share UTC and
// SinceRun.
type Stored struct {
	Record
	Seq      int64         // 1, 2, 3 ... through the whole journal
	UTC      time.Time     // the computer's clock when stored, to the microsecond
	Run      string        // the run of the program that stored it
	SinceRun time.Duration // monotonic time since that run opened the journal
	Hash     Hash          // chain hash over this fact and all before it
}

// Hash is a SHA-256 digest.
type Hash [32]byte

// String gives the digest in 64 hexadecimal digits.
func (h Hash) String() string { return hex.EncodeToString(h[:]) }

// checkAll says in words which record cannot be stored as it is.
func checkAll(records []Record) error {
	if len(records) == 0 {
		return fmt.Errorf("%w: no record was given: give at least one", ErrRefused)
	}
	if len(records) > MaxRecords {
		return fmt.Errorf("%w: %d records in one transaction, at most %d are taken: split them",
			ErrRefused, len(records), MaxRecords)
	}
	for i, r := range records {
		if err := r.check(); err != nil {
			return fmt.Errorf("%w: record %d of %d (%s of %s): %w",
				ErrRefused, i+1, len(records), quote(r.Kind), quote(r.Subject), err)
		}
	}
	return nil
}

func (r Record) check() error {
	if err := checkName("subject", r.Subject, MaxSubject); err != nil {
		return err
	}
	if err := checkName("kind", r.Kind, MaxKind); err != nil {
		return err
	}
	if r.Version < 1 || r.Version > math.MaxInt32 {
		return fmt.Errorf("version %d: give a whole number from 1 to %d", r.Version, math.MaxInt32)
	}
	if len(r.Payload) > MaxPayload {
		return fmt.Errorf("the payload has %d bytes, at most %d are taken: store a digest of it instead",
			len(r.Payload), MaxPayload)
	}
	return nil
}

// checkName keeps names to what can be printed on one line of a message and
// compared byte by byte in SQLite, which ends some comparisons at a NUL.
func checkName(what, s string, max int) error {
	switch {
	case s == "":
		return fmt.Errorf("the %s is empty: give one", what)
	case len(s) > max:
		return fmt.Errorf("the %s has %d bytes, at most %d are taken: shorten it", what, len(s), max)
	case !utf8.ValidString(s):
		return fmt.Errorf("the %s is not valid UTF-8: correct it", what)
	case strings.ContainsFunc(s, func(c rune) bool { return !unicode.IsPrint(c) }):
		return fmt.Errorf("the %s contains a character that cannot be printed: take it out", what)
	case strings.TrimSpace(s) != s:
		return fmt.Errorf("the %s begins or ends with a blank: take it off", what)
	}
	return nil
}

// quote shows a name of any length and content in a message.
func quote(s string) string {
	const most = 40
	if len(s) > most {
		return fmt.Sprintf("%+q...", s[:most])
	}
	return fmt.Sprintf("%+q", s)
}
