package relay_test

import (
	"context"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/base64"
	"encoding/pem"
	"io"
	"math/big"
	"net"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"shimwright/ingest/relay"
	"shimwright/ingest/relay/shop"
	"shimwright/ingest/relay/shop/shoptest"
)

// An authority signs certificates of servers.
type authority struct {
	t    *testing.T
	key  *ecdsa.PrivateKey
	cert *x509.Certificate
	file string // its certificate
}

func newAuthority(t *testing.T, name string) *authority {
	t.Helper()
	a := &authority{t: t, key: newKey(t), file: filepath.Join(t.TempDir(), "authority.pem")}
	form := &x509.Certificate{SerialNumber: serial(t), Subject: pkix.Name{CommonName: name}, NotBefore: time.Now().Add(-time.Hour), NotAfter: time.Now().Add(time.Hour),
		IsCA: true, BasicConstraintsValid: true, KeyUsage: x509.KeyUsageCertSign}
	text, err := x509.CreateCertificate(rand.Reader, form, form, &a.key.PublicKey, a.key)
	if err != nil {
		t.Fatal(err)
	}
	if a.cert, err = x509.ParseCertificate(text); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(a.file, pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: text}), 0o600); err != nil {
		t.Fatal(err)
	}
	return a
}

func newKey(t *testing.T) *ecdsa.PrivateKey {
	t.Helper()
	k, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	return k
}

func serial(t *testing.T) *big.Int {
	t.Helper()
	n, err := rand.Int(rand.Reader, big.NewInt(1<<62))
	if err != nil {
		t.Fatal(err)
	}
	return n
}

// sign gives a server's certificate and key as files have them, and its serial
// number.
func (a *authority) sign(host string, from, to time.Time) (cert, key []byte, number *big.Int) {
	a.t.Helper()
	k := newKey(a.t)
	form := &x509.Certificate{SerialNumber: serial(a.t), Subject: pkix.Name{CommonName: host}, DNSNames: []string{host}, NotBefore: from, NotAfter: to,
		KeyUsage: x509.KeyUsageDigitalSignature, ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth}}
	text, err := x509.CreateCertificate(rand.Reader, form, a.cert, &k.PublicKey, a.key)
	if err != nil {
		a.t.Fatal(err)
	}
	secret, err := x509.MarshalPKCS8PrivateKey(k)
	if err != nil {
		a.t.Fatal(err)
	}
	return pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: text}), pem.EncodeToMemory(&pem.Block{Type: "PRIVATE KEY", Bytes: secret}), form.SerialNumber
}

// A guarded server is told by its socket which certificate to show.
type guarded struct {
	t    *testing.T
	dsn  string
	conn *pgx.Conn
	host string // a name of this machine that is not a loopback's
}

func newGuarded(t *testing.T) *guarded {
	t.Helper()
	dsn := os.Getenv("TEST_PG_GUARDED")
	if dsn == "" {
		t.Skip("TEST_PG_GUARDED names no server that takes certificates: .ci/postgres starts one")
	}
	host, err := os.Hostname()
	if err != nil {
		t.Fatal(err)
	}
	if _, err := net.LookupHost(host); err != nil || host == "localhost" {
		t.Fatalf("this machine's name, %q, leads nowhere: TLS to another machine cannot be tried: %v", host, err)
	}
	return &guarded{t, dsn, shoptest.Open(t, dsn), host}
}

// put writes a file into the server's folder, as the server's user.
func (g *guarded) put(name string, text []byte) {
	shoptest.Exec(g.t, g.conn, `COPY (SELECT '`+base64.StdEncoding.EncodeToString(text)+`') TO PROGRAM 'umask 077; base64 -d > `+name+`'`)
}

// shows has the server show a certificate, and waits until it does.
func (g *guarded) shows(a *authority, host string, from, to time.Time) {
	g.t.Helper()
	cert, key, number := a.sign(host, from, to)
	g.put("server.key", key)
	g.put("server.crt", cert)
	g.set("on", func(shown *big.Int) bool { return shown != nil && shown.Cmp(number) == 0 })
}

// set switches TLS, and waits until the server does as told.
func (g *guarded) set(ssl string, will func(*big.Int) bool) {
	g.t.Helper()
	shoptest.Exec(g.t, g.conn, `ALTER SYSTEM SET ssl = `+ssl)
	shoptest.Exec(g.t, g.conn, `SELECT pg_reload_conf()`)
	for late := time.Now().Add(15 * time.Second); !will(g.shown()); {
		if time.Now().After(late) {
			g.t.Fatal("the server does not take its certificate in")
		}
	}
}

// shown is the number of the certificate that the server shows; nil for none.
func (g *guarded) shown() *big.Int {
	g.t.Helper()
	c, err := net.Dial("tcp", net.JoinHostPort(g.host, strconv.Itoa(int(g.conn.Config().Port))))
	if err != nil {
		g.t.Fatal(err)
	}
	defer c.Close()
	// the protocol's question whether TLS is spoken
	if _, err := c.Write([]byte{0, 0, 0, 8, 4, 0xD2, 0x16, 0x2F}); err != nil {
		g.t.Fatal(err)
	}
	answer := make([]byte, 1)
	if _, err := io.ReadFull(c, answer); err != nil || answer[0] != 'S' {
		return nil
	}
	s := tls.Client(c, &tls.Config{InsecureSkipVerify: true}) // whoever it is: only the number is looked at
	if err := s.HandshakeContext(g.t.Context()); err != nil {
		return nil
	}
	return s.ConnectionState().PeerCertificates[0].SerialNumber
}

