package metrics_test

import (
	"context"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"encoding/pem"
	"errors"
	"io"
	"math/big"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	dto "github.com/prometheus/client_model/go"
	"github.com/prometheus/common/expfmt"
	"golang.org/x/crypto/bcrypt"

	"shimwright/ingest/bench"
	"shimwright/ingest/metrics"
)

// patience is how long a test waits for what must come.
const patience = 20 * time.Second

// A server is metrics served, with what it said.
type server struct {
	t     *testing.T
	url   string
	words chan string
	stop  func()
}

// serve serves until the test ends, and waits for an address or a refusal.
func serve(t *testing.T, r *rig, l metrics.Listener) *server {
	t.Helper()
	ctx, cancel := context.WithCancel(context.Background())
	s := &server{t: t, words: make(chan string, 10)}
	at, done := make(chan string, 1), make(chan struct{})
	go func() {
		defer close(done)
		r.Serve(ctx, l, func(words string) { s.words <- words }, func(url string) { at <- url })
	}()
	s.stop = func() {
		cancel()
		select {
		case <-done:
		case <-time.After(patience):
			t.Error("it does not stop")
		}
	}
	t.Cleanup(s.stop)
	select {
	case s.url = <-at:
	case words := <-s.words:
		s.words <- words
	case <-time.After(patience):
		t.Fatal("neither served nor refused")
	}
	return s
}

// refused is why nothing is served.
func (s *server) refused() string {
	s.t.Helper()
	select {
	case words := <-s.words:
		return words
	case <-time.After(patience):
		s.t.Fatal("nothing was said")
		return ""
	}
}

func anywhere() metrics.Listener { return metrics.Listener{Address: "127.0.0.1:0"} }

func get(t *testing.T, c *http.Client, req *http.Request) (int, string) {
	t.Helper()
	resp, err := c.Do(req)
	if err != nil {
		t.Fatal(err)
	}
	defer resp.Body.Close()
	body, err := io.ReadAll(resp.Body)
	if err != nil {
		t.Fatal(err)
	}
	return resp.StatusCode, string(body)
}

func request(t *testing.T, method, url string) *http.Request {
	t.Helper()
	req, err := http.NewRequestWithContext(t.Context(), method, url, nil)
	if err != nil {
		t.Fatal(err)
	}
	return req
}

// client keeps no connection, so that none outlives its test.
func client() *http.Client {
	return &http.Client{Transport: &http.Transport{DisableKeepAlives: true}, Timeout: patience}
}

func TestScrape(t *testing.T) {
	r := newRig(t)
	r.aDay()
	s := serve(t, r, anywhere())
	status, body := get(t, client(), request(t, "GET", s.url))
	if status != http.StatusOK || !strings.Contains(body, `shimwright_jobs_ended_total{bay="bay 2",how="signed",sheet="fw3"} 1`) {
		t.Errorf("%d\n%s", status, body)
	}
	base := strings.TrimSuffix(s.url, "/metrics")
	for _, c := range []struct {
		method, path string
		status       int
		words        string
	}{
		{"GET", "/healthz", 200, "good\n"}, {"GET", "/readyz", 200, "good\n"},
		{"POST", "/metrics", 405, ""}, {"DELETE", "/readyz", 405, ""}, {"GET", "/", 404, ""}, {"GET", "/debug/pprof/", 404, ""},
	} {
		status, body := get(t, client(), request(t, c.method, base+c.path))
		if status != c.status || c.words != "" && body != c.words {
			t.Errorf("%s %s: %d %q", c.method, c.path, status, body)
		}
	}
	r.bench.snapshot.Trouble = "NOT RECORDED: 31.90 mm from D07, job 0003."
	if status, body := get(t, client(), request(t, "GET", base+"/readyz")); status != 503 || !strings.Contains(body, "could not be recorded") || strings.Contains(body, "0003") {
		t.Errorf("a bench in trouble: %d %q", status, body)
	}
	if status, _ := get(t, client(), request(t, "GET", base+"/healthz")); status != 200 {
		t.Errorf("a bench in trouble runs: %d", status)
	}
}

