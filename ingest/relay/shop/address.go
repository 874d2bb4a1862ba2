package shop

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"net"
	"os"
	"runtime"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"
)

// An Address is where a shop's database is. What is empty comes from the usual
// environment (PGHOST, PGPORT, PGDATABASE, PGUSER, PGPASSWORD, PGPASSFILE,
// PGSERVICE, PGSSLROOTCERT); a password never stands in it.
type Address struct {
	Server   string // host name, address, or the folder of a socket
	Port     int
	Database string
	User     string
	// PasswordFile holds the password as its one line. On Unix no one but its owner
	// may read it.
	PasswordFile string
	// Authority is a file with the certificates to trust, in place of the system's.
	Authority string
	// Plain lets what is sent go unencrypted to another machine. To this machine
	// itself it may always.
	Plain bool
}

// dialLimit bounds one attempt to connect (chosen, no source).
const dialLimit = 10 * time.Second

// Connect opens one connection. Its errors are in words, and hold no password.
func Connect(ctx context.Context, a Address, program string) (*pgx.Conn, error) {
	c, err := a.config(program)
	if err != nil {
		return nil, err
	}
	conn, err := pgx.ConnectConfig(ctx, c)
	if err != nil {
		return nil, Explain("connecting to "+place(c), err)
	}
	var version int
	if err := conn.QueryRow(ctx, `SELECT current_setting('server_version_num')::int`).Scan(&version); err != nil {
		return nil, errors.Join(Explain("asking the server's version", err), conn.Close(ctx))
	}
	if version < oldest*10000 {
		err := fmt.Errorf("%s: %w: it is version %d, and %d or newer is wanted", place(c), ErrServer, version/10000, oldest)
		return nil, errors.Join(err, conn.Close(ctx))
	}
	return conn, nil
}

// oldest is the first version of PostgreSQL whose functions are all that ours
// use; 15 is what they were tried with.
const oldest = 12

// Called is the shop in a few words: its database and its server.
func (a Address) Called() (string, error) {
	c, err := a.config("")
	if err != nil {
		return "", err
	}
	if local(c.Host) {
		return "shop " + c.Database + " on this machine", nil
	}
	return "shop " + c.Database + " on " + c.Host, nil
}

func place(c *pgx.ConnConfig) string {
	return fmt.Sprintf("%s, database %s, as %s", net.JoinHostPort(c.Host, fmt.Sprint(c.Port)), c.Database, c.User)
}

// config gathers the settings. A first reading without TLS tells which machine
// they lead to; then TLS follows from that, never from the environment.
func (a Address) config(program string) (*pgx.ConnConfig, error) {
	first, err := pgx.ParseConfig(a.words("disable", program))
	if err != nil {
		return nil, badSettings(err)
	}
	mode := "verify-full"
	switch {
	case len(first.Fallbacks) > 0:
		return nil, fmt.Errorf("%w: the server's name stands for several machines: name one", ErrSettings)
	case a.Plain:
		mode = "disable"
	case local(first.Host):
		mode = "prefer"
	}
	c, err := pgx.ParseConfig(a.words(mode, program))
	if err != nil {
		return nil, badSettings(err)
	}
	c.ConnectTimeout = dialLimit
	if a.PasswordFile != "" {
		if c.Password, err = readPassword(a.PasswordFile); err != nil {
			return nil, err
		}
	}
	return c, nil
}

// badSettings leaves the library's own words out: they repeat what it was given.
func badSettings(err error) error {
	var file *fs.PathError
	if errors.As(err, &file) {
		return fmt.Errorf("%w: %w", ErrSettings, file)
	}
	return fmt.Errorf("%w: what the bench file and the environment (PGHOST, PGSERVICE and the like) say of the server does not go together, or a certificate in them cannot be read: look them over", ErrSettings)
}

// words writes the settings for the library.
func (a Address) words(mode, program string) string {
	var b strings.Builder
	put := func(key, is string) {
		if is != "" {
			fmt.Fprintf(&b, "%s='%s' ", key, strings.NewReplacer(`\`, `\\`, `'`, `\'`).Replace(is))
		}
	}
	put("host", a.Server)
	if a.Port != 0 {
		put("port", fmt.Sprint(a.Port))
	}
	put("dbname", a.Database)
	put("user", a.User)
	put("sslmode", mode)
	if mode == "verify-full" {
		put("sslrootcert", a.Authority)
	}
	put("application_name", program)
	return b.String()
}

// local tells whether a host is this machine: a socket's folder, or a loopback
// address. A name counts only where it is localhost.
func local(host string) bool {
	if strings.HasPrefix(host, "/") || strings.HasPrefix(host, "@") || host == "localhost" {
		return true
	}
	ip := net.ParseIP(host)
	return ip != nil && ip.IsLoopback()
}

const mostPassword = 4096 // bytes

func readPassword(path string) (string, error) {
	info, err := os.Stat(path)
	if err != nil {
		return "", fmt.Errorf("%w: password file: %w", ErrSettings, err)
	}
	if runtime.GOOS != "windows" && info.Mode().Perm()&0o077 != 0 {
		return "", fmt.Errorf("%w: password file %s may be read by others (%v): make it its owner's alone, as by chmod 600", ErrSettings, path, info.Mode().Perm())
	}
	if !info.Mode().IsRegular() || info.Size() > mostPassword {
		return "", fmt.Errorf("%w: password file %s is no file of one short line", ErrSettings, path)
	}
	text, err := os.ReadFile(path)
	if err != nil {
		return "", fmt.Errorf("%w: password file: %w", ErrSettings, err)
	}
	s := strings.TrimRight(string(text), "\r\n")
	if s == "" || strings.ContainsAny(s, "\r\n\x00") {
		return "", fmt.Errorf("%w: password file %s does not hold one line with the password", ErrSettings, path)
	}
	return s, nil
}