// With a certificate of an authority that is trusted facts go to another machine;
// with any other, or without TLS, they do not, and it is said why. The bench goes
// on recording, and no secret is in any word.
func TestTLS(t *testing.T) {
	g := newGuarded(t)
	s := shoptest.On(t, g.dsn)
	a := s.Bench(t, "bay 1", "bay1")
	a.Server, a.PasswordFile = g.host, filepath.Join(t.TempDir(), "word")
	if err := os.WriteFile(a.PasswordFile, []byte("swordfish\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	ours, theirs := newAuthority(t, "Ours"), newAuthority(t, "Theirs")
	a.Authority = ours.file
	j := newJournal(t, "bay 1")
	write(t, j, 100)
	n := int64(100)
	now := time.Now()
	refuses := func(a shop.Address, words ...string) {
		t.Helper()
		r := run(t, j, a, nil)
		st := r.await(t, "refused", func(s relay.State) bool { return s.Trouble != "" })
		write(t, j, 1)
		n++
		for _, w := range words {
			if !strings.Contains(st.Trouble, w) {
				t.Errorf("%s lacks: %s", st.Trouble, w)
			}
		}
		if said := st.Words(time.Now()); strings.Contains(said, "swordfish") || strings.Contains(said, "PRIVATE KEY") {
			t.Errorf("a secret shows: %s", said)
		}
		r.stop()
	}

	g.shows(ours, g.host, now.Add(-time.Hour), now.Add(time.Hour))
	r := run(t, j, a, nil)
	r.sent(t, n)
	if k := shoptest.Count(t, s.Owner, `SELECT count(*) FROM pg_stat_ssl JOIN pg_stat_activity USING (pid) WHERE ssl AND application_name = 'shimwright bay 1'`); k != 1 {
		t.Errorf("%d connections of the bench are by TLS", k)
	}
	r.stop()

	b := a
	b.Authority = theirs.file
	refuses(b, "certificate is refused", "nobody who is trusted here signed it")
	b.Authority = "" // the system's authorities do not know it either
	refuses(b, "certificate is refused", "nobody who is trusted here signed it")
	b.Authority = filepath.Join(t.TempDir(), "none.pem")
	refuses(b, "the settings are refused", "none.pem")
	b = a
	b.Database = "nothing_of_that_name"
	refuses(b, "no such database")
	b = a
	b.PasswordFile = filepath.Join(t.TempDir(), "word")
	if err := os.WriteFile(b.PasswordFile, []byte("not the swordfish\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	refuses(b, "refuses this role", "user and password")
	b = a
	b.User = s.Role(t, "lead")
	if err := shop.PutBoard(t.Context(), s.Owner, b.User); err != nil {
		t.Fatal(err)
	}
	refuses(b, "refuses this role", "shop bench")
	shoptest.Exec(t, s.Owner, `UPDATE shimwright.form SET version = 99`)
	refuses(a, "form 99", "newer program")
	shoptest.Exec(t, s.Owner, `UPDATE shimwright.form SET version = $1`, shop.Newest())

	g.shows(ours, g.host, now.Add(-2*time.Hour), now.Add(-time.Hour))
	refuses(a, "certificate is refused", "out of its days")
	g.shows(ours, "db.shop.example", now.Add(-time.Hour), now.Add(time.Hour))
	refuses(a, "certificate is refused", "name the server as its certificate does", "db.shop.example")
	g.set("off", func(shown *big.Int) bool { return shown == nil })
	refuses(a, "certificate is refused", "have TLS switched on there")
	b = a
	b.Plain = true // said on purpose
	r = run(t, j, b, nil)
	r.sent(t, n)
	r.stop()
	g.shows(ours, g.host, now.Add(-time.Hour), now.Add(time.Hour))
	write(t, j, 50)
	r = run(t, j, a, nil)
	r.sent(t, n+50)
	whole(t, s, j)
}

// A board by TLS is held to the same.
func TestTLSBoard(t *testing.T) {
	g := newGuarded(t)
	s := shoptest.On(t, g.dsn)
	a := s.As(s.Role(t, "lead"))
	if err := shop.PutBoard(t.Context(), s.Owner, a.User); err != nil {
		t.Fatal(err)
	}
	a.Server, a.PasswordFile = g.host, filepath.Join(t.TempDir(), "word")
	if err := os.WriteFile(a.PasswordFile, []byte("swordfish"), 0o600); err != nil {
		t.Fatal(err)
	}
	ours, theirs := newAuthority(t, "Ours"), newAuthority(t, "Theirs")
	g.shows(ours, g.host, time.Now().Add(-time.Hour), time.Now().Add(time.Hour))
	for file, want := range map[string]string{ours.file: "", theirs.file: "nobody who is trusted here signed it"} {
		a.Authority = file
		c, err := shop.Connect(t.Context(), a, "test")
		if (err == nil) != (want == "") || err != nil && !strings.Contains(err.Error(), want) {
			t.Errorf("%v, want %q", err, want)
		}
		if c != nil {
			_ = c.Close(context.Background())
		}
	}
}