// What a bench that is not well answers, and that nothing of it names a job.
func TestHealthAndReadiness(t *testing.T) {
	r := newRig(t)
	base := strings.TrimSuffix(serve(t, r, anywhere()).url, "/metrics")
	good := r.bench.answer
	for _, c := range []struct {
		name          string
		change        func()
		health, ready string
	}{
		{"well", func() {}, "good", "good"},
		{"the journal refused a command", func() { r.bench.snapshot.Failing = true }, "good", "could not be recorded"},
		{"a press in trouble", func() { r.bench.snapshot.Trouble = "NOT RECORDED: 31.90 mm from D07, job 0003." }, "good", "could not be recorded"},
		{"a full disk", func() { r.free = 1000 }, "good", "1000 bytes are free for the journal"},
		{"a disk that is away", func() { r.away = errors.New("/var/x: read-only file system") }, "good", "cannot be written: /var/x: read-only"},
		{"a system that tells nothing", func() { r.free, r.away = 0, errors.ErrUnsupported }, "good", "good"},
		{"stuck", func() { r.bench.answer = func(ctx context.Context) error { <-ctx.Done(); return ctx.Err() } }, "does not answer within 2s", "does not answer within 2s"},
		{"stopped", func() { r.bench.answer = func(context.Context) error { return bench.ErrStopped } }, "has stopped", "has stopped"},
	} {
		r.bench.snapshot.Failing, r.bench.snapshot.Trouble, r.bench.answer, r.free, r.away = false, "", good, 1<<40, nil
		c.change()
		for path, want := range map[string]string{"/healthz": c.health, "/readyz": c.ready} {
			status, body := get(t, client(), request(t, "GET", base+path))
			if (status == 200) != (want == "good") || !strings.Contains(body, want) || strings.Contains(body, "0003") {
				t.Errorf("%s, %s: %d %q", c.name, path, status, body)
			}
		}
	}
}

// The room of a journal is what its disk has, and an error where it is away or may
// not be written.
func TestRoom(t *testing.T) {
	path := filepath.Join(t.TempDir(), "a.journal")
	if free, err := metrics.Room(path); err == nil {
		t.Errorf("a journal that is away has %d bytes of room", free)
	}
	write(t, path, "x")
	free, err := metrics.Room(path)
	if errors.Is(err, errors.ErrUnsupported) {
		t.Skip("this system does not tell what room there is")
	}
	if err != nil || free <= 0 {
		t.Errorf("%d bytes: %v", free, err)
	}
}

// A scraper that asks for protocol buffers gets native histograms as well.
func TestNativeHistograms(t *testing.T) {
	r := newRig(t)
	r.aDay()
	s := serve(t, r, anywhere())
	req := request(t, "GET", s.url)
	req.Header.Set("Accept", "application/vnd.google.protobuf;proto=io.prometheus.client.MetricFamily;encoding=delimited")
	resp, err := client().Do(req)
	if err != nil {
		t.Fatal(err)
	}
	defer resp.Body.Close()
	d := expfmt.NewDecoder(resp.Body, expfmt.ResponseFormat(resp.Header))
	seen := 0
	for {
		var f dto.MetricFamily
		if d.Decode(&f) != nil {
			break
		}
		if f.GetType() != dto.MetricType_HISTOGRAM || !strings.HasPrefix(f.GetName(), "shimwright_") {
			continue
		}
		seen++
		for _, m := range f.GetMetric() {
			if h := m.GetHistogram(); (len(h.GetPositiveSpan()) == 0) != (h.GetSampleCount() == 0) || len(h.GetBucket()) == 0 {
				t.Errorf("%s has %d native spans and %d fixed buckets", f.GetName(), len(h.GetPositiveSpan()), len(h.GetBucket()))
			}
		}
	}
	if seen != 5 {
		t.Errorf("%d histograms", seen)
	}
}

// certificate makes a certificate for this machine, and the client that trusts it.
func certificate(t *testing.T, dir string) *http.Client {
	t.Helper()
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	made := &x509.Certificate{SerialNumber: big.NewInt(1), NotBefore: time.Now().Add(-time.Hour), NotAfter: time.Now().Add(time.Hour),
		IPAddresses: []net.IP{net.IPv4(127, 0, 0, 1)}}
	cert, err := x509.CreateCertificate(rand.Reader, made, made, key.Public(), key)
	if err != nil {
		t.Fatal(err)
	}
	secret, err := x509.MarshalPKCS8PrivateKey(key)
	if err != nil {
		t.Fatal(err)
	}
	write(t, filepath.Join(dir, "cert.pem"), string(pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: cert})))
	write(t, filepath.Join(dir, "key.pem"), string(pem.EncodeToMemory(&pem.Block{Type: "PRIVATE KEY", Bytes: secret})))
	parsed, err := x509.ParseCertificate(cert)
	if err != nil {
		t.Fatal(err)
	}
	pool := x509.NewCertPool()
	pool.AddCert(parsed)
	return &http.Client{Transport: &http.Transport{DisableKeepAlives: true, TLSClientConfig: &tls.Config{RootCAs: pool}}, Timeout: patience}
}

func write(t *testing.T, path, text string) {
	t.Helper()
	if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
}

