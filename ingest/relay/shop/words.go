package shop

import (
	"context"
	"crypto/tls"
	"crypto/x509"
	"errors"
	"fmt"
	"strings"

	"github.com/jackc/pgx/v5/pgconn"
)

// What keeps a bench or a board from its shop's database, told apart with
// errors.Is. The words around each say what to do.
var (
	// ErrSettings: what the bench file or the environment says is wrong.
	ErrSettings = errors.New("the settings are refused")
	// ErrGone: the server does not answer, or the connection broke.
	ErrGone = errors.New("the server does not answer")
	// ErrSlow: it took longer than was waited for.
	ErrSlow = errors.New("the server is too slow")
	// ErrDenied: the password, or what this role may do.
	ErrDenied = errors.New("the server refuses this role")
	// ErrCertificate: the server is not who the certificate must name.
	ErrCertificate = errors.New("the server's certificate is refused")
	// ErrReadOnly: the server takes nothing in.
	ErrReadOnly = errors.New("the server is read-only")
	// ErrFull: its disk is full, or it has too many connections.
	ErrFull = errors.New("the server is full")
	// ErrServer: the server's version is not one that is known.
	ErrServer = errors.New("the server is of another version")
	// ErrForm: its tables are not there, older or newer.
	ErrForm = errors.New("the shop's tables are of another form")
	// ErrUnknown: the bench is not in the shop's list.
	ErrUnknown = errors.New("the shop does not know this bench")
	// ErrHead: a batch does not go on from where the bench's facts end.
	ErrHead = errors.New("the facts do not go on from the last one there")
	// ErrChain: a fact does not give its hash.
	ErrChain = errors.New("a fact does not give its hash")
	// ErrRow: a row is not of the form that this program reads.
	ErrRow = errors.New("a row there cannot be read")
)

// NeedsPerson tells of troubles that no waiting ends.
func NeedsPerson(err error) bool {
	for _, kind := range []error{ErrSettings, ErrDenied, ErrCertificate, ErrServer, ErrForm, ErrUnknown, ErrChain} {
		if errors.Is(err, kind) {
			return true
		}
	}
	return false
}

// what the functions of this package's migrations raise
const (
	codeUnknown = "SW001"
	codeHead    = "SW002"
	codeChain   = "SW003"
	codeLimits  = "SW004"
)

type trouble struct {
	kind error
	todo string
}

// troubleOf names a failure that the server reports, by its code
// (PostgreSQL manual, appendix A).
func troubleOf(code string) trouble {
	switch code {
	case codeUnknown:
		return trouble{ErrUnknown, "or not by this role: have it put in by `shimwright shop bench`"}
	case codeHead:
		return trouble{ErrHead, "its head is looked at anew"}
	case codeChain, codeLimits:
		return trouble{ErrChain, "verify this bench's journal"}
	case "25006", "57P04":
		return trouble{ErrReadOnly, "it may be a standby: name the server that takes facts in"}
	case "53100", "53200", "53300", "53400":
		return trouble{ErrFull, "make room on it; nothing is lost meanwhile"}
	case "28000", "28P01":
		return trouble{ErrDenied, "look at user and password"}
	case "42501":
		return trouble{ErrDenied, "have it let in by `shimwright shop bench` or `shop board`"}
	case "3D000":
		return trouble{ErrSettings, "there is no such database: look at its name"}
	case "3F000", "42P01", "42883", "42703":
		return trouble{ErrForm, "have the shop prepared by `shimwright shop prepare`"}
	case "57P01", "57P02", "57P03", "08006", "08001", "08004":
		return trouble{ErrGone, "it is stopping or starting"}
	case "57014":
		return trouble{ErrSlow, "it is tried again"}
	}
	return trouble{}
}

// A line is an error whose words stand on one line: the library tells of several
// attempts on several.
type line struct{ error }

func (l line) Error() string { return strings.Join(strings.Fields(l.error.Error()), " ") }

// Unwrap is the cause.
func (l line) Unwrap() error { return l.error }

// Explain puts a failure in words: what was being done, what is wrong and what
// to do. It keeps the cause; nil stays nil.
func Explain(doing string, err error) error {
	if err == nil {
		return nil
	}
	err = line{err}
	var said *pgconn.PgError
	var host x509.HostnameError
	var authority x509.UnknownAuthorityError
	var invalid x509.CertificateInvalidError
	var record tls.RecordHeaderError
	switch {
	case errors.Is(err, context.Canceled):
		return fmt.Errorf("%s was stopped: %w", doing, err)
	case errors.Is(err, ErrRow): // who found that says which
		return fmt.Errorf("%s: %w", doing, err)
	case errors.As(err, &said):
		if t := troubleOf(said.Code); t.kind != nil {
			return fmt.Errorf("%s: %w: %s (%w)", doing, t.kind, t.todo, err)
		}
		return fmt.Errorf("%s: the server says: %w", doing, err)
	case strings.Contains(err.Error(), "refused TLS"): // the library has no value for it; a test holds its words
		return fmt.Errorf("%s: %w: it has none, and facts go to another machine encrypted: have TLS switched on there (ssl = on), or send in the clear on purpose (%w)", doing, ErrCertificate, err)
	case errors.As(err, &invalid) && invalid.Reason == x509.Expired:
		return fmt.Errorf("%s: %w: it is out of its days: have it renewed, or set this machine's clock (%w)", doing, ErrCertificate, err)
	case errors.As(err, &host):
		return fmt.Errorf("%s: %w: it is another machine's: name the server as its certificate does (%w)", doing, ErrCertificate, err)
	case errors.As(err, &authority), errors.As(err, &invalid), errors.As(err, &record):
		return fmt.Errorf("%s: %w: nobody who is trusted here signed it: give the file of the authority that did (%w)", doing, ErrCertificate, err)
	case errors.Is(err, context.DeadlineExceeded), pgconn.Timeout(err):
		return fmt.Errorf("%s: %w: it is tried again (%w)", doing, ErrSlow, err)
	}
	return fmt.Errorf("%s: %w: it is tried again (%w)", doing, ErrGone, err)
}
