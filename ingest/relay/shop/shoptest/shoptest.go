// Package shoptest gives tests a shop's database of their own, where the
// environment variable TEST_PG_DSN names a server that may be written in.
package shoptest

import (
	"context"
	"crypto/rand"
	"encoding/hex"
	"fmt"
	"os"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"shimwright/ingest/relay/shop"
)

// A Shop is a prepared database, dropped when its test ends.
type Shop struct {
	Name  string
	Port  int
	Owner *pgx.Conn
	roles []string
}

// DSN is where the server is; without one the test is skipped.
func DSN(t testing.TB) string {
	t.Helper()
	dsn := os.Getenv("TEST_PG_DSN")
	if dsn == "" {
		t.Skip("TEST_PG_DSN names no PostgreSQL: .ci/postgres starts one and runs these tests")
	}
	return dsn
}

// New makes a database with the shop's tables in it.
func New(t testing.TB) *Shop { t.Helper(); return On(t, DSN(t)) }

// On makes one on a given server.
func On(t testing.TB, dsn string) *Shop {
	t.Helper()
	s := Bare(t, dsn)
	if err := shop.Prepare(t.Context(), s.Owner); err != nil {
		t.Fatal(err)
	}
	return s
}

// Bare makes one without tables.
func Bare(t testing.TB, dsn string) *Shop {
	t.Helper()
	admin := Open(t, dsn)
	b := make([]byte, 6)
	if _, err := rand.Read(b); err != nil {
		t.Fatal(err)
	}
	s := &Shop{Name: "t" + hex.EncodeToString(b), Port: int(admin.Config().Port)}
	Exec(t, admin, "CREATE DATABASE "+s.Name)
	_ = admin.Close(t.Context())
	s.Owner = Open(t, fmt.Sprintf("%s dbname=%s", dsn, s.Name))
	t.Cleanup(func() { s.drop(dsn) })
	return s
}

func (s *Shop) drop(dsn string) {
	ctx, stop := context.WithTimeout(context.Background(), 10*time.Second)
	defer stop()
	_ = s.Owner.Close(ctx)
	admin, err := pgx.Connect(ctx, dsn)
	if err != nil {
		return // a throw-away server that has gone took it along
	}
	_, _ = admin.Exec(ctx, "DROP DATABASE IF EXISTS "+s.Name+" WITH (FORCE)")
	for _, r := range s.roles {
		_, _ = admin.Exec(ctx, "DROP ROLE "+r)
	}
	_ = admin.Close(ctx)
}

// Open opens a connection that is closed when the test ends.
func Open(t testing.TB, dsn string) *pgx.Conn {
	t.Helper()
	c, err := pgx.Connect(t.Context(), dsn)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = c.Close(context.Background()) })
	return c
}

// Exec runs one statement.
func Exec(t testing.TB, c *pgx.Conn, query string, args ...any) {
	t.Helper()
	if _, err := c.Exec(t.Context(), query, args...); err != nil {
		t.Fatalf("%s: %v", query, err)
	}
}

// Count asks for one number.
func Count(t testing.TB, c *pgx.Conn, query string, args ...any) int {
	t.Helper()
	n := 0
	if err := c.QueryRow(t.Context(), query, args...).Scan(&n); err != nil {
		t.Fatalf("%s: %v", query, err)
	}
	return n
}

// Role makes a role that may log in and nothing else, and gives its name.
func (s *Shop) Role(t testing.TB, name string) string {
	t.Helper()
	role := s.Name + "_" + name
	s.roles = append(s.roles, role)
	Exec(t, s.Owner, "CREATE ROLE "+role+" LOGIN PASSWORD 'swordfish'")
	return role
}

// Bench makes a role for a bench and puts the bench in the list.
func (s *Shop) Bench(t testing.TB, bench, role string) shop.Address {
	t.Helper()
	r := s.Role(t, role)
	if err := shop.PutBench(t.Context(), s.Owner, bench, r); err != nil {
		t.Fatal(err)
	}
	return s.As(r)
}

// As is the database's address for a role.
func (s *Shop) As(role string) shop.Address {
	return shop.Address{Server: "127.0.0.1", Port: s.Port, Database: s.Name, User: role}
}
