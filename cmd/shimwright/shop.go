package main

import (
	"context"
	"errors"
	"fmt"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"
	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"shimwright/ingest/fact"
	"shimwright/ingest/relay/shop"
)

// newShop is the command on a shop's PostgreSQL.
func newShop() *cobra.Command {
	var a shop.Address
	c := &cobra.Command{
		Use:   "shop",
		Short: "Prepare a shop's PostgreSQL; let benches and boards in",
		Long: `Prepare the database that the benches of a shop ship their facts to, and let roles
in. Each runs as the role that owns the tables; benches and boards have roles of
their own, which the server's keeper makes.

What no flag says comes from PGHOST, PGPORT, PGDATABASE, PGUSER and the like. A
password comes from PGPASSFILE, PGPASSWORD or --password-file, never from the command
line.`,
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error { return c.Help() },
	}
	addressFlags(c.PersistentFlags(), &a, "the role that owns the tables")
	c.AddCommand(
		shopCommand(&a, "prepare", "Make the tables, or bring them to the newest form", nil, func(ctx context.Context, c *pgx.Conn, _ []string) (string, error) {
			return "The shop's tables are ready.", shop.Prepare(ctx, c)
		}),
		shopCommand(&a, "bench NAME ROLE", "Put a bench in the shop's list, and let a role ship its facts", []string{"NAME", "ROLE"}, func(ctx context.Context, c *pgx.Conn, args []string) (string, error) {
			return "Bench " + args[0] + " ships as " + args[1] + ".", putBench(ctx, c, args[0], args[1])
		}),
		shopCommand(&a, "board ROLE", "Let a role read everything", []string{"ROLE"}, func(ctx context.Context, c *pgx.Conn, args []string) (string, error) {
			return args[0] + " may read the shop.", noRole(args[0], shop.PutBoard(ctx, c, args[0]))
		}))
	return c
}

// putBench puts a bench in the list and gives its role the rights, both or neither.
func putBench(ctx context.Context, c *pgx.Conn, bench, role string) error {
	if err := fact.CheckName("the bench's name", bench); err != nil {
		return fmt.Errorf("%w: %w", shop.ErrSettings, err)
	}
	return pgx.BeginFunc(ctx, c, func(pgx.Tx) error { // the connection's own statements are in it
		return noRole(role, shop.PutBench(ctx, c, bench, role))
	})
}

// undefinedObject is the server's code for a role that is not there.
const undefinedObject = "42704"

// noRole says what to do about a role that the server does not have.
func noRole(role string, err error) error {
	var said *pgconn.PgError
	if errors.As(err, &said) && said.Code == undefinedObject {
		return fmt.Errorf("%w: the server has no role %s: have its keeper make it (createuser --pwprompt), or write another", shop.ErrSettings, quoted(role))
	}
	return err
}

// addressFlags say where a shop's database is, and as whom.
func addressFlags(f *pflag.FlagSet, a *shop.Address, role string) {
	f.StringVar(&a.Server, "server", "", "the server's name or address, or the folder of its socket")
	f.IntVar(&a.Port, "port", 0, "its port")
	f.StringVar(&a.Database, "database", "", "the database")
	f.StringVar(&a.User, "user", "", role)
	f.StringVar(&a.PasswordFile, "password-file", "", "the file with its password")
	f.StringVar(&a.Authority, "authority", "", "the file with the certificates to trust")
	f.BoolVar(&a.Plain, "unencrypted", false, "send in the clear to another machine too")
}

func shopCommand(a *shop.Address, use, short string, args []string, do func(context.Context, *pgx.Conn, []string) (string, error)) *cobra.Command {
	return &cobra.Command{Use: use, Short: short, Args: takes(args...), RunE: func(c *cobra.Command, args []string) error {
		ctx := c.Context()
		conn, err := shop.Connect(ctx, *a, "shimwright shop")
		if err != nil {
			return shopError(err)
		}
		defer func() { _ = conn.Close(context.WithoutCancel(ctx)) }() // what closing could say is not worth hearing
		words, err := do(ctx, conn, args)
		if err != nil {
			return shopError(err)
		}
		return say(c, "%s", words)
	}}
}

// shopError tells what was asked wrong from a machine that fails.
func shopError(err error) error {
	if err == nil {
		return nil
	}
	if errors.Is(err, shop.ErrSettings) || errors.Is(err, shop.ErrDenied) || errors.Is(err, shop.ErrForm) {
		return err
	}
	return machine("shop", err)
}
