package pg

import (
	"context"

	"github.com/jackc/pgx/v5"
)

// Try runs a statement over a store's connection.
func Try(ctx context.Context, s *Store, query string) error {
	return s.with(ctx, "trying", func(ctx context.Context, c *pgx.Conn) error {
		_, err := c.Exec(ctx, query)
		return err
	})
}
