package shop

import (
	"context"
	"errors"
	"fmt"

	"github.com/jackc/pgx/v5"
)

// migrations bring a shop from form n (its place in the list) to n+1. They only
// ever grow at the end, and one that was released is never edited.
func migrations() []string { return []string{tables + functions, packs, forBoards, quicker} }

// Newest is the form of the tables that this program knows.
func Newest() int { return len(migrations()) }

// Prepare makes the tables in the schema shimwright, or brings them to the newest
// form, in one transaction. The role that calls owns them.
func Prepare(ctx context.Context, c *pgx.Conn) error { return PrepareTo(ctx, c, Newest()) }

// PrepareTo brings them to an older form, as an older program would.
func PrepareTo(ctx context.Context, c *pgx.Conn, upto int) error {
	tx, err := c.Begin(ctx)
	if err != nil {
		return Explain("preparing the shop", err)
	}
	defer func() { _ = tx.Rollback(context.WithoutCancel(ctx)) }() // after a commit it does nothing
	for _, s := range []string{
		`SELECT pg_advisory_xact_lock(hashtextextended('shimwright shop', 0))`, // two at a time wait for each other
		`CREATE SCHEMA IF NOT EXISTS shimwright`,
		// shop tells this database from every other, and a backup of it has the same
		`CREATE TABLE IF NOT EXISTS shimwright.form (version int NOT NULL, shop text NOT NULL)`,
	} {
		if _, err := tx.Exec(ctx, s); err != nil {
			return Explain("preparing the shop", err)
		}
	}
	form, err := formOf(ctx, tx)
	if err != nil {
		return err
	}
	if form > upto {
		return newer(form)
	}
	for i, s := range migrations()[form:upto] {
		if _, err := tx.Exec(ctx, s); err != nil {
			return Explain(fmt.Sprintf("preparing the shop, form %d", form+i+1), err)
		}
	}
	mark := `UPDATE shimwright.form SET version = $1`
	if form == 0 {
		mark = `INSERT INTO shimwright.form VALUES ($1, md5(random()::text || clock_timestamp()::text || pg_backend_pid()::text))`
	}
	if _, err := tx.Exec(ctx, mark, upto); err != nil {
		return Explain("preparing the shop", err)
	}
	return Explain("preparing the shop", tx.Commit(ctx))
}

type queryer interface {
	QueryRow(ctx context.Context, query string, args ...any) pgx.Row
}

func formOf(ctx context.Context, q queryer) (int, error) {
	var form int
	err := q.QueryRow(ctx, `SELECT coalesce(max(version), 0) FROM shimwright.form`).Scan(&form)
	return form, Explain("looking at the shop's tables", err)
}

func newer(form int) error {
	return fmt.Errorf("%w: they have form %d and this program knows forms up to %d: use the newer program", ErrForm, form, Newest())
}

// Check tells whether the tables have the form that this program knows.
func Check(ctx context.Context, c *pgx.Conn) error {
	form, err := formOf(ctx, c)
	switch {
	case errors.Is(err, ErrDenied):
		return fmt.Errorf("%w: have this role let in by `shimwright shop bench` or `shop board`", err)
	case err != nil:
		return err
	case form > Newest():
		return newer(form)
	case form < Newest():
		return fmt.Errorf("%w: they have form %d and this program wants %d: run `shimwright shop prepare`", ErrForm, form, Newest())
	}
	return nil
}

// PutBench puts a bench in the shop's list and lets a role act for it; done
// again, another role. A role may act for several benches.
func PutBench(ctx context.Context, c *pgx.Conn, bench, role string) error {
	_, err := c.Exec(ctx, `INSERT INTO shimwright.bench_head (bench, role) VALUES ($1, $2)
		ON CONFLICT (bench) DO UPDATE SET role = excluded.role`, bench, role)
	if err != nil {
		return Explain("putting bench "+bench+" in the shop's list", err)
	}
	return grant(ctx, c, role, benchRights())
}

// PutBoard lets a role read everything.
func PutBoard(ctx context.Context, c *pgx.Conn, role string) error {
	return grant(ctx, c, role, []string{
		`GRANT USAGE ON SCHEMA shimwright TO %s`,
		`GRANT SELECT ON ALL TABLES IN SCHEMA shimwright TO %s`,
	})
}

func benchRights() []string {
	return []string{
		`GRANT USAGE ON SCHEMA shimwright TO %s`,
		`GRANT SELECT ON shimwright.form TO %s`,
		`GRANT EXECUTE ON FUNCTION shimwright.head, shimwright.kept, shimwright.take, shimwright.anew, shimwright.follow, shimwright.say TO %s`,
	}
}

func grant(ctx context.Context, c *pgx.Conn, role string, rights []string) error {
	for _, r := range rights {
		// what is granted takes no parameter
		if _, err := c.Exec(ctx, fmt.Sprintf(r, pgx.Identifier{role}.Sanitize())); err != nil {
			return Explain("giving role "+role+" its rights", err)
		}
	}
	return nil
}