func TestTLSAndPassword(t *testing.T) {
	dir := t.TempDir()
	c := certificate(t, dir)
	hash, err := bcrypt.GenerateFromPassword([]byte("a long secret"), bcrypt.MinCost)
	if err != nil {
		t.Fatal(err)
	}
	config := filepath.Join(dir, "web.yaml")
	write(t, config, "tls_server_config: {cert_file: cert.pem, key_file: key.pem}\nbasic_auth_users: {scraper: '"+string(hash)+"'}\n")
	l := anywhere()
	l.Address, l.WebConfig = "0.0.0.0:0", config // open to the network, with a certificate
	s := serve(t, newRig(t), l)
	_, port, err := net.SplitHostPort(strings.TrimSuffix(strings.TrimPrefix(s.url, "https://"), "/metrics"))
	if err != nil {
		t.Fatal(err)
	}
	for _, try := range []struct {
		password string
		status   int
	}{{"", 401}, {"wrong", 401}, {"a long secret", 200}} {
		for _, path := range []string{"/metrics", "/healthz"} {
			req := request(t, "GET", "https://127.0.0.1:"+port+path)
			if try.password != "" {
				req.SetBasicAuth("scraper", try.password)
			}
			if status, body := get(t, c, req); status != try.status || (status == 200) != (strings.Contains(body, "shimwright_") || body == "good\n") {
				t.Errorf("%s with password %q: %d %q", path, try.password, status, body)
			}
		}
	}
	if status, body := get(t, client(), request(t, "GET", "http://127.0.0.1:"+port+"/metrics")); status != 400 || strings.Contains(body, "shimwright_") {
		t.Errorf("without TLS: %d %q", status, body)
	}
}

// What cannot be served is said once in words, without what a file holds.
func TestRefused(t *testing.T) {
	dir := t.TempDir()
	taken := serve(t, newRig(t), anywhere())
	at := strings.TrimSuffix(strings.TrimPrefix(taken.url, "http://"), "/metrics")
	file := func(name, text string) string {
		path := filepath.Join(dir, name)
		write(t, path, text)
		return path
	}
	for name, c := range map[string]struct {
		listener metrics.Listener
		words    string
	}{
		"a second bench on the port":  {metrics.Listener{Address: at}, "is another bench or program on it"},
		"no such web config":          {metrics.Listener{Address: "127.0.0.1:0", WebConfig: filepath.Join(dir, "none.yaml")}, "none.yaml cannot be used"},
		"a folder for a web config":   {metrics.Listener{Address: "127.0.0.1:0", WebConfig: dir}, "is a directory"},
		"an unknown key":              {metrics.Listener{Address: "127.0.0.1:0", WebConfig: file("a.yaml", "passwords: hunter2\x1b[31m\n")}, "cannot be used"},
		"no list of passwords":        {metrics.Listener{Address: "127.0.0.1:0", WebConfig: file("b.yaml", "basic_auth_users: hunter2\n")}, "cannot be used"},
		"a password that is no hash":  {metrics.Listener{Address: "127.0.0.1:0", WebConfig: file("c.yaml", "basic_auth_users: {a: hunter2}\n")}, "cannot be used"},
		"a certificate that is away":  {metrics.Listener{Address: "127.0.0.1:0", WebConfig: file("d.yaml", "tls_server_config: {cert_file: no.pem, key_file: no.key}\n")}, "no.pem"},
		"the network, no web config":  {metrics.Listener{Address: "0.0.0.0:0"}, "open to the network"},
		"the network, no certificate": {metrics.Listener{Address: ":0", WebConfig: file("e.yaml", "{}\n")}, "open to the network"},
		"an address that is none":     {metrics.Listener{Address: "256.0.0.1:x", WithoutTLS: true}, "not served"},
	} {
		t.Run(name, func(t *testing.T) {
			words := serve(t, newRig(t), c.listener).refused()
			if !strings.Contains(words, c.words) || !strings.Contains(words, "The bench works on") || strings.ContainsAny(words, "\n\x1b") || strings.Contains(words, "hunter2") {
				t.Errorf("said %q", words)
			}
		})
	}
	if status, _ := get(t, client(), request(t, "GET", taken.url)); status != 200 {
		t.Errorf("the first bench on the port: %d", status)
	}
}

func TestWithoutTLSWhereTold(t *testing.T) {
	s := serve(t, newRig(t), metrics.Listener{Address: "0.0.0.0:0", WithoutTLS: true})
	if s.url == "" {
		t.Error(s.refused())
	}
}

// A stop lets no scraper hold it up, whether one asks or only keeps a connection;
// afterwards nobody listens.
func TestStopWhileScraped(t *testing.T) {
	r := newRig(t)
	r.aDay()
	s := serve(t, r, anywhere())
	at := strings.TrimSuffix(strings.TrimPrefix(s.url, "http://"), "/metrics")
	idle, err := net.Dial("tcp", at)
	if err != nil {
		t.Fatal(err)
	}
	defer idle.Close()
	if _, err := idle.Write([]byte("GET /metrics HTTP/1.1\r\nHost: x\r\n")); err != nil { // and no end of it
		t.Fatal(err)
	}
	asked, scraped := make(chan struct{}), make(chan struct{})
	go func() {
		defer close(scraped)
		for i := 0; ; i++ {
			resp, err := client().Get(s.url)
			if i == 0 {
				close(asked)
			}
			if err != nil {
				return // nobody listens any more
			}
			_, _ = io.Copy(io.Discard, resp.Body)
			_ = resp.Body.Close()
		}
	}()
	<-asked
	s.stop()
	select {
	case <-scraped:
	case <-time.After(patience):
		t.Error("it still answers")
	}
}
