package metrics

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log"
	"log/slog"
	"net"
	"net/http"
	"strings"
	"time"

	"github.com/prometheus/client_golang/prometheus/promhttp"
	"github.com/prometheus/exporter-toolkit/web"

	"shimwright/ingest/bench"
)

const (
	answersWithin = 2 * time.Second // a bench does: a press takes milliseconds
	leastRoom     = 32 << 20        // bytes free for the journal: twice what its write-ahead log is cut back to
)

const (
	mostScrapes = 4                // at once; one scraper asks once at a time
	mostOpen    = 32               // connections at once; others wait for one to close
	tryAgain    = 30 * time.Second // after the listener could not be had
	lastScrapes = 2 * time.Second  // what a stop lets a scrape take to its end
)

// Paths that are served.
const (
	pathMetrics = "/metrics"
	pathHealth  = "/healthz"
	pathReady   = "/readyz"
)

// Handler answers for the figures, and for whether the bench runs and records.
// Whoever asks, nothing is changed by it.
func (m *Metrics) Handler() http.Handler {
	figures := promhttp.HandlerFor(m.registry, promhttp.HandlerOpts{
		MaxRequestsInFlight: mostScrapes, Timeout: 10 * time.Second, EnableOpenMetrics: true, ErrorHandling: promhttp.ContinueOnError,
	})
	mux := http.NewServeMux()
	mux.Handle("GET "+pathMetrics, figures)
	mux.HandleFunc("GET "+pathHealth, m.answer(m.healthy))
	mux.HandleFunc("GET "+pathReady, m.answer(m.ready))
	return mux
}

// answer says good, or why not under the status for what is not available.
func (m *Metrics) answer(check func(context.Context) error) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		w.Header().Set("Content-Type", "text/plain; charset=utf-8")
		words := "good"
		if err := check(r.Context()); err != nil {
			w.WriteHeader(http.StatusServiceUnavailable)
			words = err.Error()
		}
		_, _ = io.WriteString(w, words+"\n") // who asked has gone
	}
}

// healthy tells whether the bench takes in presses and commands: its goroutine
// answers. Where it waits for a disk that does not come back, it does not.
func (m *Metrics) healthy(ctx context.Context) error {
	b := m.bench.Load()
	if b == nil {
		return errors.New("the bench is starting")
	}
	ctx, cancel := context.WithTimeout(ctx, answersWithin)
	defer cancel()
	switch err := (*b).Answers(ctx); {
	case errors.Is(err, bench.ErrStopped):
		return errors.New("the bench has stopped")
	case err != nil:
		return fmt.Errorf("the bench does not answer within %s: does its disk? Start it anew", answersWithin)
	}
	return nil
}

// ready tells whether it records as well: it stored what it was last given, and
// could store more. What a trouble is may name a job, and is left to the bench's
// screen.
func (m *Metrics) ready(ctx context.Context) error {
	if err := m.healthy(ctx); err != nil {
		return err
	}
	if s := (*m.bench.Load()).Snapshot(); s.Trouble != "" || s.Failing {
		return errors.New("the last press or command could not be recorded or worked: look at the bench's screen")
	}
	switch free, err := m.cfg.Room(); {
	case errors.Is(err, errors.ErrUnsupported):
	case err != nil:
		return fmt.Errorf("the journal cannot be written: %s: look at its disk", plain(err))
	case free < leastRoom:
		return fmt.Errorf("%d bytes are free for the journal, and at least %d should be: make room on its disk", free, leastRoom)
	}
	return nil
}

// A Listener says where the figures are served and under what protection.
type Listener struct {
	Address string // host and port, as in 127.0.0.1:9464
	// WebConfig is the file with the certificate and the passwords, in the form
	// of the Prometheus exporters; "" for none.
	WebConfig string
	// WithoutTLS lets an address that is not loopback be served without TLS.
	WithoutTLS bool
}

// Loopback tells whether an address is reached from this machine alone.
func Loopback(address string) bool {
	host, _, err := net.SplitHostPort(address)
	if err != nil {
		return false
	}
	ip := net.ParseIP(host)
	return host == "localhost" || ip != nil && ip.IsLoopback()
}

// check says in words why it cannot be served so.
func (l Listener) check() error {
	err := web.Validate(l.WebConfig)
	tls := false
	if err == nil {
		tls, err = hasTLS(l.WebConfig)
	}
	if err != nil {
		return fmt.Errorf("the web config %s cannot be used: %s: correct the file", l.WebConfig, plain(err))
	}
	if !tls && !l.WithoutTLS && !Loopback(l.Address) {
		return fmt.Errorf("%s is open to the network, and the web config has no certificate: give it one, listen on 127.0.0.1, or write without tls: yes", l.Address)
	}
	return nil
}

// Serve serves the figures until ctx is done. Where the address cannot be had or
// the web config cannot be used it tells why, and tries again by and by: a bench
// works on without. Served is told of each address that figures are served at.
func (m *Metrics) Serve(ctx context.Context, l Listener, tell func(words string), served func(url string)) {
	said := ""
	for {
		err := m.serve(ctx, l, served)
		if ctx.Err() != nil {
			return
		}
		if words := fmt.Sprintf("The metrics are not served: %s. The bench works on; they are tried again every %s.", plain(err), tryAgain); words != said {
			said = words
			tell(words)
		}
		select {
		case <-ctx.Done():
			return
		case <-time.After(tryAgain):
		}
	}
}

func (m *Metrics) serve(ctx context.Context, l Listener, served func(url string)) error {
	if err := l.check(); err != nil {
		return err
	}
	listener, err := net.Listen("tcp", l.Address)
	if err != nil {
		return fmt.Errorf("%w: is another bench or program on it? Give this one an address of its own", err)
	}
	defer func() { _ = listener.Close() }() // most often closed by then
	// What clients do wrong is theirs, and nothing may write over the screen.
	srv := &http.Server{Handler: m.Handler(), ReadHeaderTimeout: 5 * time.Second, ReadTimeout: 10 * time.Second,
		WriteTimeout: 30 * time.Second, IdleTimeout: 2 * time.Minute, MaxHeaderBytes: 16 << 10, ErrorLog: log.New(io.Discard, "", 0)}
	ended := make(chan error, 1)
	go func() {
		ended <- web.Serve(atMost(listener, mostOpen), srv, &web.FlagConfig{WebConfigFile: &l.WebConfig}, slog.New(slog.DiscardHandler))
	}()
	served(l.url(listener.Addr()))
	select {
	case err := <-ended:
		return errors.Join(err, srv.Close())
	case <-ctx.Done():
	}
	last, stop := context.WithTimeout(context.WithoutCancel(ctx), lastScrapes)
	defer stop()
	if srv.Shutdown(last) != nil {
		_ = srv.Close() // a scrape that takes longer is cut off
	}
	return errors.Join(ctx.Err(), <-ended)
}

func (l Listener) url(at net.Addr) string {
	scheme := "http://"
	if tls, err := hasTLS(l.WebConfig); err == nil && tls {
		scheme = "https://"
	}
	return scheme + at.String() + pathMetrics
}

// plain is an error on one line, without bytes that do something to a terminal
// and without what it quotes of a file: that may be a password.
func plain(err error) string {
	parts := strings.Split(err.Error(), "`")
	for i := 1; i < len(parts); i += 2 {
		parts[i] = "…"
	}
	line := strings.Join(strings.Fields(strings.Join(parts, "")), " ")
	return strings.Map(func(r rune) rune {
		if r < ' ' || r >= 0x7f && r < 0xa0 {
			return '?'
		}
		return r
	}, line)
}
